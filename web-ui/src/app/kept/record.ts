/** A record as it is kept here, beside what the shop file is known to say of it: what becomes of it when it is written
 * here, heard from the shop, offered and answered. Nothing is read or written here (only the clock is asked, and a stamp drawn); null: it is not kept here any longer. */
import type { Answered, Changed, Offered } from '../../engine/records';
import { KINDS, RECORDS_FORMAT, type BenderRecord, type ToolPin } from '../../engine/types';
import { merged, same } from './merge';

export { same } from './merge';

export type Data = Readonly<Record<string, unknown>>;
/** A revision of a record: what it says (null: removed), by whom and when. Revision 0: the shop never had it. */
interface Version {
  revision: number;
  digest: string;
  data: Data | null;
  by: string;
  at: string;
}

export interface Rec {
  id: string;
  kind: string;
  /** The id of its job; of what is of the whole shop that of the shop, '' until it is known. */
  job: string;
  /** What it says here; null: removed here. */
  data: Data | null;
  /** As last agreed with the shop. */
  agreed: Version;
  /** It says something here that is not agreed yet. */
  open: boolean;
  /** Went out, and no answer came: the shop may have it all the same. */
  sent?: { data: Data | null };
  /** Saved by its answer, or told in a part of what changed, and not among all that changed up to a known number yet: a
   * file that is brought back to before that may have lost it. */
  acked?: boolean;
  /** A newer version in the shop, while another was written here; with `clash` a person has to choose. */
  there?: Version;
  clash?: boolean;
  /** Why the shop does not take it: offered again when it says something else, an hour after `at` (ms), and as `retried` says. */
  refusal?: { outcome: 'refused' | 'newer' | 'later'; words: string; at: number };
  /** The shop's file was brought back from a backup, and says `there` under a higher number: whether what was agreed here
   * stands in its history is still to be asked. Where it does not, the two are rivals. */
  doubt?: boolean;
  /** Taken over from what the page kept before, as it was last agreed then: the shop's version goes before it. */
  soft?: boolean;
  /** Of a job's head: it was said that this job goes into the shop. */
  go?: boolean;
  /** Its place in the order of the shop file, the same on all devices; 0: none yet. Then `made`, the order of writing on this device. */
  order: number;
  made: number;
  /** Written on this device. */
  mine: boolean;
  /** Of a tool: what it was at the revisions before, which runs may be planned on; so it is kept when it is removed. */
  past?: Readonly<Record<number, Data>>;
  /** Of a run that was removed, or new marks: what it said before, so that it can be brought back in its place. */
  was?: Data;
  /** Of a tool: by whom and when each revision was written. */
  wrote?: Readonly<Record<number, Pick<Version, 'by' | 'at'>>>;
  /** Another one with every writing, so that two tabs of one browser see each other's. */
  stamp: number;
}

/** What is of the whole shop; the rest is each of a job. */
export const ofShop = ({ kind }: Pick<Rec, 'kind'>): boolean => KINDS[kind]?.ofShop ?? false;
/** What runs stay on as it was at a revision, so that all that it was is kept. */
export const isPinned = ({ kind }: Pick<Rec, 'kind'>): boolean => KINDS[kind]?.pinned ?? false;

export const NEVER: Version = { revision: 0, digest: '', data: null, by: '', at: '' };
const stamped = (rec: Rec): Rec => ({ ...rec, stamp: Math.random() });

/** One of its fields that is text; '' without it. */
export function textIn(data: Data | null | undefined, field: string): string {
  const value = data?.[field];
  return typeof value === 'string' ? value : '';
}

/** A new record, written here. */
export function fresh(kind: string, id: string, job: string, data: Data, made: number): Rec {
  return stamped({ id, kind, job, data, agreed: NEVER, open: true, order: 0, made, mine: true, stamp: 0 });
}

/** What runs may be on as it was, and a run that may be brought back, are not thrown away. */
const isHeld = (rec: Rec): boolean => (isPinned(rec) && rec.agreed.revision > 0) || !!rec.was;

/** A run, or an entry of new marks: what comes back where it was. */
const comesBack = (kind: string, said: Data | null | undefined): boolean => kind === 'run' || !!(said?.['what'] as Record<string, unknown> | undefined)?.['anew'];

