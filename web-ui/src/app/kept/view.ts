/** What the screens show of the records: runs with their status, their notes, and where each is kept. */
import { MOST_COPIES, NOT_BENT, STATUSES, STEPS, type BendMade, type Entry, type JobHead, type JobRun, type Made, type Plan, type Status, type StepMade, type ToolPin } from '../../engine/types';
import { textIn, type Data, type Rec } from './record';
import type { Survey } from './survey';

export type { Status };
/** 'here': on this device, not yet in the shop; 'choose': two versions; 'refused': the shop does not take it. */
export type Where = 'here' | 'shop' | 'choose' | 'refused';

/** Where this device's bench is, good for one plan only: `of` is its digest; of runs alike for one `copy`. `begun`: a step was
 * ticked off here; `at`: the step at hand. `knew`: the entries of other devices on this piece that the person here has seen, and
 * went on; `bent`: that which says that it is bent, where that person says so too; `since`: the entry by which the piece before it
 * was set back. `steps`: what an earlier page ticked off for this device alone, till it is on record (`bringBench`). `ticks`: the
 * steps of the plan that were on record when it was shown last, by name (`tickName`). */
export interface Bench {
  of: string;
  begun: boolean;
  at: number;
  steps?: readonly number[];
  copy?: number;
  knew?: readonly string[];
  bent?: string;
  since?: string;
  stood?: Stood;
  ticks?: readonly string[];
}

/** What a tick says is done: a bend, or a step before the rest, by these marks. */
export interface Deed {
  piece: number;
  number: number;
  bend?: BendMade;
  step?: StepMade;
  by: string;
}

/** What stood on Bend last, of a piece that is begun: by which marks, which ticks in words (by their entries), the step with its
 * figures, and what its tick would have said. `deeds`: what these ticks say is done, by their entries. */
export interface Stood {
  copy?: number;
  piece: number;
  by: string;
  ticks: Readonly<Record<string, string>>;
  deeds?: Readonly<Record<string, readonly string[]>>;
  words: string;
  deed: Deed | null;
}
export const NO_BENCH: Bench = { of: '', begun: false, at: 0 };

/** As it is kept on this device, by this page or an earlier one. */
export const benchIn = (kept: unknown): Bench => {
  const bench = (kept as Bench | undefined) ?? NO_BENCH;
  return bench.begun === undefined ? { ...bench, begun: !!bench.steps?.length } : bench;
};

/** What was made of a piece, as far as marks reckon with it: without steps of its plan; null: nothing of it was. As `for_marks` of
 * records/entry.py. */
export function forMarks(what: Made): Made | null {
  const steps = what.steps?.filter(({ kind }) => STEPS[kind].of === 'marks');
  if (!steps || steps.length === what.steps!.length) return what;
  return what.bends.length || steps.length ? { ...what, steps } : null;
}

export interface KeptRun {
  id: string;
  job: string;
  /** What lists, labels and pieces call it. */
  key: string;
  readonly survey: Survey;
  /** The tool that it is put on, and as it stood then. */
  tool: ToolPin | null;
  /** So many are made alike, each a copy with a number, from 1. */
  times: number;
  /** How far all of them are, and each of them. */
  status: Status;
  statuses: readonly Status[];
  done: Bench;
  where: Where;
  /** Why the shop does not take it, or ''. */
  refusal: string;
  /** The shop has it, as this or another revision. */
  there: boolean;
  /** The shop's revision that says what is shown here; 0: none does yet. */
  revision: number;
  /** What was seen and done on it, oldest first. */
  entries: SeenEntry[];
}
/** `mine`: written on this device. `by`, `at`: who says so and when, else who brought it into the shop, and when. */
export interface SeenEntry {
  entry: Entry;
  mine: boolean;
  open: boolean;
  by: string;
  at: string;
}

/** By the plan's own marks (`Made.by_marks`). */
export const BY_PLAN = 'plan';

/** New marks were kept, bends made by them, the angle of a bend is told, or a piece was measured: of its own plan's card too it may say
 * that it does not hold, or that two readings cannot both be right. */
export const saysOfMarks = ({ what }: Entry): boolean =>
  what.kind === 'made'
    ? !!what.anew || !!forMarks(what)?.steps?.length || what.bends.some(({ by_marks: by, angle_rad: angle }) => angle != null || (by && by !== BY_PLAN))
    : what.kind === 'readings';

