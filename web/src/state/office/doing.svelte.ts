// A form that does a deed: busy meanwhile, and what was refused or found after it.
import { type Finding, type Problem, problemOf } from '../engine';
import type { Desk } from './desk.svelte';

export class Doing {
  busy = $state(false);
  problem = $state<Problem | null>(null);
  findings = $state<Finding[]>([]);
  #desk: Desk;

  constructor(desk: Desk) {
    this.#desk = desk;
  }

  clear(): void {
    this.problem = null;
    this.findings = [];
  }

  /** Does it; true: it was done. */
  async do(name: string, input: object | Promise<object>): Promise<boolean> {
    return this.run(async () => {
      this.findings = (await this.#desk.do(name, given(await input))).findings;
    });
  }

  async run(task: () => Promise<void>): Promise<boolean> {
    this.busy = true;
    this.problem = null;
    try {
      await task();
      return true;
    } catch (err) {
      this.problem = problemOf(err);
      return false;
    } finally {
      this.busy = false;
    }
  }
}

/** What was filled in: an empty field is left out. */
export function given(input: object): object {
  return Object.fromEntries(
    Object.entries(input).filter(
      ([, v]) => v !== '' && v !== undefined && v !== null && !(Array.isArray(v) && v.length === 0),
    ),
  );
}

/** A whole number that was typed; NaN is left for the deed to refuse. */
export const whole = (text: string): number | undefined =>
  text.trim() === '' ? undefined : Number(text.replace(/\s/g, ''));
