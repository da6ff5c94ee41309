// A whole tree with a signal, against the real program: from the first run to the
// entries in the office's journal.
import { begin, browser, demo, liftTree, shot, sizes, tap, verdict, watched, workTree } from './lib.mjs';

const faults = [];
const office = await demo();
const chrome = await browser();
try {
  const context = await chrome.newContext({ viewport: sizes.phone, hasTouch: true, isMobile: true });
  const page = await watched(context, faults);
  await page.goto(office.url);
  await page.waitForURL('**/start');
  await shot(page, 'online-start');
  await begin(page, office.url);
  await shot(page, 'online-today');
  await workTree(page, 'Q-06', 'online');
  await liftTree(page, 'online', faults);

  await page.goto(`${office.url}/sync`);
  await tap(page, 'Send now');
  await page.getByText('The office has everything').waitFor();
  await shot(page, 'online-sync');
  const round = await (await fetch(`${office.url}/api/round`)).json();
  const tree = round.visits.flatMap((v) => v.trees).find((t) => t.tag === 'Q-06');
  if (!(tree.lifted === tree.planned && tree.out === 0))
    faults.push(`the office has ${JSON.stringify(tree)}`);

  // A nail is where a mark should be: the others are spread anew, as many as before.
  await page.goto(`${office.url}/today`);
  await page.locator('a', { hasText: 'Q-07' }).first().click();
  await page.locator('[data-step="marks"] a').click();
  const before = await page.getByText(/^mark 1 of \d+$/).textContent();
  const reading = await page.locator('.one strong').textContent();
  await tap(page, 'Skip mark 1');
  await page.getByText('a nail or wire').click();
  await tap(page, 'Keep it free');
  await page.getByText('The marks are spread anew').waitFor();
  if ((await page.getByText(/^mark \d+ of \d+$/).textContent()) !== before)
    faults.push('a skipped spot changed how many marks there are');
  if ((await page.locator('.one strong').textContent()) === reading)
    faults.push('the mark is still at the nail');
  await shot(page, 'online-spread');

  // Another tree has grown: measured anew, it is planned and worked anew.
  await page.goto(`${office.url}/today`);
  await page.locator('a', { hasText: 'Q-07' }).first().click();
  await page.locator('[data-step="measure"] a').click();
  await page.getByRole('textbox', { name: 'Girth', exact: true }).fill('90 1/2');
  await tap(page, 'Keep the measure');
  await page.getByText('Measured again since this plan').waitFor();
  await tap(page, 'Plan again');
  await tap(page, 'To the marks');
  await page.getByText(/^mark 1 of \d+$/).waitFor();
  const marks = Number((await page.getByText(/^mark 1 of \d+$/).textContent()).match(/\d+$/)[0]);
  // The label gives one unit for each 6 in of girth, rounded up: 90 1/2 in is 16.
  if (marks !== 16) faults.push(`${marks} marks on 90 1/2 in of girth, 16 by the label`);

  // The other trees have units out: the visit must not be closed over them.
  await page.goto(`${office.url}/today`);
  await page.locator('a', { hasText: 'Q-06' }).first().click();
  await page.locator('[data-step="close"] a').click();
  await tap(page, 'Close the visit');
  await page.getByText(/units are still out/).waitFor();
  if (!(await page.getByRole('button', { name: 'Sign and close' }).isDisabled()))
    faults.push('a visit with units out can be closed');
  await shot(page, 'online-not-closed');
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
verdict('online', faults);
