// The engine of an office's screens: a larger program, which is fetched when it is
// asked for the first time. It knows nothing of the journal.
import { Client, type Thread } from './client';
import type { Engine } from '../state/engine';
import type { Speaking } from './types';

const client = new Client(
  () => new Worker(new URL('./desk.worker.ts', import.meta.url), { type: 'module' }) as Thread,
);

/** Asks it, in a person's language and units. */
export async function askDesk<T>(name: 'trees' | 'calc', input: unknown, speaking: Speaking): Promise<T> {
  await client.call('speak', speaking);
  return (await client.call(name, input as never)) as T;
}

/** It, for a device alone that writes a whole list: who asks has to start it. */
export const whole = client as unknown as Engine;
