// A new reading of the tape, put beside what was measured before: arcs, fissures
// and bark stay as they were unless they were read anew.
import type { Stem } from './shapes';

export interface Reading {
  girth: string; // with its unit
  height?: string;
  face?: string;
  bark?: string[];
}

interface Measured {
  tree?:
    { id: string; measurement?: { facts: { stems: (Stem & { fissures_nm?: number[] })[] } } } | undefined;
  measured?: Stem | undefined;
}

const mm = (nm: number): string => `${nm / 1e6} mm`;

function asSaid(s: Stem & { fissures_nm?: number[] }): object {
  return {
    ...(s.name ? { name: s.name } : {}),
    ring: {
      girth: { around: mm(s.girth.around_nm), height: mm(s.girth.height_nm) },
      zero: zero(s.zero_face, s.counter_clockwise),
      ...(s.arcs
        ? { arcs: s.arcs.map((a) => ({ from: mm(a.from_nm), to: mm(a.to_nm), kind: a.kind })) }
        : {}),
      ...(s.fissures_nm ? { fissures: s.fissures_nm.map(mm) } : {}),
    },
    ...(s.bark ? { bark: s.bark.map((b) => ({ at: mm(b.at_nm), thickness: mm(b.thick_nm) })) } : {}),
  };
}

const zero = (face = '', counter = false): object => ({
  ...(face ? { face } : {}),
  ...(counter ? { counter_clockwise: true } : {}),
});

/** The input of tree.measure. */
export function measureInput(v: Measured, r: Reading): object {
  const stems = v.tree?.measurement?.facts.stems ?? [];
  const old = v.measured;
  const fresh = (was: (Stem & { fissures_nm?: number[] }) | undefined): object => {
    const said = (was ? asSaid(was) : { ring: {} }) as { ring: object };
    return {
      ...said,
      ring: {
        ...said.ring,
        girth: { around: r.girth, height: r.height ?? (was ? mm(was.girth.height_nm) : '') },
        zero: zero(r.face, was?.counter_clockwise),
      },
      ...(r.bark ? { bark: r.bark.map((thickness) => ({ at: '0 mm', thickness })) } : {}),
    };
  };
  const list =
    stems.length > 0
      ? stems.map((s) => (s === old || stems.length === 1 ? fresh(s) : asSaid(s)))
      : [fresh(undefined)];
  return { tree: v.tree!.id, stems: list };
}
