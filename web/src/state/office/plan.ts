// A plain plan of the ground: metres east and north of its middle, as a flat map
// that is true over a few kilometres. WGS 84 on a sphere of the mean radius.

import { isPlanned } from './register';

const radius = 6_371_008.8; // m, the mean of the ellipsoid's
const rad = Math.PI / 180;

export interface At {
  lat: number;
  lon: number;
}

/** What is in sight: its middle, and how many metres a pixel is. */
export interface View extends At {
  scale: number; // m a px
}

/** Metres east and north of a place. */
export function away(from: At, to: At): { east: number; north: number } {
  const lon = ((to.lon - from.lon + 540) % 360) - 180;
  return { east: lon * rad * radius * Math.cos(from.lat * rad), north: (to.lat - from.lat) * rad * radius };
}

/** Where on the screen a place is; the middle of the view is 0, 0. */
export function toScreen(v: View, p: At): { x: number; y: number } {
  const { east, north } = away(v, p);
  return { x: east / v.scale, y: -north / v.scale };
}

export function toPlace(v: View, x: number, y: number): At {
  const lat = v.lat - (y * v.scale) / (rad * radius);
  return { lat, lon: v.lon + (x * v.scale) / (rad * radius * Math.cos(v.lat * rad)) };
}

/** A view that shows all places in so many pixels, with room round them. */
export function viewOf(places: At[], width: number, height: number): View {
  if (places.length === 0) return { lat: 0, lon: 0, scale: 1 };
  let [south, north, west, east] = [90, -90, 180, -180];
  for (const p of places) {
    [south, north] = [Math.min(south, p.lat), Math.max(north, p.lat)];
    [west, east] = [Math.min(west, p.lon), Math.max(east, p.lon)];
  }
  const middle = { lat: (south + north) / 2, lon: (west + east) / 2 };
  const corner = away(middle, { lat: north, lon: east });
  const scale = Math.max((2 * corner.east) / (width * 0.85), (2 * corner.north) / (height * 0.85), 0.04);
  return { ...middle, scale };
}

/** A round number of a unit, so many metres long, that fits in so many pixels: 1, 2 or
    5 of a ten. */
export function round(scale: number, pixels: number, unit: number): number {
  const wanted = (scale * pixels) / unit;
  const ten = 10 ** Math.floor(Math.log10(wanted));
  return ten * ([5, 2, 1].find((n) => n * ten <= wanted) ?? 1);
}

export interface Clump<T> extends At {
  items: T[];
}

/** Places that would lie on each other are drawn as one. The cells lie fast on the
    ground, so that nothing jumps while the plan is moved. */
export function clumps<T extends At>(v: View, places: T[], size: number): Clump<T>[] {
  const cells = new Map<string, T[]>();
  const fast = { lat: Math.round(v.lat), lon: Math.round(v.lon) };
  const metres = size * v.scale;
  for (const p of places) {
    const { east, north } = away(fast, p);
    const key = `${Math.floor(east / metres)} ${Math.floor(north / metres)}`;
    const cell = cells.get(key);
    if (cell) cell.push(p);
    else cells.set(key, [p]);
  }
  return [...cells.values()].map((items) => {
    const sum = items.reduce((s, p) => ({ lat: s.lat + p.lat, lon: s.lon + p.lon }), { lat: 0, lon: 0 });
    return { items, lat: sum.lat / items.length, lon: sum.lon / items.length };
  });
}

/** How a tree is drawn on plan and map. */
export type TreeSign = 'gone' | 'due' | 'treated' | 'known';

export function signOf(t: { gone: boolean; planDay: string; treated: number; treatments: number }): TreeSign {
  if (t.gone) return 'gone';
  if (isPlanned(t)) return 'due';
  return t.treatments > 0 ? 'treated' : 'known';
}
