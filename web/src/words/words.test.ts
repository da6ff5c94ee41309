import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import en from '@words/en/app.json';
import es from '@words/es/app.json';
import { Words } from '.';

describe('words', () => {
  const english = new Words('en');
  const spanish = new Words('es');

  it('fills blanks and chooses by the count', () => {
    expect(english.say('sync.waiting', { n: 1 })).toBe('1 entry waiting');
    expect(english.say('sync.waiting', { n: 17 })).toBe('17 entries waiting');
    expect(spanish.say('sync.waiting', { n: 1 })).toBe('1 anotación pendiente');
    expect(spanish.say('sync.waiting', { n: 0 })).toBe('0 anotaciones pendientes');
  });

  // Unicode CLDR: English groups by thousands with a comma; Spanish groups from five
  // digits on, with a point (minimumGroupingDigits 2).
  it('writes whole numbers as the language does', () => {
    expect(english.number(12345)).toBe('12,345');
    expect(spanish.number(12345)).toBe('12.345');
    expect(spanish.number(1234)).toBe('1234');
  });

  // Unicode CLDR: a decimal comma in Spanish, a point in the Spanish of the United States
  // and of Mexico.
  it('knows the decimal mark of where it is read', () => {
    expect(['es', 'es-ES', 'es-US', 'es-MX'].map((l) => new Words('es', l).comma)).toEqual([true, true, false, false]); // prettier-ignore
    expect(new Words('en', 'en-GB').comma).toBe(false);
  });

  it('begins with what it printed last, for the same locale alone', () => {
    const days: [string, string][] = [['2026-06-09', 'as it was printed']];
    const [again, other] = [new Words('es'), new Words('es', 'es-MX')];
    for (const w of [again, other]) w.recall({ locale: 'es', comma: true, days });
    expect([again.date('2026-06-09'), again.printed]).toEqual(['as it was printed', { locale: 'es', comma: true, days }]); // prettier-ignore
    expect(other.date('2026-06-09')).not.toBe('as it was printed');
    expect(other.comma).toBe(false);
  });

  it('says spans in two parts at most', () => {
    const minute = 60_000;
    expect(english.span(0)).toBe('0\u00a0min');
    expect(english.span(-5 * minute)).toBe('0\u00a0min');
    expect(english.span(59 * minute)).toBe('59\u00a0min');
    expect(english.span(80 * minute)).toBe('1\u00a0h 20\u00a0min');
    expect(english.span(120 * minute)).toBe('2\u00a0h');
    expect(english.span(25 * 60 * minute)).toBe('1\u00a0d 1\u00a0h');
  });

  it('moves an ISO day into no time zone', () => {
    expect(english.date('2026-06-09')).toBe('Tue, Jun 9');
  });

  it('has the same keys and blanks in every language', () => {
    expect(Object.keys(es)).toEqual(Object.keys(en));
    const blanks = (m: unknown) => [...JSON.stringify(m).matchAll(/\{(\w+)\}/g)].map((x) => x[1]);
    for (const [key, message] of Object.entries(en)) {
      const other = (es as Record<string, unknown>)[key];
      expect(new Set(blanks(other)), key).toEqual(new Set(blanks(message)));
    }
  });

  it('keeps no sentence that no screen says', () => {
    const source = sources(join(__dirname, '..')).join('\n');
    const left = Object.keys(en)
      .map((k) => k.replace(/^app\./, ''))
      .filter(
        (key) =>
          !source.includes(`'${key}'`) &&
          !source.includes(`\`${key.slice(0, key.indexOf('.'))}.$`) &&
          !source.includes(`${stem(key)}$`),
      );
    expect(left).toEqual([]);
  });
});

/** What stands before a blank in a key that is put together: `drain.note_${what}`. */
const stem = (key: string): string => key.slice(0, key.lastIndexOf('_') + 1) || '\0';

function sources(dir: string): string[] {
  return readdirSync(dir, { withFileTypes: true }).flatMap((e) => {
    const path = join(dir, e.name);
    if (e.isDirectory()) return sources(path);
    return /\.(svelte|ts)$/.test(e.name) && !e.name.endsWith('.test.ts') ? [readFileSync(path, 'utf8')] : [];
  });
}