/** What it says from now on; what comes back keeps what it said. */
function saying(rec: Rec, data: Data | null): Rec {
  const before = rec.data ?? rec.was;
  return { ...rec, data, was: !data && before && comesBack(rec.kind, before) ? before : undefined };
}

/** The run that an entry is of. */
export const runOfEntry = ({ data, agreed, was }: Rec): string => textIn(data ?? agreed.data ?? was, 'run');

/** It was written here; `data` null: removed. */
export function written(rec: Rec, data: Data | null): Rec | null {
  return opened({ ...saying(rec, data), refusal: undefined, soft: undefined });
}

function opened(rec: Rec): Rec | null {
  const { data, agreed, sent, there, clash } = rec;
  if (data === null && agreed.data === null && !sent && !there && !rec.acked && !isHeld(rec)) return null; // gone here and there
  const open = !!sent || (data === null ? agreed.data !== null || !!there : !same(data, agreed.data));
  if (!open && there && !clash && !rec.doubt) return agree(rec, there); // what was written here was taken back
  return stamped({ ...rec, open });
}

const versionOf = ({ revision, digest, data, by, at }: Changed): Version => ({ revision, digest, data: (data ?? null) as Data | null, by, at });

function agree(rec: Rec, version: Version): Rec | null {
  const data = same(rec.data, version.data) && rec.data ? rec.data : version.data; // what is shown stays the same object
  const now = saying(rec, data);
  if (data === null && !isPinned(rec) && !now.was) return null;
  return stamped({ ...now, agreed: version, open: false, there: undefined, clash: undefined, doubt: undefined, refusal: undefined, soft: undefined, sent: undefined, acked: undefined });
}

/** The shop says this of the record. `anew`: all of the file was told, as it was brought back from a backup. */
export function heard(rec: Rec | undefined, told: Changed, made: number, anew = false): Rec | null {
  const version = versionOf(told);
  if (!rec) {
    const was = saidLast(told);
    if (version.data === null && !isPinned(told) && !was) return null;
    const { id, kind, job, came } = told;
    return stamped({ id, kind, job, data: version.data, was, agreed: version, ...pastOf(told), open: false, order: came, made, mine: false, stamp: 0 });
  }
  const own = rec.agreed.revision === told.revision && rec.agreed.digest === told.digest && !rec.agreed.at; // saved from here: now by whom, and when
  const agreed = own ? { ...rec.agreed, by: told.by, at: told.at } : rec.agreed;
  const placed: Rec = { ...rec, agreed, job: told.job || rec.job, order: told.came, ...pastOf(told), acked: undefined };
  const known = rec.clash && rec.there?.revision ? rec.there : rec.agreed;
  if (!anew && told.revision === known.revision && isRetold(told.digest, known.digest)) return rec.open || rec.clash ? opened(placed) : agree(placed, version); // what was written here goes out as made from the version as it was told then
  if (anew || (told.revision === known.revision && told.digest !== known.digest)) return heardAnew({ ...placed, there: undefined, clash: undefined, doubt: undefined }, version);
  if (rec.acked && !rec.clash && told.revision > known.revision) return heardAnew({ ...placed, there: undefined }, version); // whether from there on is not known
  if (told.revision < known.revision) return rec; // asked before the last answer came
  if (told.revision === known.revision) return !own && placed.job === rec.job && placed.order === rec.order && !rec.acked ? rec : opened(placed);
  if (rec.there && told.revision <= rec.there.revision) return rec;
  if (rec.soft) return softly(placed, version);
  if (!rec.open && !rec.clash && !rec.doubt) {
    const [now, was] = [agree(placed, version), saidLast(told)];
    return now && was ? { ...now, was } : now; // it may have said more since it was heard of here
  }
  if (!rec.sent && same(rec.data, version.data)) return agree(placed, version);
  return (rec.sent ? null : together(placed, version)) ?? stamped({ ...placed, there: version });
}

/** Both stand for one version, which is told with the prices of its sticks or without (store/told_to.py). */
const isRetold = (one: string, other: string): boolean => one !== other && one.split('.')[0] === other.split('.')[0];

