// Bringing in a list: read and judged by the engine on this device first, then sent
// in parts, so that it shows how far it is and can be broken off between two.
import { problemOf } from '../engine';
import type { Desk } from './desk.svelte';
import type { Fault, ListChecked, Tree } from './shapes';

/** A point of a GeoJSON file. */
export interface Point {
  n: number; // of the feature, from 1
  lat_e7: number;
  lon_e7: number;
  properties: Record<string, unknown>;
}

export interface Points {
  points: Point[];
  faults: { n: number; why: 'shape' | 'point' | 'range' }[];
  names: string[]; // of properties
}

/** Reads the points of a GeoJSON file (RFC 7946); null: it is none. */
export function pointsOf(text: string): Points | null {
  let file: { type?: string; features?: unknown };
  try {
    file = JSON.parse(text) as typeof file;
  } catch {
    return null;
  }
  if (file?.type !== 'FeatureCollection' || !Array.isArray(file.features)) return null;
  const out: Points = { points: [], faults: [], names: [] };
  const names = new Set<string>();
  for (const [i, feature] of (file.features as Feature[]).entries()) {
    const [lon, lat] = feature?.geometry?.coordinates ?? [];
    if (typeof feature !== 'object' || !feature) out.faults.push({ n: i + 1, why: 'shape' });
    else if (feature.geometry?.type !== 'Point' || typeof lon !== 'number' || typeof lat !== 'number')
      out.faults.push({ n: i + 1, why: 'point' });
    else if (Math.abs(lat) > 90 || Math.abs(lon) > 180) out.faults.push({ n: i + 1, why: 'range' });
    else {
      const properties = { ...(feature.id === undefined ? {} : { id: feature.id }), ...feature.properties };
      for (const name of Object.keys(properties)) names.add(name);
      out.points.push({ n: i + 1, lat_e7: Math.round(lat * 1e7), lon_e7: Math.round(lon * 1e7), properties });
    }
  }
  out.names = [...names];
  return out;
}

interface Feature {
  id?: unknown;
  geometry?: { type?: string; coordinates?: unknown[] } | null;
  properties?: Record<string, unknown> | null;
}

export type Stage = 'choose' | 'match' | 'running' | 'done';

export class Importer {
  stage = $state<Stage>('choose');
  name = $state('');
  text = $state.raw('');
  comma = $state(false);
  headings = $state<string[]>([]); // as the person wants them read
  checked = $state.raw<ListChecked | null>(null);
  points = $state.raw<Points | null>(null);
  tagOf = $state(''); // the property that holds the tag
  speciesOf = $state('');
  taken = $state.raw<Map<string, string>>(new Map()); // ids by tag, on the grounds
  done = $state(0);
  of = $state(0);
  failed = $state('');
  busy = $state(false);

  #desk: Desk;
  #stop = new AbortController();

  constructor(desk: Desk) {
    this.#desk = desk;
  }

  /** Tags of the list that trees of these grounds have already. */
  again = $derived((this.checked?.tags ?? []).filter((t) => this.taken.has(t)));
  ready = $derived(
    this.points
      ? this.tagOf !== '' && this.points.points.length > 0
      : (this.checked?.trees ?? 0) > 0 && this.checked?.all === 0 && this.again.length === 0,
  );

  async read(name: string, text: string): Promise<void> {
    [this.name, this.text, this.headings, this.checked, this.failed] = [name, text, [], null, ''];
    this.points = pointsOf(text);
    if (this.points) {
      const like = (...wanted: string[]) =>
        this.points!.names.find((n) => wanted.includes(n.toLowerCase())) ?? '';
      [this.tagOf, this.speciesOf] = [
        like('tag', 'tree', 'tree_id', 'tag_no', 'id'),
        like('species', 'scientific_name', 'host'),
      ];
    } else {
      await this.check();
      const read = this.checked as ListChecked | null; // check has set it
      this.headings = (read?.headings ?? []).map((h) =>
        h.column ? h.column + (h.unit ? `_${h.unit}` : '') : '',
      );
    }
    this.stage = 'match';
  }

  /** Reads the list again under the headings as they are chosen now. */
  async check(): Promise<void> {
    this.busy = true;
    try {
      const names = this.headings.map((h, i) => h || `x_${i + 1}`);
      this.checked = await this.#desk.read<ListChecked>('trees', {
        csv: this.text,
        ...(this.comma ? { decimal_comma: true } : {}),
        ...(names.length > 0 ? { headings: names } : {}),
      });
    } catch (err) {
      this.failed = problemOf(err).text;
    } finally {
      this.busy = false;
    }
  }

  async on(grounds: string): Promise<void> {
    if (!grounds) return;
    const trees = await this.#desk.list<Tree>('tree', { grounds });
    this.taken = new Map(trees.map((t) => [t.facts.tag, t.id]));
  }

  async run(grounds: string): Promise<void> {
    this.stage = 'running';
    this.failed = '';
    [this.done, this.of] = [0, this.points?.points.length ?? this.checked?.trees ?? 0];
    this.#stop = new AbortController();
    try {
      await (this.points ? this.#place(grounds) : this.#list(grounds));
    } catch (err) {
      if (!this.#stop.signal.aborted) this.failed = problemOf(err).text;
    }
    this.stage = 'done';
  }

  /** What was written stays; the rest is not sent. */
  cancel(): void {
    this.#stop.abort();
  }

  async #list(grounds: string): Promise<void> {
    const names = this.headings.map((h, i) => h || `x_${i + 1}`);
    const whole = await this.#desk.read<ListChecked>('trees', {
      csv: this.text,
      batches: true,
      ...(this.comma ? { decimal_comma: true } : {}),
      ...(names.length > 0 ? { headings: names } : {}),
    });
    for (const csv of whole.batches ?? []) {
      if (this.#stop.signal.aborted) return;
      const did = await this.#desk.do('tree.import', {
        grounds,
        csv,
        ...(this.comma ? { decimal_comma: true } : {}),
      });
      this.done += (did.result as { trees?: unknown[] }).trees?.length ?? 0;
    }
  }

  async #place(grounds: string): Promise<void> {
    const { points } = this.points!;
    for (const p of points) {
      if (this.#stop.signal.aborted) return;
      const tag = String(p.properties[this.tagOf] ?? '').trim();
      const place = { lat_e7: p.lat_e7, lon_e7: p.lon_e7 };
      const tree = this.taken.get(tag);
      if (tree) await this.#desk.do('tree.update', { tree, place });
      else
        await this.#desk.do('tree.add', {
          grounds,
          tag,
          species: String(p.properties[this.speciesOf] ?? ''),
          place,
        });
      this.done++;
    }
  }

  start(): void {
    Object.assign(this, {
      stage: 'choose',
      name: '',
      text: '',
      checked: null,
      points: null,
      headings: [],
      failed: '',
      done: 0,
      of: 0,
    });
  }
}

/** A file as text: with the mark it begins with, else as UTF-8. */
export async function textOf(file: Blob): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const [a, b] = bytes;
  const coding = a === 0xff && b === 0xfe ? 'utf-16le' : a === 0xfe && b === 0xff ? 'utf-16be' : 'utf-8';
  return new TextDecoder(coding).decode(bytes);
}

export type { Fault };
