// The rows of views and the bodies of entries, as far as the phone shows them.
// Lengths are whole nanometres, volumes nanolitres, moments milliseconds since 1970.
import type { UnitState } from '../ui/shapes';
import type { Amount, Finding } from './engine';

export interface TreeOnRound {
  tree: string;
  tag: string;
  where?: string;
  planned: number;
  holes: number;
  seated: number;
  drained: number;
  stuck: number;
  lifted: number;
  lost: number;
  out: number;
  oldest?: number;
  running?: number; // of those out, neither empty nor stuck
  since?: number;
  p50?: Amount;
  p90?: Amount;
}

export interface OpenVisit {
  id: string;
  grounds: string;
  name: string;
  day: string;
  certified: string;
  opened: number;
  trees: TreeOnRound[];
  flags?: number;
}

/** Where units are draining, and when to come back. */
export interface Due {
  visit: string;
  tree: string;
  running: number;
  since: number;
  likely?: number;
  late?: number;
  overdue?: boolean;
}

/** A mark or hole on the ring, with what the engine knows of it. */
export interface RingMark {
  at: Amount;
  number: number;
  state: Exclude<UnitState, 'overdue'>;
  hole?: string;
  unit?: string;
  since?: number;
  likely?: number;
  late?: number;
  overdue?: boolean;
}

/** What a measure that is still being typed would come to. */
export interface Foreseen {
  overall: string;
  units: number;
  ring: { girth: Amount; marks: RingMark[]; readings: string[] };
}

export interface Hole {
  id: string;
  at: number;
  facts: {
    tree: string;
    stem?: string;
    mark?: number;
    at_nm: number;
    height_nm: number;
    depth_nm?: number;
    bit_nm?: number;
  };
}

export interface Unit {
  id: string;
  hole?: string;
  tree?: string;
  lot?: string;
  fill_nl?: number;
  seated?: number;
  pressurised?: number;
  gauge_pa?: number;
  drained?: number;
  stuck?: number;
  stuck_why?: string;
  lifted?: number;
  lost?: number;
  lost_why?: string;
  lost_signed?: string;
  left_nl?: number;
}

export interface TallyLot {
  lot: string;
  taken: number;
  seated: number;
  lifted: number;
  lost: number;
  broken?: number;
  unused: number;
}

export interface Visit {
  id: string;
  facts: {
    grounds: string;
    day: string;
    certified: string;
    crew?: string[];
    jobs: { tree: string; plan: string }[];
    checks?: string[];
    weather?: object;
  };
  opened: number;
  closed?: number | { at: number };
  holes?: Hole[];
  units?: Unit[];
  tally?: { lots?: TallyLot[] };
}

export interface Arc {
  from_nm: number;
  to_nm: number;
  sort: 'defect' | 'dead-cambium' | 'canker' | 'cavity' | 'crack' | 'girdling-root';
}

export interface Stem {
  name?: string;
  girth: { around_nm: number; height_nm: number };
  zero_face?: string;
  counter_clockwise?: boolean;
  arcs?: Arc[];
  wounds?: { at_nm: number; width_nm?: number }[];
  bark?: { at_nm: number; thick_nm: number }[];
}

export interface Condition {
  canopy_loss_percent?: number;
  pest?: string;
  bbch?: number;
  bloom_over?: string;
  eaten?: string;
  tapped?: string;
  drought?: string;
  live_wires?: string;
  advice?: string;
  note?: string;
}

export interface OldHole {
  id: string;
  visit?: string;
  stem?: string;
  at_nm: number;
  height_nm?: number;
  width_nm?: number;
  made?: string;
}

export interface Tree {
  id: string;
  facts: { grounds: string; tag: string; species: string; where?: string; note?: string };
  measurement?: { entry: string; facts: { at?: number; stems: Stem[] } };
  condition?: Condition;
  holes?: OldHole[];
  plan?: string;
  plan_day?: string;
}

/** A stem of a plan as it is kept: what the hands need. */
export interface PlanStem {
  name?: string;
  units: number;
  marks_nm?: number[];
  heights_nm?: number[];
  per_unit_nl?: number;
  total_nl?: number;
  stop_nm?: number;
  bit_nm?: number;
  depth_min_nm?: number;
  depth_max_nm?: number;
}

export interface Reason {
  rule: string;
  result?: { name: string; value: unknown };
  inputs?: { name: string; value: unknown }[];
  source?: string;
  because?: Reason[];
}

/** A finding as the engine made it; the engine also puts it into words. */
export type RawFinding = Omit<Finding, 'sentence'> & { terms?: { name: string; value: unknown }[] };

/** The whole of a plan, as the engine answered it: read, never computed with. */
export interface FullPlan {
  opinion?: {
    overall: string;
    findings?: RawFinding[] | null;
    open?: RawFinding[] | null;
    notes?: RawFinding[] | null;
    why?: Reason;
  };
  stems?: {
    name?: string;
    dose?: {
      units: number;
      why?: Reason;
      active?: { name: string; total: Amount }[];
      nearness?: { units_low: number; units_high: number; tape: Amount };
    };
    marks?: { why?: Reason; raise?: Amount[] };
    bore?: { angle?: Amount; stop?: Amount; probe?: { bark: Amount; stop: Amount }[]; why?: Reason };
    unit?: { gas?: { lift?: RawFinding[] }; forecast?: { p50: Amount; p90: Amount } };
  }[];
  /** What was asked for by hand of one stem. */
  adjusted?: { stem?: string; pins?: Amount[] | null; skips?: Amount[] | null };
}

export interface PlanBody {
  tree: string;
  day: string;
  label: string;
  measurement?: string;
  overall: string;
  pest?: string;
  stems?: PlanStem[];
  full?: string;
}

export interface Lot {
  id: string;
  facts: { label: string; number: string; size_nl: number; expires?: string };
  on_hand?: number;
  used?: number;
}

export interface Label {
  id: string;
  facts: {
    name: string;
    version: string;
    product: string;
    reg_no?: string;
    fictional?: boolean;
    file?: string;
  };
}

export interface Row<S> {
  subject: { kind: string; id: string };
  key: string;
  state: S;
}

/** What was said of a thing. */
export interface Said {
  id: string;
  kind: string;
  at: number;
  by?: string;
  body: Record<string, unknown>;
}