export interface JobRow {
  id: string;
  name: string;
  /** In the shop, or on its way there. */
  there: boolean;
}

/** A written value with every reading as text; the same object where it is so already. Null is left out. */
function asText(value: unknown): unknown {
  if (typeof value === 'number') return String(value);
  if (value === null || typeof value !== 'object') return value;
  if (Array.isArray(value)) {
    const list = value.map(asText);
    return list.every((inner, i) => inner === value[i]) ? value : list;
  }
  const fields = Object.entries(value);
  const told = fields.filter(([, inner]) => inner !== null && inner !== undefined).map(([key, inner]) => [key, asText(inner)] as const);
  return told.length === fields.length && told.every(([, inner], i) => inner === fields[i]![1]) ? value : Object.fromEntries(told);
}

const surveys = new WeakMap<object, Survey>();

/** A run's survey as the page writes one: the same object as long as the record says the same. */
export function surveyOf(data: unknown): Survey {
  const written = (data as JobRun).survey as object;
  let survey = surveys.get(written);
  if (!survey) {
    const { run } = written as JobRun['survey'];
    const text = asText(run);
    const whole = 'racewright' in written && 'units' in written && text === run;
    survey = (whole ? written : { racewright: 1, units: 'in', ...written, run: text }) as Survey;
    surveys.set(written, survey);
  }
  return survey;
}

/** In the order of the shop file; what is not in it yet comes after, in the order of its writing. */
export function inOrder(entries: readonly Rec[]): Rec[] {
  return entries
    .filter((rec) => rec.data !== null)
    .sort((a, b) => (a.order || Infinity) - (b.order || Infinity) || a.made - b.made || (a.id < b.id ? -1 : 1) || 0);
}

function seenOf(rec: Rec): SeenEntry {
  const entry = entryIn(rec);
  return { entry, mine: rec.mine, open: rec.open, by: entry.by || rec.agreed.by, at: entry.at || rec.agreed.at };
}

export const entryIn = (rec: Rec): Entry => rec.data as unknown as Entry;

/** Whether an entry sets the status of a run that stood so. One that pins marks came of work by them, and lowers none: it may come
 * late, from a phone without network. What sets a run back pins none, or is 'measured', which no work makes. As `sets` of records/entry.py. */
export const sets = ({ what, pins }: Entry, stood: Status): boolean => what.kind === 'status' && (!pins?.marks || what.status === 'measured' || isFurther(what.status, stood));

/** Whether a run that stood so comes further by this status. */
export const isFurther = (status: Status, stood: Status): boolean => STATUSES.indexOf(status) > STATUSES.indexOf(stood);

/** A status, and the entry that gave it; undefined: nobody said. */
export interface SetBy {
  status: Status;
  from?: SeenEntry;
}
const NOBODY: SetBy = { status: 'measured' };

const after = (stood: SetBy, one: SeenEntry): SetBy => (one.entry.what.kind === 'status' && sets(one.entry, stood.status) ? { status: one.entry.what.status, from: one } : stood);

/** That of one piece, by all that is said here. */
export const setByAll = (entries: readonly SeenEntry[]): SetBy => entries.reduce(after, NOBODY);

const leastOf = (statuses: readonly Status[]): Status => STATUSES.find((status) => statuses.includes(status)) ?? 'measured';
export const isBent = (status: Status): boolean => !NOT_BENT.includes(status);

/** That of each of so many alike, by what is said of it and of all. */
export function setBy(entries: readonly SeenEntry[], times: number): SetBy[] {
  const found = Array.from({ length: times }, () => NOBODY);
  for (const one of entries) {
    const { copy } = one.entry;
    if (one.entry.what.kind === 'status') for (let at = copy ? copy - 1 : 0; at < Math.min(copy || times, times); at += 1) found[at] = after(found[at]!, one);
  }
  return found;
}

export const statusesOf = (entries: readonly SeenEntry[], times: number): Status[] => setBy(entries, times).map(({ status }) => status);

const WORK: readonly Entry['what']['kind'][] = ['made', 'readings', 'corrected'];
export const isWork = ({ what }: Entry): boolean => WORK.includes(what.kind);

