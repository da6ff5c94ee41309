// An invented organisation for the gallery: its own engine, its own database, no
// server. Every state that is shown was reached by deeds.
import label from '../../../../cmd/sapwell/demo/labels/demo-a.yaml?raw';
import { furnishOffice } from './office';
import { Client, type Thread } from '../../engine/client';
import { Store } from '../../device/store';
import { App } from '../../state/app.svelte';
import type { Deed, Engine } from '../../state/engine';
import type { Kept } from '../../state/settings.svelte';
import { Api } from '../../sync/api';
import type { Said } from '../../state/office/shapes';
import type { Row, Tree, Visit } from '../../state/shapes';

const hour = 3_600_000;
const name = 'sapwell-gallery';

export interface Scene {
  app: App;
  visit: string;
  trees: Record<string, string>; // ids by tag
  closed: string; // a visit that is
}

/** Deeds done one after the other, at moments before now. */
class Scribe {
  #engine: Engine;
  at: number;
  lines: Deed['lines'] = [];

  constructor(engine: Engine, at: number) {
    this.#engine = engine;
    this.at = at;
  }

  async do(name: string, input: object): Promise<string> {
    this.at += 1000;
    const deed = await this.#engine.call<Deed>('deed', { name, input, now: this.at });
    this.lines.push(...deed.lines);
    return (deed.result as { id?: string }).id ?? deed.ids[0] ?? '';
  }

