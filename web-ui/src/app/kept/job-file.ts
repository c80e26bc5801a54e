/** A job as one file: given out as `racewright job import` takes it (docs/job.md). What comes in is read and checked by the
 * engine before it is taken; files that the page gave out before, and a survey alone, are read as well. */
import type { Job, JobHead, JobRun, PageRun, ToolAt, ToolPin, Trouble } from '../../engine/types';
import { JOB_FORMAT, KINDS, MOST_RUNS } from '../../engine/types';
import { t } from '../../text/words';
import { addRun } from './act';
import { ask } from './ask';
import { staysHere } from './exchange';
import { allRecs, getRec, keeper, nextMade, put, recsOf } from './kept';
import { calledAnew, freshId } from './make';
import { meet, noteFiled, type Meeting } from './file-meets';
import { fresh, ofShop, textIn, toolIn, written, type Data, type Rec } from './record';
import { idOf } from './sha256';
import { knownPin, numbered, toolAt } from './shoe';
import { chooseJob } from './state';
import { forEngine, type Survey } from './survey';
import { entryIn, headOf, inOrder, type KeptRun } from './view';

const MOST_CHARS = 2_000_000;
/** A question to the engine holds so much of a file at once. */
const MOST_PART = 150_000;

/** A job, or some of its runs, as a job file holds it, with the tools that they are on. */
export function jobData(id: string, runs: readonly Rec[], entries: readonly Rec[]): Job {
  const tools = new Map<string, ToolAt>();
  const told = runs.map(({ data }) => {
    const run = data as unknown as JobRun;
    if (!run.tool) return run;
    const [tool, at] = [numbered(run.tool), toolAt(run.tool)];
    if (at) tools.set(`${tool.id} ${tool.revision}`, { ...at, ...tool });
    return { ...run, tool };
  });
  return { racewright_job: JOB_FORMAT, id, head: headOf(getRec(id)!), runs: told, entries: entries.map(entryIn), ...(tools.size ? { tools: [...tools.values()] } : {}) };
}

/** A run for the engine: what it is planned from, its survey and where that names no sticks those of its job's head. */
export function surveyed(run: Pick<KeptRun, 'job' | 'survey'>, survey = run.survey): { survey: Survey; head?: JobHead } {
  const head = getRec(run.job)?.data;
  return { survey: forEngine(survey), ...(head ? { head: head as unknown as JobHead } : {}) };
}

/** A run with its record, as a job file holds it alone. */
export function runData(run: Pick<KeptRun, 'id' | 'job'>): Job {
  const recs = [getRec(run.id)!];
  return jobData(run.job, recs, entriesOf(recs));
}

/** The kinds that stand in a job file as they are kept, by their row alone; these others each have a way of their own. */
const OWN_WAY = ['job', 'run', 'entry', 'tool', 'prices'];
const plainKinds = () => Object.entries(KINDS).flatMap(([kind, row]) => (row && !OWN_WAY.includes(kind) ? [{ kind, ...row }] : []));
const plainOf = (job: string, kind: string): Rec[] => [...allRecs()].filter((rec) => rec.kind === kind && rec.data && (ofShop(rec) || rec.job === job));
const inFile = (job: Job, member: keyof Job): readonly Data[] => (job[member] ?? []) as unknown as readonly Data[];

/** What is on this device alone, as the shop neither tells it such records nor takes them from it. */
export const ownLists = (): Rec[] => [...allRecs()].filter((rec) => rec.open && rec.data && staysHere(rec, keeper.place()));

/** They are left out: of this device too. */
export const leaveOut = (lists: readonly Rec[]): void => void put(new Map(lists.map((rec) => [rec.id, written(rec, null)])));

/** In the order of the job, by which lists number kinds and go. */
export const runsOf = (job: string): Rec[] => inOrder(recsOf(job, 'run'));
export const entriesOf = (runs: readonly Rec[]): Rec[] => inOrder(runs.flatMap((run) => recsOf(run.id, 'entry')));

/** The record that holds the prices of a job or of the shop: `list_id` of records/prices.py. */
export const listOf = (of: string): string => idOf(`6:prices${of.length}:${of}`);

/** What things cost, as far as this device is told it: the job's own prices, else the shop's. */
export const pricesFor = (job: string): Data | undefined => [job, keeper.place().shop].map((of) => getRec(listOf(of))?.data).find((data) => !!data) ?? undefined;

