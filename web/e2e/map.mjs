// The map over tiles: those of a server that was set, for whose origin alone the policy
// opens, and those of a local file. Tiles here are one colour, made by the browser.
import { createServer } from 'node:http';
import { begin, browser, demo, shot, sizes, tap, verdict, watched } from './lib.mjs';

const faults = [];
const [blue, pink] = [
  [40, 120, 200],
  [220, 80, 160],
];

/** A server of tiles that are all the same, and how many were asked for. */
async function tileServer(png) {
  const server = createServer((_, answer) => {
    served.asked++;
    answer.writeHead(200, { 'Content-Type': 'image/png', 'Access-Control-Allow-Origin': '*' });
    answer.end(png());
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  const served = {
    asked: 0,
    origin: `http://127.0.0.1:${server.address().port}`,
    stop: () => server.close(),
  };
  return served;
}

/** One tile for the whole world as a PMTiles archive, version 3 (its specification, of
    common knowledge): 127 bytes of header, a directory of one entry, metadata, the tile. */
function pmtiles(png) {
  const directory = Buffer.from([1, 0, 1, ...varint(png.length), 1]); // entries; id, run, length, offset + 1
  const metadata = Buffer.from('{}');
  const header = Buffer.alloc(127);
  header.write('PMTiles');
  header[7] = 3;
  let at = 127;
  const place = (offset, length) => {
    header.writeBigUInt64LE(BigInt(at), offset);
    header.writeBigUInt64LE(BigInt(length), offset + 8);
    at += length;
  };
  place(8, directory.length);
  place(24, metadata.length);
  place(40, 0); // no leaf directories
  place(56, png.length);
  for (const offset of [72, 80, 88]) header.writeBigUInt64LE(1n, offset); // tiles, entries, contents
  header[96] = 1; // clustered
  header[97] = header[98] = 1; // not packed
  header[99] = 2; // PNG
  header[100] = header[101] = 0; // zoom
  [-180, -85, 180, 85].forEach((degrees, i) => header.writeInt32LE(degrees * 1e7, 102 + 4 * i));
  return Buffer.concat([header, directory, metadata, png]);
}
function varint(n) {
  const bytes = [];
  for (; n > 127; n = Math.floor(n / 128)) bytes.push((n % 128) | 128);
  return [...bytes, n];
}

const picture = (page, colour) =>
  page.evaluate(async ([r, g, b]) => {
    const canvas = new OffscreenCanvas(256, 256);
    const c = canvas.getContext('2d');
    c.fillStyle = `rgb(${r} ${g} ${b})`;
    c.fillRect(0, 0, 256, 256);
    return [...new Uint8Array(await (await canvas.convertToBlob()).arrayBuffer())];
  }, colour);

/** How much of the map has a colour, in percent. */
async function share(page, [r, g, b]) {
  const png = (await page.locator('.map').screenshot()).toString('base64');
  return page.evaluate(
    async ({ png, want }) => {
      const image = new Image();
      image.src = `data:image/png;base64,${png}`;
      await image.decode();
      const canvas = new OffscreenCanvas(image.width, image.height);
      const c = canvas.getContext('2d');
      c.drawImage(image, 0, 0);
      const { data } = c.getImageData(0, 0, image.width, image.height);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if (want.every((v, k) => Math.abs(data[i + k] - v) < 12)) n++;
      return Math.round((400 * n) / data.length);
    },
    { png, want: [r, g, b] },
  );
}
async function drawn(page, colour, what) {
  let part = 0;
  await page.locator('.map canvas').waitFor();
  for (let i = 0; i < 60 && part < 50; i++) {
    await page.waitForTimeout(500);
    part = await share(page, colour).catch(() => 0); // a map is made anew when its tiles change
  }
  if (part < 50) faults.push(`${what}: ${part} % of the map is drawn of its tiles`);
}

let tile = Buffer.alloc(0);
const tiles = await tileServer(() => tile);
const other = await tileServer(() => tile);
const office = await demo('--tiles', `${tiles.origin}/{z}/{x}/{y}.png`, '--tiles-credit', 'invented tiles');
const chrome = await browser({ gpu: true });
try {
  const context = await chrome.newContext({ viewport: sizes.desk });
  const page = await watched(context, faults);
  await begin(page, office.url);
  tile = Buffer.from(await picture(page, blue));
  await page.goto(`${office.url}/map`);
  await drawn(page, blue, 'tiles of a server');
  await page.getByText('invented tiles').first().waitFor();
  if (tiles.asked === 0) faults.push('no tile was asked for');
  await shot(page, 'map-tiles');

  const stranger = await context.newPage(); // its faults are meant
  await stranger.goto(`${office.url}/map`);
  const blocked = await stranger.evaluate((url) => fetch(url).then(() => false, () => true), `${other.origin}/1`); // prettier-ignore
  if (!blocked || other.asked > 0) faults.push('a page loads from where nobody said');
  await stranger.close();

  await tap(page, /under/i);
  const file = pmtiles(Buffer.from(await picture(page, pink)));
  await page
    .locator('input[type=file]')
    .setInputFiles({ name: 'green.pmtiles', mimeType: 'application/octet-stream', buffer: file });
  await drawn(page, pink, 'a local file of tiles');
  await shot(page, 'map-file');
  await page.reload();
  await drawn(page, pink, 'a local file of tiles, opened again');
} catch (err) {
  faults.push(err.message);
} finally {
  await chrome.close();
  office.stop();
  tiles.stop();
  other.stop();
}
verdict('map', faults);
