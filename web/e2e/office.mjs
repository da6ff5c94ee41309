// The office's screens against the real program: a list of 5,000 trees comes in by
// file, is found, looked at and proven; and a register of 100,000 answers at once.
import {
  axe,
  begin,
  browser,
  demo,
  shot,
  sizes,
  slack,
  tap,
  throttle,
  verdict,
  watched,
  wider,
} from './lib.mjs';

const faults = [];
const office = await demo();
const chrome = await browser();
const trees = Number(process.env.SAPWELL_IMPORT ?? 5_000);
const many = 100_000;
const only = process.argv[2]; // one part of it
const figures = {};

/** A list as people keep it: their own names for columns, some of which the office has
    to be told. Girths in inches, read at a foot. */
function list(n) {
  const kinds = ['Fraxinus pennsylvanica', 'white ash', 'Quercus rubra', 'BETPA', 'Tsuga canadensis'];
  const rows = Array.from(
    { length: n },
    (_, i) =>
      `E${String(i + 1).padStart(5, '0')},${kinds[i % 5]},${30 + ((i * 7) % 90)},12 in,${(i * 3) % 60},Row ${Math.floor(i / 100) + 1}`,
  );
  return ['Number,Kind,Tape (in),girth at,canopy loss,site', ...rows].join('\n');
}

/** Lines as GET /api/register answers them, of trees that nobody planted: its columns
    are those of the server. */
async function register(n) {
  const [head] = (await (await fetch(`${office.url}/api/register?since=0`)).text()).split('\n', 1);
  const { columns } = JSON.parse(head);
  const kinds = [
    'Fraxinus pennsylvanica',
    'Fraxinus americana',
    'Quercus rubra',
    'Quercus alba',
    'Betula papyrifera',
    'Acer rubrum',
    'Tsuga canadensis',
  ];
  const now = Date.now();
  const hex = (i) => i.toString(16).padStart(12, '0');
  const lines = [head];
  for (let i = 0; i < n; i++) {
    const treated = i % 3 ? now - (i % 1500) * 86_400_000 : 0;
    const tree = {
      id: `018bcfe5-6800-7000-8000-${hex(i)}`,
      grounds: `018bcfe5-6800-7000-9000-${hex(i % 40)}`,
      tag: `T${i + 1}`,
      species: kinds[i % 7],
      where: `Street ${Math.floor(i / 250)}`,
      lat_e7: 412000000 + (i % 316) * 900,
      lon_e7: -503000000 + Math.floor(i / 316) * 1200,
      gone: i % 97 === 0,
      stems: 1,
      girth_nm: 6e8 + (i % 1800) * 1e6,
      measured: now,
      seen: now,
      canopy_loss_percent: i % 60,
      pest: i % 7 < 2 ? 'Agrilus planipennis' : '',
      advice: '',
      plan: '',
      plan_day: i % 11 === 0 ? '2027-06-01' : '',
      treated,
      treatments: treated ? 1 : 0,
      units: treated ? 8 : 0,
      holes: 8,
      open: i % 9,
      flags: i % 500 === 0 ? 1 : 0,
      photos: 0,
    };
    if (i === 0) for (const c of columns) if (!(c in tree)) faults.push(`nothing is made up for ${c}`);
    lines.push(JSON.stringify(columns.map((c) => tree[c])));
  }
  lines.push(JSON.stringify({ register: { next: 5, trees: n } }), '');
  return lines.join('\n');
}

async function importing(page) {
  await page.goto(`${office.url}/import`);
  await page.getByRole('heading', { name: 'Import', exact: true }).waitFor();
  await page
    .locator('input[type=file]')
    .setInputFiles({ name: 'estate.csv', mimeType: 'text/csv', buffer: Buffer.from(list(trees)) });
  await page.getByText('Still needed').waitFor();
  await shot(page, 'office-import-match');
  if (!(await page.getByRole('button', { name: /^Write/ }).isDisabled()))
    faults.push('a list without its columns can be imported');
  await page.getByLabel('Number', { exact: true }).selectOption('tag');
  await page.getByLabel('Kind', { exact: true }).selectOption('species');
  await page.getByLabel('Tape (in)', { exact: true }).selectOption('girth_in');
  await page.getByLabel('Grounds', { exact: true }).selectOption('new');
  await page
    .getByRole('textbox', { name: 'Name of the grounds', exact: true })
    .fill('Harrow Estate (invented)');
  const began = Date.now();
  await page.getByRole('button', { name: `Write ${trees.toLocaleString('en')} trees` }).click();
  await page.getByRole('progressbar').waitFor();
  await shot(page, 'office-import-running');
  await page.locator(`[data-imported="${trees}"]`).waitFor({ timeout: 600_000 });
  figures['import, s'] = (Date.now() - began) / 1000;
  await shot(page, 'office-import-done');
}

async function looking(page) {
  await page.goto(`${office.url}/trees`);
  const box = page.getByRole('searchbox');
  await box.fill('E04999');
  await page.getByText(/^1 of 5,\d\d\d trees/).waitFor();
  await page.locator('[role=listitem] a').first().click();
  await page.getByRole('heading', { name: 'E04999', exact: true }).waitFor();
  await page.getByText('The trunk, unrolled').waitFor();
  await page.locator('details', { hasText: 'Measured' }).last().locator('summary').click();
  await tap(page, 'Show the proof');
  await page.getByText('It holds: this entry stands in the log, unchanged.').waitFor();
  await shot(page, 'office-proof');
}

