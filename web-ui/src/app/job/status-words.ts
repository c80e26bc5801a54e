/** How far a run is, in words. */
import { t } from '../../text/words';
import type { KeptRun, Status } from '../kept/state';
import { counted } from '../kept/view';

const someWords = ({ status, count }: { status: Status; count: number }): string => `${count} ${t.status[status].toLowerCase()}`;

/** 'Bent', or of runs alike '14 of 20 bent, 6 planned'. */
export function statusWords({ statuses, times }: Pick<KeptRun, 'statuses' | 'times'>): string {
  const [first, ...rest] = counted(statuses);
  if (!first || !rest.length) return t.status[first?.status ?? 'measured'];
  return [t.job.some(first.count, times, t.status[first.status].toLowerCase()), ...rest.map(someWords)].join(', ');
}
