import { describe, expect, it } from 'vitest';
import { skewOf } from './clock';

describe('skew', () => {
  // RFC 9110, section 5.6.7: the form of the Date header.
  const date = 'Sun, 06 Nov 1994 08:49:37 GMT';
  const told = Date.UTC(1994, 10, 6, 8, 49, 37);

  it('is nothing within the second that the header names', () => {
    expect(skewOf(date, told + 400, told + 600)).toBe(0);
  });
  it('is above zero where this clock is ahead', () => {
    expect(skewOf(date, told + 60_500, told + 60_500)).toBe(60_000);
  });
  it('says nothing without a date', () => {
    expect(skewOf(null, 1, 2)).toBeNull();
    expect(skewOf('soon', 1, 2)).toBeNull();
  });
});
