/** The records of this device in memory, beside the store that they are written to. Each tab of a browser holds them
 * all; what one has written the others hear and take in. */
import type { Place } from './exchange';
import { met, runOfEntry, type Rec } from './record';
import { lasting, readAll, readSome, write, type Crossed, type Writing } from './store';

const all = new Map<string, Rec>();
/** Records by what they are of, and their kind: entries by their run, others by their job. */
const parts = new Map<string, Set<string>>();
/** What is known to stand in the store; what is on its way there, oldest first, each with when that is over. */
const stored = new Map<string, Rec | undefined>();
const onWay = new Map<Writing, Promise<void>>();
export const local = new Map<string, unknown>();

const toWrite = new Set<string>();
const toPut = new Map<string, unknown>();
/** What the store did not take: tried again once it takes something, or `flush` says so. */
const left = { records: new Set<string>(), local: new Set<string>() };
let next: Promise<void> | null = null;
/** Whether the page was told that what it writes lasts. */
let told = true;
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

/** Write records (null: no longer kept) and local values. Settles when they are on the disk, or it did not take them. */
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
  send();
  if (changed.length || Object.keys(values).length) tell(changed, Object.keys(values));
  return over();
}

export const putOne = (id: string, rec: Rec | null): Promise<void> => put(new Map([[id, rec]]));
export const putLocal = (name: string, value: unknown): Promise<void> => put(new Map(), { [name]: value });

/** What the store did not take goes out again. Settles when all is over. */
export function flush(): Promise<void> {
  for (const id of left.records) toWrite.add(id);
  for (const name of left.local) toPut.set(name, local.get(name));
  send();
  return over();
}

const goingOn = (): Promise<void>[] => [...(next ? [next] : []), ...onWay.values()];

async function over(): Promise<void> {
  for (let these = goingOn(); these.length; these = goingOn()) await Promise.all(these);
}

/** What one turn writes goes out together, before anything else can happen: no writing waits for the one before it. */
function send(): void {
  if (!toWrite.size && !toPut.size) return;
  next ??= Promise.resolve().then(() => {
    next = null;
    const part: Writing = { records: new Map([...toWrite].map((id) => [id, all.get(id) ?? null])), local: new Map(toPut) };
    toWrite.clear();
    toPut.clear();
    for (const id of part.records.keys()) left.records.delete(id);
    for (const name of part.local.keys()) left.local.delete(name);
    onWay.set(part, write(part, mayStand).then((crossed) => ended(part, crossed)));
  });
}

/** What this tab knows to stand there, and what of its own may stand there by now. */
const mayStand = (id: string): (Rec | null | undefined)[] => [stored.get(id), ...[...onWay.keys()].filter(({ records }) => records.has(id)).map(({ records }) => records.get(id))];

const isOnWay = (of: keyof Writing, key: string): boolean => (of === 'records' ? toWrite : toPut).has(key) || [...onWay.keys()].some((part) => part[of].has(key));

/** The store has taken it, with what another tab had written under some of these records; or (null) it has not. */
function ended(part: Writing, crossed: Crossed | null): void {
  onWay.delete(part);
  if (crossed) {
    for (const [id, rec] of part.records) stored.set(id, rec ?? undefined);
    for (const [id, together] of crossed) join(id, part.records.get(id) ?? null, together);
    if (crossed.size) tell([...crossed.keys()], []);
    if (left.records.size || left.local.size) void flush();
    else send();
    tabs?.postMessage([[...part.records.keys()], [...part.local.keys()]]);
  } else {
    for (const of of ['records', 'local'] as const) for (const key of part[of].keys()) if (!isOnWay(of, key)) left[of].add(key);
  }
  if (goingOn().length || told === lasting) return;
  told = lasting;
  tell([], []);
}

/** Another tab had written where this one put `stands`: what both say goes there. */
function join(id: string, stands: Rec | null, together: Rec | null): void {
  const mine = all.get(id) ?? null;
  const now = mine === stands ? together : met(stands ?? undefined, mine, together ?? undefined); // written on meanwhile
  if (now === mine) return;
  place(id, now);
  toWrite.add(id);
}

const tabs = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel('racewright kept');
/** What each tab has for itself: what it shows. */
const OWN = ['job', 'run'];

/** Take in what another tab has written. What is on its way out of this one meets it in `write`. */
async function takeIn(ids: readonly string[], names: readonly string[]): Promise<void> {
  const shared = names.filter((name) => !OWN.includes(name));
  await over();
  const read = await readSome(ids, shared).catch(() => null);
  if (!read) return;
  const heard = shared.filter((name, i) => {
    if (isOnWay('local', name) || left.local.has(name)) return false;
    local.set(name, read.local[i]);
    return true;
  });
  const news = ids.filter((id, i) => {
    const rec = read.records[i];
    if (toWrite.has(id) || stored.get(id) !== (all.get(id) ?? undefined) || stored.get(id)?.stamp === rec?.stamp) return false;
    stored.set(id, rec);
    place(id, rec ?? null);
    return true;
  });
  if (news.length || heard.length) tell(news, heard);
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
