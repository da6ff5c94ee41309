// The register of all trees, column by column, so that a hundred thousand are
// searched between two frames. It runs in a worker; it knows nothing of where the
// rows come from.

export interface Query {
  text: string;
  grounds: string; // ids; '' is any
  species: string;
  status: '' | 'standing' | 'gone' | 'unmeasured' | 'unplanned' | 'planned' | 'treated' | 'untreated';
  loss: '' | 'unseen' | '0' | '10' | '30' | '50'; // per cent, from
  due: '' | 'plan' | '1' | '2' | '3' | 'holes'; // years since the last treatment
  flags: boolean;
  sort: Sort;
  down: boolean;
  now: number;
}

export const sorts = ['tag', 'species', 'grounds', 'girth', 'loss', 'treated', 'plan', 'open'] as const;
export type Sort = (typeof sorts)[number];

export const everything: Query = {
  text: '',
  grounds: '',
  species: '',
  status: '',
  loss: '',
  due: '',
  flags: false,
  sort: 'tag',
  down: false,
  now: 0,
};

/** One tree as a row shows it. */
export interface TreeRow {
  id: string;
  grounds: string;
  tag: string;
  species: string;
  where: string;
  lat: number; // degrees; NaN: not known
  lon: number;
  gone: boolean;
  stems: number;
  girth: number; // nm
  measured: number;
  seen: number;
  loss: number; // -1: nobody judged it
  pest: string;
  advice: string;
  planDay: string;
  treated: number;
  treatments: number;
  units: number;
  holes: number;
  open: number;
  flags: number;
  photos: number;
}

export type Cell = string | number | boolean;

/** The columns of a line. */
export const columns = [
  'id',
  'grounds',
  'tag',
  'species',
  'where',
  'lat_e7',
  'lon_e7',
  'gone',
  'stems',
  'girth_nm',
  'measured',
  'seen',
  'canopy_loss_percent',
  'pest',
  'advice',
  'plan',
  'plan_day',
  'treated',
  'treatments',
  'units',
  'holes',
  'open',
  'flags',
  'photos',
] as const;

type Column = (typeof columns)[number];
const place = Object.fromEntries(columns.map((c, i) => [c, i])) as Record<Column, number>;

const year = 365.25 * 86_400_000;

export class Register {
  /** What is found and counted, by row. */
  #rows: TreeRow[] = [];
  #hay: string[] = []; // all that is searched of a row, in lower case
  #at = new Map<string, number>();
  #orders = new Map<Sort, Uint32Array>();
  #places: number[] = columns.map((_, i) => i); // where each column stands in a line

  get size(): number {
    return this.#rows.length;
  }

  clear(): void {
    this.#rows = [];
    this.#hay = [];
    this.#at.clear();
    this.#orders.clear();
  }

  /** Says in which order the lines have their cells. */
  head(names: string[]): void {
    this.#places = columns.map((c) => names.indexOf(c));
  }

  /** Takes a line: a new tree, or a new state of one. */
  add(cells: Cell[]): void {
    const row = this.#read(cells);
    const i = this.#at.get(row.id) ?? this.#rows.length;
    this.#at.set(row.id, i);
    this.#rows[i] = row;
    this.#hay[i] = `${row.tag} ${row.species} ${row.where} ${row.pest}`.toLowerCase();
    this.#orders.clear();
  }

  #read(cells: Cell[]): TreeRow {
    const of = (name: Column): Cell => cells[this.#places[place[name]]!] ?? '';
    const text = (name: Column): string => same(String(of(name)));
    const number = (name: Column): number => Number(of(name)) || 0;
    const [lat, lon] = [number('lat_e7'), number('lon_e7')];
    const placed = lat !== 0 || lon !== 0;
    return {
      id: String(of('id')),
      grounds: text('grounds'),
      tag: String(of('tag')),
      species: text('species'),
      where: text('where'),
      lat: placed ? lat / 1e7 : NaN,
      lon: placed ? lon / 1e7 : NaN,
      gone: of('gone') === true,
      stems: number('stems'),
      girth: number('girth_nm'),
      measured: number('measured'),
      seen: number('seen'),
      loss: number('canopy_loss_percent'),
      pest: text('pest'),
      advice: text('advice'),
      planDay: text('plan_day'),
      treated: number('treated'),
      treatments: number('treatments'),
      units: number('units'),
      holes: number('holes'),
      open: number('open'),
      flags: number('flags'),
      photos: number('photos'),
    };
  }