/** On which of runs alike it was seen and done; undefined: on all of them. Work that names none was done while there was one, and
 * that is the first. As `copy_of` of records/entry.py. */
export const copyOf = (entry: Entry): number | undefined => entry.copy ?? (isWork(entry) ? 1 : undefined);

/** What one tap or command writes is of one moment, give or take (ms). */
const AT_ONCE = 2000;
const momentOf = (at = ''): number => (/(Z|[+-]\d\d:\d\d)$/.test(at) ? Date.parse(at) : NaN);

/** The entries of a run, oldest first, each of the copy that it is of: a status that names none, and that somebody said at once with work on
 * the same revision, by the same marks, that names none, came of that, and is of the first. As `as_read` of records/entry.py. */
function asRead(entries: readonly SeenEntry[]): SeenEntry[] {
  const worked = new Map<string, number>();
  return entries.map((one) => {
    const { copy, what, pins, by, at } = one.entry;
    if (copy || !pins?.marks) return one;
    const said = `${pins.run ?? 0} ${pins.marks} ${by ?? ''}`;
    const moment = momentOf(at);
    if (isWork(one.entry) && !Number.isNaN(moment)) worked.set(said, moment);
    const isOfIt = what.kind === 'status' && Math.abs(moment - (worked.get(said) ?? NaN)) <= AT_ONCE;
    return isOfIt ? { ...one, entry: { ...one.entry, copy: 1 } } : one;
  });
}

/** The copy that words name; undefined: none. Where one is wanted the first is the run itself. As `said_line` of cards/entry_words.py. */
export const copyTold = (entry: Entry, times: number): number | undefined => {
  const copy = copyOf(entry);
  return times === 1 && copy === 1 ? undefined : copy;
};

/** What was seen and done on each of so many alike and on all, since it was last set back from bent: what is made after that
 * is another piece. As `by_copy` of records/entry.py. */
export function byCopy(entries: readonly SeenEntry[], times: number): SeenEntry[][] {
  const found = Array.from({ length: times }, (): SeenEntry[] => []);
  const stood = Array<Status>(times).fill('measured');
  for (const one of entries) {
    const [copy, { what }] = [copyOf(one.entry), one.entry];
    for (let at = copy ? copy - 1 : 0; at < Math.min(copy || times, times); at += 1) {
      if (what.kind === 'status' && sets(one.entry, stood[at]!)) {
        if (isBent(stood[at]!) && !isBent(what.status)) found[at] = [];
        stood[at] = what.status;
      }
      found[at]!.push(one);
    }
  }
  return found;
}

/** The entry by which a copy was set back from bent last, '' where none was: steps done before it are those of another piece. */
export function setBackOf(entries: readonly SeenEntry[], copy = 1): string {
  const first = byCopy(entries, copy)[copy - 1]![0];
  return first && first !== entries.find(({ entry }) => (copyOf(entry) ?? copy) === copy) ? first.entry.id! : '';
}

/** Surveys, as they are kept, of which the engine has said that readings are still to be taken. */
const unfinished = new WeakSet();

/** A run with this survey is not planned, whatever was said of it. */
export const noteOpen = (data: Data): void => void unfinished.add((data as unknown as JobRun).survey);

/** How many have each status, the furthest first. */
export function counted(statuses: readonly Status[]): { status: Status; count: number }[] {
  return [...STATUSES].reverse().map((status) => ({ status, count: statuses.filter((one) => one === status).length })).filter((one) => one.count > 0);
}

/** The copies that are marked or bent: then their run stays on the tool that it was begun with. */
export const copiesBegun = ({ entries, times, statuses }: Pick<KeptRun, 'entries' | 'times' | 'statuses'>): number[] =>
  byCopy(entries, times).flatMap((of, at) => (isBent(statuses[at]!) || of.some(({ entry }) => isWork(entry)) ? at + 1 : []));

/** Whether it is marked or bent, in any of its copies, or begun at this bench. */
export const isBegun = (run: KeptRun): boolean => run.done.begun || copiesBegun(run).length > 0;

/** How many there are alike, by what is kept of a run. */
export const timesOf = (data: unknown): number => {
  const times = (data as JobRun).times ?? 1;
  return Number.isInteger(times) && times >= 1 && times <= MOST_COPIES ? times : 1;
};

