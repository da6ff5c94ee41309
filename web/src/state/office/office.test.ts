import { describe, expect, it } from 'vitest';
import { uuid7 } from './desk.svelte';
import { given, whole } from './doing.svelte';
import { pointsOf } from './import.svelte';
import { away, clumps, round, signOf, toPlace, toScreen, viewOf } from './plan';
import { type Cell, columns, everything, type Query, Register } from './register';
import { changesOf, daysTo, gist, grouped, wordsFor } from './say';

const now = Date.UTC(2026, 5, 9);
const day = 86_400_000;

/** A line of the register: what is not said is not known. */
function line(tree: Record<string, Cell>): Cell[] {
  const blank: Record<string, Cell> = {
    lat_e7: 0,
    lon_e7: 0,
    gone: false,
    canopy_loss_percent: -1,
    stems: 0,
    girth_nm: 0,
    measured: 0,
    treated: 0,
    treatments: 0,
    open: 0,
    flags: 0,
  };
  return columns.map((c) => tree[c] ?? blank[c] ?? '');
}

function registered(...trees: Record<string, Cell>[]): Register {
  const r = new Register();
  for (const t of trees) r.add(line(t));
  return r;
}

const found = (r: Register, q: Partial<Query>): string[] =>
  [...r.find({ ...everything, now, ...q })].map((i) => r.row(i).tag);

describe('the register', () => {
  const r = registered(
    {
      id: '1',
      tag: 'T10',
      species: 'Quercus alba',
      where: 'Mill Lane',
      grounds: 'g',
      canopy_loss_percent: 40,
      plan_day: '2026-06-10',
    },
    {
      id: '2',
      tag: 'T9',
      species: 'Fraxinus nigra',
      where: 'Mill Lane',
      grounds: 'g',
      treated: now - 800 * day,
      treatments: 1,
      open: 3,
      plan_day: '2024-03-01',
    },
    {
      id: '3',
      tag: 'T1',
      species: 'Fraxinus nigra',
      where: 'Pond',
      grounds: 'h',
      gone: true,
      plan_day: '2026-06-10',
      flags: 2,
      stems: 1,
    },
  );

  it('reads numbers in tags as numbers', () => expect(found(r, {})).toEqual(['T1', 'T9', 'T10']));
  it('finds all the words, wherever they stand', () => {
    expect(found(r, { text: 'mill FRAX' })).toEqual(['T9']);
    expect(found(r, { text: '  ' })).toHaveLength(3);
    expect(found(r, { text: 'nothing' })).toEqual([]);
  });
  it('asks for a plan that nobody has carried out', () => expect(found(r, { due: 'plan' })).toEqual(['T10']));
  it('counts years since the last treatment', () => {
    expect(found(r, { due: '2' })).toEqual(['T9']);
    expect(found(r, { due: '3' })).toEqual([]);
  });
  it('does not take what nobody judged for nothing lost', () => {
    expect(found(r, { loss: '0' })).toEqual(['T10']);
    expect(found(r, { loss: 'unseen' })).toEqual(['T1', 'T9']);
  });
  it('narrows by each filter', () => {
    expect(found(r, { grounds: 'h' })).toEqual(['T1']);
    expect(found(r, { species: 'Quercus alba' })).toEqual(['T10']);
    expect(found(r, { status: 'gone' })).toEqual(['T1']);
    expect(found(r, { status: 'unmeasured' })).toEqual(['T9', 'T10']);
    expect(found(r, { flags: true })).toEqual(['T1']);
    expect(found(r, { due: 'holes' })).toEqual(['T9']);
  });
  it('sorts, and backwards too', () => {
    expect(found(r, { sort: 'loss', down: true })).toEqual(['T10', 'T9', 'T1']);
    expect(found(r, { sort: 'species' })[2]).toBe('T10');
  });
  it('takes a new state in place of the old, and other orders of columns', () => {
    const one = registered({ id: '1', tag: 'A', species: 'x' });
    one.head(['tag', 'id', 'species']);
    one.add(['B', '1', 'y']);
    expect([one.size, one.row(0).tag, one.row(0).species]).toEqual([1, 'B', 'y']);
    expect(one.row(0).lat).toBeNaN();
  });
  it('finds among 100,000 in a moment', () => {
    const many = new Register();
    for (let i = 0; i < 100_000; i++)
      many.add(
        line({
          id: String(i),
          tag: `T${i}`,
          species: `Species ${i % 40}`,
          where: `street ${i % 400}`,
          canopy_loss_percent: i % 60,
        }),
      );
    many.find({ ...everything, now });
    const began = performance.now();
    const hits = many.find({ ...everything, now, text: 'street 39', loss: '30', species: 'Species 31' });
    expect(performance.now() - began).toBeLessThan(200);
    expect(hits.length).toBeGreaterThan(0);
  });
});

