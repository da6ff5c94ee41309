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

const unitKinds: Record<string, Kind> = {
  mm: 'length',
  cm: 'length',
  m: 'length',
  mL: 'volume',
  L: 'volume',
  g: 'mass',
  mg: 'mass',
  kPa: 'pressure',
  min: 'time',
  h: 'time',
  s: 'time',
  d: 'time',
  deg: 'angle',
  Cel: 'temperature',
  K: 'temperature',
};

export class Measures {
  #engine: Engine;
  #printed = new SvelteMap<string, string>();
  #asked = new Set<string>();
  #next: { key: string; text: string; kind: Kind }[] = [];

  constructor(engine: Engine) {
    this.#engine = engine;
  }

  /** Forgets what was printed: language or units have changed. */
  clear(): void {
    this.#printed.clear();
    this.#asked.clear();
  }

  length = (nm: number | undefined): string =>
    nm === undefined ? '' : this.#print(`${nm / 1e6} mm`, 'length');
  volume = (nl: number | undefined): string =>
    nl === undefined ? '' : this.#print(`${nl / 1e6} mL`, 'volume');
  amount = (a: Amount | undefined): string =>
    a === undefined ? '' : this.#print(`${a.value} ${a.unit}`, unitKinds[a.unit] ?? 'length');

  /** Reads what a person typed or said; throws what is wrong with it. */
  read(text: string, kind: Kind, bare = ''): Promise<Measure> {
    return this.#engine.call('quantity', { text, kind, ...(bare ? { bare } : {}) });
  }

  #print(text: string, kind: Kind): string {
    const key = `${kind} ${text}`;
    const have = this.#printed.get(key);
    if (have !== undefined) return have;
    if (!this.#asked.has(key)) {
      this.#asked.add(key);
      if (this.#next.push({ key, text, kind }) === 1) queueMicrotask(() => void this.#ask());
    }
    return '…';
  }

  /** Asks once for all that a screen wants printed. */
  async #ask(): Promise<void> {
    const wanted = this.#next;
    this.#next = [];
    const list = wanted.map(({ text, kind }) => ({ text, kind }));
    const printed = await this.#engine.call<{ list: Measure[] }>('quantities', { list }).catch(() => null);
    // The bare number is better than none.
    wanted.forEach(({ key, text }, i) => this.#printed.set(key, printed?.list[i]?.said ?? text));
  }
}
