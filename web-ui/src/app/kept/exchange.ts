/** How this device and the shop come to say the same: what changed there since the last time is taken in, and what was
 * written here is offered, in parts. No browser in here: what keeps the records and what answers are given. */
import type { Answered, Changed, Offered, RecordsServer } from '../../engine/records';
import { KINDS } from '../../engine/types';
import { onFigures, onFiguresBefore, pinRuns } from './pins';
import { answered, assured, going, heard, inPart, isAsked, isPinned, lost, offered, ofShop, rests, retried, same, told, waits, type Rec } from './record';

/** What is kept of the last exchange: the number and mark to ask from, and which shop it was with ('': none yet); kinds of
 * record that this device is not told there, nor may write. */
export interface Place {
  number: number;
  mark: string;
  shop: string;
  withheld?: readonly string[];
}

/** What the shop neither tells this device nor takes from it, and nothing hangs on (what things cost, how well people work): it is
 * kept here alone, and not offered. */
export const staysHere = ({ kind }: Pick<Rec, 'kind'>, { withheld = [] }: Place): boolean => withheld.includes(kind) && ofShop({ kind }) && !isPinned({ kind });

export interface Keeper {
  get(id: string): Rec | undefined;
  all(): Iterable<Rec>;
  /** The order of writing on this device. */
  nextMade(): number;
  place(): Place;
  /** Settles when it is on the disk. `null`: no longer kept. */
  put(records: ReadonlyMap<string, Rec | null>, place?: Place): Promise<void>;
}

/** 'alone': no server; 'code': it wants its code; 'revoked': it lets this device in no more; 'newer': it speaks a form that this page does not know; 'refused': it
 * said no, in `words`. `met`: some job is in the shop. */
export interface Outcome {
  state: 'done' | 'alone' | 'code' | 'revoked' | 'newer' | 'refused';
  words: string;
  met: boolean;
}

const MOST_BYTES = 120_000;
const MOST_RECORDS = 250;
const PART = 200;
const ROUNDS = 6;

const bytes = new TextEncoder();
const isTool = ({ kind }: Rec): boolean => kind === 'tool';

/** `opening`: the first since the page was opened, or the device paired: what was refused before is offered once more. */
export async function exchange(keeper: Keeper, server: RecordsServer, opening = false): Promise<Outcome> {
  const out = (state: Outcome['state'], words = ''): Outcome => ({ state, words, met: jobsThere(keeper) });
  for (let round = 0; round < ROUNDS; round += 1) {
    const pulled = await pull(keeper, server);
    if (pulled) return out(ended(pulled), pulled.words);
    if (opening && round === 0) await retry(keeper);
    await pinRuns(keeper);
    const parts = [...toOffer(keeper)];
    if (!parts.length) break;
    for (const [job, records] of parts) {
      const pushed = await push(keeper, server, job, records);
      if (pushed) return out(ended(pushed), pushed.words);
    }
  }
  return out('done');
}

async function retry(keeper: Keeper): Promise<void> {
  const changes = new Map<string, Rec>();
  for (const rec of keeper.all()) if (retried(rec) !== rec) changes.set(rec.id, retried(rec));
  if (changes.size) await keeper.put(changes);
}

/** Whether the shop is known to have some job. */
export function jobsThere(keeper: Pick<Keeper, 'all'>): boolean {
  for (const rec of keeper.all()) if (rec.kind === 'job' && rec.agreed.revision > 0) return true;
  return false;
}

type No = Exclude<Awaited<ReturnType<RecordsServer['since']>>, { ok: true }>;

const ended = ({ why }: No): Outcome['state'] => (why === 'gone' ? 'alone' : why === 'unfit' ? 'refused' : why);

async function pull(keeper: Keeper, server: RecordsServer): Promise<No | null> {
  let { number, mark, shop } = keeper.place();
  let anew = number === 0;
  const seen = new Map<string, number>();
  for (;;) {
    const reply = await server.since(number, mark);
    if (!reply.ok) return reply;
    const answer = reply.answer;
    if (answer.shop && shop && answer.shop !== shop) {
      await forget(keeper);
      [number, mark, shop, anew] = [0, '', answer.shop, true];
      seen.clear();
      continue;
    }
    shop = answer.shop || shop;
    if (answer.anew) {
      anew = true;
      seen.clear();
    }
    for (const one of answer.records) seen.set(one.id, one.revision);
    ({ last: number, mark } = answer);
    const known = [...keeper.all()];
    const missing = answer.more ? false : known.some((rec) => rec.acked && (seen.get(rec.id) ?? -1) < rec.agreed.revision);
    if (answer.more || (missing && !anew)) {
      await take(keeper, answer.records, anew, null);
      if (answer.more) continue;
      // what it had saved it does not have: it was brought back to just before, so all is to be looked at
      [number, mark, anew] = [0, '', true];
      seen.clear();
      continue;
    }
    const gone = anew ? known.filter((rec) => rec.agreed.revision > 0 && !seen.has(rec.id)) : [];
    await take(keeper, answer.records, anew, { number, mark, shop, withheld: answer.withheld }, gone);
    return null;
  }
}

/** What was told, put down in parts. With the last of it goes the number to ask from (a part alone is no state that the
 * shop was ever in: where the rest does not come, all is asked for again), and what the shop has no longer. */
async function take(keeper: Keeper, records: readonly Changed[], anew: boolean, place: Place | null, gone: readonly Rec[] = []): Promise<void> {
  for (let at = 0; at < records.length; at += PART) {
    const some = records.slice(at, at + PART);
    const last = at + PART >= records.length && place !== null;
    const changes = new Map<string, Rec | null>();
    for (const one of some) {
      const rec = keeper.get(one.id);
      const now = heard(rec, one, rec?.made ?? keeper.nextMade(), anew);
      changes.set(one.id, anew || last ? now : inPart(rec, now, one));
    }
    onFiguresBefore(keeper, some, anew, changes);
    if (!last) await keeper.put(changes);
    else await end(keeper, changes, place, gone);
  }
  if (place && !records.length) await end(keeper, new Map(), place, gone);
}

