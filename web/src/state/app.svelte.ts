// Everything a screen may ask for, in one place that is handed down.
import { getContext, setContext } from 'svelte';
import { askToKeep } from '../device/room';
import { Store } from '../device/store';
import { type Told, Writer } from '../device/writer';
import { Api, type Who } from '../sync/api';
import { SyncState } from '../sync/sync.svelte';
import type { Printed, Words } from '../words';
import { Deeds } from './deeds.svelte';
import { type Engine, problemOf } from './engine';
import { Gate } from './gate';
import { Measures } from './measures.svelte';
import { Round, type Seen } from './round.svelte';
import { Router } from './router.svelte';
import { Session } from './session.svelte';
import { type Kept, Settings } from './settings.svelte';

export interface Toast {
  id: number;
  text: string;
}

export interface Parts {
  name: string; // of the database, and of the lock on it
  engine: Engine;
  store: Store;
  api: Api;
  window: Window | null;
  now: () => number;
  language: string;
}

export class App {
  readonly settings: Settings;
  readonly router: Router;
  readonly measures: Measures;
  readonly deeds: Deeds;
  readonly round: Round;
  readonly sync: SyncState;
  readonly session: Session;
  readonly engine: Engine;
  readonly store: Store;
  readonly api: Api;
  readonly writer: Writer;
  now = $state(0);
  writes = $state(true); // this tab may write
  ready = $state(false); // there is something to show
  awake = $state(false); // the engine knows what the device keeps
  failed = $state<string | null>(null);
  changes = $state(0); // grows whenever something was written or came in
  toasts = $state<Toast[]>([]);
  update = $state<(() => void) | null>(null); // a newer version waits
  visiting = $state(false);

  #clock: () => number;
  #gate: Gate;
  #toast = 0;
  #timer: ReturnType<typeof setInterval> | undefined;

  constructor(p: Parts) {
    this.#clock = p.now;
    this.now = p.now();
    this.engine = this.#gate = new Gate(p.engine);
    this.store = p.store;
    this.api = p.api;
    this.settings = new Settings(p.language);
    this.router = new Router(p.window);
    this.measures = new Measures(this.engine);
    this.round = new Round(this.engine, (seen) => void p.store.set('round', seen).catch(() => undefined));
    this.writer = new Writer(
      p.name,
      () => (this.writes = true),
      (what) => void this.#told(what),
    );
    this.writes = this.writer.held;
    this.deeds = new Deeds(this.engine, p.store, this.writer, p.now);
    this.session = new Session(this.engine, p.store, p.api, p.now);
    this.sync = new SyncState(this.engine, p.store, p.api, {
      onlent: (lines) => {
        this.writer.tell({ lines });
        this.changes++;
      },
      now: p.now,
      online: () => globalThis.navigator?.onLine ?? true,
    });
    this.deeds.restart = () => this.session.wake(this.settings.speaking);
    this.deeds.texts = {
      otherTab: () => this.words.say('tab.other'),
      noRoom: () => this.words.say('room.full_text'),
    };
    this.deeds.ondone = () => {
      this.changes++;
      void this.sync.refresh();
      this.sync.soon();
    };
  }

  get words(): Words {
    return this.settings.words;
  }

  /** The day it is here. */
  get today(): string {
    const d = new Date(this.now);
    const two = (n: number) => String(n).padStart(2, '0');
    return `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;
  }

  /** Reads the disk, and shows the day as it was seen last. */
  async show(): Promise<void> {
    await this.#try(async () => {
      const [kept, seen, printed] = await Promise.all([
        this.store.get<Kept>('settings'),
        this.store.get<Seen>('round'),
        this.store.get<Printed>('printed'),
        this.session.recall(),
        this.sync.refresh(),
      ]);
      this.settings.take(kept ?? {});
      this.words.recall(printed);
      this.ready = true;
      if (!seen) return;
      await frame(); // the frame of the page first: a phone is never held for long
      this.round.recall(seen, this.#clock());
      await frame();
    });
  }

  /** Wakes the engine. What it takes to load would keep the day from being shown. */
  async wake(): Promise<void> {
    await this.#try(async () => {
      await this.session.wake(this.settings.speaking, this.#gate.engine);
      this.#gate.open();
      this.awake = true;
      performance.mark('sapwell engine');
      void this.store.set('printed', this.words.printed).catch(() => undefined);
      this.#timer = setInterval(() => (this.now = this.#clock()), 10_000);
      this.sync.soon(200);
    });
  }

  /** The screen is looked at again, or the signal came back: clocks may have moved. */
  woke(): void {
    this.now = this.#clock();
    void this.sync.refresh();
    this.sync.soon(300);
  }

  tick(): number {
    return (this.now = this.#clock());
  }

  async change(kept: Partial<Kept>): Promise<void> {
    this.settings.take(kept);
    await this.store.set('settings', this.settings.kept);
    this.writer.tell('settings');
    await this.session.speak(this.settings.speaking);
    this.measures.clear();
    this.changes++;
  }

  /** Comes in by a way that the office gave, and fetches the day. */
  async joined(): Promise<void> {
    await askToKeep();
    await this.sync.refresh();
    await this.sync.run();
    this.changes++;
  }

  toast(text: string): void {
    const id = ++this.#toast;
    this.toasts = [...this.toasts, { id, text }];
    setTimeout(() => (this.toasts = this.toasts.filter((t) => t.id !== id)), 4_000);
  }

  async asks(): Promise<Who | null> {
    return this.api.whoAmI().catch(() => null);
  }

  stop(): void {
    clearInterval(this.#timer);
    this.sync.stop();
    this.writer.close();
  }

  async #try(what: () => Promise<void>): Promise<void> {
    try {
      await what();
    } catch (err) {
      this.failed = problemOf(err).text;
    }
  }

  async #told(what: Told): Promise<void> {
    if (what === 'settings') {
      this.settings.take((await this.store.get<Kept>('settings')) ?? {});
      await this.session.speak(this.settings.speaking);
      this.measures.clear();
    } else {
      await this.engine.call('load', { lines: what.lines });
    }
    await this.sync.refresh();
    this.changes++;
  }
}

/** Waits until what changed is on the screen, if anybody looks at it. */
const frame = (): Promise<void> =>
  new Promise((done) => (document.hidden ? done() : requestAnimationFrame(() => setTimeout(done))));

const key = Symbol('app');
export const setApp = (app: App): App => setContext(key, app);
export const getApp = (): App => getContext<App>(key);
