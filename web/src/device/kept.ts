// The lines that a device keeps (see store.ts), read where the library that writes them
// is not: it would double what the engine's thread has to load.
import type { Kept } from './store';

const done = <T>(request: IDBRequest<T>): Promise<T> =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** All lines of a database that is there. */
export async function keptLines(name: string): Promise<Kept[]> {
  const db = await done(indexedDB.open(name));
  const lines = await done<Kept[]>(db.transaction('lines').objectStore('lines').getAll());
  db.close();
  return lines.map(({ line, time }) => ({ line, time }));
}
