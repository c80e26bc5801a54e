/** Before a change of a run that is begun: what of it is begun, and by whom, and then the choice. */
import type { Made } from '../../engine/types';
import { t } from '../../text/words';
import type { KeptRun } from '../kept/state';
import { copyOf, counted, isBent } from '../kept/view';
import { Notice } from './parts';

/** How many bends, or other steps, each person has made of a run: each once, for a bend is bent on, and new marks are kept after it. */
function countBy(run: KeptRun, namesOf: (made: Made) => string[]): [string, number][] {
  const made = new Map<string, number>();
  const there = new Set<string>();
  for (const { entry, by } of run.entries)
    for (const name of entry.what.kind === 'made' ? namesOf(entry.what) : []) {
      const one = `${copyOf(entry)} ${entry.piece ?? 1} ${name}`;
      if (!there.has(one)) made.set(by, (made.get(by) ?? 0) + 1);
      there.add(one);
    }
  return [...made];
}

/** What is begun of a run, a line each: the bends that are made and the other steps, what is bent or further. */
export function begunWords(run: KeptRun): string[] {
  return [
    ...countBy(run, ({ bends }) => bends.map(({ number }) => String(number))).map(([by, count]) => t.begun.made(count, by)),
    ...countBy(run, ({ anew, steps }) => (anew ? [] : (steps ?? []).map(({ kind, number }) => `${kind} ${number}`))).map(([by, count]) => t.begun.steps(count, by)),
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
