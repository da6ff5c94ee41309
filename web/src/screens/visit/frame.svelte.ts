// What a step puts into the page round it.
import type { Snippet } from 'svelte';

export class Frame {
  bar = $state.raw<Snippet>();
  beside = $state.raw<Snippet>();
}
export const frameKey = Symbol('frame');