/** What was written here, on top of what stands in the shop now; null where both changed the same, or more is in question. */
function together(rec: Rec, version: Version): Rec | null {
  const base = rec.agreed.data;
  const data = base && rec.data && version.data && !rec.clash && !rec.doubt && merged(rec.kind, base, rec.data, version.data);
  return data ? opened({ ...rec, data, agreed: version, there: undefined, refusal: undefined }) : null;
}

/** It can be brought back. */
export const isRemoved = ({ data, was, clash }: Rec): boolean => data === null && !!was && !clash;

/** Of a run that was removed, what it said last. */
const saidLast = ({ kind, data, past }: Changed): Data | undefined => (kind === 'run' && !data ? (past?.at(-1)?.data as Data | undefined) : undefined);

/** What was taken over is as the shop has it; a run stays on the own shoe that it was shown for. */
function softly(rec: Rec, version: Version): Rec | null {
  const [now, tool] = [agree(rec, version), toolIn(rec.data)];
  if (!now?.data || !tool) return now;
  const data = { ...now.data, tool };
  return toolIn(now.data) ? clashing({ ...rec, data }, version) : written(now, data);
}

/** Of a file that was brought back from a backup: what was agreed may stand there no longer. */
function heardAnew(rec: Rec, version: Version): Rec | null {
  if (version.digest === rec.agreed.digest) return opened({ ...rec, agreed: { ...version, data: rec.agreed.data } });
  if (rec.soft) return softly(rec, version);
  if (!rec.sent && same(rec.data, version.data)) return agree(rec, version);
  if (rec.data === null && !rec.open) return agree(rec, version);
  if (version.revision > rec.agreed.revision) return opened({ ...rec, there: version, doubt: rec.agreed.data !== null || undefined });
  return rec.kind === 'entry' ? agree(rec, version) : clashing(rec, version);
}

/** All that a tool was before, as the shop tells it. */
function pastOf(one: Changed): Pick<Rec, 'past' | 'wrote'> {
  if (!isPinned(one)) return {};
  const told = one.past ?? [];
  return { past: Object.fromEntries(told.map(({ revision, data }) => [revision, data as Data])), wrote: Object.fromEntries(told.map(({ revision, by, at }) => [revision, { by, at }])) };
}

/** A tool as it was at a revision; 0: as it is written here. Null where that is not here. */
export function atRevision(rec: Rec | undefined, revision: number): Data | null {
  if (!rec) return null;
  const { agreed, there, past } = rec;
  if (revision === 0) return rec.data;
  return [agreed, there].find((one) => one?.revision === revision)?.data ?? past?.[revision] ?? null;
}

/** All that a tool was, newest first; under 0 what is written here and not in the shop yet. */
export function revisionsOf({ data, open, agreed, past = {}, wrote = {} }: Rec): (Omit<Version, 'digest' | 'data'> & { data: Data })[] {
  const out = Object.entries(past).map(([n, one]) => ({ revision: Number(n), data: one, by: wrote[Number(n)]?.by ?? '', at: wrote[Number(n)]?.at ?? '' }));
  if (agreed.data && !(agreed.revision in past)) out.push({ revision: agreed.revision, data: agreed.data, by: agreed.by, at: agreed.at });
  out.sort((a, b) => b.revision - a.revision);
  return open && data ? [{ revision: 0, data, by: '', at: '' }, ...out] : out;
}

/** The same, told in a part of what changed: `now` is what it becomes by that. */
export function inPart(rec: Rec | undefined, now: Rec | null, told: Changed): Rec | null {
  if (now) return now.acked ? now : stamped({ ...now, acked: true });
  return rec ? stamped({ ...saying(rec, null), agreed: versionOf(told), open: false, there: undefined, clash: undefined, doubt: undefined, sent: undefined, acked: true }) : null;
}

/** All that changed has been told. */
export const told = (rec: Rec): Rec | null => (rec.acked ? opened({ ...rec, acked: undefined }) : rec);

/** The shop does not have it any longer: its file was brought back from a backup, or is another one. */
export function lost(rec: Rec): Rec | null {
  if (rec.data === null && !rec.was) return null;
  return stamped({ ...rec, agreed: NEVER, open: rec.data !== null, sent: undefined, there: undefined, clash: undefined, doubt: undefined, acked: undefined, order: 0, go: rec.go || rec.agreed.revision > 0 });
}

