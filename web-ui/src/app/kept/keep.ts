/** Runs kept on this phone: one small IndexedDB store of values by key. Falls back to memory where there is none. */
const NAME = 'racewright-page';
const STORE = 'kept';
const memory = new Map<string, unknown>();

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

let opened: Promise<IDBDatabase> | null = null;

async function within<T>(mode: IDBTransactionMode, work: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  opened ??= open();
  const db = await opened;
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(STORE, mode, { durability: 'strict' });
    const request = work(transaction.objectStore(STORE));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
  });
}

/** True while values really go to the phone's storage. */
export let lasting = true;

export async function keep(key: string, value: unknown): Promise<void> {
  memory.set(key, value);
  try {
    await within('readwrite', (store) => store.put(value, key));
  } catch {
    lasting = false;
  }
}

export async function kept<T>(key: string): Promise<T | undefined> {
  try {
    return (await within('readonly', (store) => store.get(key))) as T | undefined;
  } catch {
    lasting = false;
    return memory.get(key) as T | undefined;
  }
}

/** Ask the browser not to throw the runs away when storage is short. */
export async function askToStay(): Promise<boolean> {
  try {
    return (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.()) || false;
  } catch {
    return false;
  }
}
