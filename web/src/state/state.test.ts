import { describe, expect, it, vi } from 'vitest';
import { liquid, nearest, onRing } from '../ui/shapes';
import { countsOf } from './closing.svelte';
import { type Engine, millis, problemOf } from './engine';
import { measureInput } from './measure';
import { fillAt, Round } from './round.svelte';
import { match, Router } from './router.svelte';
import { secretOf } from './session.svelte';
import { Settings, usual } from './settings.svelte';

describe('settings', () => {
  it('guesses by the language of the device', () => {
    expect(usual('en-US')).toMatchObject({ lang: 'en', units: 'imperial' });
    expect(usual('es-MX')).toMatchObject({ lang: 'es', units: 'metric' });
    expect(usual('es-US')).toMatchObject({ lang: 'es', units: 'imperial' });
    expect(usual('en-GB')).toMatchObject({ lang: 'en', units: 'metric' });
    expect(usual('fr')).toMatchObject({ lang: 'en' });
  });
  it('passes over what it does not know', () => {
    const s = new Settings('en-US');
    s.take({ theme: 'neon' as never, size: 17, hand: 'left', lang: 'xx' as never });
    expect(s.kept).toMatchObject({ theme: 'paper', size: 100, hand: 'left', lang: 'en' });
  });
});

describe('router', () => {
  it('takes addresses apart', () => {
    expect(match('/visit/:visit/tree/:tree', '/visit/v1/tree/t%201')).toEqual({ visit: 'v1', tree: 't 1' });
    expect(match('/today', '/today/')).toEqual({});
    expect(match('/visit/:visit/close', '/visit//close')).toBeNull();
    expect(match('/today', '/trees')).toBeNull();
  });
  it('knows its search without a window', () => {
    const r = new Router(null);
    r.go('/visit/a/tree/b?step=seat');
    expect([r.path, r.search.get('step')]).toEqual(['/visit/a/tree/b', 'seat']);
  });
});

describe('a link of the office', () => {
  it('gives its secret', () => {
    expect(secretOf('https://office.example/enrol#abc123.ff00')).toBe('abc123');
    expect(secretOf(' abc123.ff00 ')).toBe('abc123');
    expect(secretOf('abc123')).toBe('abc123');
  });
});

describe('engine', () => {
  it('takes a refusal apart', () => {
    const refused = Object.assign(new Error('No.'), { code: 'lot.expired', field: 'lot' });
    expect(problemOf(refused)).toEqual({ code: 'lot.expired', field: 'lot', text: 'No.' });
    expect(problemOf('x')).toEqual({ code: 'fault', text: 'x' });
  });
  it('reads spans', () => {
    expect(millis({ value: 830, unit: 'min' })).toBe(830 * 60_000);
    expect(millis({ value: 1, unit: 'fortnight' })).toBeUndefined();
    expect(millis(undefined)).toBeUndefined();
  });
});

const tree = (tag: string, more: object = {}) => ({
  tree: tag,
  tag,
  planned: 10,
  holes: 0,
  seated: 0,
  drained: 0,
  stuck: 0,
  lifted: 0,
  lost: 0,
  out: 0,
  ...more,
});

async function round(trees: object[], due: object[] = []): Promise<Round> {
  const visits = [
    { id: 'v', grounds: 'g', name: 'Green', day: '2026-06-09', certified: 'p', opened: 1, trees },
  ];
  const r = new Round({
    call: vi.fn(async () => ({ visits: trees.length > 0 ? visits : [], due })) as unknown as Engine['call'],
  });
  await r.load('2026-06-09', 1000);
  return r;
}

