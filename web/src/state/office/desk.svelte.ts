// Where the office's screens get what they show, and where they send what is done.
// With an office behind it, the device asks the office; alone, or with no signal, it
// shows what it carries itself and says so.
import { getContext, setContext } from 'svelte';
import { askDesk, whole } from '../../engine/desk';
import { NotDone } from '../../sync/api';
import { type App, getApp } from '../app.svelte';
import type { Finding } from '../engine';
import type { Row } from '../shapes';
import type { Duty, Proof, RecordRow, Said, Stream } from './shapes';

const places: Record<string, string> = {
  org: 'orgs',
  person: 'people',
  device: 'devices',
  grounds: 'grounds',
  tree: 'trees',
  label: 'labels',
  lot: 'lots',
  visit: 'visits',
  bag: 'bags',
};

/** What a deed came to. */
export interface Did {
  result: unknown;
  findings: Finding[];
}

export interface Invite {
  link: string;
  until: number;
  qr?: string;
}

export class Desk {
  /** Grows when something was done here, so that screens look again. */
  changes = $state(0);
  readonly app: App;

  constructor(app: App) {
    this.app = app;
  }

  /** The office answers, so it is asked. */
  get remote(): boolean {
    return this.app.sync.joined && this.app.sync.online;
  }

  /** Some of it is all that can be shown. */
  get partial(): boolean {
    return this.app.sync.joined && !this.app.sync.online;
  }

  /** All things of a kind. */
  async list<S>(kind: string, narrowed: Record<string, string> = {}): Promise<S[]> {
    if (!this.remote) return this.#carried<S>(kind, Object.values(narrowed)[0]);
    const found: S[] = [];
    for (let cursor = ''; ;) {
      const query = new URLSearchParams({ limit: '1000', ...narrowed, ...(cursor ? { cursor } : {}) });
      const page = await this.json<{ items: S[]; next?: string }>(`/api/${places[kind]}?${query}`);
      found.push(...page.items);
      if (!page.next) return found;
      cursor = page.next;
    }
  }

