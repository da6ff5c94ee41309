// One tab writes; the others show. The lock is the browser's, so it is free again
// when the tab that held it has gone, however it went.

import type { Kept } from './store';

export type Told = { lines: Kept[] } | 'settings';

export class Writer {
  held = false;
  #release: (() => void) | null = null;
  #channel: BroadcastChannel | null;

  /** onheld is told when this tab may write; ontold what another tab wrote. */
  constructor(name: string, onheld: () => void, ontold: (what: Told) => void) {
    this.#channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(name);
    if (this.#channel) this.#channel.onmessage = ({ data }: MessageEvent<Told>) => ontold(data);
    if (!globalThis.navigator?.locks) {
      this.held = true; // one tab is all such a browser is trusted with
      queueMicrotask(onheld);
      return;
    }
    void navigator.locks.request(`${name}-writer`, () => {
      this.held = true;
      onheld();
      return new Promise<void>((done) => (this.#release = done));
    });
  }

  tell(what: Told): void {
    this.#channel?.postMessage(what);
  }

  close(): void {
    this.#release?.();
    this.#channel?.close();
  }
}
