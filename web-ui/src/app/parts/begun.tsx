/** Before a change of a run that is begun: what of it is begun, and by whom, and then the choice. */
import { t } from '../../text/words';
import type { KeptRun } from '../kept/state';
import { copyOf, counted, isBent } from '../kept/view';
import { Notice } from './parts';

/** What is begun of a run, a line each: the steps at this bench, the bends that are made, what is bent or further. */
export function begunWords(run: KeptRun): string[] {
  const made = new Map<string, number>();
  const bends = new Set<string>(); // each once: it is bent on, and new marks are kept after it
  for (const { entry, by } of run.entries)
    for (const { number } of entry.what.kind === 'made' ? entry.what.bends : []) {
      const bend = `${copyOf(entry)} ${entry.piece ?? 1} ${number}`;
      if (!bends.has(bend)) made.set(by, (made.get(by) ?? 0) + 1);
      bends.add(bend);
    }
  return [
    ...(run.done.steps.length ? [t.begun.steps(run.done.steps.length, run.times > 1 ? run.done.copy : undefined)] : []),
    ...[...made].map(([by, count]) => t.begun.made(count, by)),
    ...counted(run.statuses).flatMap(({ status, count }) => (isBent(status) ? [run.times > 1 ? `${count} ${t.status[status]}` : t.status[status]] : [])),
    ...(run.entries.some(({ entry }) => entry.what.kind === 'readings' || entry.what.kind === 'corrected') ? [t.begun.measured] : []),
  ];
}

export function AskBegun({ run, after, sure, onSure, onLeave }: { run: KeptRun; after: string; sure: string; onSure: () => void; onLeave: () => void }) {
  return (
    <div role="alert">
      <Notice kind="caution" title={t.begun.title}>
        <ul>
          {begunWords(run).map((words) => (
            <li key={words}>{t.bend.sentence(words)}.</li>
          ))}
        </ul>
        <p>{after}</p>
        <button type="button" class="wide-button" onClick={onLeave}>
          {t.together.leaveIt}
        </button>
        <button type="button" class="wide-button" onClick={onSure}>
          {sure}
        </button>
      </Notice>
    </div>
  );
}