/** What a price list says, as a job file holds it. */
export function withoutNames(list: Data | undefined): Data {
  const { id: _, of: __, ...prices } = list ?? {};
  return prices;
}

export function withPrices(job: Job): Job {
  const list = pricesFor(job.id ?? '');
  return list ? { ...job, prices: withoutNames(list) } : job;
}

/** What counts for every run of its job. */
const OF_A_JOB = Object.keys(KINDS).filter((kind) => !ofShop({ kind }) && kind !== 'run' && kind !== 'entry');

/** All that a job file with these of its runs rests on: the same objects as long as it says the same. */
export const basisOf = (job: string, runs: readonly Rec[]): readonly unknown[] => [
  ...OF_A_JOB.flatMap((kind) => recsOf(job, kind).map(({ data }) => data)),
  pricesFor(job),
  ...runs.flatMap(({ id, data }) => [data, getRec(toolIn(data)?.id ?? '')?.data, ...recsOf(id, 'entry').map((entry) => entry.data)]),
];
export const sameBasis = (a: readonly unknown[], b: readonly unknown[]): boolean => a.length === b.length && a.every((part, i) => part === b[i]);

export function jobFile(id: string): string {
  const runs = runsOf(id);
  const plain = plainKinds().map(({ kind, member }) => [member, plainOf(id, kind).map(({ data }) => data)] as const);
  noteFiled(id, [getRec(id)!, ...runs, ...entriesOf(runs)]);
  return JSON.stringify({ ...withPrices(jobData(id, runs, entriesOf(runs))), ...Object.fromEntries(plain.filter(([, all]) => all.length)) }, null, 1);
}

/** Take a file in. Gives how many runs came of it, or in words why it cannot be taken, or where its job is here what is to be
 * asked before. */
export async function takeFile(text: string): Promise<number | string | Meeting> {
  if (text.length > MOST_CHARS) return t.file.tooBig;
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    return t.file.noJson;
  }
  const file = (data ?? {}) as Record<string, unknown>;
  return 'racewright_job' in file ? takeJob(file) : takeRuns(file);
}

async function takeRuns(file: Record<string, unknown>): Promise<number | string> {
  const runs: PageRun[] = [];
  // one run a question: a long job is more than one question may hold
  const listed = file['runs'];
  for (const part of Array.isArray(listed) && listed.length ? listed.map((run: unknown) => ({ ...file, runs: [run] })) : [file]) {
    const reply = await ask('read_job', { job: part });
    if (!reply.ok) return inWords(reply.error);
    runs.push(...reply.answer.runs);
  }
  for (const run of runs) addRun(asKept(run), { status: run.status });
  return runs.length;
}

/** A job file becomes a job of this device, unless its job is here. */
async function takeJob(file: Record<string, unknown>): Promise<number | string | Meeting> {
  const jobs: Job[] = [];
  for (const part of partsOf(file)) {
    const reply = await ask('read_job', { job: part });
    if (!reply.ok) return inWords(reply.error);
    if (reply.answer.job) jobs.push(reply.answer.job);
  }
  const first = jobs[0];
  if (!first) return t.file.noJson;
  const [runs, entries] = [jobs.flatMap((job) => job.runs ?? []), jobs.flatMap((job) => job.entries ?? [])];
  const job: Job = { ...first, runs, entries };
  const given = [first.id, ...runs.map((run) => run.id), ...entries.map((entry) => entry.id)];
  const known = given.some((id) => id && getRec(id)) || new Set(given).size < given.length;
  const asOwn = (): number => putJob(job, known ? () => freshId() : (id) => id || freshId());
  return meet(job, asOwn, bringOthers, bringTools) ?? asOwn();
}

