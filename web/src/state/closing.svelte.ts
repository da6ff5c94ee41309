// Closing a visit: what became of every unit, by lot; the bags; the signature.
import type { Deeds } from './deeds.svelte';
import { type Engine, type Problem, problemOf } from './engine';
import type { Lot, Row, Unit, Visit } from './shapes';
import { isOut } from './visit.svelte';

export interface Count {
  lot: string;
  number: string;
  seated: number;
  lifted: number;
  lost: number;
  broken: string; // as typed
  unused: string;
}

/** What the journal has of each lot in a visit. */
export function countsOf(units: Unit[], lots: Map<string, string>): Count[] {
  const by = new Map<string, Count>();
  for (const u of units) {
    const lot = u.lot ?? '';
    const c = by.get(lot) ?? {
      lot,
      number: lots.get(lot) ?? '',
      seated: 0,
      lifted: 0,
      lost: 0,
      broken: '0',
      unused: '0',
    };
    c.seated++;
    if (u.lifted) c.lifted++;
    else if (u.lost) c.lost++;
    by.set(lot, c);
  }
  return [...by.values()];
}

export class Closing {
  visit = $state.raw<Visit>();
  counts = $state.raw<Count[]>([]);
  problem = $state.raw<Problem | null>(null);
  busy = $state(false);
  units = $derived(this.visit?.units ?? []);
  out = $derived(this.units.filter(isOut).length);
  lifted = $derived(this.units.filter((u) => u.lifted).length);
  lost = $derived(this.units.filter((u) => u.lost).length);
  closed = $derived(!!this.visit?.closed);
  tallied = $derived(!!this.visit?.tally);
  bags = $state.raw<{ mark: string; units: number }[]>([]);
  bagged = $derived(this.bags.reduce((n, b) => n + b.units, 0));

  #engine: Engine;
  #deeds: Deeds;

  constructor(engine: Engine, deeds: Deeds) {
    this.#engine = engine;
    this.#deeds = deeds;
  }

  async load(id: string): Promise<void> {
    const [{ state }, lots, bags] = await Promise.all([
      this.#engine.call<Row<Visit>>('row', { kind: 'visit', id }),
      this.#engine.call<{ rows: Row<Lot>[] }>('rows', { kind: 'lot', limit: 500 }),
      this.#engine.call<{ rows: Row<{ facts: { visits: string[]; mark: string; units: number } }>[] }>(
        'rows',
        { kind: 'bag', limit: 500 },
      ),
    ]);
    const first = this.visit?.id !== id || this.visit.units?.length !== state.units?.length;
    this.visit = state;
    if (first)
      this.counts = countsOf(
        state.units ?? [],
        new Map(lots.rows.map((r) => [r.state.id, r.state.facts.number])),
      );
    this.bags = bags.rows.map((r) => r.state.facts).filter((b) => b.visits.includes(id));
  }

  tally(note: string): Promise<boolean> {
    const lots = this.counts.map((c) => {
      const [broken, unused] = [Number(c.broken || 0), Number(c.unused || 0)];
      const taken = c.seated + broken + unused; // what went out is what came of it
      return { lot: c.lot, taken, seated: c.seated, lifted: c.lifted, lost: c.lost, broken, unused };
    });
    return this.#do('visit.tally', {
      visit: this.visit!.id,
      lots,
      ...(note.trim() ? { note: note.trim() } : {}),
    });
  }

  seal(mark: string, units: number): Promise<boolean> {
    return this.#do('bag.seal', { visits: [this.visit!.id], mark, units });
  }

  close(name: string, meaning: string): Promise<boolean> {
    return this.#do('visit.close', { visit: this.visit!.id, signature: { name, meaning } });
  }

  async #do(name: string, input: object): Promise<boolean> {
    this.busy = true;
    this.problem = null;
    try {
      await this.#deeds.do(name, input);
      return true;
    } catch (err) {
      this.problem = problemOf(err);
      return false;
    } finally {
      await this.load(this.visit!.id);
      this.busy = false;
    }
  }
}
