// What Lighthouse finds of the main screens, worked on a device that is let in: the
// phone's as on a slow phone over a slow network, the office's as on a desk. It is no
// part of the check of every change: see doc/validation.md. How fast is a figure that
// SAPWELL_SLACK=1 holds to the bar, on a machine that does nothing else.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import lighthouse, { desktopConfig } from 'lighthouse';
import { begin, carried, demo, shared, shots, sizes, slack, verdict, watched } from '../e2e/lib.mjs';

const faults = [];
const figures = {};
const least = Number(process.env.SAPWELL_LEAST ?? 0.95);
const only = process.argv[2]; // one screen of them
const categories = ['performance', 'accessibility', 'best-practices'];
const port = 40_000 + (process.pid % 20_000);
const folder = mkdtempSync(join(tmpdir(), 'sapwell-audit-'));
const office = await demo();

/** What failed in a category: the audits that weigh and are not whole. */
const failed = (lhr, id) =>
  lhr.categories[id].auditRefs
    .map((ref) => ({ ...ref, ...lhr.audits[ref.id] }))
    .filter((a) => a.weight > 0 && a.score !== null && a.score < 0.9)
    .map((a) => `${a.id} ${a.displayValue ?? ''}`.trim());

/** Opens the device for one thing. What a page before had compiled would be listed by the
    browser as the next begins to be measured, and counted as a second of that one's work. */
async function opened(what) {
  const device = await shared(folder, port, sizes.phone);
  try {
    return await what(device);
  } finally {
    await device.close();
  }
}

async function audit(name, path, config) {
  if (only && only !== name) return;
  const options = { port, logLevel: 'error', output: 'json', onlyCategories: categories };
  const { lhr } = await opened(() =>
    lighthouse(`${office.url}${path}`, { ...options, disableStorageReset: true }, config),
  );
  writeFileSync(join(shots, `audit-${name}.json`), JSON.stringify(lhr));
  const scores = categories.map((id) => lhr.categories[id]?.score ?? 0);
  figures[name] = scores.map((s) => Math.round(s * 100));
  console.log(`${name}: ${figures[name].join(' ')}`);
  categories.forEach((id, i) => {
    if (scores[i] >= least) return;
    const why = failed(lhr, id).join('; ') || lhr.runtimeError?.message;
    const told = `${name}: ${id} ${scores[i]}, want ${least}: ${why}`;
    if (id === 'performance' && slack > 1) console.log(`known miss: ${told}`);
    else faults.push(told);
  });
}

try {
  await audit('start', '/start');
  await audit('sign-in', '/signin');
  const tree = await opened(async (device) => {
    const page = await watched(device, faults);
    await begin(page, office.url);
    await carried(page);
    await page.waitForFunction(() => performance.getEntriesByName('sapwell engine').length > 0);
    await page.locator('a', { hasText: 'Q-06' }).first().click();
    return new URL(page.url()).pathname;
  });
  await audit('today', '/today');
  await audit('measure', `${tree}?step=measure`);
  await audit('marks', `${tree}?step=marks`);
  await audit('trees', '/trees', desktopConfig);
  await audit('map', '/map', desktopConfig);
  await audit('records', '/records', desktopConfig);
} catch (err) {
  faults.push(err.message);
} finally {
  office.stop();
  rmSync(folder, { recursive: true, force: true });
}
console.log(`figures: ${JSON.stringify(figures)}`);
verdict('audit', faults);
