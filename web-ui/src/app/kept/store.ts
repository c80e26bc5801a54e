/** What is kept on this device: IndexedDB `racewright`, with `records` by their ids and `local` by name (what belongs to
 * this device alone). Where there is none, memory, and `lasting` says so. A writing is on the disk when its promise
 * settles, and on its way there before anything else can happen: a page that is closed right after a tap loses nothing. */
import { met, type Rec } from './record';

const NAME = 'racewright';
const PART = 250;

/** True while values really go to the device's storage. */
export let lasting = true;

let opened: Promise<IDBDatabase> | null = null;

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('records', { keyPath: 'id' });
      request.result.createObjectStore('local');
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close(); // a newer page of this origin brings it up to date
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error('blocked'));
  });
}

const database = (): Promise<IDBDatabase> => (opened ??= open());

export const result = <T>(request: IDBRequest<T>): Promise<T> =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

const finished = (transaction: IDBTransaction): Promise<void> =>
  new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });

const writing = (db: IDBDatabase): IDBTransaction => db.transaction(['records', 'local'], 'readwrite', { durability: 'strict' });

/** Everything that is kept here, some hundred records at a time, so that nothing else has to wait. */
export async function readAll(take: (part: Rec[]) => void): Promise<Map<string, unknown>> {
  const local = new Map<string, unknown>();
  try {
    const db = await database();
    const store = (): IDBObjectStore => db.transaction('local').objectStore('local');
    const [keys, values] = await Promise.all([result(store().getAllKeys()), result(store().getAll() as IDBRequest<unknown[]>)]);
    keys.forEach((key, i) => local.set(key as string, values[i]));
    for (let after = ''; ; ) {
      const part = (await result(db.transaction('records').objectStore('records').getAll(IDBKeyRange.lowerBound(after, true), PART))) as Rec[];
      take(part);
      if (part.length < PART) return local;
      after = part.at(-1)!.id;
    }
  } catch {
    lasting = false;
    return local;
  }
}

export async function readSome(ids: readonly string[], names: readonly string[]): Promise<{ records: (Rec | undefined)[]; local: unknown[] }> {
  const transaction = (await database()).transaction(['records', 'local']);
  const [records, local] = [transaction.objectStore('records'), transaction.objectStore('local')];
  return {
    records: await Promise.all(ids.map((id) => result(records.get(id) as IDBRequest<Rec | undefined>))),
    local: await Promise.all(names.map((name) => result(local.get(name) as IDBRequest<unknown>))),
  };
}

/** Records to be written (null: no longer kept) and local values. */
export interface Writing {
  records: Map<string, Rec | null>;
  local: Map<string, unknown>;
}

/** Records under which another tab had written meanwhile, as both together are (see `met`); they are not written yet. */
export type Crossed = Map<string, Rec | null>;

/** Write, whole or not at all (null). Writings go out in the order of the calls, none waits here for another. `mayStand`: what
 * this tab knows to stand under an id, and then what of its own may have come there since. */
export async function write({ records, local }: Writing, mayStand: (id: string) => readonly (Rec | null | undefined)[]): Promise<Crossed | null> {
  const crossed: Crossed = new Map();
  try {
    const transaction = writing(await database());
    const [store, values] = [transaction.objectStore('records'), transaction.objectStore('local')];
    for (const [id, now] of records) {
      const stood = store.get(id) as IDBRequest<Rec | undefined>;
      stood.onsuccess = () => {
        const [before, ...own] = mayStand(id);
        if (![before, ...own].some((rec) => rec?.stamp === stood.result?.stamp)) crossed.set(id, met(before ?? undefined, now, stood.result));
      };
      if (now) store.put(now);
      else store.delete(id);
    }
    for (const [name, value] of local) values.put(value, name);
    transaction.commit();
    await finished(transaction);
    lasting = true;
    return crossed;
  } catch {
    lasting = false;
    return null;
  }
}

/** Put down what was kept before this store was there, unless that has been done already, by another tab too. */
export async function takeOver(mark: string, records: readonly Rec[], local: ReadonlyMap<string, unknown>): Promise<void> {
  const transaction = writing(await database());
  const values = transaction.objectStore('local');
  const done = values.get(mark);
  done.onsuccess = () => {
    if (done.result) return;
    for (const record of records) transaction.objectStore('records').put(record);
    for (const [name, value] of local) values.put(value, name);
    values.put(new Date().toISOString(), mark);
  };
  await finished(transaction);
}

/** Ask the browser not to throw the runs away when storage is short. */
export async function askToStay(): Promise<boolean> {
  try {
    return (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.()) || false;
  } catch {
    return false;
  }
}
