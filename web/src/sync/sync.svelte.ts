// Sends what waits, fetches the day, and says honestly how it stands. Nothing
// leaves the outbox before the server has said that it has it.
import { tooFar } from '../device/clock';
import type { Kept, Store, Waiting } from '../device/store';
import { type Engine, problemOf } from '../state/engine';
import { type Api, NotDone, type SyncAnswer } from './api';

const atOnce = 400; // lines in one request
const firstWait = 5_000;
const longestWait = 5 * 60_000;

export interface SyncHooks {
  /** Lines that came from the office are kept: show them. */
  onlent(lines: Kept[]): void;
  now(): number;
  online(): boolean;
}

export class SyncState {
  waiting = $state(0);
  refused = $state(0); // of those that wait, those that the office would not take
  pictures = $state(0); // that wait
  lastSent = $state<number | null>(null);
  lastFetched = $state<number | null>(null);
  online = $state(true);
  busy = $state(false);
  joined = $state(false); // there is an office to send to
  error = $state<string | null>(null);
  out = $state(false); // the office does not know this device any more
  skew = $state(0); // how far this clock is ahead of the office's, in ms
  clockWrong = $derived(Math.abs(this.skew) > tooFar);
  nextTry = $state<number | null>(null);

  #engine: Engine;
  #store: Store;
  #api: Api;
  #hooks: SyncHooks;
  #fails = 0;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(engine: Engine, store: Store, api: Api, hooks: SyncHooks) {
    this.#engine = engine;
    this.#store = store;
    this.#api = api;
    this.#hooks = hooks;
    api.onskew = (ms) => (this.skew = ms);
  }

  /** Reads from the disk how it stands. */
  async refresh(): Promise<void> {
    const [waiting, pictures, sent, fetched, token] = await Promise.all([
      this.#store.waiting(),
      this.#store.pictures(),
      this.#store.get<number>('last_sent'),
      this.#store.get<number>('last_fetched'),
      this.#store.get<string>('token'),
    ]);
    this.waiting = waiting.length;
    this.refused = waiting.filter((w) => w.refused).length;
    this.pictures = pictures.filter((p) => !p.sent).length;
    this.lastSent = sent ?? null;
    this.lastFetched = fetched ?? null;
    this.joined = (token ?? null) !== null;
    this.online = this.#hooks.online();
  }

  /** Tries soon; called after every deed and when the signal comes back. */
  soon(wait = 1_500): void {
    clearTimeout(this.#timer);
    this.nextTry = this.#hooks.now() + wait;
    this.#timer = setTimeout(() => void this.run(), wait);
  }

  stop(): void {
    clearTimeout(this.#timer);
  }

  /** One whole round of sending and fetching; in one tab at a time. */
  async run(): Promise<void> {
    clearTimeout(this.#timer);
    this.nextTry = null;
    if (this.busy) return;
    if (!globalThis.navigator?.locks) return this.#attempt();
    await navigator.locks.request('sapwell-sync', { ifAvailable: true }, (lock) =>
      lock ? this.#attempt() : undefined,
    );
  }

  async #attempt(): Promise<void> {
    await this.refresh();
    if (!this.joined || !this.online) return;
    this.busy = true;
    try {
      this.#api.token = (await this.#store.get<string>('token')) ?? null;
      await this.#send();
      await this.#sendPictures();
      await this.#fetch();
      this.error = null;
      this.out = false;
      this.#fails = 0;
    } catch (err) {
      this.#failed(err);
    } finally {
      this.busy = false;
      await this.refresh();
    }
  }

  #failed(err: unknown): void {
    this.out = err instanceof NotDone && err.status === 401;
    this.error = problemOf(err).text;
    const wait = Math.min(longestWait, firstWait * 2 ** this.#fails++);
    if (!this.out) this.soon(wait);
  }

  async #send(): Promise<void> {
    const waiting = (await this.#store.waiting()).filter((w) => !w.refused);
    for (let from = 0; from < waiting.length || from === 0; from += atOnce) {
      const batch = waiting.slice(from, from + atOnce);
      const { offer } = await this.#engine.call<{ offer: unknown[] }>('offer', {});
      const answer = await this.#api.sync(
        offer,
        batch.map((w) => w.text),
      );
      await this.#settle(batch, answer);
      if (waiting.length === 0) return;
    }
  }

  /** What the answer does not refuse, the office has: also what it keeps apart. */
  async #settle(batch: Waiting[], answer: SyncAnswer): Promise<void> {
    const refused = new Map<number, string>();
    for (const r of answer.refused) {
      const line = batch[r.line - 1];
      if (line) refused.set(line.n, r.reason);
    }
    await this.#store.settle(
      batch.filter((w) => !refused.has(w.n)).map((w) => w.n),
      refused,
    );
    if (batch.length > refused.size) await this.#store.set('last_sent', this.#hooks.now());
    this.waiting = await this.#store.waitingCount();
  }

  async #sendPictures(): Promise<void> {
    for (const p of await this.#store.pictures()) {
      if (p.sent) continue;
      await this.#api.putPicture(p.sha256, p.type, p.bytes);
      await this.#store.keepPicture({ ...p, sent: true });
    }
  }

  async #fetch(): Promise<void> {
    const since = (await this.#store.get<number>('pack_next')) ?? 0;
    const { lines, next } = await this.#api.pack(since);
    if (lines.length > 0) {
      await this.#engine.call('load', { lines });
      await this.#store.lend(lines);
      this.#hooks.onlent(lines);
    }
    await this.#store.set('pack_next', next);
    await this.#store.set('last_fetched', this.#hooks.now());
  }
}

/** The outbox as a file that the office can take in: lines of the journal. */
export function outboxFile(waiting: Waiting[]): Blob {
  return new Blob([waiting.map((w) => `${w.text}\n`).join('')], { type: 'application/x-ndjson' });
}
