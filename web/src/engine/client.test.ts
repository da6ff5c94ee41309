import { describe, expect, it, vi } from 'vitest';
import { Client, Gone, Refused, type Thread } from './client';
import type { Answer, Question } from './protocol';

/** A worker that keeps what it is sent. */
class Mock implements Thread {
  asked: Question[] = [];
  ended = false;
  onmessage: Thread['onmessage'] = null;
  onerror: Thread['onerror'] = null;
  postMessage(q: Question): void {
    this.asked.push(q);
  }
  terminate(): void {
    this.ended = true;
  }
  say(answer: Answer): void {
    this.onmessage?.(new MessageEvent('message', { data: answer }));
  }
}

function pair(): { mocks: Mock[]; client: Client } {
  const mocks: Mock[] = [];
  const client = new Client(() => {
    const mock = new Mock();
    mocks.push(mock);
    return mock;
  });
  return { mocks, client };
}

describe('the client', () => {
  it('starts one worker, and only when it is asked something', async () => {
    const { mocks, client } = pair();
    expect(mocks).toHaveLength(0);
    const both = [client.call('names', {}), client.call('offer', {})];
    expect(mocks).toHaveLength(1);
    expect(mocks[0]!.asked.map((q) => [q.name, q.input])).toEqual([
      ['names', '{}'],
      ['offer', '{}'],
    ]);
    const [names, offer] = mocks[0]!.asked;
    mocks[0]!.say({ id: offer!.id, text: '{"ok":{"offer":[]}}' }); // answers may cross
    mocks[0]!.say({ id: names!.id, text: '{"ok":{"calls":["names"]}}' });
    expect(await Promise.all(both)).toEqual([{ calls: ['names'] }, { offer: [] }]);
  });

  it('throws what the engine refuses, with code, field and sentence', async () => {
    const { mocks, client } = pair();
    const asked = client.call('deed', { name: 'tree.measure', input: {}, now: 1 });
    mocks[0]!.say({
      id: mocks[0]!.asked[0]!.id,
      text: '{"error":{"code":"input.missing","field":"tree","text":"tree: missing"}}',
    });
    const err = await asked.catch((e: unknown) => e);
    expect(err).toBeInstanceOf(Refused);
    expect(err).toMatchObject({ code: 'input.missing', field: 'tree', message: 'tree: missing' });
  });

  it.each([
    ['says that it has gone', (m: Mock) => m.say({ gone: 'broke' })],
    ['cannot be loaded', (m: Mock) => m.onerror?.({ message: 'broke' } as ErrorEvent)],
  ])('fails all calls when the worker %s, and starts anew', async (_, break_) => {
    const { mocks, client } = pair();
    client.ongone = vi.fn();
    const asked = client.call('offer', {});
    break_(mocks[0]!);
    await expect(asked).rejects.toBeInstanceOf(Gone);
    expect(client.ongone).toHaveBeenCalledExactlyOnceWith('broke');
    expect(mocks[0]!.ended).toBe(true);
    void client.call('offer', {}).catch(() => undefined);
    expect(mocks).toHaveLength(2);
  });
});