  async said(kind: string, id: string): Promise<Said[]> {
    return (await this.#engine.call<{ entries: Said[] }>('history', { kind, id })).entries;
  }

  async row<S>(kind: string, id: string): Promise<S> {
    return (await this.#engine.call<Row<S>>('row', { kind, id })).state;
  }
}

const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** A tree that is measured, looked at and, unless it is the last, planned. */
async function tree(
  s: Scribe,
  grounds: string,
  tag: string,
  girth: string,
  more: object = {},
): Promise<string> {
  const id = await s.do('tree.add', { grounds, tag, species: 'Fraxinus pennsylvanica', where: 'East hedge' });
  await s.do('tree.measure', {
    tree: id,
    stems: [
      {
        ring: {
          girth: { around: girth, height: '12 in' },
          zero: { face: 'N side' },
          arcs: [{ from: '20 in', to: '26 in', kind: 'canker' }],
        },
        bark: [{ at: '9 in', thickness: '3/4 in' }],
      },
    ],
  });
  await s.do('tree.inspect', {
    tree: id,
    canopy_loss: 20,
    pest: 'Agrilus planipennis',
    bloom_over: 'yes',
    eaten: 'no',
    tapped: 'no',
    live_wires: 'no',
    ...more,
  });
  return id;
}

async function units(s: Scribe, visit: string, tree: string) {
  const v = await s.row<Visit>('visit', visit);
  return (v.units ?? []).filter((u) => u.tree === tree).map((u) => u.id);
}

async function install(s: Scribe, visit: string, tree: string, lot: string): Promise<string[]> {
  await s.do('tree.install', { visit, tree, lot });
  const ids = await units(s, visit, tree);
  await s.do('unit.pressurise', { visit, units: ids, gauge: '10 psi' });
  return ids;
}

let made: Promise<Scene> | undefined;

/** The scene of this page, as it was before anything was shown of it. */
export async function theScene(kept: Kept): Promise<Scene> {
  const scene = await (made ??= makeScene(kept));
  const { app } = scene;
  if (JSON.stringify(app.settings.kept) !== JSON.stringify(kept)) await app.change(kept);
  Object.assign(app.sync, { error: null, out: false, skew: 0, nextTry: null, busy: false });
  app.deeds.full = false;
  app.writes = true;
  app.sync.stop();
  await app.sync.refresh();
  return scene;
}

/** Builds it. Language and units are those of whoever looks. */
async function makeScene(kept: Kept): Promise<Scene> {
  const client = new Client(
    () => new Worker(new URL('../../engine/worker.ts', import.meta.url), { type: 'module' }) as Thread,
  );
  const engine = client as unknown as Engine;
  await (await Store.open(name)).forget();
  const store = await Store.open(name);
  const offline = new Api('', () => Promise.reject(new Error('offline')));
  const now = Date.now();
  const app = new App({
    name,
    engine,
    store,
    api: offline,
    window: null,
    now: () => now,
    language: kept.lang,
  });
  await store.set('settings', kept);
  await app.show();
  await app.wake();
  app.sync.stop();
  await new Promise((done) => setTimeout(done, 50)); // the lock comes a moment later
  await app.session.begin(
    {
      name: 'Aldersey Tree Care (invented)',
      country: 'US',
      zone: 'America/Chicago',
      keep_years: 7,
      person: 'Rowan Pike (invented)',
      roles: ['applicator'],
      device: 'Gallery',
    },
    app.deeds,
    app.settings.speaking,
  );
  const scribe = new Scribe(engine, now - 120 * hour);
  const scene = await furnish(scribe, now);
  await store.write(scribe.lines, now);
  await app.sync.refresh();
  app.sync.stop();
  return { app, ...scene };
}

async function furnish(s: Scribe, now: number): Promise<Omit<Scene, 'app'>> {
  const grounds = await s.do('grounds.add', {
    name: 'Aldersey Common (invented)',
    context: 'amenity',
    client: 'Aldersey Parish (invented)',
  });
  await s.do('label.add', { file: label });
  const lot = await s.do('lot.add', {
    label: 'demo-a',
    number: 'AC-1108',
    size: '4 mL',
    expires: day(now + 4000 * hour),
    units: 160,
  });
  const trees: Record<string, string> = {};
  const girths = {
    'A-01': '96 in',
    'A-02': '84 1/2 in',
    'A-03': '61 in',
    'A-04': '72 in',
    'A-05': '54 in',
    'A-06': '48 in',
    'A-07': '90 in',
  };
  for (const [tag, girth] of Object.entries(girths))
    trees[tag] = await tree(
      s,
      grounds,
      tag,
      girth,
      tag === 'A-07' ? { canopy_loss: 70, live_wires: 'yes' } : {},
    );
  for (const tag of Object.keys(girths))
    await s.do('tree.plan', { tree: trees[tag], day: day(now), air: '20 °C' });
  const jobs = async (...tags: string[]) =>
    Promise.all(
      tags.map(async (tag) => ({ tree: trees[tag]!, plan: (await s.row<Tree>('tree', trees[tag]!)).plan! })),
    );

  const visit = await s.do('visit.open', {
    grounds,
    day: day(now),
    jobs: await jobs('A-01', 'A-02', 'A-03', 'A-04', 'A-05'),
  });
  await install(s, visit, trees['A-01']!, lot); // five days ago: overdue
  s.at = now - 7 * hour;
  const second = await install(s, visit, trees['A-02']!, lot);
  await s.do('unit.stick', { visit, units: second.slice(1, 2), left: '2.5 mL', why: 'sap in the hole' });
  await s.do('unit.drain', { visit, units: second.slice(2, 7) });
  const third = await install(s, visit, trees['A-03']!, lot);
  await s.do('unit.drain', { visit, units: third });
  await s.do('unit.lift', { visit, units: third.slice(0, 2) });
  for (const mark of [1, 2, 3, 4]) await s.do('hole.bore', { visit, tree: trees['A-04'], mark });

  const closed = await s.do('visit.open', { grounds, day: day(now), jobs: await jobs('A-06') });
  const last = await install(s, closed, trees['A-06']!, lot);
  await s.do('unit.drain', { visit: closed, units: last });
  await s.do('unit.lift', { visit: closed, units: last.slice(1) });
  await s.do('unit.lose', {
    visit: closed,
    units: last.slice(0, 1),
    why: 'fell into the pond',
    signed: 'Rowan Pike',
  });
  const n = last.length;
  await s.do('visit.tally', {
    visit: closed,
    lots: [{ lot, taken: n + 2, seated: n, lifted: n - 1, lost: 1, broken: 0, unused: 2 }],
  });
  await s.do('bag.seal', { visits: [closed], mark: 'AC-7', units: n - 1 });
  await s.do('visit.close', {
    visit: closed,
    signature: { name: 'Rowan Pike', meaning: 'I did this work.' },
  });
  trees['A-07 alone'] = await s.do('visit.open', { grounds, day: day(now), jobs: await jobs('A-05') });
  await furnishOffice(s, trees, label, now);
  return { visit, trees, closed };
}
