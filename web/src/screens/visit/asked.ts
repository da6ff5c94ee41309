// What the records of a visit miss, as the engine tells it: doc/pocket.md.
import type { Engine } from '../../state/engine';

export interface Fact {
  code: string;
  sentence: string;
  field?: string;
  name?: string;
  step?: string; // that brings it; bags: the end of the day
  on?: { kind: string; id: string }; // of what it can be told
}

/** Of one tree, or of all. */
export async function asked(
  engine: Engine,
  of: { visit: string; tree?: string; now: number },
): Promise<Fact[]> {
  return (await engine.call<{ facts: Fact[] }>('asked', of)).facts;
}
