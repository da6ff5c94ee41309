// What the flows share: the program, a browser, and how a person presses things.
import { spawn, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { chromiumPath } from './chromium.mjs';

const root = fileURLToPath(new URL('../..', import.meta.url));
export const shots = process.env.SAPWELL_SHOTS ?? join(root, 'out/screens');
mkdirSync(shots, { recursive: true });

const slow = Number(process.env.SAPWELL_WAIT ?? 60_000); // on a busy machine

/** A bar on a figure is only held where the machine is the flow's own; elsewhere it
    may be missed by so many times. */
export const slack = Number(process.env.SAPWELL_SLACK ?? 4);

/** The middle of some times, and the worst. */
export function middle(times) {
  const sorted = [...times].sort((a, b) => a - b);
  return { median: Math.round(sorted[sorted.length >> 1]), worst: Math.round(sorted.at(-1)) };
}

/** Starts the program with its invented organisation, and says where it is. What serve
    takes besides is given to it; the organisation is made before. */
export async function demo(...more) {
  if (process.env.SAPWELL_URL) return { url: process.env.SAPWELL_URL, stop() {} };
  const folder = mkdtempSync(join(tmpdir(), 'sapwell-e2e-'));
  const port = 20_000 + (process.pid % 20_000);
  const bin = process.env.SAPWELL_BIN ?? join(root, 'bin/sapwell');
  const at = ['--listen', `127.0.0.1:${port}`];
  if (more.length > 0) spawnSync(bin, ['demo', '--no-serve', '--out', folder]);
  const how =
    more.length > 0 ? ['serve', '--data', join(folder, 'data'), ...more] : ['demo', '--out', folder];
  const program = spawn(bin, [...how, ...at], { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  const url = `http://127.0.0.1:${port}`;
  await new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error(`the program did not serve: ${said}`)), slow);
    const hear = (b) => {
      said += b;
      if (said.includes(url)) {
        clearTimeout(timer);
        resolve();
      }
    };
    program.stdout.on('data', hear);
    program.stderr.on('data', hear);
    program.on('exit', (code) => reject(new Error(`the program ended (${code}): ${said}`)));
  });
  return {
    url,
    stop() {
      program.removeAllListeners('exit');
      program.kill();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

export const sizes = {
  phone: { width: 390, height: 844 },
  tablet: { width: 820, height: 1180 },
  desk: { width: 1440, height: 900 },
};

const how = (...more) => ({
  executablePath: chromiumPath,
  args: [
    '--no-sandbox',
    '--disable-quic',
    '--no-first-run',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
    ...more,
  ],
});
const drawing = (gpu) => (gpu ? '--enable-unsafe-swiftshader' : '--disable-gpu');

export const browser = ({ gpu = false } = {}) => chromium.launch(how(drawing(gpu)));

/** A browser that keeps what it stores in a folder, and that another program can drive
    through a port. */
export const shared = (folder, port, viewport) =>
  chromium.launchPersistentContext(folder, {
    ...how(drawing(true), `--remote-debugging-port=${port}`),
    viewport,
  });

/** A page that fails the flow when a script does. */
export async function watched(context, faults) {
  const page = await context.newPage();
  page.setDefaultTimeout(slow);
  page.on('pageerror', (err) => faults.push(`script: ${err.message}`));
  page.on('console', (m) => {
    // A request that fails is told by the app itself; the policy must never be broken.
    if (m.type() === 'error' && !m.text().startsWith('Failed to load resource'))
      faults.push(`console: ${m.text()}`);
  });
  return page;
}

/** Presses what a person would call so. */
export const tap = (page, name) =>
  page
    .getByRole('button', { name, exact: typeof name === 'string' })
    .or(page.getByRole('link', { name, exact: typeof name === 'string' }))
    .first()
    .click();

export const shot = (page, name) => page.screenshot({ path: join(shots, `${name}.png`) });

const axeSource = readFileSync(join(root, 'web/node_modules/axe-core/axe.min.js'), 'utf8');

/** What axe finds against WCAG 2.2 A and AA on a page. */
export async function axe(page) {
  await page.evaluate(axeSource); // a script tag would be stopped by the page's own policy
  const { violations } = await page.evaluate(() =>
    window.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    }),
  );
  return violations.flatMap((v) =>
    v.nodes.map((n) => `${v.id}: ${n.target.join(' ')}: ${n.failureSummary.split('\n')[1]?.trim() ?? ''}`),
  );
}

/** By how much something is wider than the page. */
export const wider = (page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

/** Slows the page's thread as a phone's would be. */
export async function throttle(page, rate) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Emulation.setCPUThrottlingRate', { rate });
}

/** Ends a flow: what went wrong is told, and fails it. */
export function verdict(name, faults) {
  for (const f of faults) console.error(`${name}: ${f}`);
  const load = loadavg().map((n) => n.toFixed(1)).join(' '); // prettier-ignore
  console.log(`machine: ${cpus().length} cores, load ${load}`);
  console.log(`${name}: ${faults.length === 0 ? 'well' : `${faults.length} faults`}`);
  if (faults.length > 0) process.exitCode = 1;
}

/** Lets this device in, as who sits at the machine of the demo. */
export async function begin(page, url) {
  await page.goto(`${url}/start`);
  await tap(page, 'Work on this device');
  await page.waitForURL('**/today');
  await page.getByText('Quillmere Green').first().waitFor();
}

/** Waits until this device has what it needs with no signal: what the page began with
    is kept before it is loaded again, so it was fetched ahead. */
export async function carried(page) {
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() =>
    caches.match(document.querySelector('script[type=module]').src).then((kept) => kept !== undefined),
  );
  await page.reload();
  await page.getByText('Quillmere Green').first().waitFor();
}

/** Works a tree from the first look to the close, whatever the signal. */
export async function workTree(page, tag, name) {
  const head = () => page.getByRole('heading', { name: tag, exact: true }).waitFor();
  await page.locator('a', { hasText: tag }).first().click();
  await head();
  await page.locator('[data-step="look"] a').click();
  await tap(page, 'Keep what I saw');
  await page.getByText('Measured before').waitFor();
  await shot(page, `${name}-measure`);
  await tap(page, 'It stands');
  await tap(page, 'To the marks');
  await tap(page, 'Next mark');
  await shot(page, `${name}-marks`);
  await tap(page, 'Marks are on: drill');
  await tap(page, /^Mark \d+ is bored$/);
  await page.getByText(/^Bored 1 of/).waitFor();
  await tap(page, 'All bored');
  await tap(page, 'Seat the units');
  await tap(page, /^All \d+ seated$/);
  await tap(page, /under pressure$/);
  await page.getByText('running for').waitFor();
  await shot(page, `${name}-drain`);
}

/** Lifts what is in a tree, all of it empty, with a count that is wrong at first. */
export async function liftTree(page, name, faults) {
  await tap(page, /^All \d+ are empty$/);
  await tap(page, 'Lift them');
  const all = page.getByRole('button', { name: /^All \d+ lifted$/ });
  const n = Number((await all.textContent()).match(/\d+/)[0]);
  const count = page.getByRole('textbox', { name: 'Count in your hand' });
  await count.fill(String(n - 1));
  if (!(await all.isDisabled())) faults.push('a wrong count can be lifted');
  await page.getByText(`You have ${n - 1}, the tree had ${n}`).waitFor();
  await shot(page, `${name}-lift`);
  await count.fill(String(n));
  await all.click();
  await page.getByText(`All ${n} units are out of the tree`).waitFor();
  await tap(page, 'Close this tree');
  await page.getByText('Holes stay open').waitFor();
  await shot(page, `${name}-close`);
  return n;
}
