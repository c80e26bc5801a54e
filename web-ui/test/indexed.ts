/** An IndexedDB for node: transactions that write come one after the other, whole or not at all. */
type Store = { keyPath: string | null; rows: Record<string, unknown> };
export type Databases = Record<string, Stores>;
type Stores = Record<string, Store>;
interface Asked<T = unknown> {
  result: T;
  error: unknown;
  transaction?: { abort(): void };
  onsuccess?: () => void;
  onerror?: (event: { preventDefault(): void }) => void;
  onupgradeneeded?: () => void;
}

/** How a transaction ends. `save`: what it wrote is to lie on the disk from here on; where this throws, nothing of it was
 * written. `tell`: the page is told so. */
export interface Ending {
  save(): void;
  tell(over: () => void): void;
}

class Transaction {
  oncomplete?: () => void;
  onerror?: () => void;
  onabort?: () => void;
  error: unknown = null;
  private readonly work: (() => void)[] = [];
  private readonly undo: (() => void)[] = [];

  constructor(
    private readonly stores: Stores,
    private readonly writes: boolean,
    private readonly ending: Ending,
  ) {
    setImmediate(() => this.run());
  }

  private run(): void {
    for (let next = this.work.shift(); next; next = this.work.shift()) next();
    try {
      if (this.writes) this.ending.save();
    } catch (error) {
      for (const back of this.undo.reverse()) back();
      this.error = error;
      return this.ending.tell(() => this.onabort?.());
    }
    if (this.writes) this.ending.tell(() => this.oncomplete?.());
    else this.oncomplete?.();
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
    const set = (key: string, value?: unknown): void => {
      const was = store.rows[key];
      this.undo.push(() => void (was === undefined ? delete store.rows[key] : (store.rows[key] = was)));
      if (value === undefined) delete store.rows[key];
      else store.rows[key] = value;
    };
    const keys = (): string[] => Object.keys(store.rows).sort();
    return {
      get: (key: string) => later(() => structuredClone(store.rows[key])),
      getAll: (above?: { key: string }, most = Infinity) => later(() => structuredClone(keys().filter((key) => !above || key > above.key).slice(0, most).map((key) => store.rows[key]))),
      getAllKeys: () => later(keys),
      put: (value: unknown, key?: string) => {
        const copy = structuredClone(value);
        return later(() => set(key ?? String((copy as Record<string, unknown>)[store.keyPath!]), copy));
      },
      delete: (key: string) => later(() => set(key)),
    };
  }
}

export const indexed = (databases: Databases, ending: Ending) => ({ open: (name: string, version?: number): Asked => opened(databases, ending, name, version) });

function opened(databases: Databases, ending: Ending, name: string, version?: number): Asked {
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
      transaction: (_: unknown, mode = "readonly") => new Transaction(stores, mode === "readwrite", ending),
      close: () => undefined,
    };
    if (isNew) asked.onupgradeneeded?.();
    asked.onsuccess?.();
  });
  return asked;
}
