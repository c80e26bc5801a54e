/** The records of this device in memory, beside the store that they are written to. Each tab of a browser holds them
 * all; what one has written the others hear and take in. */
import type { Place } from './exchange';
import { met, runOfEntry, type Rec } from './record';
import { readAll, readSome, write, type Writing } from './store';

const all = new Map<string, Rec>();
/** Records by what they are of, and their kind: entries by their run, others by their job. */
const parts = new Map<string, Set<string>>();
/** What is known to stand in the store. */
const stored = new Map<string, Rec | undefined>();
export const local = new Map<string, unknown>();

const toWrite = new Set<string>();
const toPut = new Map<string, unknown>();
let working: Promise<void> | null = null;
let made = 0;
let tell: (ids: readonly string[], names: readonly string[]) => void = () => undefined;

/** What to do when records or local values have changed. */
export const onKept = (work: typeof tell): void => {
  tell = work;
};

export const nextMade = (): number => (made += 1);
export const getRec = (id: string): Rec | undefined => all.get(id);
export const allRecs = (): IterableIterator<Rec> => all.values();

/** Where a record is looked for: an entry with its run. */
const placeOf = (rec: Rec): string => `${rec.kind} ${rec.kind === 'entry' ? runOfEntry(rec) : rec.job}`;

/** The records of one kind of a job, or the entries of a run. */
export const recsOf = (of: string, kind: string): Rec[] => [...(parts.get(`${kind} ${of}`) ?? [])].flatMap((id) => all.get(id) ?? []);

function place(id: string, rec: Rec | null): void {
  const was = all.get(id);
  if (was && (!rec || placeOf(was) !== placeOf(rec))) parts.get(placeOf(was))?.delete(id);
  if (!rec) return void all.delete(id);
  all.set(id, rec);
  made = Math.max(made, rec.made);
  const at = placeOf(rec);
  const others = parts.get(at);
  if (others) others.add(id);
  else parts.set(at, new Set([id]));
}

/** Write records (null: no longer kept) and local values. Settles when they are on the disk. */
export function put(records: ReadonlyMap<string, Rec | null>, values: Readonly<Record<string, unknown>> = {}): Promise<void> {
  const changed: string[] = [];
  for (const [id, rec] of records) {
    if (rec === (all.get(id) ?? null)) continue;
    place(id, rec);
    toWrite.add(id);
    changed.push(id);
  }
  for (const [name, value] of Object.entries(values)) {
    local.set(name, value);
    toPut.set(name, value);
  }
  const writing = flush();
  if (changed.length || Object.keys(values).length) tell(changed, Object.keys(values));
  return writing;
}

export const putOne = (id: string, rec: Rec | null): Promise<void> => put(new Map([[id, rec]]));
export const putLocal = (name: string, value: unknown): Promise<void> => put(new Map(), { [name]: value });

/** Settles when all that was written is on the disk. */
export function flush(): Promise<void> {
  working ??= writeAll().finally(() => {
    working = null;
  });
  return working;
}

async function writeAll(): Promise<void> {
  while (toWrite.size || toPut.size) {
    const part: Writing = { records: new Map(), local: new Map(toPut) };
    for (const id of toWrite) part.records.set(id, { before: stored.get(id), now: all.get(id) ?? null });
    toWrite.clear();
    toPut.clear();
    const crossed = await write(part);
    for (const [id, { now }] of part.records) stored.set(id, now ?? undefined);
    for (const [id, { stored: stands, together }] of crossed) {
      const mine = all.get(id) ?? null;
      const now = mine === (stands ?? null) ? together : met(stands, mine, together ?? undefined); // written on meanwhile
      if (now === mine) continue;
      place(id, now);
      toWrite.add(id);
    }
    if (crossed.size) tell([...crossed.keys()], []);
    tabs?.postMessage([[...part.records.keys()], [...part.local.keys()]]);
  }
}

const tabs = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel('racewright kept');
/** What each tab has for itself: what it shows. */
const OWN = ['job', 'run'];

/** Take in what another tab has written. What is on its way out of this one meets it in `write`. */
async function takeIn(ids: readonly string[], names: readonly string[]): Promise<void> {
  const shared = names.filter((name) => !OWN.includes(name));
  const read = await readSome(ids, shared).catch(() => null);
  if (!read) return;
  const news = ids.filter((id, i) => {
    const rec = read.records[i];
    if (toWrite.has(id) || stored.get(id) !== (all.get(id) ?? undefined) || stored.get(id)?.stamp === rec?.stamp) return false;
    stored.set(id, rec);
    place(id, rec ?? null);
    return true;
  });
  shared.forEach((name, i) => local.set(name, read.local[i]));
  if (news.length || shared.length) tell(news, shared);
}

/** Read everything. */
export async function readKept(): Promise<void> {
  all.clear();
  parts.clear();
  stored.clear();
  const values = await readAll((part) => {
    for (const rec of part) {
      stored.set(rec.id, rec);
      place(rec.id, rec);
    }
  });
  for (const [name, value] of values) local.set(name, value);
  if (tabs) tabs.onmessage = (event: MessageEvent<[string[], string[]]>) => void takeIn(...event.data);
}

const NOWHERE: Place = { number: 0, mark: '', shop: '' };

export const keeper = {
  get: getRec,
  all: allRecs,
  nextMade,
  place: (): Place => (local.get('exchange') as Place | undefined) ?? NOWHERE,
  put: (records: ReadonlyMap<string, Rec | null>, at?: Place): Promise<void> => put(records, at ? { exchange: at } : {}),
};
