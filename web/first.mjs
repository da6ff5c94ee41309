// Which files of a build a device loads before it can work a visit: what its modules
// import, but what is for later.
import { readFileSync } from 'node:fs';

// Fetched by who opens it, and not for a visit: office screens, the gallery, tiles.
const later = /screens\/(office|Gallery)|maplibre|pmtiles|TileMap/;
// What no module imports: the page, its worker with the engine, the service worker.
const besides = /^[^/]+$|^assets\/(engine|worker)-/;

/** Tells of a file in dist whether it counts to the first load. */
export function counts() {
  const manifest = JSON.parse(readFileSync('dist/.vite/manifest.json', 'utf8'));
  const first = new Set();
  const load = (key) => {
    const chunk = manifest[key];
    if (!chunk || first.has(chunk.file) || later.test(key)) return;
    first.add(chunk.file);
    for (const file of [...(chunk.css ?? []), ...(chunk.assets ?? [])]) first.add(file);
    for (const next of [...(chunk.imports ?? []), ...(chunk.dynamicImports ?? [])]) load(next);
  };
  const page = readFileSync('dist/index.html', 'utf8');
  const begins = [...page.matchAll(/(?:src|href)="\/(assets\/[^"]+)"/g)].map((m) => m[1]);
  for (const [key, chunk] of Object.entries(manifest)) if (begins.includes(chunk.file)) load(key);
  if (first.size < begins.length) throw new Error(`not in the manifest: one of ${begins.join(', ')}`);
  return (file) => first.has(file) || besides.test(file);
}
