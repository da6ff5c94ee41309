// The register in a thread of its own: it fetches, holds and searches all trees.
import { type Cell, everything, type Query, Register, type TreeRow } from './register';

export type Ask =
  | { what: 'fetch'; token: string; since: number }
  | { what: 'take'; lines: Cell[][]; columns: string[] }
  | { what: 'find'; query: Query }
  | { what: 'rows'; rows: number[] }
  | { what: 'points'; query: Query }
  | { what: 'stop' };

export interface Counts {
  size: number;
  next: number;
  grounds: [string, number][];
  species: [string, number][];
}

export interface Found {
  rows: Uint32Array;
  ms: number;
}

export interface Points {
  rows: TreeRow[];
  unplaced: number;
}

export type Answer = { id: number; ok: unknown } | { id: number; error: string } | { progress: number };

const register = new Register();
let stop = new AbortController();
let next = 0;

const post = (answer: Answer, move: Transferable[] = []): void =>
  (self as unknown as Worker).postMessage(answer, move);

function counts(): Counts {
  return {
    size: register.size,
    next,
    grounds: register.counts('grounds'),
    species: register.counts('species'),
  };
}

async function load(token: string, since: number): Promise<Counts> {
  stop = new AbortController();
  const answer = await fetch(`/api/register?since=${since}`, {
    signal: stop.signal,
    headers: token ? { Authorization: `Bearer ${token}` } : {},
  });
  if (!answer.ok)
    throw new Error(
      ((await answer.json().catch(() => ({}))) as { detail?: string }).detail ?? answer.statusText,
    );
  if (since === 0) register.clear();
  const lines = answer.body!.pipeThrough(new TextDecoderStream()).getReader();
  let whole = false;
  let rest = '';
  let came = 0;
  for (;;) {
    const { done, value } = await lines.read();
    if (done) break;
    const parts = (rest + value).split('\n');
    rest = parts.pop() ?? '';
    for (const line of parts) whole = take(line) || whole;
    if (register.size - came > 1000) post({ progress: (came = register.size) });
  }
  if (!whole) throw new Error('the register was cut off');
  register.find(everything);
  return counts();
}

/** Takes a line; true: it was the last. */
function take(line: string): boolean {
  if (line.startsWith('[')) {
    register.add(JSON.parse(line) as Cell[]);
    return false;
  }
  const said = JSON.parse(line) as { columns?: string[]; register?: { next: number } };
  if (said.columns) register.head(said.columns);
  if (said.register) next = said.register.next;
  return said.register !== undefined;
}

function points(query: Query): Points {
  const found = [...register.find(query)].map((i) => register.row(i));
  const rows = found.filter((r) => !Number.isNaN(r.lat));
  return { rows, unplaced: found.length - rows.length };
}

async function answer(ask: Ask): Promise<unknown> {
  switch (ask.what) {
    case 'fetch':
      return load(ask.token, ask.since);
    case 'take':
      register.clear();
      register.head(ask.columns);
      for (const line of ask.lines) register.add(line);
      return counts();
    case 'find': {
      const began = performance.now();
      const rows = register.find(ask.query);
      return { rows, ms: performance.now() - began } satisfies Found;
    }
    case 'rows':
      return ask.rows.map((i) => register.row(i));
    case 'points':
      return points(ask.query);
    case 'stop':
      return stop.abort();
  }
}

self.onmessage = async ({ data }: MessageEvent<Ask & { id: number }>) => {
  try {
    post({ id: data.id, ok: await answer(data) });
  } catch (err) {
    post({ id: data.id, error: err instanceof Error ? err.message : String(err) });
  }
};
