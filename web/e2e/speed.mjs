// How fast and how large, with the page's thread slowed fourfold: what is loaded the
// first time, a start with no signal, and from a girth to marks. The browser slows the
// page and not its workers; what the engine itself takes is told besides, times four.
// SAPWELL_SLACK=1 holds the bars as they are; on a busy machine they may be missed.
import { connect, createServer } from 'node:net';
import { begin, browser, demo, middle, shot, sizes, slack, tap, throttle, verdict, watched } from './lib.mjs';

const faults = [];
const figures = {};
const office = await demo();
const chrome = await browser();
const rounds = Number(process.env.SAPWELL_ROUNDS ?? 5);

function bar(name, value, most) {
  figures[name] = value;
  const { median } = typeof value === 'object' ? value : { median: value };
  if (median > most) faults.push(`${name}: ${median}, want at most ${most}`);
}

/** Counts every byte that goes from the server to a browser, headers too. */
async function metered(url) {
  const { hostname, port } = new URL(url);
  const meter = { bytes: 0 };
  const server = createServer((phone) => {
    const to = connect(Number(port), hostname);
    to.on('data', (b) => (meter.bytes += b.length));
    phone.pipe(to).pipe(phone);
    for (const end of [phone, to]) end.on('error', () => (phone.destroy(), to.destroy()));
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  meter.url = `http://127.0.0.1:${server.address().port}`;
  meter.stop = () => server.close();
  return meter;
}

async function firstLoad() {
  const meter = await metered(office.url);
  const context = await chrome.newContext({ viewport: sizes.phone, hasTouch: true, isMobile: true });
  const page = await watched(context, faults);
  await page.goto(`${meter.url}/start`);
  await page.getByRole('heading').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() => performance.getEntriesByName('sapwell engine').length > 0);
  for (let was = -1; was !== meter.bytes; await page.waitForTimeout(1500)) was = meter.bytes;
  bar('first load all told, bytes', meter.bytes, 1_500_000);
  await context.close();
  meter.stop();
}

const since = (page, mark) =>
  page
    .waitForFunction((name) => performance.getEntriesByName(name).length > 0, mark)
    .then(() => page.evaluate((name) => performance.getEntriesByName(name)[0].startTime, mark));

/** Notes when the round is on the screen: its text is there, and a frame has passed. */
const watchRound = () => {
  new MutationObserver((_, o) => {
    if (!document.body?.textContent.includes('Quillmere Green')) return;
    o.disconnect();
    requestAnimationFrame(() => setTimeout(() => performance.mark('round shown')));
  }).observe(document, { subtree: true, childList: true, characterData: true });
};

async function starts() {
  const context = await chrome.newContext({ viewport: sizes.phone, hasTouch: true, isMobile: true });
  let page = await watched(context, faults);
  await begin(page, office.url);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() => caches.keys().then((k) => k.length > 0));
  await page.reload();
  await page.getByText('Quillmere Green').first().waitFor();
  await context.setOffline(true);
  await context.addInitScript(watchRound);
  const [shown, engine] = [[], []];
  for (let i = 0; i < rounds; i++) {
    await page.close();
    page = await watched(context, faults);
    await throttle(page, 4);
    await page.waitForTimeout(2000); // the page before has gone, but its threads are at work still
    await page.goto(`${office.url}/today`);
    shown.push(await since(page, 'round shown'));
    engine.push(await since(page, 'sapwell engine'));
  }
  bar('start with no signal to the round, ms', middle(shown), 1000 * slack);
  figures['start with no signal to deeds, ms'] = middle(engine);
  await shot(page, 'speed-today');
  return { context, page };
}

/** From a girth being typed to its marks on the screen, before anything is kept. By the
    label's one unit for each 6 in, 60 in take 10 of them. */
async function typed(page) {
  await page.goto(`${office.url}/today`);
  await page.locator('a', { hasText: 'Q-07' }).first().click();
  await page.locator('[data-step="measure"] a').click();
  const field = page.getByRole('textbox', { name: 'Girth', exact: true });
  await field.fill('54');
  await page.locator('[data-foreseen="9"]').waitFor();
  const times = [];
  for (let units = 10; units < 10 + rounds; units++) {
    times.push(
      await field.evaluate(async (input, units) => {
        const began = performance.now();
        input.value = String(units * 6);
        input.dispatchEvent(new Event('input', { bubbles: true }));
        while (!document.querySelector(`[data-foreseen="${units}"]`))
          await new Promise((done) => new MutationObserver((_, o) => (o.disconnect(), done())).observe(document.body, { subtree: true, childList: true, attributes: true })); // prettier-ignore
        await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
        return performance.now() - began;
      }, units),
    );
  }
  await shot(page, 'speed-foreseen');
  bar('girth typed to marks drawn, ms', middle(times), 100 * slack);
}

/** From the press that keeps a girth, over the new plan, to the marks on the screen. */
async function marks(page) {
  const times = [];
  for (let i = 0; i < rounds; i++) {
    await page.goto(`${office.url}/today`);
    await page.locator('a', { hasText: 'Q-07' }).first().click();
    await page.locator('[data-step="measure"] a').click();
    await page.getByRole('textbox', { name: 'Girth', exact: true }).fill(`${90 + i} 1/2`);
    times.push(
      await page.evaluate(() => {
        const press = (text) =>
          new Promise((done) => {
            const look = () => {
              const found = [...document.querySelectorAll('button, a')].find(
                (b) => b.textContent.trim() === text && !b.disabled,
              );
              if (found) done(found);
              else setTimeout(look, 1);
            };
            look();
          });
        const frame = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
        const timed = async (text, until) => {
          const button = await press(text);
          const began = performance.now();
          button.click();
          await press(until);
          await frame();
          return performance.now() - began;
        };
        return (async () => {
          const kept = await timed('Keep the measure', 'Plan again');
          const planned = await timed('Plan again', 'To the marks');
          const drawn = await timed('To the marks', 'Marks are on: drill');
          return { kept, planned, drawn };
        })();
      }),
    );
  }
  figures['measure kept on the disk, ms'] = middle(times.map((t) => t.kept));
  figures['planned anew and kept, ms'] = middle(times.map((t) => t.planned));
  bar('marks drawn, ms', middle(times.map((t) => t.drawn)), 100 * slack);
}

try {
  await firstLoad();
  const { page } = await starts();
  await throttle(page, 4);
  await typed(page);
  await marks(page);
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
}
console.log(`figures: ${JSON.stringify(figures)}`);
verdict('speed', faults);
