// What page and worker say to each other. Texts are JSON as the engine has it; the
// worker neither reads nor changes them.

/** A call on its way to the engine. */
export interface Question {
  id: number;
  name: string;
  input: string;
}

/** What comes back: the answer of a call, or that the engine has gone. */
export type Answer = { id: number; text: string } | { gone: string };
