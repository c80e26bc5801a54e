/** What was changed of a job, as the shop last told it, and what stood before each change: taken back by a next version of each
 * record, network or none. And what was written here and is not in the shop yet. */
import { jobLog } from '../../engine/records';
import type { Before, JobLog, Logged } from '../../engine/types';
import { staysHere } from './exchange';
import { listOf } from './job-file';
import { allRecs, getRec, keeper, local, nextMade, put, putLocal } from './kept';
import { fresh, NEVER, written, type Data, type Rec } from './record';

interface Heard {
  log: JobLog;
  /** When it was told. */
  at: string;
}

const place = (job: string): string => `log:${job}`;

/** As it was last told; null: never. */
export const heardLog = (job: string): Heard | null => (local.get(place(job)) as Heard | undefined) ?? null;

/** Ask the shop anew; what was told stays where nothing is heard. */
export async function hearLog(job: string): Promise<void> {
  const reply = await jobLog(job);
  if (reply.ok) await putLocal(place(job), { log: reply.answer, at: new Date().toISOString() } satisfies Heard);
}

/** The record is here as the change left it, and nothing else was written on it since. */
function isAsLeft({ id, revision, digest, gone }: Before): boolean {
  const rec = getRec(id);
  if (!rec) return gone;
  return !rec.open && !rec.clash && rec.agreed.revision === revision && rec.agreed.digest === digest;
}

export const canTakeBack = ({ before }: Logged): boolean => before.length > 0 && before.every(isAsLeft);

/** What taking it back does to each record: what it says now, and what it says then (null: it is not there). */
export const whatBack = ({ before }: Logged): { kind: string; now: Data | null; after: Data | null }[] =>
  before.map(({ kind, id, data }) => ({ kind, now: getRec(id)?.data ?? null, after: (data ?? null) as Data | null }));

export function takeBackChange(change: Logged): void {
  if (!canTakeBack(change)) return;
  const changes = new Map<string, Rec | null>();
  for (const { kind, id, job, revision, digest, data } of change.before) {
    const then = (data ?? null) as Data | null;
    const rec = getRec(id) ?? { ...fresh(kind, id, job, then ?? {}, nextMade()), data: null, open: false, agreed: { ...NEVER, revision, digest } };
    changes.set(id, written(rec, then));
  }
  void put(changes);
}

/** What of this job, and of what it goes by, was written here and waits to go into the shop; entries are told with their runs. */
export function waitingHere(job: string): Rec[] {
  const at = keeper.place();
  const lists = [listOf(job), listOf(at.shop)];
  const isOf = (rec: Rec): boolean => (rec.kind === 'prices' ? lists.includes(rec.id) : rec.kind === 'person' || (rec.job === job && rec.kind !== 'entry'));
  return [...allRecs()].filter((rec) => rec.open && !rec.sent && !rec.clash && rec.agreed.revision > 0 && !staysHere(rec, at) && isOf(rec)).sort((a, b) => b.made - a.made);
}

/** It says again what was last agreed with the shop. */
export function leaveAsAgreed({ id }: Rec): void {
  const rec = getRec(id);
  if (rec) void put(new Map([[id, written(rec, rec.agreed.data)]]));
}
