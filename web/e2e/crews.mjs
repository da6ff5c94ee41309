// Two phones on one round: each works what the other does not, one without a signal;
// then one lifts what the other seated, and both and the office have the same.
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

async function phone() {
  const context = await chrome.newContext({ viewport: sizes.phone, hasTouch: true, isMobile: true });
  const page = await watched(context, faults);
  await begin(page, office.url);
  return { context, page };
}

async function send({ page }) {
  await page.goto(`${office.url}/sync`);
  await tap(page, 'Send now');
  await page.getByText('The office has everything').waitFor();
  await page.getByText(/last sent/).waitFor();
}

/** What a phone's own round says of a tree. */
async function row({ page }, tag) {
  await page.goto(`${office.url}/today`);
  return page.locator('.trees a', { hasText: tag }).first();
}

try {
  const [ann, ben] = [await phone(), await phone()];
  await carried(ann.page);
  await ann.context.setOffline(true);
  await workTree(ann.page, 'Q-06', 'crews-ann');
  await (await row(ben, 'Q-07')).waitFor();
  await workTree(ben.page, 'Q-07', 'crews-ben');
  await send(ben);
  await ann.context.setOffline(false);
  await send(ann);
  await send(ben);
  await (await row(ann, 'Q-07')).getByText(/out/).waitFor();
  await (await row(ben, 'Q-06')).getByText(/out/).waitFor();
  await shot(ben.page, 'crews-ben-today');

  await (await row(ben, 'Q-06')).click();
  await ben.page.locator('[data-step="drain"] a').click();
  const n = await liftTree(ben.page, 'crews-ben', faults);
  await send(ben);
  await send(ann);
  await (await row(ann, 'Q-06')).getByText(`${n} lifted`).waitFor();
  await shot(ann.page, 'crews-ann-today');

  const round = await (await fetch(`${office.url}/api/round`)).json();
  const trees = round.visits.flatMap((v) => v.trees);
  const of = (tag) => trees.find((t) => t.tag === tag);
  if (!(of('Q-06').lifted === n && of('Q-06').out === 0)) faults.push(`Q-06: ${JSON.stringify(of('Q-06'))}`);
  if (!(of('Q-07').out > 0 && of('Q-07').out === of('Q-07').seated))
    faults.push(`Q-07: ${JSON.stringify(of('Q-07'))}`);
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
verdict('crews', faults);
