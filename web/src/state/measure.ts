// A new reading of the tape, as tree.measure takes it. What was not read anew, the
// engine keeps as it was.
import type { Amount } from './engine';
import type { Stem } from './shapes';

export interface Reading {
  girth: Amount;
  height?: Amount | undefined;
  face?: string;
  bark?: Amount[];
}

interface Measured {
  tree?: { id: string } | undefined;
  measured?: Stem | undefined;
}

/** The input of tree.measure. */
export function measureInput({ tree, measured }: Measured, r: Reading): object {
  const height = r.height ?? (measured && { value: measured.girth.height_nm / 1e6, unit: 'mm' });
  const zero = {
    ...(r.face ? { face: r.face } : {}),
    ...(measured?.counter_clockwise ? { counter_clockwise: true } : {}),
  };
  const stem = {
    ...(measured?.name ? { name: measured.name } : {}),
    ring: { girth: { around: r.girth, ...(height ? { height } : {}) }, zero },
    ...(r.bark?.length
      ? { bark: r.bark.map((thickness) => ({ at: { value: 0, unit: 'mm' }, thickness })) }
      : {}),
  };
  return { tree: tree!.id, again: true, stems: [stem] };
}
