// What page and worker say to each other. Texts are JSON as the engine has it; the
// worker neither reads nor changes them.

/** A call on its way to the engine. */
export interface Question {
  id: number;
  name: string;
  input: string;
}

/** A call that the worker answers with another: it reads the lines that a database on the
    device keeps, which are too many for the page's thread, and loads them. */
export const loadKept = 'load kept';

/** What comes back: the answer of a call, or that the engine has gone. */
export type Answer = { id: number; text: string } | { gone: string };
