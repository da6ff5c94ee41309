// What the state of the app needs of the engine, and what comes back from it.

/** The engine: a name and JSON in, JSON out. It refuses by throwing a Problem. */
export interface Engine {
  call<T = unknown>(name: string, input: unknown): Promise<T>;
}

/** What was refused, in words that a person reads. */
export interface Problem {
  code: string;
  field?: string;
  text: string;
}

/** Takes a refusal out of whatever was thrown. */
export function problemOf(thrown: unknown): Problem {
  if (thrown instanceof Error) {
    const { code, field } = thrown as { code?: unknown; field?: unknown };
    return {
      code: typeof code === 'string' ? code : 'fault',
      text: thrown.message,
      ...(typeof field === 'string' && field ? { field } : {}),
    };
  }
  return { code: 'fault', text: String(thrown) };
}

export interface Finding {
  code: string;
  severity: 'block' | 'warn' | 'ask' | 'note';
  place?: string;
  sentence: string;
  remedy?: string;
  source?: string;
}

export interface Deed {
  result: unknown;
  ids: string[];
  lines: { line: string; time: number }[];
  findings: Finding[];
}

/** A value as JSON carries it: a number and its UCUM unit. */
export interface Amount {
  value: number;
  unit: string;
}

const minute = 60_000;
const spans: Record<string, number> = { ms: 1, s: 1000, min: minute, h: 60 * minute, d: 1440 * minute };

/** A span in milliseconds. */
export function millis(span: Amount | undefined): number | undefined {
  const unit = span && spans[span.unit];
  return unit === undefined ? undefined : span!.value * unit;
}
