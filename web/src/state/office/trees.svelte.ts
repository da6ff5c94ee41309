// The register as a screen sees it: what is loaded, what is asked, what was found.
import type { App } from '../app.svelte';
import { problemOf } from '../engine';
import type { Desk } from './desk.svelte';
import { type Cell, columns, everything, type Query, type TreeRow } from './register';
import type { Answer, Ask, Counts, Found, Points } from './register.worker';
import type { Tree } from './shapes';

/** When an id of version 7 was made. */
const madeAt = (id: string): number => parseInt(id.slice(0, 8) + id.slice(9, 13), 16);

/** A tree that this device carries, as a line of the register. */
export function lineOf(t: Tree): Cell[] {
  const [m, c, last] = [t.measurement?.facts, t.condition, t.treatments?.at(-1)];
  const open = (t.holes ?? []).filter((h) => h.closure?.state !== 'closed').length;
  return [
    t.id,
    t.facts.grounds,
    t.facts.tag,
    t.facts.species,
    t.facts.where ?? '',
    t.facts.place?.lat_e7 ?? 0,
    t.facts.place?.lon_e7 ?? 0,
    t.facts.gone ?? false,
    m?.stems.length ?? 0,
    m?.stems[0]?.girth.around_nm ?? 0,
    m ? m.at || madeAt(t.measurement!.entry) : 0,
    c?.at ?? 0,
    c?.canopy_loss_percent ?? -1,
    c?.pest ?? '',
    c?.advice ?? '',
    t.plan ?? '',
    t.plan_day ?? '',
    last?.end ?? 0,
    t.treatments?.length ?? 0,
    last?.units ?? 0,
    t.holes?.length ?? 0,
    open,
    t.flags?.length ?? 0,
    t.photos?.length ?? 0,
  ];
}

export class Trees {
  query = $state<Query>({ ...everything });
  counts = $state<Counts>({ size: 0, next: 0, grounds: [], species: [] });
  found = $state.raw<Uint32Array>(new Uint32Array());
  ms = $state(0); // what the last search took
  came = $state(0); // rows that have come while it loads
  loading = $state(false);
  loaded = $state(false);
  failed = $state('');

  #app: App;
  #desk: Desk;
  #worker: Worker | null = null;
  #waiting = new Map<number, { done: (ok: unknown) => void; fail: (err: Error) => void }>();
  #n = 0;
  #last = 0;

  constructor(app: App, desk: Desk) {
    this.#app = app;
    this.#desk = desk;
  }

  /** Fetches all trees, or of those that are here what has changed. */
  async load(): Promise<void> {
    if (this.loading) return;
    this.loading = true;
    this.failed = '';
    try {
      this.counts = this.#desk.remote
        ? await this.#ask<Counts>({
            what: 'fetch',
            token: (await this.#app.store.get<string>('token')) ?? '',
            since: this.counts.next,
          })
        : await this.#ask<Counts>({
            what: 'take',
            columns: [...columns],
            lines: (await this.#desk.list<Tree>('tree')).map(lineOf),
          });
      this.loaded = true;
      await this.find();
    } catch (err) {
      if (!(err instanceof Error && err.name === 'AbortError')) this.failed = problemOf(err).text;
    } finally {
      this.loading = false;
    }
  }

  cancel(): void {
    void this.#ask({ what: 'stop' });
  }

  /** Searches; an answer that a later question has overtaken is passed over. */
  async find(): Promise<void> {
    const mine = ++this.#last;
    const began = performance.now();
    const { rows } = await this.#ask<Found>({ what: 'find', query: { ...this.query, now: this.#app.now } });
    if (mine !== this.#last) return;
    this.ms = performance.now() - began;
    this.found = rows;
  }

  rows(rows: number[]): Promise<TreeRow[]> {
    return this.#ask({ what: 'rows', rows });
  }

  /** The trees found that have a place. */
  points(): Promise<Points> {
    return this.#ask({ what: 'points', query: { ...this.query, now: this.#app.now } });
  }

  close(): void {
    this.#worker?.terminate();
    this.#worker = null;
  }

  #ask<T>(ask: Ask): Promise<T> {
    this.#worker ??= this.#start();
    const id = ++this.#n;
    this.#worker.postMessage({ ...ask, id });
    return new Promise<T>((done, fail) =>
      this.#waiting.set(id, { done: done as (ok: unknown) => void, fail }),
    );
  }

  #start(): Worker {
    const worker = new Worker(new URL('./register.worker.ts', import.meta.url), { type: 'module' });
    worker.onmessage = ({ data }: MessageEvent<Answer>) => {
      if ('progress' in data) {
        this.came = data.progress;
        return;
      }
      const waits = this.#waiting.get(data.id);
      this.#waiting.delete(data.id);
      if ('error' in data) waits?.fail(new Error(data.error));
      else waits?.done(data.ok);
    };
    return worker;
  }
}

// One register for the app, so that going back to it finds it as it was.
const kept = new WeakMap<App, Trees>();

export function treesOf(app: App, desk: Desk): Trees {
  const have = kept.get(app) ?? new Trees(app, desk);
  kept.set(app, have);
  return have;
}
