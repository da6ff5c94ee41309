// How a unit looks in each state: by shape first, so that it reads in any light
// and to any eye.

export const unitStates = [
  'planned',
  'bored',
  'seated',
  'draining',
  'overdue',
  'stuck',
  'drained',
  'lifted',
  'lost',
] as const;
export type UnitState = (typeof unitStates)[number];

/** The liquid in a round vessel of radius r, filled to a share of its height. */
export function liquid(r: number, share: number): string {
  const f = Math.min(1, Math.max(0, share));
  const y = r - 2 * r * f;
  const x = Math.sqrt(Math.max(0, r * r - y * y));
  if (f >= 1) return `M${-r} 0a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  return `M${-x} ${y}A${r} ${r} 0 ${f > 0.5 ? 1 : 0} 0 ${x} ${y}Z`;
}

/** Where on a circle something stands, turned so that `turn` is at the bottom. */
export function onRing(
  at: number,
  girth: number,
  turn: number,
  counter: boolean,
  r: number,
): { x: number; y: number; a: number } {
  const share = (at - turn) / girth;
  const a = share * 2 * Math.PI * (counter ? -1 : 1);
  return { x: -r * Math.sin(a), y: r * Math.cos(a), a };
}

/** The outline of a part of a ring between two places of the tape. */
export function ringPart(
  from: number,
  to: number,
  girth: number,
  turn: number,
  counter: boolean,
  inner: number,
  outer: number,
): string {
  const span = (((to - from) % girth) + girth) % girth || girth;
  const far = span > girth / 2 ? 1 : 0;
  const [a, b] = [
    onRing(from, girth, turn, counter, outer),
    onRing(from + span, girth, turn, counter, outer),
  ];
  const [c, d] = [
    onRing(from + span, girth, turn, counter, inner),
    onRing(from, girth, turn, counter, inner),
  ];
  const sweep = counter ? 0 : 1;
  const p = ({ x, y }: { x: number; y: number }) => `${x.toFixed(2)} ${y.toFixed(2)}`;
  return `M${p(a)}A${outer} ${outer} 0 ${far} ${sweep} ${p(b)}L${p(c)}A${inner} ${inner} 0 ${far} ${1 - sweep} ${p(d)}Z`;
}

/** The mark that is nearest to a place on the tape, around the trunk. */
export function nearest<T extends { at: number }>(marks: T[], at: number, girth: number): T | undefined {
  const away = (m: T) => {
    const d = Math.abs(m.at - at) % girth;
    return Math.min(d, girth - d);
  };
  return marks.reduce<T | undefined>((best, m) => (best && away(best) <= away(m) ? best : m), undefined);
}
