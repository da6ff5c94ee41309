// What the device keeps: the lines of the journal, those that the office has not
// acknowledged yet, photos that wait, and who and where we are. Nothing counts as
// done before it is here.
import { type DBSchema, deleteDB, type IDBPDatabase, openDB } from 'idb';

/** An entry as the engine gives and takes it: the line, and its time in the order of folding. */
export interface Kept {
  line: string;
  time: number;
}

interface Line extends Kept {
  hash: string; // of the line, so that it is kept once
}

export interface Waiting {
  n: number;
  text: string;
  at: number; // when it was written here
  refused?: string; // why the office would not take it
}

export interface Picture {
  sha256: string;
  type: string;
  bytes: Blob;
  sent: boolean;
}

interface Schema extends DBSchema {
  lines: { key: number; value: Line; indexes: { hash: string } };
  outbox: { key: number; value: Omit<Waiting, 'n'> };
  blobs: { key: string; value: Picture };
  meta: { key: string; value: unknown };
}

/** There is no room on the device. Nothing was changed. */
export class Full extends Error {
  constructor() {
    super('storage is full');
    this.name = 'Full';
  }
}

const isFull = (err: unknown): boolean => err instanceof DOMException && err.name === 'QuotaExceededError';

/** A short fingerprint of a line: it only has to tell lines of one device apart. */
async function fingerprint(text: string): Promise<string> {
  const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text));
  return Array.from(new Uint8Array(sum, 0, 16), (b) => b.toString(16).padStart(2, '0')).join('');
}

const fingerprinted = (kept: Kept[]): Promise<Line[]> =>
  Promise.all(kept.map(async (k) => ({ ...k, hash: await fingerprint(k.line) })));

export class Store {
  #db: IDBPDatabase<Schema>;

  private constructor(db: IDBPDatabase<Schema>) {
    this.#db = db;
  }

  static async open(name: string): Promise<Store> {
    const db = await openDB<Schema>(name, 1, {
      upgrade(db) {
        db.createObjectStore('lines', { autoIncrement: true }).createIndex('hash', 'hash', { unique: true });
        db.createObjectStore('outbox', { autoIncrement: true });
        db.createObjectStore('blobs', { keyPath: 'sha256' });
        db.createObjectStore('meta');
      },
    });
    return new Store(db);
  }

  get name(): string {
    return this.#db.name;
  }

  /** How many lines there are. */
  size(): Promise<number> {
    return this.#db.count('lines');
  }

  /** Everything the engine has to be told at the start. */
  async lines(): Promise<Kept[]> {
    return (await this.#db.getAll('lines')).map(({ line, time }) => ({ line, time }));
  }

  /** Keeps lines that were written here, on the disk, and puts them into the outbox. */
  async write(kept: Kept[], at: number): Promise<void> {
    const lines = await fingerprinted(kept);
    await this.#guard(async () => {
      const tx = this.#db.transaction(['lines', 'outbox'], 'readwrite', { durability: 'strict' });
      for (const line of lines) {
        if (await tx.objectStore('lines').index('hash').getKey(line.hash)) continue;
        void tx.objectStore('lines').add(line);
        void tx.objectStore('outbox').add({ text: line.line, at });
      }
      await tx.done;
    });
  }

  /** Keeps lines that the office lends. */
  async lend(kept: Kept[]): Promise<void> {
    const lines = await fingerprinted(kept);
    await this.#guard(async () => {
      const tx = this.#db.transaction('lines', 'readwrite');
      for (const line of lines) {
        if (!(await tx.store.index('hash').getKey(line.hash))) void tx.store.add(line);
      }
      await tx.done;
    });
  }

  async waiting(): Promise<Waiting[]> {
    const [keys, values] = await Promise.all([this.#db.getAllKeys('outbox'), this.#db.getAll('outbox')]);
    return values.map((value, i) => ({ n: keys[i]!, ...value }));
  }

  waitingCount(): Promise<number> {
    return this.#db.count('outbox');
  }

  /** Takes out what the office has acknowledged, and marks what it refused. */
  async settle(done: number[], refused: Map<number, string>): Promise<void> {
    const tx = this.#db.transaction('outbox', 'readwrite', { durability: 'strict' });
    for (const n of done) void tx.store.delete(n);
    for (const [n, why] of refused) {
      const value = await tx.store.get(n);
      if (value) void tx.store.put({ ...value, refused: why }, n);
    }
    await tx.done;
  }

  async keepPicture(picture: Picture): Promise<void> {
    await this.#guard(() => this.#db.put('blobs', picture));
  }

  pictures(): Promise<Picture[]> {
    return this.#db.getAll('blobs');
  }

  picture(sha256: string): Promise<Picture | undefined> {
    return this.#db.get('blobs', sha256);
  }

  get<T>(key: string): Promise<T | undefined> {
    return this.#db.get('meta', key) as Promise<T | undefined>;
  }

  async set(key: string, value: unknown): Promise<void> {
    await this.#guard(() => this.#db.put('meta', value, key));
  }

  /** Forgets everything, for a person who hands the device on. */
  async forget(): Promise<void> {
    const name = this.#db.name;
    this.#db.close();
    await deleteDB(name);
  }

  close(): void {
    this.#db.close();
  }

  async #guard(write: () => Promise<unknown>): Promise<void> {
    try {
      await write();
    } catch (err) {
      throw isFull(err) ? new Full() : err;
    }
  }
}
