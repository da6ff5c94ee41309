// One tree in a visit: what is known of it, where its marks are, and how far every
// unit has come. Nothing is decided here: deeds go to the engine, and what is shown
// is read back from it.
import type { UnitState } from '../ui/shapes';
import type { Deeds } from './deeds.svelte';
import { type Amount, type Engine, type Finding, millis, type Problem, problemOf } from './engine';
import { fillAt } from './round.svelte';
import type {
  Foreseen,
  FullPlan,
  Hole,
  Label,
  Lot,
  PlanBody,
  RawFinding,
  RingMark,
  Row,
  Said,
  Stem,
  Tree,
  Unit,
  Visit,
} from './shapes';

export const steps = ['look', 'measure', 'plan', 'marks', 'drill', 'seat', 'drain', 'lift', 'close'] as const;
export type Step = (typeof steps)[number];

export interface Mark {
  n: number;
  at: number; // nm on the tape, where it is bored or is to be
  raised?: number; // nm above the others
  state: UnitState;
  fill: number;
  hole?: Hole;
  unit?: Unit;
}

export const isOut = (u: Unit): boolean => !u.lifted && !u.lost;

/** A length as JSON carries it, in nanometres, as entries keep it. */
export const nanometres = (a: Amount): number => Math.round(a.value * 1e6);
const millimetres = (nm: number): Amount => ({ value: nm / 1e6, unit: 'mm' });

export class VisitState {
  visit = $state.raw<Visit>();
  tree = $state.raw<Tree>();
  plan = $state.raw<PlanBody>();
  full = $state.raw<FullPlan>();
  label = $state.raw<Label>();
  lots = $state.raw<Lot[]>([]);
  ring = $state.raw<RingMark[]>([]);
  stem = $state(0); // which of the plan
  now = $state(0);
  busy = $state(false);
  problem = $state.raw<Problem | null>(null);
  findings = $state.raw<Finding[]>([]);
  missing = $state(false);
  chosen = $state<number | null>(null); // number of the mark that is looked at
  turn = $state(0); // nm on the tape that is nearest to the person
  answers = $state<Record<string, 'yes' | 'no'>>({}); // to what a plan asked, for the next one
  allMarks = $state(false); // the tape shows all readings

