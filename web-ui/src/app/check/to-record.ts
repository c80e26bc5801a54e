/** The question by which what was measured on a finished piece becomes entries of its run. */
import type { JobRecordRequest } from '../../engine/types';
import { runData } from '../kept/job-file';
import { getRec } from '../kept/kept';
import { type KeptRun } from '../kept/state';

export type Reading = NonNullable<JobRecordRequest['measured']>[number];

/** With all that is kept of the run: without its tool it is another plan, to which a reading cannot be held; without its
 * entries it is not bent yet, and would be called so anew. Null where the run is not here any longer. */
export function toRecord(run: KeptRun, piece: number, copy: number | undefined, measured: Reading[], plan: string): JobRecordRequest | null {
  if (!getRec(run.id)?.data) return null;
  return { job: runData(run), run: run.id, revision: run.revision, piece, copies: copy ? [copy] : [], measured, plan };
}
