// A tree with the keyboard alone, from the first run to units that drain: whatever a
// finger does, Tab, Enter and Space do, and where one is can be seen.
import { browser, demo, shot, sizes, verdict, watched } from './lib.mjs';

const faults = [];
const office = await demo();
const chrome = await browser();

/** Tabs to what is called so, and checks that its place shows. */
async function reach(page, name) {
  for (let i = 0; i < 120; i++) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const el = document.activeElement;
      if (!el || el === document.body) return null;
      const shown = el.matches('input.unseen') ? (el.nextElementSibling ?? el) : el;
      const look = getComputedStyle(shown);
      return {
        name: (el.getAttribute('aria-label') ?? el.labels?.[0]?.textContent ?? el.textContent ?? '')
          .replace(/\s+/g, ' ')
          .trim(),
        seen:
          (look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2) || look.boxShadow !== 'none',
      };
    });
    if (!at || !(typeof name === 'string' ? at.name === name : name.test(at.name))) continue;
    if (!at.seen) faults.push(`"${at.name}" does not show that it is chosen`);
    return;
  }
  throw new Error(`no Tab leads to ${name}`);
}
const press = async (page, name, key = 'Enter') => {
  await reach(page, name);
  await page.keyboard.press(key);
};

try {
  const page = await watched(await chrome.newContext({ viewport: sizes.desk }), faults);
  await page.goto(`${office.url}/start`);
  await page.getByRole('button', { name: 'Work on this device' }).waitFor();
  await press(page, 'Work on this device');
  await page.getByText('Quillmere Green').first().waitFor();
  await press(page, /^Q-06/);
  await page.getByRole('heading', { name: 'Q-06', exact: true }).waitFor();
  await press(page, /^(1 )?Look/);
  await page.getByRole('button', { name: 'Keep what I saw' }).waitFor();
  await press(page, 'Keep what I saw');
  await page.getByText('Measured before').waitFor();
  await press(page, 'It stands');
  await page.getByRole('link', { name: 'To the marks' }).waitFor();
  await press(page, 'To the marks');
  await page.getByText(/^mark 1 of \d+$/).waitFor();
  await press(page, 'Next mark');
  await page.getByText(/^mark 2 of \d+$/).waitFor();
  await press(page, /^Move mark 2/);
  await page.getByRole('dialog').waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'hidden' });
  await page.locator('button:focus', { hasText: 'Move mark 2' }).waitFor();
  await press(page, /^Move mark 2/);
  await press(page, 'Close');
  await page.getByRole('dialog').waitFor({ state: 'hidden' });
  await page.locator('button:focus', { hasText: 'Move mark 2' }).waitFor();
  await press(page, 'Marks are on: drill');
  await press(page, /^Mark \d+ is bored$/, 'Space');
  await page.getByText(/^Bored 1 of/).waitFor();
  await press(page, 'All bored');
  await page.getByRole('link', { name: 'Seat the units' }).waitFor();
  await press(page, 'Seat the units');
  await press(page, /^All \d+ seated$/);
  await press(page, /under pressure$/);
  await page.getByText('running for').waitFor();
  await shot(page, 'hands-drain');
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
verdict('hands', faults);
