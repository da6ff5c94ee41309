// Before the engine knows what the device keeps it must not be asked: it would answer
// as if there were nothing. Screens need not know; their questions wait here.
import type { Engine } from './engine';

export class Gate implements Engine {
  /** Who wakes the engine asks it directly. */
  readonly engine: Engine;
  /** Lets through all that waits, and what comes. */
  open!: () => void;

  #opened: Promise<void>;

  constructor(engine: Engine) {
    this.engine = engine;
    this.#opened = new Promise((resolve) => (this.open = resolve));
  }

  async call<T>(name: string, input: unknown): Promise<T> {
    await this.#opened;
    return this.engine.call<T>(name, input);
  }
}