/** So long after a refusal it is offered again; the shop's room for a day comes back by the hour. */
const AGAIN_MS = 3_600_000;
const rested = ({ refusal }: Rec): boolean => !refusal || Math.abs(Date.now() - refusal.at) >= AGAIN_MS;

/** The tool that a run is put on. Its revision is 0 as long as what is written of the tool here has none in the shop. */
export const toolIn = (data: Data | null): ToolPin | undefined => (data?.['tool'] as ToolPin | undefined) ?? undefined;

/** The run on its tool's revision, once that has one; null before. */
export function onRevision(run: Rec, tool: Rec | undefined): Rec | null {
  if (!run.data || !tool?.agreed.data || tool.open) return null;
  return written(run, { ...run.data, tool: { id: tool.id, revision: tool.agreed.revision } satisfies ToolPin });
}

/** Whether it is to be offered: a run after its tool. What went out without an answer goes out again first, as it was. */
export const waits = (rec: Rec): boolean => rested(rec) && ((rec.open && !rec.clash && (!!rec.sent || toolIn(rec.data)?.revision !== 0)) || isAsked(rec));

/** The page was opened, or the device paired, anew: what the shop did not take may go in by now. It lets this device do more,
 * knows more, or has room for it under its new name. */
export const retried = (rec: Rec): Rec => (rec.refusal ? stamped({ ...rec, refusal: undefined }) : rec);

/** Nothing was written here, and it is only asked whether what was agreed stands in the shop's history. */
export const isAsked = (rec: Rec): boolean => !!rec.doubt && !rec.open && !rec.clash;

/** An entry of a run that was taken out before the shop ever had it: it comes along when the run is brought back. */
export function rests({ kind, data, agreed, sent }: Rec, get: (id: string) => Rec | undefined): boolean {
  const run = kind === 'entry' && agreed.revision === 0 && !sent ? get(textIn(data, 'run')) : undefined;
  return !!run && run.data === null && run.agreed.revision === 0 && !run.sent;
}

/** What goes out. A question is what was agreed, offered once more as it was saved: where it stands as that revision it
 * is answered as saved, else it is kept by the shop as refused. */
export function offered(rec: Rec): Offered {
  const { revision, digest, data } = rec.agreed;
  if (isAsked(rec)) return { kind: rec.kind, id: rec.id, base: revision - 1, base_digest: '', data, format: RECORDS_FORMAT };
  return { kind: rec.kind, id: rec.id, base: revision, base_digest: digest, data: rec.sent ? rec.sent.data : rec.data, format: RECORDS_FORMAT };
}

/** It goes out: noted before it does, as the answer may be lost. */
export const going = (rec: Rec): Rec => (rec.sent ? rec : stamped({ ...rec, sent: { data: rec.data } }));

/** What became of it. */
export function answered(rec: Rec, answer: Answered): Rec | null {
  const went = rec.sent ? rec.sent.data : rec.data;
  const back: Rec = { ...rec, sent: undefined };
  if (answer.outcome === 'saved') {
    const was = rec.agreed;
    if (isPinned(rec) && was.data && was.revision !== answer.revision) {
      back.past = { ...rec.past, [was.revision]: was.data };
      back.wrote = { ...rec.wrote, [was.revision]: { by: was.by, at: was.at } };
    }
    if (answer.revision === 0) return opened({ ...back, agreed: NEVER, there: undefined }); // nothing of it stands there
    const agreed: Version = { revision: answer.revision, digest: answer.digest, data: went, by: '', at: '' };
    const now = opened({ ...back, agreed, there: undefined, doubt: undefined, soft: undefined, refusal: undefined, acked: true });
    return answer.stands ? heldUntilTold(heard(now ? { ...now, acked: undefined } : undefined, answer.stands, rec.made)) : now;
  }
  if (answer.outcome === 'stale') return rival(back, answer);
  return notTaken(back, answer.outcome, answer);
}

const notTaken = (rec: Rec, outcome: NonNullable<Rec['refusal']>['outcome'], { message, hint }: Answered): Rec =>
  stamped({ ...rec, refusal: { outcome, words: [message, hint && `${hint.charAt(0).toUpperCase()}${hint.slice(1)}.`].filter(Boolean).join(' '), at: Date.now() } });

