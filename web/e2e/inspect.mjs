// The folder for an inspector, opened from disk: it shows the records, and checks
// itself with no server.
import { execFileSync } from 'node:child_process';
import { appendFileSync, mkdtempSync, readdirSync, rmSync, unlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { axe, browser, shot, sizes, verdict, watched } from './lib.mjs';

const faults = [];
const root = fileURLToPath(new URL('../..', import.meta.url));
const bin = process.env.SAPWELL_BIN ?? join(root, 'bin/sapwell');
const scratch = mkdtempSync(join(tmpdir(), 'sapwell-inspect-'));
const folder = join(scratch, 'folder');
execFileSync(bin, ['demo', '--no-serve', '--out', join(scratch, 'demo')]);
execFileSync(bin, ['inspect', '--data', join(scratch, 'demo/data'), '--out', folder]);

const chromium = await browser();
try {
  for (const [size, viewport] of Object.entries(sizes)) {
    const context = await chromium.newContext({ viewport, offline: true });
    const page = await watched(context, faults);
    await page.goto(pathToFileURL(join(folder, 'index.html')).href);
    if ((await page.locator('tbody tr').count()) < 2) faults.push(`${size}: no records are shown`);
    await shot(page, `inspect-${size}`);
    for (const v of await axe(page)) faults.push(`${size}: ${v}`);
    await context.close();
  }

  const context = await chromium.newContext({ viewport: sizes.desk, offline: true });
  const page = await watched(context, faults);
  await page.goto(pathToFileURL(join(folder, 'index.html')).href);
  const check = async (want) => {
    await page.locator('#folder').setInputFiles(folder);
    await page.waitForFunction(() => document.querySelector('#found .good, #found .bad'));
    const said = await page.locator('#found').innerText();
    if (!want.every((w) => said.includes(w))) faults.push(`want ${want.join(', ')}; said: ${said}`);
    await page.reload();
  };
  await check(['Sound', 'signed head']);
  await shot(page, 'inspect-sound');
  const paper = readdirSync(join(folder, 'records')).find((name) => name.endsWith('.pdf'));
  appendFileSync(join(folder, 'records', paper), ' ');
  await check(['Not what was handed over', paper]);
  unlinkSync(join(folder, 'people.csv'));
  await check(['people.csv', 'not in the folder', paper]);
} finally {
  await chromium.close();
  rmSync(scratch, { recursive: true, force: true });
}
verdict('inspect', faults);