describe('round', () => {
  const out = { holes: 10, seated: 10, out: 10, oldest: 100 };
  const due = (tag: string, likely: number, overdue = false) => ({
    visit: 'v',
    tree: tag,
    tag,
    running: 10,
    since: 100,
    likely,
    late: likely + 50,
    overdue,
  });

  it('goes to trouble first, then to what can be lifted, then to the next tree', async () => {
    const draining = tree('A', out);
    const empty = tree('B', { ...out, drained: 10 });
    const late = tree('C', out);
    const stuck = tree('D', { ...out, stuck: 1 });
    const rest = tree('E');
    const all = [due('A', 2000), due('C', 300, true), due('D', 2000)];
    expect((await round([rest, draining, empty, late, stuck], all)).next).toMatchObject({
      what: 'stuck',
      tag: 'D',
    });
    expect((await round([rest, draining, empty, late], all)).next).toMatchObject({
      what: 'overdue',
      tag: 'C',
    });
    expect((await round([rest, draining, empty], all)).next).toMatchObject({ what: 'lift', tag: 'B' });
    expect((await round([rest, draining], all)).next).toMatchObject({ what: 'begin', tag: 'E' });
    expect((await round([draining], all)).next).toMatchObject({ what: 'wait', tag: 'A', at: 2000 });
    expect((await round([tree('A', { ...out, out: 0, lifted: 10 })])).next).toMatchObject({
      what: 'close',
      tag: 'Green',
    });
    expect((await round([])).next).toEqual({ what: 'nothing' });
  });

  it('puts the clocks in the order in which somebody has to go', async () => {
    const r = await round(
      [tree('A', out), tree('B', out), tree('C', { ...out, drained: 10 })],
      [due('A', 900), due('B', 500)],
    );
    expect(r.clocks.map((c) => [c.tag, c.state])).toEqual([
      ['C', 'drained'],
      ['B', 'draining'],
      ['A', 'draining'],
    ]);
    expect(r.out).toBe(30);
  });

  it('draws no more and no less liquid than there is room for', () => {
    expect(fillAt(100, 100, 200)).toBe(1);
    expect(fillAt(150, 100, 200)).toBe(0.5);
    expect(fillAt(900, 100, 200)).toBe(0.12);
    expect(fillAt(900, 100, 0)).toBe(1);
  });
});

describe('closing', () => {
  it('counts by lot', () => {
    const units = [
      { id: '1', lot: 'x', lifted: 5 },
      { id: '2', lot: 'x', lost: 6 },
      { id: '3', lot: 'y' },
    ];
    expect(countsOf(units, new Map([['x', 'X-1']]))).toEqual([
      { lot: 'x', number: 'X-1', seated: 2, lifted: 1, lost: 1, broken: '0', unused: '0' },
      { lot: 'y', number: '', seated: 1, lifted: 0, lost: 0, broken: '0', unused: '0' },
    ]);
  });
});

describe('a new measure', () => {
  const measured = {
    name: 'b',
    girth: { around_nm: 2_146_300_000, height_nm: 304_800_000 },
    counter_clockwise: true,
    arcs: [{ from_nm: 1_000_000, to_nm: 5_000_000, sort: 'canker' as const }],
  };

  const inches = (n: number) => ({ value: Math.round(n * 254) / 10, unit: 'mm' });

  it('says what was read anew, of the stem it was read on', () => {
    expect(measureInput({ tree: { id: 't' }, measured }, { girth: inches(85), face: 'N side' })).toEqual({
      tree: 't',
      again: true,
      stems: [
        {
          name: 'b',
          ring: {
            girth: { around: inches(85), height: inches(12) },
            zero: { face: 'N side', counter_clockwise: true },
          },
        },
      ],
    });
  });
  it('begins where there was none', () => {
    const read = { girth: inches(85), height: inches(12), bark: [inches(1)] };
    expect(measureInput({ tree: { id: 't' } }, read)).toEqual({
      tree: 't',
      again: true,
      stems: [
        {
          ring: { girth: { around: inches(85), height: inches(12) }, zero: {} },
          bark: [{ at: { value: 0, unit: 'mm' }, thickness: inches(1) }],
        },
      ],
    });
  });
});

describe('the dial', () => {
  it('puts where you stand at the bottom, and goes clockwise from there to the left', () => {
    expect(onRing(0, 100, 0, false, 10)).toMatchObject({ x: -0, y: 10 });
    const quarter = onRing(25, 100, 0, false, 10);
    expect(quarter.x).toBeCloseTo(-10);
    expect(quarter.y).toBeCloseTo(0);
    expect(onRing(25, 100, 0, true, 10).x).toBeCloseTo(10);
    expect(onRing(25, 100, 25, false, 10).y).toBeCloseTo(10);
  });
  it('finds the nearest mark also over the zero', () => {
    const marks = [{ at: 10 }, { at: 50 }];
    expect(nearest(marks, 95, 100)).toBe(marks[0]);
    expect(nearest(marks, 35, 100)).toBe(marks[1]);
    expect(nearest([], 1, 100)).toBeUndefined();
  });
  it('fills a vessel to its share', () => {
    expect(liquid(10, 0)).toBe('M0 10A10 10 0 0 0 0 10Z');
    expect(liquid(10, 0.5)).toBe('M-10 0A10 10 0 0 0 10 0Z');
    expect(liquid(10, 2)).toContain('a10 10');
  });
});
