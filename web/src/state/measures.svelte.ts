// Measures as the person reads them. The engine prints them, in their language and
// units; here they are asked for all at once and remembered.
import { SvelteMap } from 'svelte/reactivity';
import type { Amount, Engine } from './engine';

export type Kind = 'length' | 'volume' | 'mass' | 'pressure' | 'temperature' | 'angle' | 'time';

/** A measure that was read: as it is said, and as entries keep it. */
export interface Measure {
  value: Amount;
  said: string;
  whole?: number; // nm or nL
}

/** What is to be printed: a length as the tape shows it, if it is a place on the tape. */
interface Made {
  made: Amount;
  tape?: true;
}

const bare = (a: Amount): string => `${a.value} ${a.unit}`;
const long = (nm: number): Made => ({ made: { value: nm / 1e6, unit: 'mm' } });
const placed = (nm: number): Made => ({ ...long(nm), tape: true });
const keyOf = (m: Made): string => bare(m.made) + (m.tape ? ' on the tape' : '');

export class Measures {
  #engine: Engine;
  #printed = new SvelteMap<string, string>();
  #asked = new Set<string>();
  #next: Made[] = [];

  constructor(engine: Engine) {
    this.#engine = engine;
  }

  /** Forgets what was printed: language or units have changed. */
  clear(): void {
    this.#printed.clear();
    this.#asked.clear();
  }

  length = (nm: number | undefined): string => (nm === undefined ? '' : this.#print(long(nm)));
  tape = (nm: number | undefined): string => (nm === undefined ? '' : this.#print(placed(nm)));
  volume = (nl: number | undefined): string =>
    nl === undefined ? '' : this.#print({ made: { value: nl / 1e6, unit: 'mL' } });
  amount = (a: Amount | undefined): string => (a === undefined ? '' : this.#print({ made: a }));

  /** Takes places on the tape that the engine has said already. */
  learn(places: [nm: number, said: string][]): void {
    for (const [nm, said] of places) this.#printed.set(keyOf(placed(nm)), said);
  }

  /** Reads what a person typed or said; throws what is wrong with it. */
  async read(text: string, kind: Kind, bare = ''): Promise<Measure> {
    const input = { text: text.trim(), kind, ...(bare ? { bare } : {}) };
    const read = await this.#engine.call<Measure>('quantity', input);
    if (kind === 'length' && read.whole !== undefined) this.#printed.set(keyOf(long(read.whole)), read.said);
    return read;
  }

  /** The same, as a deed takes it. */
  async typed(text: string, kind: Kind, bare = ''): Promise<Amount> {
    return (await this.read(text, kind, bare)).value;
  }

  #print(made: Made): string {
    const key = keyOf(made);
    const have = this.#printed.get(key);
    if (have !== undefined) return have;
    if (!this.#asked.has(key)) {
      this.#asked.add(key);
      if (this.#next.push(made) === 1) queueMicrotask(() => void this.#ask());
    }
    return '…';
  }

  /** Asks once for all that a screen wants printed. */
  async #ask(): Promise<void> {
    const list = this.#next;
    this.#next = [];
    const printed = await this.#engine.call<{ list: Measure[] }>('quantities', { list }).catch(() => null);
    // The bare number is better than none.
    list.forEach((m, i) => this.#printed.set(keyOf(m), printed?.list[i]?.said ?? bare(m.made)));
  }
}