  async #carried<S>(kind: string, narrowed?: string): Promise<S[]> {
    const found: S[] = [];
    const to = narrowed ? `${narrowed}}` : '';
    for (let from = narrowed ? `${narrowed}|` : '', after = ''; ;) {
      const { rows } = await this.app.engine.call<{ rows: Row<S>[] }>('rows', {
        kind,
        from,
        to,
        after,
        limit: 500,
      });
      found.push(...rows.map((r) => r.state));
      const last = rows.at(-1);
      if (!last || rows.length < 500) return found;
      [from, after] = [last.key, last.subject.id];
    }
  }

  async one<S>(kind: string, id: string): Promise<S> {
    if (this.remote) return this.json<S>(`/api/${places[kind]}/${id}`);
    return (await this.app.engine.call<Row<S>>('row', { kind, id })).state;
  }

  /** All that was said of a thing, the oldest first. */
  async history(kind: string, id: string): Promise<Said[]> {
    if (!this.remote)
      return (await this.app.engine.call<{ entries: Said[] }>('history', { kind, id })).entries;
    const found: Said[] = [];
    for (;;) {
      const page = await this.json<{ entries: Said[]; all: number }>(
        `/api/${places[kind]}/${id}/entries?limit=1000&from=${found.length}`,
      );
      found.push(...page.entries);
      if (found.length >= page.all || page.entries.length === 0) return found;
    }
  }

  /** Does a deed: at the office where there is one, else on this device. */
  async do(name: string, input: object, signal?: AbortSignal): Promise<Did> {
    const did = this.remote
      ? await this.json<Did>(`/api/deeds/${name}`, {
          method: 'POST',
          body: JSON.stringify(input),
          key: uuid7(Date.now()),
          ...(signal ? { signal } : {}),
        })
      : await this.#doHere(name, input);
    this.changes++;
    if (this.remote) this.app.sync.soon();
    return { result: did.result, findings: did.findings ?? [] };
  }

  /** Reads a whole list, and judges it. */
  async read<T>(name: 'trees', input: object): Promise<T> {
    return askDesk<T>(name, input, this.app.settings.speaking);
  }

  /** A phone's engine reads no lists: the larger one does, and is told the journal. */
  async #doHere(name: string, input: object): Promise<Did> {
    if (name !== 'tree.import') return this.app.deeds.do(name, input);
    return this.app.deeds.do(name, input, async () => {
      await this.app.session.tell(whole, this.app.settings.speaking);
      return whole;
    });
  }

  /** The journal as it came in, from a number on. */
  async stream(from: number, limit: number): Promise<Stream> {
    if (this.remote) return this.json<Stream>(`/api/entries?from=${from}&limit=${limit}`);
    const lines = await this.app.store.lines();
    const entries = lines
      .slice(from, from + limit)
      .map((kept, i) => ({ n: from + i, ...readLine(kept.line) }));
    return { all: lines.length, entries };
  }

  /** What shows that an entry is in the log; only an office has that. */
  async proof(id: string): Promise<Proof> {
    const head = await this.json<{ line: string }>('/api/head');
    const { size } = (JSON.parse(head.line) as { head: { size: number } }).head;
    return {
      ...(await this.json<Omit<Proof, 'head'>>(`/api/entries/${id}/proof?size=${size}`)),
      head: head.line,
    };
  }

  invite(person: string, sort: 'device' | 'account'): Promise<Invite> {
    return this.json('/invites', { method: 'POST', body: JSON.stringify({ person, sort }) });
  }

  /** The records of the work, by day; the last line says that all of them came. */
  async records(days: string): Promise<RecordRow[]> {
    const answer = await this.ask(`/api/records?${days}`);
    const lines = (await answer.text()).split('\n').filter((l) => l !== '');
    const end = JSON.parse(lines.pop() ?? '{}') as { records?: { count: number } };
    if (end.records?.count !== lines.length)
      throw new NotDone(answer.status, 'records.cut_off', 'the records were cut off');
    return lines.map((l) => JSON.parse(l) as RecordRow);
  }

  async due(days: string): Promise<Duty[]> {
    return (await this.json<{ duties: Duty[] }>(`/api/due?${days}`)).duties;
  }

  /** Hands a file to the person. */
  save(blob: Blob, name: string): void {
    const url = URL.createObjectURL(blob);
    const a = document.createElement('a');
    [a.href, a.download] = [url, name];
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  }

  /** A file of the office, told how much of it has come. */
  async file(path: string, oncome: (bytes: number) => void, signal: AbortSignal): Promise<Blob> {
    const answer = await this.ask(path, { signal });
    const parts: BlobPart[] = [];
    let bytes = 0;
    for (const reader = answer.body!.getReader(); ;) {
      const { done, value } = await reader.read();
      if (done) break;
      parts.push(value as BlobPart);
      oncome((bytes += value.length));
    }
    return new Blob(parts, { type: answer.headers.get('Content-Type') ?? '' });
  }

  async json<T>(path: string, how: Asked = {}): Promise<T> {
    const answer = await this.ask(path, how);
    return answer.status === 204 ? (undefined as T) : ((await answer.json()) as T);
  }

  async ask(path: string, { method = 'GET', body, key, signal }: Asked = {}): Promise<Response> {
    const token = await this.app.store.get<string>('token');
    const headers: Record<string, string> = {
      Accept: 'application/json',
      'Accept-Language': this.app.settings.lang,
    };
    if (token) headers.Authorization = `Bearer ${token}`;
    if (body !== undefined) headers['Content-Type'] = 'application/json';
    if (key) headers['Idempotency-Key'] = key;
    const answer = await fetch(path, {
      method,
      headers,
      ...(body === undefined ? {} : { body }),
      ...(signal ? { signal } : {}),
    });
    if (answer.ok) return answer;
    const told = (await answer.json().catch(() => ({}))) as {
      code?: string;
      detail?: string;
      title?: string;
    };
    throw new NotDone(answer.status, told.code ?? 'http', told.detail ?? told.title ?? answer.statusText);
  }
}

interface Asked {
  method?: string;
  body?: string;
  key?: string;
  signal?: AbortSignal;
}

/** An entry out of its line, for a device that has no office to ask. */
function readLine(line: string): Said {
  const { entry } = JSON.parse(line) as { entry: Omit<Said, 'at' | 'written' | 'hash'> & { time: number } };
  const body = entry.body as { by?: string; at?: number };
  return {
    ...entry,
    at: body.at ?? entry.time,
    written: entry.time,
    hash: '',
    ...(body.by ? { by: body.by } : {}),
  };
}

/** A new id as RFC 9562 has it: of version 7, in lower case. */
export function uuid7(now: number): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 0xff;
  bytes[6] = (bytes[6]! & 0x0f) | 0x70;
  bytes[8] = (bytes[8]! & 0x3f) | 0x80;
  const hex = Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

const key = Symbol('desk');
const desks = new WeakMap<App, Desk>();

export const setDesk = (desk: Desk): Desk => setContext(key, desk);

/** The desk of the app that a screen stands in. */
export function getDesk(): Desk {
  const given = getContext<Desk | undefined>(key);
  if (given) return given;
  const app = getApp();
  const have = desks.get(app) ?? new Desk(app);
  desks.set(app, have);
  return have;
}
