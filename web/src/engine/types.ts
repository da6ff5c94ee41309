// The calls of the engine, as package pocket has them. Moments are milliseconds since
// 1970. Lengths and volumes are whole nanometres and nanolitres in views and entries,
// and amounts with their unit ({"value": 12, "unit": "mm"}) in what was computed; a
// deed also takes texts as people write them ("96 in").
import type { OpenVisit, Said } from '../state/shapes';

/** Why something was not done, in the person's language. */
export interface Problem {
  code: string;
  field?: string;
  text: string;
}

/** What a person should know, said. */
export interface Finding {
  code: string;
  severity: 'block' | 'warn' | 'ask' | 'note';
  place?: string;
  sentence: string;
  remedy?: string;
  source: string;
}

/** An entry as the phone keeps it: the line, and the time of its place. */
export interface Kept {
  line: string;
  time: number;
}

/** What a deed came to. Keep the lines before you show it as done; if that fails,
    start again and load what was kept: then it is not done. */
export interface Deed {
  result: unknown;
  ids: string[];
  lines: Kept[];
  findings: Finding[];
}

export interface Amount {
  value: number;
  unit: string;
}

export interface Subject {
  kind: string;
  id: string;
}

export interface Row {
  subject: Subject;
  key: string;
  state: unknown;
}

/** How a person is spoken with. */
export interface Speaking {
  lang: string;
  units: 'metric' | 'imperial';
  decimal_comma?: boolean;
}

/** A place on the ring: on the tape, in degrees clockwise from the zero face seen
    from above, and in millimetres from the middle, turned to where one stands. */
export interface Spot {
  at: Amount;
  angle: number;
  x_mm: number;
  y_mm: number;
}

export interface RingMark extends Spot {
  number: number; // 0: not of the plan
  height: Amount;
  state: 'planned' | 'bored' | 'seated' | 'draining' | 'drained' | 'stuck' | 'lifted' | 'lost';
  hole?: string;
  unit?: string;
  since?: number;
  likely?: number; // half of such units are empty by then
  late?: number; // nine in ten are
  overdue?: boolean;
}

export interface Ring {
  tag: string;
  stem?: string;
  girth: Amount;
  height: Amount;
  radius_mm: number;
  face?: string;
  counter_clockwise?: boolean;
  zero: Spot;
  marks: RingMark[];
  arcs: { kind: string; from: Spot; to: Spot; sweep: number }[];
  wounds: Spot[];
  fissures: Spot[];
  readings: string[]; // of each mark, as one reads them off the tape
}

/** Where units are draining, what is late first. */
export interface Due {
  visit: string;
  tree: string;
  tag: string;
  running: number;
  since: number;
  likely?: number;
  late?: number;
  overdue?: boolean;
}

interface Named {
  name: string;
  who?: string[];
}

interface Term {
  name: string;
  value: unknown;
}

export interface Calls {
  names: {
    in: Record<string, never>;
    out: { calls: string[]; deeds: Named[]; langs: string[] };
  };
  /** Forgets all and begins. chance: 32 bytes, base64, drawn anew for every start;
      seed: the device's key, drawn once and kept; without it nothing can be written. */
  start: {
    in: Speaking & { chance: string; seed?: string; org?: string; person?: string; offset_minutes?: number };
    out: { device?: string; key?: string };
  };
  speak: { in: Speaking; out: Record<string, never> };
  /** Begins an organisation on a device that has no office. */
  found: {
    in: {
      name: string;
      country: string;
      region?: string;
      zone: string;
      keep_years: number;
      person: string;
      roles?: string[];
      device: string;
      now: number;
    };
    out: { org: string; person: string; lines: Kept[] };
  };
  /** What is sent to POST /enrol. */
  enrol: {
    in: { secret: string; name: string };
    out: { secret: string; key: string; signature: string; name: string };
  };
  /** Lines of this device and lines that were lent, in any order. */
  load: { in: { lines: Kept[] }; out: { own: number; refused: { n: number; why: string }[] } };
  offer: { in: Record<string, never>; out: { offer: { device: string; hash: string; seq: number }[] } };
  deed: { in: { name: string; input: unknown; now: number }; out: Deed };
  /** As deed, and nothing of it is kept. */
  try: { in: { name: string; input: unknown; now: number }; out: Deed };
  row: { in: Subject; out: Row };
  rows: {
    in: { kind: string; from?: string; to?: string; after?: string; limit: number };
    out: { rows: Row[] };
  };
  history: { in: Subject; out: { entries: Said[] } };
  round: { in: { day?: string; now: number }; out: { visits: OpenVisit[]; due: Due[] } };
  ring: {
    in: { tree: string; plan?: string; visit?: string; stem?: string; stand?: number; now?: number };
    out: Ring;
  };
  /** What a measure would come to; nothing of it is kept. */
  foresee: {
    in: { tree: string; visit?: string; stem?: string; measure: unknown; plan: unknown; now: number };
    out: { overall: string; units: number; ring: Ring };
  };
  /** Sentences for what was computed before, and for keys of the catalogue. */
  say: {
    in: { findings?: unknown[]; reason?: unknown; keys?: { key: string; terms?: Term[] }[] };
    out: { findings: Finding[]; reason: string[]; keys: string[] };
  };
  quantity: {
    in: {
      text?: string;
      made?: Amount; // in place of a text
      tape?: boolean; // what was made is said as the tape shows it
      kind?: 'length' | 'volume' | 'mass' | 'time' | 'pressure' | 'temperature' | 'angle';
      bare?: string;
    };
    out: { value: Amount; said: string; whole?: number };
  };
  quantities: { in: { list: Calls['quantity']['in'][] }; out: { list: Calls['quantity']['out'][] } };
  /** Of the engine of an office's screens only. */
  trees: { in: unknown; out: unknown };
  calc: { in: { name: string; input: unknown }; out: unknown };
}
