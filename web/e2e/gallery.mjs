// Every screen of the gallery in every theme: pictures in three widths, and what axe
// says. Also at text twice as large, where nothing may run out at the side.
import { axe, browser, demo, shot, sizes, verdict, watched, wider } from './lib.mjs';

const faults = [];
const office = await demo();
const chrome = await browser();
const only = process.argv[2];

async function show(page, id) {
  await page.locator(`a[href="/gallery/${id}"]`).click();
  await page.locator(`[data-shown="${id}"] [data-settled="true"]`).waitFor();
  await page.waitForTimeout(300);
}

/** Settings are of the device: they are changed where a person changes them. */
async function look(page, theme, size) {
  await page.goto(`${office.url}/settings`);
  await page.locator(`input[type=radio][value="${theme}"]`).check({ force: true });
  await page.locator(`input[type=radio][value="${size}"]`).check({ force: true });
  await page.locator(`html[data-theme="${theme}"]`).waitFor();
}

async function visit(width, theme, size, check) {
  const context = await chrome.newContext({ viewport: sizes[width], reducedMotion: 'reduce' });
  const page = await watched(context, faults);
  await look(page, theme, size);
  await page.goto(`${office.url}/gallery`);
  await page.locator('a[href="/gallery/parts"]').waitFor();
  const ids = (
    await page.locator('main a').evaluateAll((all) => all.map((a) => a.getAttribute('href').split('/').pop()))
  ).filter((id) => !only || id === only);
  for (const id of ids) {
    await show(page, id);
    await shot(page, `${id}-${width}-${theme}${size === 100 ? '' : `-${size}`}`);
    const over = await wider(page);
    if (over > 0) faults.push(`${id} ${width} ${theme} ${size} %: ${over} px too wide`);
    if (check) {
      await page.setViewportSize({ ...sizes[width], height: 4000 }); // nothing is under the bar at the bottom
      for (const v of await axe(page)) faults.push(`${id} ${width} ${theme}: ${v}`);
      await page.setViewportSize(sizes[width]);
    }
    await page.goBack();
  }
  await context.close();
}

// Two at a time: half of the time a screen settles.
const looks = [
  ['phone', 'paper', 100, true],
  ['phone', 'night', 100, true],
  ['phone', 'sun', 100, true],
  ['phone', 'paper', 200, false],
  ['tablet', 'paper', 100, true],
  ['desk', 'paper', 100, true],
];

async function lane() {
  for (let next = looks.shift(); next; next = looks.shift()) await visit(...next);
}

try {
  await Promise.all([lane(), lane()]);
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
verdict('gallery', faults);
