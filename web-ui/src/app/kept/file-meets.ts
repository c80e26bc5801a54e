/** A job file whose job is here: what of it is new, what was known here before, and where both say something else, which a
 * person then chooses as between this device and the shop. */
import type { Job, JobRun, ToolPin } from '../../engine/types';
import { t } from '../../text/words';
import { saidOf } from './differ';
import { getRec, local, nextMade, put, putLocal } from './kept';
import { freshId } from './make';
import { fresh, ofShop, rivalFrom, textIn, toolIn, type Data, type Rec } from './record';
import { idOf } from './sha256';
import { knownPin, numbered } from './shoe';
import { chooseJob } from './state';

/** What would come of a file whose job is here, each a number of runs (`entries`: of what was seen and done). */
export interface Meeting {
  name: string;
  added: number;
  entries: number;
  /** It says something else here; `head`: so does the job itself. */
  differ: number;
  head: boolean;
  /** It was written on here since, or removed: the file has it as it was. */
  older: number;
  removed: number;
  /** Bring in what is new; gives how many runs came in or wait for a choice. */
  bringIn(): number;
  /** A second job, with ids of its own. */
  asOwn(): number;
}

/** What is known of a version of a run or of a job's head: by its tool as a file names it. */
const said = (kind: string, data: Data): string => {
  const tool = toolIn(data);
  return saidOf(kind, tool ? { ...data, tool: numbered(tool) } : data);
};
const mark = (id: string, words: string): string => idOf(`${id} ${words}`).slice(0, 12);
const markOf = ({ id, kind, data }: Rec): string => (kind === 'entry' ? id.slice(0, 12) : data ? mark(id, said(kind, data)) : '');

const MOST_MARKS = 30_000;
const filed = (job: string): string[] => (local.get(`filed:${job}`) as string[] | undefined) ?? [];

/** These went out in a file of this job, or came in by one: what such a file says of them is known here. */
export function noteFiled(job: string, recs: readonly (Rec | null)[]): void {
  const marks = new Set([...filed(job), ...recs.flatMap((rec) => (rec && !ofShop(rec) ? markOf(rec) : []))]);
  void putLocal(`filed:${job}`, [...marks].slice(-MOST_MARKS));
}

/** The job here that a file is of: by its id, else the one that has its runs. */
function jobHere({ id = '', runs = [] }: Job): string {
  const known = runs.map((run) => getRec(run.id ?? '')).find((rec) => rec?.kind === 'run');
  const of = getRec(id)?.kind === 'job' ? id : (known?.job ?? '');
  return getRec(of)?.data ? of : '';
}

type Changes = Map<string, Rec | null>;

/** What the file would bring to the job here; null where that is not here. */
export function meet(
  job: Job,
  asOwn: () => number,
  bringOthers: (changes: Changes, job: Job, of: string) => void,
  bringTools: (changes: Changes, job: Job) => (pin: ToolPin) => ToolPin,
): Meeting | null {
  const of = jobHere(job);
  if (!of) return null;
  const marks = new Set(filed(of));
  const known = (rec: Rec, words: string): boolean =>
    marks.has(mark(rec.id, words)) || [rec.agreed.data, rec.was].some((was) => was && said(rec.kind, was) === words);
  const runs = job.runs ?? [];
  const [added, differ, entries]: [JobRun[], JobRun[], NonNullable<Job['entries']>] = [[], [], []];
  let [older, removed] = [0, 0];
  for (const run of runs) {
    const rec = getRec(run.id ?? '');
    if (!rec) added.push(run);
    else {
      const words = said('run', here(run, job) as unknown as Data);
      if (rec.data && said('run', rec.data) === words) continue;
      if (!known(rec, words)) differ.push(run);
      else if (rec.data) older += 1;
      else removed += 1;
    }
  }
  for (const entry of job.entries ?? []) if (!entry.id || (!getRec(entry.id) && !marks.has(entry.id.slice(0, 12)))) entries.push(entry);
  const head = getRec(of)!;
  const headData = job.head as unknown as Data;
  const other = saidOf('job', head.data!) !== saidOf('job', headData) && !known(head, saidOf('job', headData));

  const bringIn = (): number => {
    const changes: Changes = new Map();
    const tool = bringTools(changes, job);
    const asHere = (run: JobRun, id: string): Data => ({ ...run, id, ...(run.tool ? { tool: tool(run.tool) } : {}) });
    for (const run of added) {
      const id = run.id || freshId();
      changes.set(id, fresh('run', id, of, asHere(run, id), nextMade()));
    }
    for (const run of differ) {
      const rec = getRec(run.id!);
      if (rec && !rec.clash) changes.set(rec.id, rivalFrom(rec, asHere(run, rec.id), t.meets.theFile));
    }
    for (const entry of entries) {
      const id = entry.id || freshId();
      changes.set(id, fresh('entry', id, getRec(entry.run)?.job ?? of, { ...entry, id, pins: { ...entry.pins, run: 0 } }, nextMade()));
    }
    if (other && !head.clash) changes.set(of, rivalFrom(head, headData, t.meets.theFile));
    bringOthers(changes, job, of);
    noteFiled(of, [...changes.values()].filter((rec) => !rec?.clash));
    void put(changes);
    chooseJob(of);
    return added.length + differ.length;
  };
  return { name: textIn(head.data, 'name'), added: added.length, entries: entries.length, differ: differ.length, head: other, older, removed, bringIn, asOwn };
}

/** A run of the file, on its tool as that is called here. */
function here(run: JobRun, { tools = [] }: Job): JobRun {
  if (!run.tool) return run;
  const { id, revision } = run.tool;
  return { ...run, tool: knownPin(run.tool, tools.find((one) => one.id === id && one.revision === revision)) ?? run.tool };
}