function putJob(job: Job, called: (id: string | undefined) => string): number {
  const id = called(job.id);
  const changes = new Map<string, Rec | null>();
  const add = (kind: string, one: string, of: string, data: Data): void => void changes.set(one, fresh(kind, one, of, data, nextMade()));
  add('job', id, id, job.head as unknown as Data);
  bringOthers(changes, job, id);
  const tool = bringTools(changes, job);
  const ids = new Map<string | undefined, string>();
  for (const run of job.runs ?? []) {
    const own = called(run.id);
    ids.set(run.id, own);
    add('run', own, id, { ...run, id: own, ...(run.tool ? { tool: tool(run.tool) } : {}) });
  }
  const entries = (job.entries ?? []).map((entry) => ({ entry, own: called(entry.id) }));
  const entryIds = new Map(entries.map(({ entry, own }) => [entry.id, own]));
  for (const { entry, own } of entries) {
    const what = calledAnew(entry.what, entryIds);
    add('entry', own, id, { ...entry, id: own, what, run: ids.get(entry.run) ?? entry.run, pins: { ...entry.pins, run: 0 } }); // revisions begin anew
  }
  noteFiled(id, [...changes.values()]);
  void put(changes);
  chooseJob(id);
  return ids.size;
}

/** The file's prices become the job's own, where it has none here; of the other kinds comes in what this device does not know:
 * what is of the shop by its name. */
export function bringOthers(changes: Map<string, Rec | null>, job: Job, of: string): void {
  const id = listOf(of);
  if (job.prices && Object.keys(job.prices).length && !getRec(id)) changes.set(id, fresh('prices', id, '', { ...job.prices, id, of }, nextMade()));
  for (const { kind, member, ofShop: shops } of plainKinds()) {
    const here = plainOf(of, kind);
    const names = new Set(here.map((rec) => textIn(rec.data, 'name').toLowerCase()));
    for (const one of inFile(job, member)) {
      if (shops ? names.has(textIn(one, 'name').toLowerCase()) : here.some((rec) => rec.id === textIn(one, 'id'))) continue;
      const given = textIn(one, 'id');
      const own = given && !getRec(given) ? given : freshId();
      changes.set(own, fresh(kind, own, shops ? '' : of, { ...one, id: own }, nextMade()));
    }
  }
}

/** What names a tool of the file here: the tool that is known here; else one of its own, of which it is the first. */
function bringTools(changes: Map<string, Rec | null>, job: Job): (pin: ToolPin) => ToolPin {
  const pins = new Map<string, ToolPin>();
  return (pin) => {
    const name = `${pin.id} ${pin.revision}`;
    const given = job.tools?.find((one) => one.id === pin.id && one.revision === pin.revision);
    const known = knownPin(pin, given) ?? pins.get(name);
    if (known || !given) return known ?? pin;
    const own = freshId();
    changes.set(own, fresh('tool', own, '', { id: own, name: given.name, profile: given.profile }, nextMade()));
    pins.set(name, { id: own, revision: 0 });
    return pins.get(name)!;
  };
}

/** The file in parts, each a job by itself: some of its runs, with their entries; the first has the rest. */
function* partsOf(file: Record<string, unknown>): Generator<Record<string, unknown>> {
  const runs = (Array.isArray(file['runs']) ? file['runs'] : []) as { id?: string }[];
  const entries = (Array.isArray(file['entries']) ? file['entries'] : []) as { run?: string }[];
  if (runs.length <= MOST_RUNS && JSON.stringify(file).length <= MOST_PART) {
    yield file;
    return;
  }
  const byRun = new Map<string | undefined, unknown[]>(runs.map((run) => [run.id, []]));
  for (const entry of entries) byRun.get(entry.run)?.push(entry);
  const own = (some: readonly { id?: string }[]): unknown[] => some.flatMap((run) => (run.id === undefined ? [] : byRun.get(run.id)!));
  const rest = { ...file };
  let part: { id?: string }[] = [];
  let size = 0;
  for (const run of runs) {
    const weighs = JSON.stringify(run).length + JSON.stringify(own([run])).length;
    if (part.length && (part.length >= MOST_RUNS || size + weighs > MOST_PART)) {
      yield { ...rest, runs: part, entries: own(part) };
      for (const { member } of plainKinds()) delete rest[member];
      [part, size] = [[], 0];
    }
    part.push(run);
    size += weighs;
  }
  const strays = entries.filter((entry) => entry.run === undefined || !byRun.has(entry.run)); // refused by the engine, in words
  yield { ...rest, runs: part, entries: [...own(part), ...strays] };
}

/** The engine has made every reading text. */
export const asKept = ({ survey }: Pick<PageRun, 'survey'>): Survey => ({ racewright: 1, units: 'in', ...survey }) as Survey;

const inWords = ({ message, hint }: Trouble): string => (hint ? `${message} ${hint}` : message);