  row(i: number): TreeRow {
    return this.#rows[i]!;
  }

  /** The rows that a query finds, in its order. */
  find(q: Query): Uint32Array {
    const order = this.#order(q.sort);
    const found = new Uint32Array(order.length);
    const words = q.text.toLowerCase().split(/\s+/).filter(Boolean);
    let n = 0;
    for (let k = 0; k < order.length; k++) {
      const i = order[q.down ? order.length - 1 - k : k]!;
      if (this.#fits(i, q, words)) found[n++] = i;
    }
    return found.slice(0, n);
  }

  #fits(i: number, q: Query, words: string[]): boolean {
    const r = this.#rows[i]!;
    if (q.grounds && r.grounds !== q.grounds) return false;
    if (q.species && r.species !== q.species) return false;
    if (q.flags && r.flags === 0) return false;
    if (q.loss && !(q.loss === 'unseen' ? r.loss < 0 : r.loss >= Number(q.loss))) return false;
    if (q.status && !hasStatus(r, q.status)) return false;
    if (q.due && !isDue(r, q.due, q.now)) return false;
    const hay = this.#hay[i]!;
    return words.every((w) => hay.includes(w));
  }

  /** Rows in the order of a column; those that are equal in it, by tag. */
  #order(sort: Sort): Uint32Array {
    const have = this.#orders.get(sort);
    if (have) return have;
    const made =
      sort === 'tag' ? byText(this.#rows.map((r) => natural(r.tag))) : Uint32Array.from(this.#order('tag'));
    if (sort !== 'tag') {
      const keys = this.#keys(sort);
      made.sort((a, b) => keys[a]! - keys[b]!);
    }
    this.#orders.set(sort, made);
    return made;
  }

  #keys(sort: Exclude<Sort, 'tag'>): Float64Array {
    if (sort === 'species' || sort === 'grounds') {
      const ranks = new Map([...new Set(this.#rows.map((r) => r[sort]))].sort().map((name, i) => [name, i]));
      return Float64Array.from(this.#rows, (r) => ranks.get(r[sort])!);
    }
    if (sort === 'plan')
      return Float64Array.from(this.#rows, (r) => Number(r.planDay.replaceAll('-', '')) || Infinity);
    return Float64Array.from(this.#rows, (r) => r[sort]);
  }

  /** How many trees there are of each, for the choices of a filter. */
  counts(of: 'grounds' | 'species'): [string, number][] {
    const counts = new Map<string, number>();
    for (const r of this.#rows) counts.set(r[of], (counts.get(r[of]) ?? 0) + 1);
    return [...counts].sort((a, b) => b[1] - a[1]);
  }
}

function hasStatus(r: TreeRow, status: Query['status']): boolean {
  switch (status) {
    case 'standing':
      return !r.gone;
    case 'gone':
      return r.gone;
    case 'unmeasured':
      return !r.gone && r.stems === 0;
    case 'unplanned':
      return !r.gone && r.planDay === '';
    case 'planned':
      return isDue(r, 'plan', 0);
    case 'treated':
      return r.treatments > 0;
    default:
      return r.treatments === 0 && !r.gone;
  }
}

/** Whether there is a plan for a later day than that of the last treatment. */
export const isPlanned = (r: { planDay: string; treated: number }): boolean =>
  r.planDay !== '' && (r.treated === 0 || r.planDay > isoDay(r.treated));

/** The day of a moment, where the reader is. */
function isoDay(ms: number): string {
  const d = new Date(ms);
  return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;
}

/** Whether something waits: a plan that nobody has carried out since, a treatment
    that lies so many years back, holes that nobody has seen closed. */
function isDue(r: TreeRow, due: Query['due'], now: number): boolean {
  if (r.gone) return false;
  if (due === 'plan') return isPlanned(r);
  if (due === 'holes') return r.open > 0;
  return r.treated > 0 && now - r.treated >= Number(due) * year;
}

/** So that T9 stands before T10. */
const natural = (tag: string): string => tag.toLowerCase().replace(/\d+/g, (d) => d.padStart(9, '0'));

function byText(keys: string[]): Uint32Array {
  const order = Uint32Array.from(keys.keys());
  return order.sort((a, b) => (keys[a]! < keys[b]! ? -1 : keys[a]! > keys[b]! ? 1 : a - b));
}

// Texts that many rows share are kept once.
const texts = new Map<string, string>();
function same(text: string): string {
  const have = texts.get(text);
  if (have !== undefined) return have;
  texts.set(text, text);
  return text;
}
