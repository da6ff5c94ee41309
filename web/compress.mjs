// Packs what was built once, as small as it gets, so that the server need not do it
// for every phone; and says how much a first load takes over the wire.
import { readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const packed = /\.(html|js|mjs|css|wasm|svg|json|webmanifest)$/;
const limit = 1.5 * 1024 * 1024; // of everything that the app loads to begin with
const later = /maplibre|pmtiles/; // fetched by who has a map to show

const files = readdirSync('dist', { recursive: true })
  .map((name) => join('dist', name.toString()))
  .filter((path) => statSync(path).isFile() && packed.test(path));

let total = 0;
for (const path of files.sort()) {
  const raw = readFileSync(path);
  const br = brotliCompressSync(raw, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: 11,
      [constants.BROTLI_PARAM_LGWIN]: 24,
      [constants.BROTLI_PARAM_SIZE_HINT]: raw.length,
    },
  });
  writeFileSync(`${path}.br`, br);
  writeFileSync(`${path}.gz`, gzipSync(raw, { level: 9 }));
  if (!later.test(path)) total += br.length;
  console.log(
    `${path.padEnd(48)} ${raw.length.toString().padStart(9)} ${br.length.toString().padStart(9)} br`,
  );
}
console.log(`first load, all told: ${total} bytes of ${limit}`);
if (total > limit) {
  console.error('That is more than the app may take over the wire.');
  process.exit(1);
}
