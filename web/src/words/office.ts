// The sentences of the office's screens: as those of the app, but in a file of
// their own, which a phone at a tree never fetches.
import en from '@words/en/office.json';
import es from '@words/es/office.json';
import type { Blanks, Language, Words } from '.';

export type OfficeKey = keyof typeof en extends infer K
  ? K extends `app.office.${infer Rest}`
    ? Rest
    : never
  : never;
export type Say = (key: OfficeKey, blanks?: Blanks) => string;

type Message = string | { by: string; one: string; other: string };

const books: Record<Language, Record<string, Message>> = { en, es };

/** How the office's sentences are said by whoever says the others. */
export function officeSay(words: Words): Say {
  const plural = new Intl.PluralRules(words.lang);
  return (key, blanks = {}) => {
    const found = books[words.lang][`app.office.${key}`] ?? `⟨${key}⟩`;
    const text =
      typeof found === 'string'
        ? found
        : plural.select(Number(blanks[found.by] ?? 0)) === 'one'
          ? found.one
          : found.other;
    return text.replace(/\{(\w+)\}/g, (_, name: string) => {
      const value = blanks[name];
      return typeof value === 'number' ? words.number(value) : (value ?? '');
    });
  };
}

/** A sentence whose key came from data, or the bare data where there is none. */
export function orBare(say: Say, lang: Language, key: string, bare: string): string {
  return `app.office.${key}` in books[lang] ? say(key as OfficeKey) : bare;
}
