/** What the kept records need of a browser, for node: an IndexedDB that lies in one file (written whole, then put in its
 * place, before a transaction says that it is complete), a document with the address of the server, and questions that
 * bear the device's cookie, or get lost. Import it before the page's own modules. */
import { readFileSync, renameSync, writeFileSync } from "node:fs";

type Store = { keyPath: string | null; rows: Record<string, unknown> };
type Stores = Record<string, Store>;
interface Asked<T = unknown> {
  result: T;
  error: unknown;
  transaction?: { abort(): void };
  onsuccess?: () => void;
  onerror?: (event: { preventDefault(): void }) => void;
  onupgradeneeded?: () => void;
}

const FILE = process.argv[2]!;
let databases: Record<string, Stores> = {};
try {
  databases = JSON.parse(readFileSync(FILE, "utf8")) as typeof databases;
} catch {
  // a new device
}

function save(): void {
  writeFileSync(`${FILE}.new`, JSON.stringify(databases));
  renameSync(`${FILE}.new`, FILE);
}

class Transaction {
  oncomplete?: () => void;
  onerror?: () => void;
  onabort?: () => void;
  error = null;
  private readonly work: (() => void)[] = [];

  constructor(private readonly stores: Stores, private readonly writes: boolean) {
    setImmediate(() => this.run());
  }

  private run(): void {
    for (let next = this.work.shift(); next; next = this.work.shift()) next();
    if (this.writes) save();
    this.oncomplete?.();
  }

  commit(): void {}

  objectStore(name: string) {
    const store = this.stores[name]!;
    const later = <T>(work: () => T): Asked<T> => {
      const asked: Asked<T> = { result: undefined as T, error: null };
      this.work.push(() => {
        asked.result = work();
        asked.onsuccess?.();
      });
      return asked;
    };
    const keys = (): string[] => Object.keys(store.rows).sort();
    return {
      get: (key: string) => later(() => structuredClone(store.rows[key])),
      getAll: (above?: { key: string }, most = Infinity) => later(() => structuredClone(keys().filter((key) => !above || key > above.key).slice(0, most).map((key) => store.rows[key]))),
      getAllKeys: () => later(keys),
      put: (value: unknown, key?: string) => {
        const copy = structuredClone(value);
        return later(() => void (store.rows[key ?? String((copy as Record<string, unknown>)[store.keyPath!])] = copy));
      },
      delete: (key: string) => later(() => void delete store.rows[key]),
    };
  }
}

function open(name: string, version?: number): Asked {
  const asked: Asked = { result: null, error: null };
  setImmediate(() => {
    const isNew = !(name in databases);
    if (isNew && version === undefined) {
      asked.transaction = { abort: () => undefined };
      asked.onupgradeneeded?.();
      return asked.onerror?.({ preventDefault: () => undefined });
    }
    const stores = (databases[name] ??= {});
    asked.result = {
      createObjectStore: (store: string, how?: { keyPath: string }) => void (stores[store] = { keyPath: how?.keyPath ?? null, rows: {} }),
      transaction: (_: unknown, mode = "readonly") => new Transaction(stores, mode === "readwrite"),
      close: () => undefined,
    };
    if (isNew) asked.onupgradeneeded?.();
    asked.onsuccess?.();
  });
  return asked;
}

/** Of the questions of one exchange: at which number what happens. */
export const way: { at: number; lost: "question" | "answer" | ""; meanwhile: () => void; asked: number } = { at: -1, lost: "", meanwhile: () => undefined, asked: 0 };

const reach = globalThis.fetch;
const [, , , address, cookie] = process.argv;

async function ask(url: URL | RequestInfo, init: RequestInit = {}): Promise<Response> {
  const here = (way.asked += 1) === way.at;
  if (here && way.lost === "question") throw new TypeError("no network");
  const reply = await reach(url, { ...init, headers: { ...(init.headers as Record<string, string>), cookie: cookie! } });
  if (here) way.meanwhile();
  if (here && way.lost === "answer") throw new TypeError("no network");
  return reply;
}

Object.assign(globalThis, {
  indexedDB: { open },
  IDBKeyRange: { lowerBound: (key: string) => ({ key }) },
  document: { baseURI: address, documentElement: { removeAttribute: () => undefined, setAttribute: () => undefined } },
  localStorage: { getItem: () => null },
  BroadcastChannel: undefined,
  fetch: ask,
});
