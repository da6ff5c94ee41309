import 'fake-indexeddb/auto';
import { beforeEach, describe, expect, it, vi } from 'vitest';
import { keptLines } from './kept';
import { Full, Store } from './store';

const lines = (...texts: string[]) => texts.map((line, i) => ({ line, time: i + 1 }));
let n = 0;
let store: Store;

beforeEach(async () => {
  store = await Store.open(`test-${n++}`);
});

describe('store', () => {
  it('keeps lines and puts them into the outbox', async () => {
    await store.write(lines('a', 'b'), 5);
    expect(await store.lines()).toEqual(lines('a', 'b'));
    expect(await store.waiting()).toEqual([
      { n: 1, text: 'a', at: 5 },
      { n: 2, text: 'b', at: 5 },
    ]);
  });

  it('keeps a line once, from whichever side it comes', async () => {
    await store.write(lines('a'), 1);
    await store.write(lines('a'), 2);
    await store.lend(lines('a', 'b'));
    await store.lend(lines('a', 'b'));
    expect((await store.lines()).map((l) => l.line)).toEqual(['a', 'b']);
    expect(await store.waitingCount()).toBe(1);
  });

  it('takes out of the outbox what was acknowledged, and no more', async () => {
    await store.write(lines('a', 'b', 'c'), 1);
    await store.settle([1, 3], new Map([[2, 'not sound']]));
    expect(await store.waiting()).toEqual([{ n: 2, text: 'b', at: 1, refused: 'not sound' }]);
    expect(await store.lines()).toHaveLength(3);
  });

  it('is as it was after it was opened again', async () => {
    const name = `again-${n++}`;
    const first = await Store.open(name);
    await first.write(lines('a'), 1);
    await first.set('person', 'p');
    first.close();
    const second = await Store.open(name);
    expect(await second.lines()).toEqual(lines('a'));
    expect(await second.size()).toBe(1);
    expect(await keptLines(second.name)).toEqual(lines('a'));
    expect(await second.waitingCount()).toBe(1);
    expect(await second.get('person')).toBe('p');
  });

  it('says that there is no room, and has changed nothing', async () => {
    await store.write(lines('a'), 1);
    const add = vi.spyOn(IDBObjectStore.prototype, 'add').mockImplementation(() => {
      throw new DOMException('no room', 'QuotaExceededError');
    });
    await expect(store.write(lines('b'), 2)).rejects.toBeInstanceOf(Full);
    add.mockRestore();
    expect((await store.lines()).map((l) => l.line)).toEqual(['a']);
    expect(await store.waitingCount()).toBe(1);
  });
});