  stemPlan = $derived(this.plan?.stems?.[this.stem]);
  stemFull = $derived(this.full?.stems?.[this.stem]);
  measured: Stem | undefined = $derived(
    this.tree?.measurement?.facts.stems.find((s) => (s.name ?? '') === (this.stemPlan?.name ?? '')) ??
      this.tree?.measurement?.facts.stems[this.stem],
  );
  girth = $derived(this.measured?.girth.around_nm ?? 0);
  p50 = $derived(millis(this.stemFull?.unit?.forecast?.p50) ?? 0);
  p90 = $derived(millis(this.stemFull?.unit?.forecast?.p90) ?? 0);
  holes = $derived((this.visit?.holes ?? []).filter((h) => h.facts.tree === this.tree?.id));
  units = $derived((this.visit?.units ?? []).filter((u) => u.tree === this.tree?.id));
  marks = $derived(this.#marks());
  out = $derived(this.marks.filter((m) => m.unit && isOut(m.unit)));
  seated = $derived(this.units.length);
  accounted = $derived(this.units.filter((u) => !isOut(u)).length);
  closed = $derived(!!this.visit?.closed);
  inVisit = $derived(
    !!this.visit && !!this.tree && this.visit.facts.jobs.some((j) => j.tree === this.tree!.id),
  );
  done = $derived(this.#done());
  /** Old holes of other visits: crosses on the ring. */
  wounds = $derived([
    ...(this.tree?.holes ?? []).filter(
      (h) => h.visit !== this.visit?.id && (h.stem ?? '') === (this.measured?.name ?? ''),
    ),
    ...(this.measured?.wounds ?? []),
  ]);

  #engine: Engine;
  #deeds: Deeds;

  constructor(engine: Engine, deeds: Deeds) {
    this.#engine = engine;
    this.#deeds = deeds;
  }

  async load(visit: string, tree: string, now: number): Promise<void> {
    const [v, t] = await Promise.all([this.#row<Visit>('visit', visit), this.#row<Tree>('tree', tree)]);
    this.missing = !v || !t;
    if (!v || !t) return;
    const wanted = v.facts.jobs.find((j) => j.tree === tree)?.plan ?? t.plan;
    if (wanted && wanted !== this.#planID) await this.#loadPlan(tree, wanted);
    await Promise.all([this.#loadLots(), this.#loadRing(visit, t, wanted, now)]);
    this.visit = v;
    this.tree = t;
    this.now = now;
  }

  /** Does a deed and reads back what it made of things. False where it was refused. */
  async do(name: string, input: object | Promise<object>): Promise<boolean> {
    this.busy = true;
    this.problem = null;
    try {
      const { findings } = await this.#deeds.do(name, await input);
      this.findings = findings ?? [];
      return true;
    } catch (err) {
      this.problem = problemOf(err);
      return false;
    } finally {
      await this.reload();
      this.busy = false;
    }
  }

  async reload(): Promise<void> {
    if (this.visit && this.tree) await this.load(this.visit.id, this.tree.id, Math.max(this.now, Date.now()));
  }

  get at(): { visit: string; tree: string; stem?: string } {
    const name = this.stemPlan?.name;
    return { visit: this.visit!.id, tree: this.tree!.id, ...(name ? { stem: name } : {}) };
  }

  /** Looks at a mark, and turns the trunk to it. */
  pick(n: number): void {
    this.chosen = n;
    const mark = this.marks.find((m) => m.n === n);
    if (mark) this.turn = mark.at;
  }

  /** Findings in words. */
  async say(findings: RawFinding[] | null | undefined): Promise<Finding[]> {
    if (!findings || findings.length === 0) return [];
    return (await this.#engine.call<{ findings: Finding[] }>('say', { findings })).findings;
  }

  /** What a measure would come to, planned as the plan at hand was. */
  foresee(measure: object, day: string): Promise<Foreseen> {
    const plan = this.#planInput(day, this.plan?.label);
    return this.#engine.call('foresee', { ...this.at, measure, plan, now: this.now });
  }

  /** Plans the tree anew by what is known now and the label that it was planned by,
      and works the visit by that. */
  async replan(day: string, label = this.plan?.label): Promise<boolean> {
    if (!(await this.do('tree.plan', this.#planInput(day, label)))) return false;
    return this.#workBy(this.tree!.plan, 'planned anew at the tree');
  }

  #planInput(day: string, label: string | undefined): object {
    return { tree: this.tree!.id, day, ...(label ? { label } : {}), ...this.answers };
  }

  /** Has a mark where the hand wants it, or keeps its spot free; the engine spreads the
      others anew. What was asked for before stays, but what was asked of this mark. */
  async adjust(n: number, to: number | null, why: string): Promise<boolean> {
    const at = this.marks.find((m) => m.n === n)!.at;
    const before = this.full?.adjusted;
    const mine = (before?.stem ?? '') === (this.stemPlan?.name ?? '') ? before : undefined;
    const pins = (mine?.pins ?? []).filter((pin) => nanometres(pin) !== at);
    const skips = [...(mine?.skips ?? [])];
    (to === null ? skips : pins).push(millimetres(to ?? at));
    const { stem } = this.at;
    if (!(await this.do('plan.adjust', { plan: this.#planID, ...(stem ? { stem } : {}), pins, skips, why })))
      return false;
    return this.#workBy(this.tree!.plan, why);
  }

  /** The visit works this tree by another plan from now on. */
  async #workBy(plan: string | undefined, why: string): Promise<boolean> {
    const visit = this.visit!;
    const tree = this.tree!.id;
    const jobs = visit.facts.jobs.map((j) => (j.tree === tree ? { tree, plan } : j));
    const { facts } = visit;
    const found = this.findings;
    const done = await this.do('amend', { of: visit.id, after: { ...facts, jobs }, why });
    this.findings = [...found, ...this.findings];
    return done;
  }

  /** The labels that there are, for a person to choose one. */
  async labels(): Promise<Label[]> {
    const { rows } = await this.#engine.call<{ rows: Row<Label>[] }>('rows', { kind: 'label', limit: 200 });
    return rows.map((r) => r.state);
  }

  /** Bores a mark where it is to be, with what the plan says. */
  bore(n: number): Promise<boolean> {
    return this.do('hole.bore', { ...this.at, mark: n });
  }

  async boreAll(): Promise<void> {
    for (const m of this.marks) {
      if (m.state === 'planned' && !(await this.bore(m.n))) return;
    }
  }

  /** Units into all marks that have none yet. */
  async seatAll(lot: string): Promise<boolean> {
    const marks = this.marks.filter((m) => !m.unit).map((m) => m.n);
    return this.do('tree.install', { ...this.at, marks, lot });
  }

  async seatOne(m: Mark, lot: string): Promise<boolean> {
    if (!m.hole && !(await this.bore(m.n))) return false;
    const hole = m.hole?.id ?? this.marks.find((x) => x.n === m.n)?.hole?.id;
    return this.do('unit.seat', { visit: this.visit!.id, hole, lot });
  }

  unitDeed(name: string, units: Unit[], more: object | Promise<object> = {}): Promise<boolean> {
    const input = { visit: this.visit!.id, units: units.map((u) => u.id) };
    return this.do(
      name,
      Promise.resolve(more).then((m) => ({ ...input, ...m })),
    );
  }

  #planID = '';

  async #loadPlan(tree: string, id: string): Promise<void> {
    const told = await this.#engine.call<{ entries: Said[] }>('history', { kind: 'tree', id: tree });
    const entry = told.entries.find((e) => e.id === id);
    this.plan = entry?.body as PlanBody | undefined;
    this.full = this.plan?.full ? (JSON.parse(this.plan.full) as FullPlan) : undefined;
    this.#planID = id;
    if (this.plan) this.label = await this.#row<Label>('label', this.plan.label);
  }

  /** The marks with their states, as the engine works them out. */
  async #loadRing(visit: string, tree: Tree, plan: string | undefined, now: number): Promise<void> {
    if (!tree.measurement) return void (this.ring = []);
    const stem = this.stemPlan?.name;
    const asked = {
      tree: tree.id,
      visit,
      stand: 0,
      now,
      ...(plan ? { plan } : {}),
      ...(stem ? { stem } : {}),
    };
    this.ring = (await this.#engine.call<{ marks: RingMark[] }>('ring', asked)).marks;
  }

  /** Time went by, or another stem is looked at. */
  async tick(now: number): Promise<void> {
    this.now = now;
    if (this.visit && this.tree)
      await this.#loadRing(this.visit.id, this.tree, this.#planID || undefined, now);
  }

  async #loadLots(): Promise<void> {
    const { rows } = await this.#engine.call<{ rows: Row<Lot>[] }>('rows', { kind: 'lot', limit: 200 });
    const name = this.label?.facts.name;
    this.lots = rows.map((r) => r.state).filter((l) => !name || l.facts.label === name);
  }

  async #row<S>(kind: string, id: string): Promise<S | undefined> {
    try {
      return (await this.#engine.call<Row<S>>('row', { kind, id })).state;
    } catch (err) {
      if (problemOf(err).code === 'pocket.unknown') return undefined;
      throw err;
    }
  }

  #marks(): Mark[] {
    const heights = this.stemPlan?.heights_nm ?? [];
    const least = Math.min(...heights);
    let extra = this.stemPlan?.marks_nm?.length ?? 0;
    return this.ring.map((m) => {
      const n = m.number || ++extra; // a hole that is not of the plan comes after it
      const hole = this.holes.find((h) => h.id === m.hole);
      const unit = this.units.find((u) => u.id === m.unit);
      const raised = (heights[n - 1] ?? least) - least;
      return {
        n,
        at: hole?.facts.at_nm ?? nanometres(m.at),
        state: m.overdue ? 'overdue' : m.state,
        fill: fillAt(this.now, m.since ?? this.now, m.likely ?? 0),
        ...(raised > 0 ? { raised } : {}),
        ...(hole ? { hole } : {}),
        ...(unit ? { unit } : {}),
      };
    });
  }

  #done(): Record<Step, boolean> {
    const some = this.marks.length > 0;
    const out = this.out.map((m) => m.unit!);
    return {
      look: !!this.tree?.condition,
      measure: !!this.tree?.measurement,
      plan: !!this.plan,
      marks: some && this.holes.length > 0,
      drill: some && this.marks.every((m) => m.hole),
      seat: some && this.marks.every((m) => m.unit),
      drain: this.seated > 0 && out.every((u) => u.drained),
      lift: this.seated > 0 && out.length === 0,
      close: this.closed,
    };
  }
}
