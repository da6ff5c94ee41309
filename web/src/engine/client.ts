// The way to the engine: what is computed, decided and said is asked here.
import type { Answer, Question } from './protocol';
import type { Calls, Problem } from './types';

/** What the engine would not do, and why, in the person's language. */
export class Refused extends Error {
  readonly code: string;
  readonly field: string;
  constructor(problem: Problem) {
    super(problem.text);
    this.name = 'Refused';
    this.code = problem.code;
    this.field = problem.field ?? '';
  }
}

/** The engine has gone. What it held is in the database: start it anew, load again. */
export class Gone extends Error {
  constructor(why: string) {
    super(why);
    this.name = 'Gone';
  }
}

/** The part of a Worker that is needed; tests have their own. */
export interface Thread {
  postMessage(message: Question): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<Answer>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

interface Waiting {
  resolve(value: unknown): void;
  reject(reason: Error): void;
}

export class Client {
  /** Told when the engine has gone; all calls that waited have failed by then. */
  ongone: ((why: string) => void) | null = null;

  #make: () => Thread;
  #thread: Thread | null = null;
  #waiting = new Map<number, Waiting>();
  #last = 0;

  constructor(make: () => Thread) {
    this.#make = make;
  }

  /** Asks the engine. Throws Refused where it would not, Gone where there is none. */
  call<N extends keyof Calls>(name: N, input: Calls[N]['in']): Promise<Calls[N]['out']> {
    const thread = (this.#thread ??= this.#begin());
    const id = ++this.#last;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve: resolve as Waiting['resolve'], reject });
      thread.postMessage({ id, name, input: JSON.stringify(input) });
    });
  }

  /** Ends the engine. The next call starts a new one, which knows nothing yet. */
  stop(why = 'stopped'): void {
    const thread = this.#thread;
    if (!thread) return;
    this.#thread = null;
    thread.onmessage = thread.onerror = null;
    thread.terminate();
    const waiting = [...this.#waiting.values()];
    this.#waiting.clear();
    for (const w of waiting) w.reject(new Gone(why));
    this.ongone?.(why);
  }

  #begin(): Thread {
    const thread = this.#make();
    thread.onmessage = ({ data }) => ('gone' in data ? this.stop(data.gone) : this.#answer(data));
    thread.onerror = (event) => this.stop(event.message);
    return thread;
  }

  #answer({ id, text }: { id: number; text: string }): void {
    const w = this.#waiting.get(id);
    this.#waiting.delete(id);
    const said = JSON.parse(text) as { ok?: unknown; error?: Problem };
    if (said.error) w?.reject(new Refused(said.error));
    else w?.resolve(said.ok);
  }
}

/** The engine of this page. */
export const engine = new Client(
  () => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' }) as Thread,
);
