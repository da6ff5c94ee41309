// What lies under the trees on the map: an address of tiles that somebody set, or a
// file of them, which is kept in a database of its own beside the app's.
import { openDB } from 'idb';

export type Tiles = { kind: 'url'; url: string; credit: string } | { kind: 'file'; file: File };

const open = () =>
  openDB('sapwell-tiles', 1, {
    upgrade: (db) => {
      db.createObjectStore('tiles');
    },
  });

/** Those of this device, else those that the office's server names. */
export async function tilesKept(): Promise<Tiles | null> {
  const db = await open();
  const kept = (await db.get('tiles', 'now')) as Tiles | undefined;
  db.close();
  if (kept) return kept;
  // A signal too weak to answer must not keep the plan that needs none.
  const answer = await fetch('/tiles.json', { signal: AbortSignal.timeout(4000) }).catch(() => null);
  if (!answer?.ok) return null;
  const { url, credit = '' } = (await answer.json()) as { url: string; credit?: string };
  return isTileAddress(url) ? { kind: 'url', url, credit } : null;
}

export async function keepTiles(tiles: Tiles | null): Promise<void> {
  const db = await open();
  if (tiles) await db.put('tiles', tiles, 'now');
  else await db.delete('tiles', 'now');
  db.close();
}

/** An address of tiles names where zoom, column and row go. */
export const isTileAddress = (url: string): boolean =>
  /^(https?:\/\/|\/)\S+$/.test(url) && ['{z}', '{x}', '{y}'].every((part) => url.includes(part));
