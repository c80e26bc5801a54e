/** A job as one file: every run's survey and status. What comes in is checked by the engine before it is taken. */
import type { PageRun, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from './ask';
import type { KeptRun } from './state';
import type { Survey } from './survey';

const FORMAT = 'racewright job 1';
const MOST_CHARS = 2_000_000;

export function jobFile(runs: readonly KeptRun[]): string {
  const plain = runs.map(({ survey, status, changed }) => ({ survey, status, changed }));
  return JSON.stringify({ format: FORMAT, runs: plain }, null, 1);
}

export type ReadRun = Pick<KeptRun, 'survey' | 'status'>;

/** The runs of a file, or in words why it cannot be taken. A single survey file in JSON is taken as well. */
export async function readJob(text: string): Promise<ReadRun[] | string> {
  if (text.length > MOST_CHARS) return t.file.tooBig;
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch {
    return t.file.noJson;
  }
  const job = (data ?? {}) as { runs?: unknown };
  const out: ReadRun[] = [];
  // one run a question: a long job is more than one question may hold
  for (const part of Array.isArray(job.runs) && job.runs.length ? job.runs.map((run: unknown) => ({ ...job, runs: [run] })) : [job]) {
    const reply = await ask('read_job', { job: part });
    if (!reply.ok) return inWords(reply.error);
    out.push(...reply.answer.runs.map(asKept));
  }
  return out;
}

/** A run as another phone has put it on the server; null where it cannot be read. */
export async function readRun(survey: unknown, status: unknown): Promise<ReadRun | null> {
  const reply = await ask('read_job', { job: { format: FORMAT, runs: [{ survey, status }] } });
  const run = reply.ok ? reply.answer.runs[0] : undefined;
  return run ? asKept(run) : null;
}

/** The engine has made every reading text. */
export const asKept = ({ survey, status }: PageRun): ReadRun => ({ survey: { racewright: 1, units: 'in', ...survey } as Survey, status });

const inWords = ({ message, hint }: Trouble): string => (hint ? `${message} ${hint}` : message);
