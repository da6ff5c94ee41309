import { describe, expect, it } from 'vitest';
import type { Deeds } from './deeds.svelte';
import type { Engine } from './engine';
import type { RingMark, Unit } from './shapes';
import { VisitState } from './visit.svelte';

const mm = (value: number) => ({ value, unit: 'mm' });

/** What the engine knows of a tree with three marks; tests change it as deeds would. */
function scene(adjusted?: object) {
  const state = {
    holes: [] as object[],
    units: [] as Unit[],
    ring: [1, 2, 3].map((number): RingMark => ({ number, at: mm(number * 100), state: 'planned' })),
    plan: 'p1',
  };
  const rows: Record<string, () => object> = {
    visit: () => ({
      id: 'v',
      opened: 1,
      holes: state.holes,
      units: state.units,
      facts: {
        grounds: 'g',
        day: '2026-06-09',
        certified: 'c',
        jobs: [
          { tree: 't', plan: 'p1' },
          { tree: 'other', plan: 'p9' },
        ],
      },
    }),
    tree: () => ({
      id: 't',
      plan: state.plan,
      facts: { grounds: 'g', tag: 'A-1', species: 'Fraxinus' },
      measurement: { entry: 'm', facts: { stems: [{ girth: { around_nm: 400e6, height_nm: 300e6 } }] } },
    }),
    label: () => ({ id: 'l', facts: { name: 'demo-a' } }),
  };
  const stems = [{ units: 3, marks_nm: [100e6, 200e6, 300e6], heights_nm: [300e6, 300e6, 350e6] }];
  const engine: Engine = {
    call: (async (name: string, input: { kind: string; id: string }) => {
      if (name === 'row') {
        const row = rows[input.kind];
        if (!row || input.id === 'nobody')
          throw Object.assign(new Error('not here'), { code: 'pocket.unknown' });
        return { state: row() };
      }
      if (name === 'rows')
        return {
          rows: [
            { state: { id: 'x', facts: { label: 'demo-a' } } },
            { state: { id: 'y', facts: { label: 'demo-b' } } },
          ],
        };
      if (name === 'history')
        return {
          entries: ['p1', 'p2'].map((id) => ({
            id,
            kind: 'plan',
            at: 1,
            body: { tree: 't', label: 'l', stems, full: JSON.stringify({ adjusted }) },
          })),
        };
      return { marks: state.ring };
    }) as Engine['call'],
  };
  const asked: [string, object][] = [];
  const deeds = {
    do: async (name: string, input: object) => {
      asked.push([name, input]);
      if (name === 'unit.lift')
        throw Object.assign(new Error('Say how much is left.'), { code: 'unit.left_missing' });
      if (name === 'tree.plan' || name === 'plan.adjust') state.plan = 'p2';
      return { result: {}, ids: [], lines: [], findings: [] };
    },
  } as unknown as Deeds;
  return { state, asked, make: () => new VisitState(engine, deeds) };
}

async function loaded(adjusted?: object) {
  const s = scene(adjusted);
  const v = s.make();
  await v.load('v', 't', 1000);
  return { ...s, v };
}

describe('a tree in a visit', () => {
  it('shows the marks of its plan, and which lots are of its label', async () => {
    const { v } = await loaded();
    expect(v.marks.map((m) => [m.n, m.at, m.state, m.raised])).toEqual([
      [1, 100e6, 'planned', undefined],
      [2, 200e6, 'planned', undefined],
      [3, 300e6, 'planned', 50e6],
    ]);
    expect(v.lots.map((l) => l.id)).toEqual(['x']);
    expect(v.done).toMatchObject({
      look: false,
      measure: true,
      plan: true,
      marks: false,
      drill: false,
      close: false,
    });
  });

  it('says when it is not on this device', async () => {
    const v = scene().make();
    await v.load('v', 'nobody', 1);
    expect(v.missing).toBe(true);
  });

  it('has a mark where the hand wants it, by a new plan', async () => {
    const { v, asked } = await loaded();
    expect(await v.adjust(2, 210e6, 'a nail')).toBe(true);
    expect(asked[0]).toEqual(['plan.adjust', { plan: 'p1', pins: [mm(210)], skips: [], why: 'a nail' }]);
    expect(asked[1]).toMatchObject([
      'amend',
      { of: 'v', after: { jobs: [{ plan: 'p2' }, {}] }, why: 'a nail' },
    ]);
  });

  it('keeps a spot free, and what was asked for of other marks', async () => {
    const { v, asked } = await loaded({ pins: [mm(100), mm(200)], skips: [mm(50)] });
    await v.adjust(2, null, 'a seam');
    const want = { plan: 'p1', pins: [mm(100)], skips: [mm(50), mm(200)], why: 'a seam' };
    expect(asked[0]).toEqual(['plan.adjust', want]);
  });

  it('counts as out what was neither lifted nor lost', async () => {
    const { v, state } = await loaded();
    const unit = (id: string, more: object): Unit => ({ id, tree: 't', hole: `h${id}`, ...more });
    state.units = [unit('1', { drained: 5 }), unit('2', { lifted: 6 }), unit('3', { lost: 7 })];
    state.holes = ['1', '2', '3'].map((n) => ({
      id: `h${n}`,
      at: 1,
      facts: { tree: 't', mark: Number(n), at_nm: Number(n) * 100e6, height_nm: 1 },
    }));
    state.ring = state.ring.map((m, i) => ({
      ...m,
      state: (['drained', 'lifted', 'lost'] as const)[i]!,
      hole: `h${i + 1}`,
      unit: String(i + 1),
    }));
    await v.reload();
    expect([v.seated, v.out.map((m) => m.n), v.accounted]).toEqual([3, [1], 2]);
    expect(v.done).toMatchObject({ drill: true, seat: true, drain: true, lift: false });
  });

  it('shows a unit as overdue when the engine says so', async () => {
    const { v, state } = await loaded();
    state.ring[0] = { ...state.ring[0]!, state: 'draining', since: 1, likely: 500, late: 900, overdue: true };
    await v.tick(1000);
    expect(v.marks[0]?.state).toBe('overdue');
  });

  it('tells why a deed was refused, and goes on', async () => {
    const { v } = await loaded();
    expect(await v.unitDeed('unit.lift', [{ id: '1' }])).toBe(false);
    expect(v.problem).toEqual({ code: 'unit.left_missing', text: 'Say how much is left.' });
    expect(v.busy).toBe(false);
    expect(await v.do('note.add', {})).toBe(true);
    expect(v.problem).toBeNull();
  });

  it('works the visit by a new plan, and leaves the other trees as they were', async () => {
    const { v, asked } = await loaded();
    expect(await v.replan('2026-06-09')).toBe(true);
    expect(asked[0]).toEqual(['tree.plan', { tree: 't', day: '2026-06-09', label: 'l' }]);
    expect(asked[1]).toMatchObject([
      'amend',
      {
        of: 'v',
        after: {
          jobs: [
            { tree: 't', plan: 'p2' },
            { tree: 'other', plan: 'p9' },
          ],
        },
      },
    ]);
  });
});
