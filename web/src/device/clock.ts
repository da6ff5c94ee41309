// Is the clock of this device right? The server's answers carry the time, to the
// second, so a difference below a few seconds says nothing.

/** How far this clock is ahead of the server's, in ms; null where it did not say. */
export function skewOf(date: string | null, sent: number, received: number): number | null {
  const told = date === null ? NaN : Date.parse(date);
  if (Number.isNaN(told)) return null;
  return Math.round((sent + received) / 2 - (told + 500));
}

/** From here on a clock is called wrong: moments go into the record. */
export const tooFar = 2 * 60_000;
