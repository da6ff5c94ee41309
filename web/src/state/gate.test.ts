import { expect, it, vi } from 'vitest';
import { Gate } from './gate';

it('lets nothing through before it is opened, and all in its order then', async () => {
  const call = vi.fn((name: string) => Promise.resolve(name));
  const gate = new Gate({ call } as never);
  const waiting = ['a', 'b'].map((name) => gate.call(name, {}));
  await Promise.resolve();
  expect(call).not.toHaveBeenCalled();
  gate.open();
  expect(await Promise.all(waiting)).toEqual(['a', 'b']);
  expect(await gate.call('c', {})).toBe('c');
  expect(call.mock.calls.map(([name]) => name)).toEqual(['a', 'b', 'c']);
});
