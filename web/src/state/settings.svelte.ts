// How a person wants the app: kept on the device, not in the journal.
import type { Speaking } from '../engine/types';
import { type Language, languages, Words } from '../words';

export const themes = ['paper', 'night', 'sun'] as const;
export type Theme = (typeof themes)[number];
export type Hand = 'right' | 'left';
export type System = 'imperial' | 'metric';

export interface Kept {
  lang: Language;
  units: System;
  theme: Theme;
  hand: Hand;
  size: number; // of text, in percent
  aloud: boolean;
}

export const sizes = [100, 125, 150, 200];

const metricRegions = /-(?!US|LR|MM)[A-Z]{2}\b/;

/** What a device probably wants, by the language it is set to. */
export function usual(tag: string): Kept {
  const lang = languages.find((l) => tag.toLowerCase().startsWith(l)) ?? 'en';
  const metric = metricRegions.test(tag) || (lang === 'es' && !/-US\b/.test(tag));
  return {
    lang,
    units: metric ? 'metric' : 'imperial',
    theme: 'paper',
    hand: 'right',
    size: 100,
    aloud: false,
  };
}

export class Settings {
  #tag = '';
  lang = $state<Language>('en');
  units = $state<System>('imperial');
  theme = $state<Theme>('paper');
  hand = $state<Hand>('right');
  size = $state(100);
  aloud = $state(false);
  /** The language as it is written where the device is at home, if it speaks it. */
  locale = $derived(this.#tag.toLowerCase().startsWith(this.lang) ? this.#tag : this.lang);
  words = $derived(new Words(this.lang, this.locale));

  constructor(tag: string) {
    this.#tag = tag;
    this.take(usual(tag));
  }

  /** Takes what was kept; what a newer or broken copy holds is passed over. */
  take(kept: Partial<Kept>): void {
    if (kept.lang && languages.includes(kept.lang)) this.lang = kept.lang;
    if (kept.units === 'imperial' || kept.units === 'metric') this.units = kept.units;
    if (kept.theme && themes.includes(kept.theme)) this.theme = kept.theme;
    if (kept.hand === 'left' || kept.hand === 'right') this.hand = kept.hand;
    if (kept.size && sizes.includes(kept.size)) this.size = kept.size;
    if (typeof kept.aloud === 'boolean') this.aloud = kept.aloud;
  }

  get kept(): Kept {
    const { lang, units, theme, hand, size, aloud } = this;
    return { lang, units, theme, hand, size, aloud };
  }

  /** How the engine is to speak. */
  get speaking(): Speaking {
    const { lang, units, words } = this;
    return { lang, units, decimal_comma: words.comma };
  }

  /** Shows them on the page. */
  apply(root: HTMLElement): void {
    root.lang = this.lang;
    root.dataset.theme = this.theme;
    root.dataset.hand = this.hand;
    root.style.setProperty('font-size', `${this.size}%`);
  }
}