function whereIs(rec: Rec, entries: readonly Rec[]): Where {
  if (rec.clash) return 'choose';
  if (rec.refusal || entries.some((entry) => entry.refusal)) return 'refused';
  return rec.open || entries.some((entry) => entry.open) ? 'here' : 'shop';
}

/** Whether new marks want more of a bent copy bent, by what is recorded of it: as Bend works it out. */
let isReopened: (entries: readonly SeenEntry[]) => boolean = () => false;
export const judgeReopened = (judge: typeof isReopened): void => {
  isReopened = judge;
};

export function runOf(rec: Rec, entries: readonly Rec[], done: Bench): KeptRun {
  const seen = asRead(inOrder(entries).map(seenOf));
  const times = timesOf(rec.data);
  const copies = byCopy(seen, times);
  const said = statusesOf(seen, times).map((status, i) => (status === 'bent' && isReopened(copies[i]!) ? 'planned' : status));
  const statuses = unfinished.has((rec.data as unknown as JobRun).survey) ? said.map((status) => (status === 'planned' ? 'measured' : status)) : said;
  return {
    id: rec.id,
    job: rec.job,
    key: textIn(rec.data, 'key'),
    get survey() {
      return surveyOf(rec.data); // of many runs only those that are looked at are made text
    },
    tool: (rec.data as unknown as JobRun).tool ?? null,
    times,
    status: leastOf(statuses),
    statuses,
    done: done === NO_BENCH || (done.since ?? '') === setBackOf(seen, done.copy) ? done : { ...NO_BENCH, ...(done.copy ? { copy: done.copy } : {}) },
    where: whereIs(rec, entries),
    refusal: rec.refusal?.words ?? entries.find((entry) => entry.refusal)?.refusal?.words ?? '',
    there: rec.agreed.revision > 0,
    revision: rec.open || rec.clash || rec.doubt ? 0 : rec.agreed.revision,
    entries: seen,
  };
}

export const headOf = (rec: Rec): JobHead => rec.data as unknown as JobHead;

export function jobRows(heads: readonly Rec[]): JobRow[] {
  return heads
    .filter((rec) => rec.data !== null)
    .sort((a, b) => a.made - b.made)
    .map((rec) => ({ id: rec.id, name: headOf(rec).name, there: rec.agreed.revision > 0 || !!rec.go }));
}

/** What is said of bends that a piece of a plan with so many does not have is left out: as `of_bends` of records/bends_left.py. */
function ofItsBends(seen: SeenEntry, marks: string, counts: readonly number[]): SeenEntry[] {
  const { what, pins, piece } = seen.entry;
  const count = counts[(piece || 1) - 1];
  if (what.kind !== 'made' || pins?.marks !== marks || count === undefined) return [seen];
  const bends = what.bends.filter(({ number }) => number <= count);
  const says = (now: Entry['what']): SeenEntry => ({ ...seen, entry: { ...seen.entry, what: now } });
  if (!bends.length && (what.anew || !what.steps?.length)) return what.note ? [says({ kind: 'note', note: what.note })] : [];
  return [bends.length === what.bends.length ? seen : says({ ...what, bends })];
}

/** The run as its present plan reads it: what pins the digest that this plan had before is its own, and of its pieces it has the bends
 * that these have (records/of_plan.py). The same object where nothing changes. */
export function ofPlan(run: KeptRun, { digest, digest_before: before, pieces }: Pick<Plan, 'digest' | 'digest_before'> & { pieces: readonly { bends: readonly unknown[] }[] }): KeptRun {
  const isBefore = (marks: string | undefined): boolean => !!before && marks === before;
  const named = (seen: SeenEntry): SeenEntry => (isBefore(seen.entry.pins?.marks) ? { ...seen, entry: { ...seen.entry, pins: { ...seen.entry.pins, marks: digest } } } : seen);
  const counts = pieces.map(({ bends }) => bends.length);
  const entries = run.entries.flatMap((seen) => ofItsBends(named(seen), digest, counts));
  const done = isBefore(run.done.of) ? { ...run.done, of: digest } : run.done;
  const isSame = done === run.done && entries.length === run.entries.length && entries.every((seen, i) => seen === run.entries[i]);
  return isSame ? run : { ...run, done, entries };
}