/** What the records miss and what is due, on a desk and on a phone. */
async function recorded(page) {
  await page.goto(`${office.url}/records`);
  await page.getByText('Held against: United States, federal').first().waitFor();
  for (const width of ['desk', 'phone']) {
    await page.setViewportSize(sizes[width]);
    await page.waitForTimeout(300);
    await shot(page, `office-records-${width}`);
    for (const v of await axe(page)) faults.push(`records, ${width}: ${v}`);
    const over = await wider(page);
    if (over > 0) faults.push(`records, ${width}: ${over} px too wide`);
  }
  await page.setViewportSize(sizes.desk);
}

/** Faults are told with their lines, and nothing of such a list is written. */
async function refusing(page) {
  await page.goto(`${office.url}/import`);
  await page
    .getByRole('textbox', { name: 'Or paste the list' })
    .fill('tag,species,girth,girth_height\nZ-1,white ash,96,12 in\nZ-2,no such tree,84 in,12 in');
  await tap(page, 'Read it');
  await page.getByText('2 things are wrong').waitFor();
  await shot(page, 'office-import-faults');
  if (!(await page.getByRole('button', { name: /^Write/ }).isDisabled()))
    faults.push('a faulty list can be imported');
}

/** From the key to the screen: the time until the count that is said has changed. */
async function timed(page, change) {
  return page.evaluate(async (what) => {
    const status = document.querySelector('[role=status]');
    const before = status.textContent;
    const began = performance.now();
    const set = (el, value, kind) => {
      Object.getOwnPropertyDescriptor(Object.getPrototypeOf(el), 'value').set.call(el, value);
      el.dispatchEvent(new Event(kind, { bubbles: true }));
    };
    if (what.text !== undefined) set(document.querySelector('input[type=search]'), what.text, 'input');
    else set([...document.querySelectorAll('.filters select')][what.filter], what.value, 'change');
    while (status.textContent === before && performance.now() - began < 5000)
      await new Promise((done) => setTimeout(done, 2));
    return performance.now() - began;
  }, change);
}

async function searching(context) {
  const page = await watched(context, faults);
  const [whole, nothing] = [await register(many), await register(0)];
  await page.route('**/api/register*', (route) =>
    route.fulfill({
      contentType: 'application/x-ndjson',
      body: route.request().url().endsWith('since=0') ? whole : nothing,
    }),
  );
  await throttle(page, 4);
  const began = Date.now();
  await page.goto(`${office.url}/trees`);
  await page.getByText(`${many.toLocaleString('en')} of ${many.toLocaleString('en')} trees`).waitFor();
  figures['register of 100,000: loaded, s'] = (Date.now() - began) / 1000;
  const steps = [
    ['text', { text: 'street 39' }, { text: '' }],
    ['two words', { text: 'street 39 quercus' }, { text: '' }],
    ['species', { filter: 1, value: 'Quercus alba' }, { filter: 1, value: '' }],
    ['crown lost', { filter: 3, value: '30' }, { filter: 3, value: '' }],
    ['due', { filter: 4, value: '2' }, { filter: 4, value: '' }],
  ];
  for (const [name, on, off] of steps) {
    const took = [];
    for (let i = 0; i < 7; i++) {
      took.push(await timed(page, on));
      await page.waitForTimeout(60);
      await timed(page, off);
      await page.waitForTimeout(60);
    }
    const median = took.sort((a, b) => a - b)[3];
    figures[`register: ${name}, ms`] = { median: Math.round(median), worst: Math.round(took.at(-1)) };
    if (median > 200 * slack)
      faults.push(`${name}: the register took ${Math.round(median)} ms, want ${200 * slack}`);
  }
  await shot(page, 'office-register-100k');
  await page.getByText(`${many.toLocaleString('en')} of`).waitFor();
  await page.locator('[role=listitem] a').first().focus();
  await page.keyboard.press('End');
  await page.locator(`[data-n="${many - 1}"]:focus`).waitFor();
  await page.goto(`${office.url}/map`);
  await page
    .getByText(`${many.toLocaleString('en')} trees`)
    .first()
    .waitFor();
  await page.waitForTimeout(500);
  await shot(page, 'office-map-100k');
  await page.close();
}

try {
  const context = await chrome.newContext({ viewport: sizes.desk });
  const page = await watched(context, faults);
  await begin(page, office.url);
  if (only !== 'register') {
    await refusing(page);
    await importing(page);
    await looking(page);
    await recorded(page);
  }
  await page.goto(`${office.url}/devices`);
  await tap(page, 'Let a device in');
  await tap(page, 'Go on');
  await tap(page, 'Invite');
  await page.getByAltText('The link as a QR code').waitFor();
  for (const v of await axe(page)) faults.push(`invite: ${v}`);
  await shot(page, 'office-invite');
  await page.close();
  await searching(context);
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
console.log(`figures: ${JSON.stringify(figures)}`);
verdict('office', faults);
