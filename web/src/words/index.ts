// The sentences of the app in the person's language. They lie beside those of the
// engine, in words/<language>/app.json; a key that is not there does not compile.
import en from '@words/en/app.json';
import es from '@words/es/app.json';

export const languages = ['en', 'es'] as const;
export type Language = (typeof languages)[number];

/** What a sentence is found by, without the leading "app." of the files. */
export type Key = keyof typeof en extends infer K ? (K extends `app.${infer Rest}` ? Rest : never) : never;

type Message = string | { by: string; one: string; other: string };
export type Blanks = Record<string, string | number>;

const books: Record<Language, Record<string, Message>> = { en, es };

/** What the platform printed for a locale. The first of its formats takes a phone as long
    to make as a screen to draw; who remembers what it said last starts without. */
export interface Printed {
  locale: string;
  comma: boolean; // between whole numbers and parts
  days: [day: string, said: string][];
}

/** Says things in one language. */
export class Words {
  readonly lang: Language;
  readonly locale: string;
  #comma: boolean | undefined;
  #days = new Map<string, string>();
  #plural: Intl.PluralRules;
  #numbers: Intl.NumberFormat | undefined;
  #formats = new Map<string, Intl.DateTimeFormat>();

  constructor(lang: Language, locale: string = lang) {
    this.lang = lang;
    this.locale = locale;
    this.#plural = new Intl.PluralRules(lang);
  }

  /** Whether whole numbers and parts have a comma between them. */
  get comma(): boolean {
    return (this.#comma ??= this.#number.format(0.5).includes(','));
  }

  /** What to keep of it. */
  get printed(): Printed {
    return { locale: this.locale, comma: this.comma, days: [...this.#days].slice(-50) };
  }

  /** Takes what was kept, if it is of this locale. */
  recall(printed: Printed | undefined): void {
    if (printed?.locale !== this.locale) return;
    this.#comma = printed.comma;
    this.#days = new Map(printed.days);
  }

  /** A sentence with its blanks filled in; whole numbers as the language writes them. */
  say(key: Key, blanks: Blanks = {}): string {
    const message = books[this.lang][`app.${key}`];
    if (message === undefined) return `⟨${key}⟩`;
    return this.#choose(message, blanks).replace(/\{(\w+)\}/g, (_, name: string) =>
      this.#value(blanks[name]),
    );
  }

  number(n: number): string {
    return Number.isInteger(n) && n >= 0 && n < 1000 ? String(n) : this.#number.format(n);
  }

  /** The time of day of a moment, as the person's clock shows it. */
  clock(ms: number): string {
    return this.#format({ hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(ms);
  }

  /** A moment with its day. */
  moment(ms: number): string {
    return `${this.date(new Date(ms))} ${this.clock(ms)}`;
  }

  /** A day that may be years away. */
  dated(day: string): string {
    return this.#format({ day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' }).format(
      new Date(`${day}T00:00:00Z`),
    );
  }

  /** A day: an ISO day stands for itself and is moved into no time zone. */
  date(day: string | Date): string {
    const how = { weekday: 'short', day: 'numeric', month: 'short' } as const;
    if (typeof day !== 'string') return this.#format(how).format(day);
    const said =
      this.#days.get(day) ?? this.#format({ ...how, timeZone: 'UTC' }).format(new Date(`${day}T00:00:00Z`));
    this.#days.set(day, said);
    return said;
  }

  /** A span in whole minutes, hours or days, two parts at most: "3 h 20 min". No line is
      broken between a number and its unit. */
  span(ms: number): string {
    return this.#span(ms).replace(/(\d) /g, '$1\u00a0');
  }

  #span(ms: number): string {
    const minutes = Math.max(0, Math.round(ms / 60_000));
    const [d, h, m] = [Math.floor(minutes / 1440), Math.floor((minutes % 1440) / 60), minutes % 60];
    if (d > 0) return this.say(h > 0 ? 'span.days_hours' : 'span.days', { d, h });
    if (h > 0) return this.say(m > 0 ? 'span.hours_minutes' : 'span.hours', { h, m });
    return this.say('span.minutes', { m });
  }

  get #number(): Intl.NumberFormat {
    return (this.#numbers ??= new Intl.NumberFormat(this.locale));
  }

  /** A format, made once: to make one costs more than all that it prints. */
  #format(how: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
    const key = JSON.stringify(how);
    const made = this.#formats.get(key) ?? new Intl.DateTimeFormat(this.locale, how);
    this.#formats.set(key, made);
    return made;
  }

  #choose(message: Message, blanks: Blanks): string {
    if (typeof message === 'string') return message;
    return this.#plural.select(Number(blanks[message.by] ?? 0)) === 'one' ? message.one : message.other;
  }

  #value(value: string | number | undefined): string {
    return typeof value === 'number' ? this.number(value) : (value ?? '');
  }
}
