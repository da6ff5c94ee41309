import 'fake-indexeddb/auto';
import { beforeEach, describe, expect, it, vi } from 'vitest';
import { Full, Store } from '../device/store';
import type { Writer } from '../device/writer';
import { Deeds, NoRoom, OtherTab } from './deeds.svelte';
import type { Engine } from './engine';

let n = 0;
let store: Store;
const writer = () => ({ held: true, tell: vi.fn(), close: vi.fn() }) as unknown as Writer & { held: boolean };

/** An engine that writes one line a deed. */
function engine(): Engine & { seen: string[] } {
  const seen: string[] = [];
  return {
    seen,
    call: (async (name: string, input: { name: string }) => {
      seen.push(input.name);
      if (input.name === 'no') throw Object.assign(new Error('not so'), { code: 'x.no' });
      return {
        result: name,
        ids: [],
        findings: [],
        lines: [{ line: `${input.name} ${seen.length}`, time: 1 }],
      };
    }) as Engine['call'],
  };
}

beforeEach(async () => {
  store = await Store.open(`deeds-${n++}`);
});

describe('deeds', () => {
  it('are on the disk before they count', async () => {
    const w = writer();
    const deeds = new Deeds(engine(), store, w, () => 7);
    const order: string[] = [];
    const write = store.write.bind(store);
    store.write = async (...args) => {
      await write(...args);
      order.push('disk');
    };
    deeds.ondone = () => order.push('shown');
    await deeds.do('a', {});
    expect(order).toEqual(['disk', 'shown']);
    expect(await store.waiting()).toEqual([{ n: 1, text: 'a 1', at: 7 }]);
    expect(w.tell).toHaveBeenCalledWith({ lines: [{ line: 'a 1', time: 1 }] });
  });

  it('are done one after the other, also past a refusal', async () => {
    const e = engine();
    const deeds = new Deeds(e, store, writer(), () => 1);
    const [a, b, c] = await Promise.allSettled([deeds.do('a', {}), deeds.do('no', {}), deeds.do('c', {})]);
    expect([a.status, b.status, c.status]).toEqual(['fulfilled', 'rejected', 'fulfilled']);
    expect(e.seen).toEqual(['a', 'no', 'c']);
    expect((await store.lines()).map((l) => l.line)).toEqual(['a 1', 'c 3']);
  });

  it('are left to the tab that holds the pen', async () => {
    const w = writer();
    (w as { held: boolean }).held = false;
    const e = engine();
    await expect(new Deeds(e, store, w, () => 1).do('a', {})).rejects.toBeInstanceOf(OtherTab);
    expect(e.seen).toEqual([]);
  });

  it('are undone in the engine where the disk has no room', async () => {
    const w = writer();
    const deeds = new Deeds(engine(), store, w, () => 1);
    deeds.restart = vi.fn(async () => {});
    store.write = () => Promise.reject(new Full());
    await expect(deeds.do('a', {})).rejects.toBeInstanceOf(NoRoom);
    expect(deeds.restart).toHaveBeenCalledOnce();
    expect(deeds.full).toBe(true);
    expect(w.tell).not.toHaveBeenCalled();
  });
});
