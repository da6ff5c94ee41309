// The same with no signal from the first page on: the tab is killed in the middle and
// opened again, nothing is lost, and all of it is in the office when the signal is back.
import {
  begin,
  browser,
  carried,
  demo,
  liftTree,
  shot,
  sizes,
  tap,
  verdict,
  watched,
  workTree,
} from './lib.mjs';

const faults = [];
const office = await demo();
const chrome = await browser();

/** The visit is to be judged by a place that asks more than where it is. */
async function askMore() {
  const round = await (await fetch(`${office.url}/api/round`)).json();
  const visit = round.visits.find((v) => v.trees.some((t) => t.tag === 'Q-06'));
  const told = { on: { kind: 'visit', id: visit.id }, field: 'profiles', text: 'us-ny', why: 'to see it' };
  const answer = await fetch(`${office.url}/api/deeds/record.tell`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify(told),
  });
  if (!answer.ok) faults.push(`record.tell: ${await answer.text()}`);
}

try {
  const context = await chrome.newContext({ viewport: sizes.phone, hasTouch: true, isMobile: true });
  let page = await watched(context, faults);
  await askMore();
  await begin(page, office.url);
  await carried(page);

  await context.setOffline(true);
  await page.close();
  page = await watched(context, faults);
  const before = Date.now();
  await page.goto(`${office.url}/today`);
  await page.getByText('Quillmere Green').first().waitFor();
  console.log(`offline: from opening to the round ${Date.now() - before} ms`);
  await shot(page, 'offline-today');
  await workTree(page, 'Q-06', 'offline');
  const at = page.url();

  await page.close({ runBeforeUnload: false });
  page = await watched(context, faults);
  await page.goto(at);
  await page.getByText('running for').waitFor();
  await shot(page, 'offline-reopened');
  const n = await liftTree(page, 'offline', faults);

  // What the place asks and nobody told shows with no signal, and is told there.
  const lacking = page.getByRole('button', { name: /^missing: Written contract/ });
  await lacking.click();
  await page.getByRole('textbox', { name: 'Written contract' }).fill('Q-2026-1 (invented)');
  await tap(page, 'Keep it');
  await lacking.waitFor({ state: 'detached' });
  await shot(page, 'offline-asked');

  await page.goto(`${office.url}/sync`);
  await page
    .getByText(/\d+ entries waiting/)
    .first()
    .waitFor();
  await page.getByText('No signal.').first().waitFor();
  await shot(page, 'offline-sync');

  await context.setOffline(false);
  await tap(page, 'Send now');
  await page.getByText('The office has everything').waitFor();
  await page.getByText(/last sent/).waitFor();
  await shot(page, 'offline-sent');
  const round = await (await fetch(`${office.url}/api/round`)).json();
  const tree = round.visits.flatMap((v) => v.trees).find((t) => t.tag === 'Q-06');
  if (tree.lifted !== n || tree.holes !== n || tree.out !== 0)
    faults.push(`the office has ${JSON.stringify(tree)}, the phone did ${n}`);
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
verdict('offline', faults);
