// Small things that several of the office's screens say alike.
import type { Language } from '../../words';

/** A day with its year: of a moment, or an ISO day, which is moved into no zone. */
export function dayOf(lang: Language, day: number | string | undefined): string {
  if (!day) return '—';
  const iso = typeof day === 'string';
  const style = {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    ...(iso ? { timeZone: 'UTC' } : {}),
  } as const;
  return new Intl.DateTimeFormat(lang, style).format(iso ? new Date(`${day}T00:00:00Z`) : day);
}

/** A moment to the minute. */
export function momentOf(lang: Language, ms: number): string {
  const style = {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  } as const;
  return new Intl.DateTimeFormat(lang, style).format(ms);
}

/** What two bodies of an entry differ in: path, before, after. */
export interface Change {
  path: string;
  before: string;
  after: string;
}

export function changesOf(before: unknown, after: unknown): Change[] {
  const [a, b] = [flat(before), flat(after)];
  const paths = [...new Set([...a.keys(), ...b.keys()])];
  return paths
    .filter((p) => a.get(p) !== b.get(p))
    .map((path) => ({ path, before: a.get(path) ?? '', after: b.get(path) ?? '' }));
}

/** Every plain value of a body, by where it stands. */
export function flat(value: unknown, at = '', into = new Map<string, string>()): Map<string, string> {
  if (value !== null && typeof value === 'object') {
    for (const [k, v] of Object.entries(value)) flat(v, at ? `${at}.${k}` : k, into);
  } else if (value !== undefined) {
    into.set(at, String(value));
  }
  return into;
}

const telling = [
  'name',
  'tag',
  'number',
  'text',
  'why',
  'note',
  'species',
  'state',
  'sort',
  'units',
  'mark',
  'canopy_loss_percent',
  'pest',
  'overall',
  'day',
  'product',
  'version',
];

/** What an entry says, in the few values that tell most; words says those that are codes. */
export function gist(body: Record<string, unknown>, word: (path: string, code: string) => string): string {
  const said = telling.flatMap((k) => {
    const v = body[k];
    return typeof v === 'string' || typeof v === 'number' ? [word(k, String(v))] : [];
  });
  return said.slice(0, 3).join(' · ');
}

/** Fields whose values are codes, and where their words are. */
const coded: Record<string, string[]> = {
  sort: ['move', 'cert', 'value'],
  state: ['closure'],
  overall: ['overall'],
  advice: ['advice'],
  context: ['context'],
  roles: ['role'],
  ground: ['value'],
  bloom_over: ['value'],
  eaten: ['value'],
  tapped: ['value'],
  drought: ['value'],
  live_wires: ['value'],
};

/** The keys of words, of which one may stand for a value at this path. */
export function wordsFor(path: string, code: string): string[] {
  const field =
    path
      .replace(/\.\d+$/, '')
      .split('.')
      .pop() ?? '';
  return (coded[field] ?? []).map((list) => `${list}.${code}`);
}

/** Things by a text of theirs, in the order in which it first comes. */
export function grouped<T>(all: T[], of: (item: T) => string): [string, T[]][] {
  const groups = new Map<string, T[]>();
  for (const item of all) groups.set(of(item), [...(groups.get(of(item)) ?? []), item]);
  return [...groups];
}

/** How far off a day is, in whole days; negative: it is over. */
export function daysTo(day: string, now: number): number {
  return Math.floor((Date.parse(`${day}T23:59:59Z`) - now) / 86_400_000);
}