async function end(keeper: Keeper, changes: Map<string, Rec | null>, place: Place, gone: readonly Rec[]): Promise<void> {
  for (const rec of keeper.all()) if (rec.acked && !changes.has(rec.id)) changes.set(rec.id, told(rec));
  for (const { id } of gone) {
    const rec = changes.has(id) ? changes.get(id) : keeper.get(id);
    if (rec) changes.set(id, lost(rec));
  }
  onFigures(keeper, new Set(gone.filter(isTool).map(({ id }) => id)), changes);
  const was = keeper.place();
  if (changes.size || !same(place, was)) await keeper.put(changes, place);
}

/** It is another shop: it has nothing of what is here, and nothing goes into it unasked. */
async function forget(keeper: Keeper): Promise<void> {
  const changes = new Map<string, Rec | null>();
  for (const rec of keeper.all()) {
    const now = rec.agreed.revision > 0 ? lost(rec) : rec;
    changes.set(rec.id, now && { ...now, go: undefined, ...(ofShop(rec) ? { job: '' } : {}) });
  }
  onFigures(keeper, new Set([...keeper.all()].filter((rec) => isTool(rec) && rec.agreed.revision > 0).map(({ id }) => id)), changes);
  await keeper.put(changes, { number: 0, mark: '', shop: '' });
}

/** What waits, by job, in parts that a server takes. A job that was never in the shop goes in where the shop has none
 * yet, or a person said so. */
export function* toOffer(keeper: Keeper): Generator<[string, string[]]> {
  const any = jobsThere(keeper);
  const place = keeper.place();
  const { shop } = place;
  const order = Object.keys(KINDS);
  const jobs = new Map<string, Rec[]>();
  for (const rec of keeper.all()) {
    if (!waits(rec) || staysHere(rec, place) || rests(rec, (id) => keeper.get(id))) continue;
    const head = ofShop(rec) ? undefined : keeper.get(rec.job);
    const may = ofShop(rec) ? !!shop : head && (head.agreed.revision > 0 || ((!head.refusal || waits(head)) && (head.go || !any)));
    const job = ofShop(rec) ? shop : rec.job;
    if (!may) continue;
    const others = jobs.get(job);
    if (others) others.push(rec);
    else jobs.set(job, [rec]);
  }
  for (const [job, records] of jobs) {
    records.sort((a, b) => order.indexOf(a.kind) - order.indexOf(b.kind) || a.made - b.made || (a.id < b.id ? -1 : 1));
    let part: string[] = [];
    let size = 0;
    for (const rec of records) {
      const weighs = bytes.encode(JSON.stringify(offered(rec))).length + 1;
      if (part.length && (size + weighs > MOST_BYTES || part.length >= MOST_RECORDS)) {
        yield [job, part];
        [part, size] = [[], 0];
      }
      part.push(rec.id);
      size += weighs;
    }
    yield [job, part];
  }
}

async function push(keeper: Keeper, server: RecordsServer, job: string, ids: readonly string[]): Promise<No | null> {
  const out = new Map<string, Rec>();
  for (const id of ids) {
    const rec = keeper.get(id);
    if (rec && waits(rec)) out.set(id, isAsked(rec) ? rec : going(rec)); // as it is now: it may have been written on since
  }
  if (!out.size) return null;
  await keeper.put(out);
  const records: Offered[] = [...out.values()].map(offered);
  const reply = await server.offer(job, records);
  if (!reply.ok) return reply.why === 'unfit' ? pushApart(keeper, server, job, [...out.keys()], reply) : reply;
  await keeper.put(outcomes(keeper, job, reply.answer.answers));
  return null;
}

/** The server cannot read the offer: half of it at a time, until what it cannot read is alone, and refused. */
async function pushApart(keeper: Keeper, server: RecordsServer, job: string, ids: readonly string[], no: No): Promise<No | null> {
  if (ids.length > 1) {
    const half = Math.ceil(ids.length / 2);
    return (await push(keeper, server, job, ids.slice(0, half))) ?? push(keeper, server, job, ids.slice(half));
  }
  const [id] = ids as [string];
  const refused: Answered = { kind: '', id, outcome: 'refused', revision: 0, digest: '', stands: null, yours: null, message: no.words, hint: '' };
  await keeper.put(outcomes(keeper, job, [refused]));
  return null;
}

/** What was offered, as it is after these answers. What was refused for want of its job, which was refused itself, waits
 * for that one to be mended. */
function outcomes(keeper: Keeper, job: string, answers: readonly Answered[]): Map<string, Rec | null> {
  const changes = new Map<string, Rec | null>();
  const { number } = keeper.place();
  for (const answer of answers) {
    const rec = keeper.get(answer.id);
    if (rec?.sent) changes.set(answer.id, answered(ofShop(rec) ? { ...rec, job } : rec, answer));
    else if (rec?.doubt) changes.set(answer.id, assured(rec, answer));
    const now = changes.get(answer.id);
    if (now?.acked && answer.stands && answer.stands.change <= number) changes.set(answer.id, { ...now, acked: undefined }); // told already
  }
  const head = changes.get(job) ?? keeper.get(job);
  if (head?.refusal && head.agreed.revision === 0) {
    for (const [id, rec] of changes) if (rec?.refusal && id !== job) changes.set(id, { ...rec, refusal: undefined });
  }
  return changes;
}
