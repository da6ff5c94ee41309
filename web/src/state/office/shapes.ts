// What the office's screens read: rows of views and bodies of entries, beyond what
// the phone shows. Lengths are whole nanometres, moments milliseconds since 1970.
import type { Stem } from '../shapes';

export interface Said {
  id: string;
  kind: string;
  by?: string;
  at: number;
  written: number;
  device: string;
  seq: number;
  hash: string;
  amended_by?: string[] | null;
  body: Record<string, unknown>;
}

export interface Arrived extends Said {
  n: number;
}

export interface Stream {
  entries: Arrived[];
  all: number;
}

export interface Proof {
  line: string;
  receipt: string;
  head: string;
  n: number;
  size: number;
  root: string;
  inclusion: string[];
}

export interface Proven {
  steps: { what: 'entry' | 'receipt' | 'path' | 'head'; hash: string; why?: string }[];
  holds: boolean;
  size: number;
  n: number;
  at: number;
  key: string;
}

export interface Flag {
  code: string;
  entry: string;
}

export interface Mark {
  of: string;
  entry: string;
  by: string;
  time: number;
  why: string;
}

interface Common {
  id: string;
  entries?: number;
  notes?: number;
  photos?: string[];
  flags?: Flag[];
  amended?: Mark[];
}

export interface Spot {
  lat_e7: number;
  lon_e7: number;
}

export interface Closure {
  at?: number;
  state: string;
  width_nm?: number;
}

export interface LifeHole {
  id: string;
  visit?: string;
  stem?: string;
  at_nm: number;
  width_nm?: number;
  height_nm?: number;
  made?: string;
  closure?: Closure;
}

export interface Treatment {
  visit: string;
  at: number;
  tree: string;
  holes: number;
  units: number;
  lifted?: number;
  given_nl?: number;
  end: number;
}

export interface Tree extends Common {
  facts: {
    grounds: string;
    tag: string;
    species: string;
    where?: string;
    note?: string;
    gone?: boolean;
    place?: Spot;
  };
  measurement?: { entry: string; facts: { at?: number; stems: Stem[] } };
  condition?: Condition;
  holes?: LifeHole[];
  plan?: string;
  plan_day?: string;
  treatments?: Treatment[];
}

export interface Condition {
  at?: number;
  canopy_loss_percent?: number;
  pest?: string;
  advice?: string;
  signs?: string[];
  note?: string;
  [answer: string]: unknown;
}

export interface Grounds extends Common {
  facts: { name: string; context: string; client?: string; address?: string; note?: string; place?: Spot };
}

export interface Label extends Common {
  facts: {
    name: string;
    version: string;
    product: string;
    reg_no?: string;
    fictional?: boolean;
    file: string;
  };
}

export interface Lot extends Common {
  facts: {
    label: string;
    number: string;
    size_nl: number;
    expires?: string;
    supplier?: string;
    coldest_mk?: number;
    warmest_mk?: number;
  };
  on_hand: number;
  used: number;
  drawn?: { visit: string; gone: number; seated: number; counted?: boolean }[];
}

export interface Certificate {
  certificate: string;
  person: string;
  sort: string;
  number?: string;
  authority: string;
  categories?: string[];
  from: string;
  until?: string;
  withdrawn?: boolean;
}

export interface Person extends Common {
  facts: { name: string; roles: string[]; phone?: string; supervisor?: string; left?: boolean };
  certificates?: Certificate[];
}

export interface Device extends Common {
  facts: { device: string; name: string; person?: string };
  revoked?: { through: number; why: string; at?: number };
}

/** A list of trees as the engine read it. */
export interface ListChecked {
  columns: { name: string; needed?: boolean; units?: string[] }[];
  headings: { name: string; column?: string; unit?: string; near?: string }[];
  trees: number;
  stems: number;
  shown: { line: number; tag: string; species: string; stems: number; girth_nm: number; where?: string }[];
  species: { name: string; trees: number }[];
  tags: string[];
  faults: Fault[];
  all: number;
  batches?: string[];
}

export interface Fault {
  line: number;
  column?: string;
  value?: string;
  severity: string;
  text: string;
  remedy?: string;
}

export interface LabelChecked {
  label: { id?: string; version?: string; product?: { name?: string } };
  faults: Fault[];
  sound: boolean;
}

/** A record of the work as a list shows it. */
export interface RecordRow {
  visit: string;
  record: string;
  date: string;
  tree: string;
  product: string;
  profiles: string[];
  profile_names: string[];
  overruled?: string;
  keep_until?: string;
  misses: string[];
}

/** Something that is due by a day. */
export interface Duty {
  profile: string;
  name: string;
  subject: string;
  due: string;
  done?: string;
  late?: boolean;
  text: string;
}
