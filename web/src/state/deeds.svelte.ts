// Doing a deed: the engine decides, the disk keeps, and only then it counts. Where
// the disk has no room, the engine starts again from what the disk has: so what is
// shown and what is kept are never two things.
import { Full, type Kept, type Store } from '../device/store';
import type { Writer } from '../device/writer';
import type { Deed, Engine } from './engine';

/** Another tab holds the pen. */
export class OtherTab extends Error {
  readonly code = 'app.other_tab';
}

/** The device has no room: the deed is not done. */
export class NoRoom extends Error {
  readonly code = 'app.no_room';
}

export class Deeds {
  full = $state(false); // the last deed found no room
  ondone: (() => void) | null = null;
  /** Starts the engine again from the disk. */
  restart: () => Promise<void> = async () => {};
  /** What is said to a person of these two. */
  texts = { otherTab: () => '', noRoom: () => '' };

  #engine: Engine;
  #store: Store;
  #writer: Writer;
  #now: () => number;
  #last: Promise<unknown> = Promise.resolve();

  constructor(engine: Engine, store: Store, writer: Writer, now: () => number) {
    this.#engine = engine;
    this.#store = store;
    this.#writer = writer;
    this.#now = now;
  }

  /** Does one deed, after those that were asked for before it. Where another engine
      does it, this one hears of it. */
  do(name: string, input: object, other?: () => Promise<Engine>): Promise<Deed> {
    return this.queue(async () => {
      const engine = (await other?.()) ?? this.#engine;
      const deed = await engine.call<Deed>('deed', { name, input, now: this.#now() });
      await this.#keep(deed.lines);
      if (other) await this.#engine.call('load', { lines: deed.lines });
      return deed;
    });
  }

  /** Anything else that writes lines, in its turn. */
  write<T extends { lines: Kept[] }>(name: string, input: object): Promise<T> {
    return this.queue(async () => {
      const wrote = await this.#engine.call<T>(name, input);
      await this.#keep(wrote.lines);
      return wrote;
    });
  }

  queue<T>(task: () => Promise<T>): Promise<T> {
    const mine = this.#last.then(() => {
      if (!this.#writer.held) throw new OtherTab(this.texts.otherTab());
      return task();
    });
    this.#last = mine.catch(() => undefined);
    return mine;
  }

  async #keep(lines: Kept[]): Promise<void> {
    try {
      await this.#store.write(lines, this.#now());
      this.full = false;
    } catch (err) {
      await this.restart();
      if (!(err instanceof Full)) throw err;
      this.full = true;
      throw new NoRoom(this.texts.noRoom());
    }
    this.#writer.tell({ lines });
    this.ondone?.();
  }
}
