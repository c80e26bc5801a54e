/** What was changed of a job, as the shop last told it, and what stood before each change: taken back by a next version of each
 * record, network or none. And what was written here and is not in the shop yet. */
import { jobLog } from '../../engine/records';
import { t } from '../../text/words';
import type { Before, Entry, JobLog, Logged } from '../../engine/types';
import { changedHere } from './act';
import { differences, nameOf } from './differ';
import { staysHere } from './exchange';
import { listOf } from './job-file';
import { allRecs, getRec, keeper, local, nextMade, put, putLocal, recsOf } from './kept';
import { fresh, NEVER, runOfEntry, textIn, written, type Data, type Rec } from './record';
import { copyTold, timesOf, type Bench } from './view';

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

/** What it takes back of what another device said of runs, under whatever name: whose, and when. */
export function saidElsewhere({ before }: Logged): { by: string; at: string }[] {
  const recs = before.flatMap(({ kind, id }) => (kind === 'entry' ? (getRec(id) ?? []) : [])).filter((rec) => rec.data && !rec.mine);
  const said = recs.map(({ data, agreed }) => ({ by: textIn(data, 'by') || agreed.by, at: textIn(data, 'at') || agreed.at }));
  return said.filter(({ by, at }, i) => said.findIndex((one) => one.by === by && one.at === at) === i);
}

/** What taking it back does to each record: what it says now, and what it says then (null: it is not there). */
export const whatBack = ({ before }: Logged): { kind: string; now: Data | null; after: Data | null }[] =>
  before.map(({ kind, id, data }) => ({ kind, now: getRec(id)?.data ?? null, after: (data ?? null) as Data | null }));

/** The same of one record, in lines: what it says now and then; that it goes, or comes back. */
export function inLines({ kind, now, after }: ReturnType<typeof whatBack>[number]): string[] {
  const name = (data: Data): string => (kind === 'entry' ? entryCalled(data as unknown as Entry) : nameOf(fresh(kind, '', '', data, 0)));
  const changes = now && after ? differences(kind, now, after).map(({ field, here, there }) => t.settings.becomes(name(now), field, here || t.share.nothing, there || t.share.nothing)) : [];
  const whole = now && !after ? [t.settings.goes(name(now))] : after && !now ? [t.settings.comes(name(after))] : [];
  const begun = kind === 'run' && now && isBegun(now['id'] as string) ? [t.settings.begun(name(now))] : [];
  return [...changes, ...whole, ...begun];
}

/** Bends of it were ticked off. */
const isBegun = (run: string): boolean => recsOf(run, 'entry').some(({ data }) => (data as unknown as Entry | null)?.what.kind === 'made');

/** An entry by its run, what it says, and by whom it was made. */
function entryCalled(entry: Entry): string {
  const { run, piece, what, by } = entry;
  const of = getRec(run);
  const said =
    what.kind === 'status' ? t.settings.says.status(t.status[what.status])
    : what.kind === 'made' ? what.anew ? t.settings.says.anew : [...(what.steps ?? []).map(({ kind, number }) => t.together.step[kind](number ?? 0)), ...what.bends.map(({ number }) => t.settings.says.bend(number))].join(', ')
    : t.settings.says[what.kind];
  return t.settings.entry(of ? nameOf(of) : t.job.noName, said, piece ?? 0, copyTold(entry, timesOf(of?.data ?? of?.was ?? {})) ?? 0, by ?? '');
}

export function takeBackChange(change: Logged): void {
  if (!canTakeBack(change)) return;
  const changes = new Map<string, Rec | null>();
  for (const { kind, id, job, revision, digest, data } of change.before) {
    const then = (data ?? null) as Data | null;
    const rec = getRec(id) ?? { ...fresh(kind, id, job, then ?? {}, nextMade()), data: null, open: false, agreed: { ...NEVER, revision, digest } };
    changes.set(id, written(rec, then));
  }
  const runs = [...changes.values()].flatMap((rec) => (rec?.kind === 'entry' ? runOfEntry(rec) : []));
  void put(changes, Object.assign({}, ...runs.map(changedHere)) as Record<string, Bench>);
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
