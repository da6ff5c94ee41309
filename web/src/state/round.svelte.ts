// The day: visits that are open, the clocks that run, and where to go next.
import type { Engine } from './engine';
import type { Due, OpenVisit, TreeOnRound } from './shapes';
import type { UnitState } from '../ui/shapes';

/** A tree with units in it, as the clock board shows it. */
export interface Clock {
  visit: string;
  tree: string;
  tag: string;
  out: number;
  stuck: number;
  since: number;
  due: number; // when half of such units are empty
  late: number; // when nine of ten are
  state: UnitState;
  fill: number;
  href: string;
}

export type NextStep = 'lift' | 'stuck' | 'overdue' | 'begin' | 'wait' | 'close' | 'nothing';

export interface Next {
  what: NextStep;
  tag?: string;
  at?: number;
  href?: string;
}

export const treeHref = (visit: string, tree: string, step = ''): string =>
  `/visit/${visit}/tree/${tree}${step && `?step=${step}`}`;

export const isDone = (t: TreeOnRound): boolean => t.seated > 0 && t.out === 0 && t.seated >= t.planned;

/** A clock of the board: what the engine says of the units that drain, or that
    all of a tree are empty. */
function clockOf(visit: string, t: TreeOnRound, due: Due | undefined, now: number): Clock {
  const since = due?.since ?? t.oldest ?? now;
  const state: UnitState = t.stuck > 0 ? 'stuck' : !due ? 'drained' : due.overdue ? 'overdue' : 'draining';
  return {
    visit,
    tree: t.tree,
    tag: t.tag,
    out: t.out,
    stuck: t.stuck,
    since,
    state,
    due: due?.likely ?? 0,
    late: due?.late ?? 0,
    fill: fillAt(now, since, due?.likely ?? 0),
    href: treeHref(visit, t.tree, state === 'drained' ? 'lift' : 'drain'),
  };
}

/** How much liquid to draw in a unit that drains: a picture of the time, no measure. */
export function fillAt(now: number, since: number, likely: number): number {
  return likely > since ? Math.max(0.12, Math.min(1, 1 - (now - since) / (likely - since))) : 1;
}

/** The day as it was seen last: shown at the next start before the engine is up. */
export interface Seen {
  visits: OpenVisit[];
  due: Due[];
}

const urgency: Record<string, number> = { stuck: 0, overdue: 1, drained: 2, draining: 3 };

export class Round {
  visits = $state.raw<OpenVisit[]>([]);
  due = $state.raw<Due[]>([]);
  loaded = $state(false);
  now = $state(0);

  clocks = $derived(
    this.visits
      .flatMap((v) =>
        v.trees.filter((t) => t.out > 0).map((t) => clockOf(v.id, t, this.#dueOf(v.id, t.tree), this.now)),
      )
      .sort((a, b) => (urgency[a.state] ?? 9) - (urgency[b.state] ?? 9) || a.due - b.due),
  );
  out = $derived(this.clocks.reduce((n, c) => n + c.out, 0));
  next = $derived(this.#next());

  #engine: Engine;
  #onseen: (seen: Seen) => void;
  #shown = ''; // as it was seen last

  constructor(engine: Engine, onseen: (seen: Seen) => void = () => {}) {
    this.#engine = engine;
    this.#onseen = onseen;
  }

  /** Shows what was seen last, until the engine knows better. */
  recall(seen: Seen, now: number): void {
    this.now = now;
    this.#show(seen);
  }

  async load(day: string, now: number): Promise<void> {
    const seen = await this.#engine.call<Seen>('round', { day, now });
    this.now = now;
    if (this.#show(seen)) this.#onseen(seen);
  }

  /** What is seen already is not drawn anew. */
  #show(seen: Seen): boolean {
    const text = JSON.stringify(seen);
    if (text === this.#shown) return false;
    this.#shown = text;
    [this.visits, this.due, this.loaded] = [seen.visits, seen.due, true];
    return true;
  }

  #dueOf(visit: string, tree: string): Due | undefined {
    return this.due.find((d) => d.visit === visit && d.tree === tree);
  }

  /** What to walk to: trouble first, then what can be lifted, then the next tree. */
  #next(): Next {
    for (const [state, what] of [
      ['stuck', 'stuck'],
      ['overdue', 'overdue'],
      ['drained', 'lift'],
    ] as const) {
      const c = this.clocks.find((c) => c.state === state);
      if (c) return { what, tag: c.tag, href: c.href };
    }
    for (const v of this.visits) {
      const t = v.trees.find((t) => t.seated === 0 || t.seated < t.planned);
      if (t) return { what: 'begin', tag: t.tag, href: treeHref(v.id, t.tree) };
    }
    const c = this.clocks[0];
    if (c) return { what: 'wait', tag: c.tag, at: c.due, href: c.href };
    const v = this.visits[0];
    return v ? { what: 'close', tag: v.name, href: `/visit/${v.id}/close` } : { what: 'nothing' };
  }
}