const heldUntilTold = (rec: Rec | null): Rec | null => rec && { ...rec, acked: true };

/** Another revision stands. */
function rival(rec: Rec, { stands }: Answered): Rec | null {
  if (!stands) return lost(rec);
  const [version, now] = [versionOf(stands), { ...rec, ...pastOf(stands) }];
  return heldUntilTold(rec.kind === 'entry' || same(rec.data, version.data) ? agree(now, version) : (together(now, version) ?? clashing(now, version)));
}

/** Whether what was agreed stands in the shop's history has been asked. */
export function assured(rec: Rec, answer: Answered): Rec | null {
  if (!rec.doubt) return rec;
  if (answer.outcome === 'later') return notTaken(rec, answer.outcome, answer);
  if (answer.outcome !== 'saved') return answer.outcome === 'stale' ? rival(rec, answer) : clashing(rec, rec.there!);
  const sure: Rec = { ...rec, agreed: { ...rec.agreed, revision: answer.revision, digest: answer.digest }, there: undefined, doubt: undefined, refusal: undefined, acked: undefined };
  return answer.stands ? heldUntilTold(heard(sure, answer.stands, rec.made)) : opened({ ...sure, acked: true });
}

const clashing = (rec: Rec, there: Version): Rec => stamped({ ...rec, open: true, clash: true, there, doubt: undefined, refusal: undefined, sent: undefined, soft: undefined });

/** A file says something else of it, and which of the two is newer cannot be known: `by` says which file. */
export const rivalFrom = (rec: Rec, data: Data, by: string): Rec => stamped({ ...rec, open: true, clash: true, there: { ...NEVER, data, by } });

/** A person has chosen. 'theirs': what stands in the shop; 'mine': what was written here becomes the next revision. */
export function settled(rec: Rec, choice: 'theirs' | 'mine'): Rec | null {
  if (!rec.clash || !rec.there) return rec;
  if (choice === 'theirs') return rec.there.revision === 0 ? written({ ...rec, clash: undefined, there: undefined }, rec.there.data) : agree(rec, rec.there);
  const agreed = rec.there.revision === 0 ? rec.agreed : rec.there;
  return opened({ ...rec, agreed, clash: undefined, there: undefined });
}

/** Two tabs of one browser wrote the same record at once: `stored` stands where `before` was expected, and this tab
 * has `mine`. What only one of them changed is taken; what both wrote differently is a clash like any other. */
export function met(before: Rec | undefined, mine: Rec | null, stored: Rec | undefined): Rec | null {
  if (!stored) return mine && mine.data === before?.data && !mine.open ? null : mine;
  if (!mine) return stored.data === null || same(stored.data, before?.data) ? null : stamped(stored);
  const newer = stored.agreed.revision > mine.agreed.revision ? stored : mine;
  const state: Rec = { ...newer, sent: mine.sent ?? stored.sent, was: mine.was ?? stored.was };
  const [wroteMine, wroteStored] = [!same(mine.data, before?.data), !same(stored.data, before?.data)];
  if (mine.clash || stored.clash) {
    const clash = mine.clash ? mine : stored;
    return stamped({ ...state, data: wroteMine ? mine.data : stored.data, open: true, clash: true, there: clash.there });
  }
  if (!wroteMine) return opened({ ...state, data: stored.data });
  if (!wroteStored || same(mine.data, stored.data)) return opened({ ...state, data: mine.data });
  if (!stored.open) return opened({ ...state, data: mine.data, agreed: mine.agreed, there: stored.agreed }); // the shop's came in the other tab
  return stamped({ ...state, data: mine.data, open: true, clash: true, there: { ...NEVER, data: stored.data } });
}

/** The figures of a tool's record; null where they are none that this page can read. */
export function profileIn(data: Data | null | undefined): BenderRecord | null {
  const profile = data?.['profile'];
  if (typeof profile !== 'object' || profile === null || Array.isArray(profile)) return null;
  const { raceway, size, ...figures } = profile as Record<string, unknown>;
  const readable = [raceway, size].every((one) => typeof one === 'string') && Object.values(figures).every((one) => one === null || ['string', 'number'].includes(typeof one));
  return readable ? (profile as BenderRecord) : null;
}