describe('the plan of the ground', () => {
  // A degree of a meridian of a sphere of 6371.0088 km is 111.195 km: 2 pi r / 360.
  it('knows how long a degree is', () =>
    expect(away({ lat: 0, lon: 0 }, { lat: 1, lon: 0 }).north).toBeCloseTo(111_195, -1));
  it('goes over the date line', () =>
    expect(away({ lat: 0, lon: 179.9 }, { lat: 0, lon: -179.9 }).east).toBeCloseTo(22_239, -1));
  it('comes back to the place that was shown', () => {
    const v = { lat: 41, lon: -50, scale: 0.5 };
    const { x, y } = toScreen(v, { lat: 41.001, lon: -50.002 });
    const back = toPlace(v, x, y);
    expect(back.lat).toBeCloseTo(41.001, 9);
    expect(back.lon).toBeCloseTo(-50.002, 9);
  });
  it('shows all places', () => {
    const places = [
      { lat: 41, lon: -50 },
      { lat: 41.01, lon: -50.02 },
    ];
    const v = viewOf(places, 800, 600);
    for (const p of places) {
      const { x, y } = toScreen(v, p);
      expect(Math.abs(x)).toBeLessThan(400);
      expect(Math.abs(y)).toBeLessThan(300);
    }
  });
  it('has a round scale', () =>
    expect([round(0.1, 180, 1), round(1, 180, 0.3048), round(7, 100, 1000)]).toEqual([10, 500, 0.5]));
  it('draws as one what lies on each other', () => {
    const v = { lat: 0, lon: 0, scale: 1 };
    expect(
      clumps(
        v,
        [
          { lat: 0.00001, lon: 0.00001 },
          { lat: 0.00002, lon: 0.00002 },
          { lat: 0.01, lon: 0.00001 },
        ],
        20,
      )
        .map((c) => c.items.length)
        .sort(),
    ).toEqual([1, 2]);
  });
  it('tells what was done from what is to do', () => {
    const t = { gone: false, planDay: '2026-06-09', treated: 0, treatments: 0 };
    expect(signOf(t)).toBe('due');
    expect(signOf({ ...t, treated: new Date(2026, 5, 9, 14).getTime(), treatments: 1 })).toBe('treated');
    expect(signOf({ ...t, gone: true })).toBe('gone');
  });
});

describe('what comes in and goes out', () => {
  it('reads GeoJSON points (RFC 7946: longitude first)', () => {
    const text = JSON.stringify({
      type: 'FeatureCollection',
      features: [
        {
          type: 'Feature',
          geometry: { type: 'Point', coordinates: [-50.5, 41.25] },
          properties: { tag: 'A' },
        },
        { type: 'Feature', geometry: { type: 'LineString', coordinates: [] }, properties: {} },
        { type: 'Feature', geometry: { type: 'Point', coordinates: [0, 91] }, properties: null },
        null,
      ],
    });
    const got = pointsOf(text)!;
    expect(got.points).toEqual([
      { n: 1, lat_e7: 412_500_000, lon_e7: -505_000_000, properties: { tag: 'A' } },
    ]);
    expect(got.faults).toEqual([
      { n: 2, why: 'point' },
      { n: 3, why: 'range' },
      { n: 4, why: 'shape' },
    ]);
    expect(pointsOf('tag,species\n')).toBeNull();
  });
  it('makes ids of version 7 (RFC 9562)', () => {
    expect(uuid7(0x018bcfe56800)).toMatch(/^018bcfe5-6800-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
  it('shows what a correction changed, and nothing else', () => {
    const changes = changesOf({ a: 1, b: { c: 'x' }, d: [1, 2] }, { a: 1, b: { c: 'y' }, d: [1] });
    expect(changes).toEqual([
      { path: 'b.c', before: 'x', after: 'y' },
      { path: 'd.1', before: '2', after: '' },
    ]);
  });
  it('has words for codes, and leaves what people wrote alone', () => {
    const word = (path: string, code: string) => wordsFor(path, code)[0] ?? code;
    expect(gist({ name: 'received', sort: 'received', units: 40 }, word)).toBe(
      'received · move.received · 40',
    );
    expect(wordsFor('roles.0', 'office')).toEqual(['role.office']);
    expect(wordsFor('stems.0.arcs.1.sort', 'canker')).toContain('value.canker');
  });
  it('counts days to the end of the last good one', () => {
    expect(daysTo('2026-06-09', Date.UTC(2026, 5, 9, 12))).toBe(0);
    expect(daysTo('2026-06-08', Date.UTC(2026, 5, 9, 12))).toBe(-1);
  });
  it('leaves out what was not filled in', () =>
    expect(given({ a: '', b: 0, c: [], d: 'x', e: undefined, f: false })).toEqual({
      b: 0,
      d: 'x',
      f: false,
    }));
  it('reads whole numbers', () =>
    expect([whole(''), whole('1 200'), whole('x')]).toEqual([undefined, 1200, NaN]));
  it('groups in the order of coming', () =>
    expect(grouped(['b1', 'a1', 'b2'], (s) => s[0]!)).toEqual([
      ['b', ['b1', 'b2']],
      ['a', ['a1']],
    ]));
});
