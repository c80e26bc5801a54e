/** The lists of a whole job, asked for as its job file: by the engine at hand, or, where that is too much for one question of
 * a server, by an engine of the browser's own that works for this alone and can be stopped. */
import { WorkerEngine } from '../../engine/in_browser';
import type { Engine, Reply } from '../../engine/engine';
import { MOST_RUNS, type Job, type JobBillAnswer, type JobBatchAnswer, type JobCutAnswer, type JobKitsAnswer, type JobLabelsAnswer } from '../../engine/types';
import { ask as askHere } from '../kept/ask';
import { entriesOf, jobData, runsOf, withPrices } from '../kept/job-file';
import { getRec } from '../kept/kept';
import { textIn, type Rec } from '../kept/record';
import { headOf } from '../kept/view';

type Ask = Engine['ask'];
export type ListAnswer = JobBillAnswer | JobBatchAnswer | JobCutAnswer | JobKitsAnswer | JobLabelsAnswer;

/** As tables to be shown, or as a file; of a bill, a price that it is to tell of where nothing is called so (`item`). */
export type As = { as_tables: true; item?: string } | { as_files: ('csv' | 'xlsx')[] };

/** What is asked for each list; `area`: '' for all. */
const QUESTIONS = {
  job_bill: (ask: Ask, job: Job, _: string, as: As) => ask('job_bill', { job, ...as }),
  job_cut: (ask: Ask, job: Job, _: string, as: As) => ask('job_cut', { job, ...as }),
  job_batch: (ask: Ask, job: Job, area: string, as: As) => ask('job_batch', { job, area, ...as }),
  job_labels: (ask: Ask, job: Job, area: string, as: As) => ask('job_labels', { job, area, ...as }),
  job_kits: (ask: Ask, job: Job, area: string, as: As) => ask('job_kits', { job, area, ...as }),
} satisfies Record<string, (ask: Ask, job: Job, area: string, as: As) => Promise<Reply<ListAnswer>>>;

export type ListName = keyof typeof QUESTIONS;
export const LISTS = Object.keys(QUESTIONS) as ListName[];
/** These can be had of one area alone. */
export const BY_AREA: readonly ListName[] = ['job_batch', 'job_labels', 'job_kits'];

/** What a server takes in one question beside its runs, with room for what is no letter of ASCII. */
const MOST_BYTES = 240_000;

export interface Work {
  /** By an engine of its own: it may take long, and can be stopped. */
  own: boolean;
  reply: Promise<Reply<ListAnswer>>;
  stop: () => void;
}

/** The areas that runs are in, in the order of the bill. */
export function areasOf(id: string): string[] {
  const head = getRec(id);
  const listed = head?.data ? (headOf(head).areas ?? []).map((area) => area.name) : [];
  const used = new Set(runsOf(id).map((run) => textIn(run.data, 'area')));
  return [...new Set([...listed, ...used])].filter((area) => area && used.has(area));
}

/** The runs of the job, or of one area of it. */
export const runsIn = (id: string, area: string): Rec[] => runsOf(id).filter((run) => !area || textIn(run.data, 'area') === area);

/** The job as it is now, or the runs of one area. */
export function jobNow(id: string, area: string): Job {
  const runs = runsIn(id, area);
  return withPrices(jobData(id, runs, entriesOf(runs)));
}

/** Whether a server takes it in one question. */
export const fits = (job: Job): boolean => (job.runs ?? []).length <= MOST_RUNS && new TextEncoder().encode(JSON.stringify(job)).length <= MOST_BYTES;

export function begin(list: ListName, job: Job, area: string, as: As = { as_tables: true }): Work {
  if (fits(job)) return { own: false, reply: QUESTIONS[list](askHere, job, area, as), stop: () => undefined };
  const engine = new WorkerEngine();
  const ask: Ask = (operation, request) => engine.ask(operation, request);
  const reply = engine
    .start(() => undefined)
    .then((): Promise<Reply<ListAnswer>> => QUESTIONS[list](ask, job, area, as))
    .finally(() => engine.stop());
  return { own: true, reply, stop: () => engine.stop() };
}
