// Which address shows which screen. What the phone needs is loaded with the app;
// the rest when it is asked for.
import type { Component } from 'svelte';
import { match } from '../state/router.svelte';
import Join from './Join.svelte';
import NewVisit from './NewVisit.svelte';
import Record from './Record.svelte';
import Settings from './Settings.svelte';
import SignIn from './SignIn.svelte';
import Start from './Start.svelte';
import Sync from './Sync.svelte';
import Today from './Today.svelte';
import VisitClose from './VisitClose.svelte';
import VisitTree from './VisitTree.svelte';

// eslint-disable-next-line @typescript-eslint/no-explicit-any -- each screen has the props of its address
type Screen = Component<any>;
type Load = () => Promise<{ default: Screen }>;

const now =
  (screen: Screen): Load =>
  () =>
    Promise.resolve({ default: screen });

const routes: [string, Load][] = [
  ['/start', now(Start)],
  ['/join', now(Join)],
  ['/enrol', now(Join)],
  ['/signin', now(SignIn)],
  ['/today', now(Today)],
  ['/visit/new', now(NewVisit)],
  ['/visit/:visit/tree/:tree', now(VisitTree)],
  ['/visit/:visit/close', now(VisitClose)],
  ['/visit/:visit/record', now(Record)],
  ['/sync', now(Sync)],
  ['/settings', now(Settings)],
  ['/trees', () => import('./office/Trees.svelte')],
  ['/trees/:id', () => import('./office/TreeLife.svelte')],
  ['/map', () => import('./office/MapScreen.svelte')],
  ['/plans', () => import('./office/PlansScreen.svelte')],
  ['/records', () => import('./office/Records.svelte')],
  ['/stock', () => import('./office/Stock.svelte')],
  ['/people', () => import('./office/People.svelte')],
  ['/labels', () => import('./office/Labels.svelte')],
  ['/devices', () => import('./office/Devices.svelte')],
  ['/journal', () => import('./office/Journal.svelte')],
  ['/import', () => import('./office/Import.svelte')],
  ['/export', () => import('./office/Export.svelte')],
  ['/gallery', () => import('./Gallery.svelte')],
  ['/gallery/:show', () => import('./Gallery.svelte')],
];

/** The screen of an address, with what the address says. */
export function screenOf(path: string): { load: Load; params: { [name: string]: string } } | null {
  for (const [pattern, load] of routes) {
    const params = match(pattern, path);
    if (params) return { load, params };
  }
  return null;
}
