import 'fake-indexeddb/auto';
import { beforeEach, describe, expect, it, vi } from 'vitest';
import { Store } from '../device/store';
import type { Engine } from '../state/engine';
import { Api, type SyncAnswer } from './api';
import { outboxFile, SyncState } from './sync.svelte';

const none: SyncAnswer = { added: 0, known: 0, aside: [], refused: [], lines: [], offer: [] };
const lines = (...texts: string[]) => texts.map((line) => ({ line, time: 1 }));
let n = 0;
let store: Store;

beforeEach(async () => {
  vi.useRealTimers();
  store = await Store.open(`sync-${n++}`);
  await store.set('token', 't');
});

/** A server of two routes, and a log of what it was asked. */
function server(answer: (lines: string[]) => Partial<SyncAnswer> | number) {
  const asked: { path: string; auth: string | null; lines: string[] }[] = [];
  const ask = (async (path: string, init: RequestInit) => {
    const headers = new Headers(init.headers);
    const sent = init.body ? ((JSON.parse(init.body as string) as { lines: string[] }).lines ?? []) : [];
    asked.push({ path, auth: headers.get('Authorization'), lines: sent });
    if (path.startsWith('/api/pack'))
      return new Response(`${JSON.stringify({ line: 'lent', time: 9 })}\n{"pack":{"next":41}}\n`);
    const said = answer(sent);
    if (typeof said === 'number')
      return new Response(JSON.stringify({ code: 'x', detail: 'no' }), { status: said });
    return new Response(JSON.stringify({ ...none, ...said }), {
      headers: { Date: new Date(Date.now() - 600_000).toUTCString() },
    });
  }) as typeof fetch;
  return { asked, api: new Api('', ask) };
}

function sync(api: Api, online = true) {
  const loaded: unknown[] = [];
  const engine: Engine = {
    call: (async (name: string, input: unknown) => {
      if (name === 'load') loaded.push(input);
      return name === 'offer' ? { offer: [] } : {};
    }) as Engine['call'],
  };
  const onlent = vi.fn();
  const state = new SyncState(engine, store, api, { onlent, now: () => 1000, online: () => online });
  return { state, loaded, onlent };
}

describe('sync', () => {
  it('sends what waits, fetches the day, and empties the outbox by what was acknowledged', async () => {
    await store.write(lines('a', 'b', 'c'), 1);
    const { asked, api } = server(() => ({ added: 2, refused: [{ line: 2, reason: 'not sound' }] }));
    const { state, loaded, onlent } = sync(api);
    await state.run();
    expect(asked[0]).toEqual({ path: '/api/sync?limit=1', auth: 'Bearer t', lines: ['a', 'b', 'c'] });
    expect(await store.waiting()).toEqual([{ n: 2, text: 'b', at: 1, refused: 'not sound' }]);
    expect([state.waiting, state.refused, state.lastSent, state.error]).toEqual([1, 1, 1000, null]);
    expect(loaded).toEqual([{ lines: [{ line: 'lent', time: 9 }] }]);
    expect(onlent).toHaveBeenCalledOnce();
    expect(await store.get('pack_next')).toBe(41);
  });

  it('does not send again what was refused', async () => {
    await store.write(lines('a'), 1);
    await store.settle([], new Map([[1, 'not sound']]));
    const { asked, api } = server(() => ({}));
    await sync(api).state.run();
    expect(asked[0]?.lines).toEqual([]);
    expect(await store.waitingCount()).toBe(1);
  });

  it('keeps all that waits when the server fails, and tries again later', async () => {
    await store.write(lines('a'), 1);
    const { api } = server(() => 503);
    const { state } = sync(api);
    await state.run();
    state.stop();
    expect(await store.waitingCount()).toBe(1);
    expect([state.error, state.out, state.lastSent]).toEqual(['no', false, null]);
    expect(state.nextTry).toBe(1000 + 5000);
  });

  it('waits longer each time, up to five minutes', async () => {
    const { api } = server(() => 503);
    const { state } = sync(api);
    const waits: number[] = [];
    for (let i = 0; i < 9; i++) {
      await state.run();
      state.stop();
      waits.push((state.nextTry ?? 0) - 1000);
    }
    expect(waits.slice(0, 4)).toEqual([5_000, 10_000, 20_000, 40_000]);
    expect(waits.at(-1)).toBe(300_000);
  });

  it('says when the office does not know the device any more, and loses nothing', async () => {
    await store.write(lines('a'), 1);
    const { api } = server(() => 401);
    const { state } = sync(api);
    await state.run();
    expect([state.out, state.waiting, state.nextTry]).toEqual([true, 1, null]);
  });

  it('asks nothing without a signal', async () => {
    const { asked, api } = server(() => ({}));
    await sync(api, false).state.run();
    expect(asked).toEqual([]);
  });

  it('notices a wrong clock by the Date of the answers', async () => {
    const { api } = server(() => ({}));
    const { state } = sync(api);
    await state.run();
    expect(state.clockWrong).toBe(true);
    expect(state.skew).toBeGreaterThan(590_000);
  });

  it('sends many lines in parts, and each part counts by itself', async () => {
    await store.write(lines(...Array.from({ length: 900 }, (_, i) => `line ${i}`)), 1);
    let calls = 0;
    const { asked, api } = server(() => (++calls === 3 ? 500 : {}));
    const { state } = sync(api);
    await state.run();
    state.stop();
    expect(asked.map((a) => a.lines.length)).toEqual([400, 400, 100]);
    expect(await store.waitingCount()).toBe(100);
  });

  it('writes the outbox as lines of the journal', async () => {
    await store.write(lines('a', 'b'), 1);
    expect(await outboxFile(await store.waiting()).text()).toBe('a\nb\n');
  });
});
