// The calls of the engine, as doc/pocket.md has them. Times are milliseconds since
// 1970, lengths whole nanometres in what is kept and texts with their unit ("96 in")
// in what a person says.

export interface Problem {
  code: string;
  field?: string;
  text: string;
}

export interface Finding {
  code: string;
  severity: 'block' | 'warn' | 'ask' | 'note';
  place?: string;
  sentence: string;
  remedy?: string;
  source: string;
}

export interface Deed {
  result: unknown;
  ids: string[];
  lines: string[];
  findings: Finding[];
}

export interface Row {
  subject: { kind: string; id: string };
  key: string;
  state: unknown;
}

export interface Calls {
  names: { in: Record<string, never>; out: { calls: string[] } };
  deed: { in: { name: string; input: unknown; now: number }; out: Deed };
  offer: { in: Record<string, never>; out: { offer: unknown[] } };
}
