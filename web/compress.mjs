// Packs what was built once, as small as it gets, so that the server need not do it
// for every phone; and says how much the first load of the visit app takes over the
// wire, all told.
import { readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const limit = 1.5 * 1024 * 1024;
const packed = /\.(html|js|mjs|css|wasm|svg|json|webmanifest)$/;
// Fetched by who opens it, and not for a visit: office screens, the gallery, tiles.
const later = /screens\/(office|Gallery)|maplibre|pmtiles|TileMap/;

const manifest = JSON.parse(readFileSync('dist/.vite/manifest.json', 'utf8'));
rmSync('dist/.vite', { recursive: true });

/** All that the visit app loads: what its modules import, but what is for later. */
const first = new Set();
function load(key) {
  const chunk = manifest[key];
  if (!chunk || first.has(chunk.file) || later.test(key)) return;
  first.add(chunk.file);
  for (const file of [...(chunk.css ?? []), ...(chunk.assets ?? [])]) first.add(file);
  for (const next of [...(chunk.imports ?? []), ...(chunk.dynamicImports ?? [])]) load(next);
}
load('index.html');

const files = readdirSync('dist', { recursive: true })
  .map((name) => name.toString())
  .filter((name) => packed.test(name) && statSync(join('dist', name)).isFile());

// What no module imports: the page, its worker with the engine, the service worker.
const besides = /^[^/]+$|^assets\/(engine|worker)-/;
let total = 0;
for (const name of files.sort()) {
  const path = join('dist', name);
  const raw = readFileSync(path);
  const params = {
    [constants.BROTLI_PARAM_QUALITY]: 11,
    [constants.BROTLI_PARAM_LGWIN]: 24,
    [constants.BROTLI_PARAM_SIZE_HINT]: raw.length,
  };
  const br = brotliCompressSync(raw, { params });
  writeFileSync(`${path}.br`, br);
  writeFileSync(`${path}.gz`, gzipSync(raw, { level: 9 }));
  const counts = first.has(name) || besides.test(name);
  if (counts) total += br.length;
  const sizes = `${raw.length.toString().padStart(9)} ${br.length.toString().padStart(9)} br`;
  console.log(`${counts ? '*' : ' '} ${name.padEnd(46)} ${sizes}`);
}
console.log(`* first load of the visit app: ${total} bytes of ${limit}`);
if (total > limit) {
  console.error('That is more than it may take over the wire.');
  process.exit(1);
}
