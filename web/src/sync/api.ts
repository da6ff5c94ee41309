// The few things the phone asks a server. Every answer also tells the time, which
// is how a wrong clock is noticed.
import { skewOf } from '../device/clock';
import type { Kept } from '../device/store';

/** What a server would not do, in its own words. */
export class NotDone extends Error {
  readonly code: string;
  readonly status: number;
  constructor(status: number, code: string, text: string) {
    super(text);
    this.name = 'NotDone';
    this.status = status;
    this.code = code;
  }
}

export interface SyncAnswer {
  added: number;
  known: number;
  aside: { line: number; why: string }[];
  refused: { line: number; id?: string; reason: string }[];
  lines: string[];
  more?: boolean;
  offer: unknown[];
}

export interface Who {
  org: string;
  person: string;
  roles: string[];
  sole?: boolean;
}

export interface Enrolled {
  token: string;
  org: string;
  person: string;
  device: string;
}

export class Api {
  /** Told how far this clock is ahead of the server's. */
  onskew: ((ms: number) => void) | null = null;
  token: string | null = null;
  #fetch: typeof fetch;
  #site: string;

  constructor(site = '', ask: typeof fetch = (...args) => fetch(...args)) {
    this.#site = site;
    this.#fetch = ask;
  }

  sync(offer: unknown[], lines: string[]): Promise<SyncAnswer> {
    // The day comes by the pack; of the gift of whole journals one line will do.
    return this.#json('POST', '/api/sync?limit=1', { offer, lines });
  }

  async pack(since: number): Promise<{ lines: Kept[]; next: number }> {
    const answer = await this.#ask('GET', `/api/pack?since=${since}`);
    const lines = (await answer.text()).split('\n').filter((l) => l !== '');
    const last = lines.pop();
    const end = last === undefined ? null : (JSON.parse(last) as { pack?: { next: number } });
    if (!end?.pack) throw new NotDone(answer.status, 'pack.cut_off', 'the pack was cut off');
    return { lines: lines.map((l) => JSON.parse(l) as Kept), next: end.pack.next };
  }

  whoAmI(): Promise<Who> {
    return this.#json('GET', '/session');
  }

  signIn(login: string, password: string): Promise<unknown> {
    return this.#json('POST', '/session', { login, password });
  }

  invite(person: string): Promise<{ link: string }> {
    return this.#json('POST', '/invites', { person, sort: 'device' });
  }

  enrol(proof: { secret: string; key: string; signature: string; name: string }): Promise<Enrolled> {
    return this.#json('POST', '/enrol', proof, false);
  }

  async putPicture(sha256: string, type: string, bytes: Blob): Promise<void> {
    await this.#ask('PUT', `/api/photos/${sha256}`, bytes, type);
  }

  async #json<T>(method: string, path: string, body?: unknown, signed = true): Promise<T> {
    const text = body === undefined ? undefined : JSON.stringify(body);
    const answer = await this.#ask(method, path, text, text && 'application/json', signed);
    return answer.status === 204 ? (undefined as T) : ((await answer.json()) as T);
  }

  async #ask(method: string, path: string, body?: BodyInit, type?: string, signed = true): Promise<Response> {
    const headers: Record<string, string> = { Accept: 'application/json' };
    if (type) headers['Content-Type'] = type;
    if (signed && this.token) headers.Authorization = `Bearer ${this.token}`;
    const sent = Date.now();
    const answer = await this.#fetch(this.#site + path, {
      method,
      headers,
      ...(body === undefined ? {} : { body }),
    });
    const skew = skewOf(answer.headers.get('Date'), sent, Date.now());
    if (skew !== null) this.onskew?.(skew);
    if (answer.ok) return answer;
    const told = (await answer.json().catch(() => ({}))) as {
      code?: string;
      detail?: string;
      title?: string;
    };
    throw new NotDone(answer.status, told.code ?? 'http', told.detail ?? told.title ?? answer.statusText);
  }
}
