import { mount } from 'svelte';
import App from './App.svelte';
import './ui/tokens.css';
import './ui/base.css';

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no #app');

export default mount(App, { target });
