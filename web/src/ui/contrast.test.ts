// The colours of every theme against WCAG 2.2, success criteria 1.4.3 (text, 4.5 to
// 1) and 1.4.11 (signs, 3 to 1), by its definitions of contrast ratio and relative
// luminance. The pairs are named in tokens.css.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const css = readFileSync(join(__dirname, 'tokens.css'), 'utf8');

function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = parseInt(hex.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

/** The colours of a theme: its own, over those of paper. */
function theme(selector: string): Record<string, string> {
  const block = css.slice(css.indexOf(`${selector} {`));
  const body = block.slice(0, block.indexOf('}'));
  return Object.fromEntries([...body.matchAll(/--([\w-]+):\s*(#[0-9a-f]{6})/g)].map((m) => [m[1]!, m[2]!]));
}

const paper = theme(':root');
const themes = {
  paper,
  night: { ...paper, ...theme("[data-theme='night']") },
  sun: { ...paper, ...theme("[data-theme='sun']") },
};

const comment = css.slice(0, css.indexOf('*/'));
const pairs = (from: string, to?: string): [string, string][] => {
  const text = comment.slice(comment.indexOf(from) + from.length, to ? comment.indexOf(to) : undefined);
  return [...text.matchAll(/([\w-]+)\/([\w-]+)/g)].map((m) => [m[1]!, m[2]!]);
};
const texts = pairs('pairs:', 'marks:');
const marks = pairs('marks:');

describe('contrast', () => {
  // Known points of the formula: black on white is 21 to 1; #767676 on white is the
  // lightest grey that passes 4.5 (W3C, Understanding SC 1.4.3).
  it('is computed as WCAG has it', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
    expect(contrast('#767676', '#ffffff')).toBeGreaterThanOrEqual(4.5);
    expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5);
  });

  it('has pairs to look at', () => {
    expect(texts.length).toBeGreaterThan(8);
    expect(marks.length).toBeGreaterThan(2);
  });

  for (const [name, colours] of Object.entries(themes)) {
    it(`reads in ${name}`, () => {
      for (const [a, b] of texts)
        expect(contrast(colours[a]!, colours[b]!), `${a} on ${b}`).toBeGreaterThanOrEqual(4.5);
      for (const [a, b] of marks)
        expect(contrast(colours[a]!, colours[b]!), `${a} on ${b}`).toBeGreaterThanOrEqual(3);
    });
  }
});
