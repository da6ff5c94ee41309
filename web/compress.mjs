// Packs what was built once, as small as it gets, so that the server need not do it
// for every phone, and keeps only what is packed: the program carries it all. Says how
// much the first load of the visit app takes over the wire, all told.
import { readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import { counts } from './first.mjs';

const limit = 1_500_000;
const packed = /\.(html|js|mjs|css|wasm|svg|json|webmanifest)$/;

const first = counts();
rmSync('dist/.vite', { recursive: true });
const files = readdirSync('dist', { recursive: true })
  .map((name) => name.toString())
  .filter((name) => packed.test(name) && statSync(join('dist', name)).isFile());

let total = 0;
for (const name of files.sort()) {
  const path = join('dist', name);
  const raw = readFileSync(path);
  const params = {
    [constants.BROTLI_PARAM_QUALITY]: 11,
    [constants.BROTLI_PARAM_LGWIN]: 24,
    [constants.BROTLI_PARAM_NPOSTFIX]: 2, // these two suit WebAssembly
    [constants.BROTLI_PARAM_NDIRECT]: 16,
    [constants.BROTLI_PARAM_SIZE_HINT]: raw.length,
  };
  const br = brotliCompressSync(raw, { params });
  writeFileSync(`${path}.br`, br);
  writeFileSync(`${path}.gz`, gzipSync(raw, { level: 9 }));
  rmSync(path);
  const mine = first(name);
  if (mine) total += br.length;
  const sizes = `${raw.length.toString().padStart(9)} ${br.length.toString().padStart(9)} br`;
  console.log(`${mine ? '*' : ' '} ${name.padEnd(46)} ${sizes}`);
}
console.log(`* first load of the visit app: ${total} bytes of ${limit}`);
if (total > limit) {
  console.error('That is more than it may take over the wire.');
  process.exit(1);
}
