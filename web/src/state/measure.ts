// A new reading of the tape, as tree.measure takes it. What was not read anew, the
// engine keeps as it was.
import type { Stem } from './shapes';

export interface Reading {
  girth: string; // with its unit
  height?: string;
  face?: string;
  bark?: string[];
}

interface Measured {
  tree?: { id: string } | undefined;
  measured?: Stem | undefined;
}

/** The input of tree.measure. */
export function measureInput({ tree, measured }: Measured, r: Reading): object {
  const height = r.height ?? (measured ? `${measured.girth.height_nm / 1e6} mm` : '');
  const zero = {
    ...(r.face ? { face: r.face } : {}),
    ...(measured?.counter_clockwise ? { counter_clockwise: true } : {}),
  };
  const stem = {
    ...(measured?.name ? { name: measured.name } : {}),
    ring: { girth: { around: r.girth, height }, zero },
    ...(r.bark ? { bark: r.bark.map((thickness) => ({ at: '0 mm', thickness })) } : {}),
  };
  return { tree: tree!.id, again: true, stems: [stem] };
}
