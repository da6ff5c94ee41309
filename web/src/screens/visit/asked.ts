// What the record of a tree misses, as the engine tells it: doc/pocket.md.
import { untrack } from 'svelte';
import type { Engine } from '../../state/engine';
import type { VisitState } from '../../state/visit.svelte';

export interface Fact {
  code: string;
  sentence: string;
  field?: string;
  name?: string;
  step?: string; // that brings it; bags: the end of the day
  on?: { kind: string; id: string }; // of what it can be told
}

export async function asked(engine: Engine, v: VisitState): Promise<Fact[]> {
  const input = { visit: v.visit!.id, tree: v.tree!.id, now: untrack(() => v.now) };
  return (await engine.call<{ facts: Fact[] }>('asked', input)).facts;
}
