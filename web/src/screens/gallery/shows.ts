// What the gallery shows: a screen, and what is done to bring it into its state.
import { treeHref } from '../../state/round.svelte';
import { officeShows } from './office';
import type { Scene } from './scene';

export interface Show {
  id: string;
  path: (s: Scene) => string;
  set?: (s: Scene) => void;
  awaits?: string; // a selector of what is there when it was set
}

const at =
  (tag: string, step: string) =>
  (s: Scene): string =>
    treeHref(s.visit, s.trees[tag]!, step);

const sync = (id: string, set: Show['set']): Show => ({ id, path: () => '/sync', ...(set ? { set } : {}) });

export const shows: Show[] = [
  { id: 'start', path: () => '/start' },
  { id: 'join', path: () => '/join' },
  { id: 'signin', path: () => '/signin' },
  { id: 'today', path: () => '/today' },
  { id: 'visit-new', path: () => '/visit/new' },
  { id: 'look', path: at('A-05', 'look') },
  { id: 'measure', path: at('A-05', 'measure') },
  { id: 'plan', path: at('A-05', 'plan') },
  { id: 'marks', path: at('A-05', 'marks') },
  { id: 'drill', path: at('A-04', 'drill') },
  { id: 'seat', path: at('A-04', 'seat') },
  { id: 'drain', path: at('A-02', 'drain') },
  { id: 'drain-overdue', path: at('A-01', 'drain') },
  { id: 'drain-none', path: at('A-05', 'drain') },
  { id: 'lift', path: at('A-03', 'lift') },
  { id: 'lift-pressure', path: at('A-02', 'lift') },
  { id: 'close', path: at('A-03', 'close') },
  { id: 'visit-close', path: (s) => `/visit/${s.visit}/close` },
  { id: 'record', path: (s) => `/visit/${s.closed}/record` },
  { id: 'record-missing', path: (s) => `/visit/${s.visit}/record` },
  { id: 'visit-missing', path: (s) => treeHref(s.visit, '00000000-0000-7000-8000-000000000000') },
  sync('sync-alone', undefined),
  sync('sync-waiting', ({ app }) =>
    Object.assign(app.sync, {
      joined: true,
      online: false,
      waiting: 17,
      lastSent: app.now - 900_000,
      pictures: 2,
    }),
  ),
  sync('sync-failed', ({ app }) =>
    Object.assign(app.sync, {
      joined: true,
      online: true,
      waiting: 17,
      refused: 1,
      error: 'the server has too much to do',
      nextTry: app.now + 60_000,
    }),
  ),
  sync('sync-out', ({ app }) => Object.assign(app.sync, { joined: true, out: true, waiting: 3 })),
  sync('sync-clock', ({ app }) =>
    Object.assign(app.sync, { joined: true, online: true, skew: 900_000, lastSent: app.now }),
  ),
  { id: 'full', path: at('A-05', 'marks'), set: ({ app }) => (app.deeds.full = true) },
  { id: 'other-tab', path: () => '/today', set: ({ app }) => (app.writes = false) },
  { id: 'settings', path: () => '/settings' },
  ...officeShows,
  { id: 'nowhere', path: () => '/no/such/page' },
];
