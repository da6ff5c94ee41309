import { mount } from 'svelte';
import { registerSW } from 'virtual:pwa-register';
import AppView from './App.svelte';
import { Store } from './device/store';
import { engine } from './engine/client';
import { App } from './state/app.svelte';
import type { Engine } from './state/engine';
import { Api } from './sync/api';
import './ui/tokens.css';
import './ui/base.css';

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no #app');

const name = 'sapwell';
const app = new App({
  name,
  engine: engine as unknown as Engine,
  store: await Store.open(name),
  api: new Api(),
  window,
  now: () => Date.now(),
  language: navigator.language,
});

mount(AppView, { target, props: { app } });
await app.show();

// A newer version waits until a person says so: a page is never reloaded under the
// hands.
const update = registerSW({ onNeedRefresh: () => (app.update = () => void update(true)) });

await app.wake();
