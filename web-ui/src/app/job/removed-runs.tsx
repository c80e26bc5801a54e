/** Runs that were removed from this job, by whom and when, each to be brought back. */
import { useMemo } from 'preact/hooks';
import { t } from '../../text/words';
import { bringBack } from '../kept/act';
import { recsOf } from '../kept/kept';
import type { Rec } from '../kept/record';
import { say, useApp } from '../kept/state';
import { surveyOf } from '../kept/view';
import { when } from '../parts/when';

/** So many are listed, the last removed first. */
const MOST = 30;

const isRemoved = ({ data, was, clash }: Rec): boolean => data === null && !!was && !clash;
/** What is not in the shop yet was removed here, just now. */
const removedAt = ({ open, agreed }: Rec): number => (open || !agreed.at ? Infinity : Date.parse(agreed.at) || 0);

export function RemovedRuns() {
  const { runs, job } = useApp();
  const removed = useMemo(() => recsOf(job, 'run').filter(isRemoved).sort((a, b) => removedAt(b) - removedAt(a) || b.made - a.made || 0), [runs, job]);
  if (!removed.length) return null;
  return (
    <details class="card removed">
      <summary>{t.together.removed(removed.length)}</summary>
      <p>{t.together.removedWords}</p>
      <ul>
        {removed.slice(0, MOST).map((rec) => (
          <Removed key={rec.id} rec={rec} name={surveyOf(rec.was).run.name || t.job.noName} />
        ))}
      </ul>
    </details>
  );
}

function Removed({ rec: { id, open, agreed }, name }: { rec: Rec; name: string }) {
  const back = (): void => {
    bringBack(id);
    say(t.together.isBack(name));
  };
  return (
    <li>
      <span>
        {name}
        <small class="quiet">{open || !agreed.at ? t.together.removedHere : t.together.removedBy(agreed.by, when(agreed.at))}</small>
      </span>
      <button type="button" class="small-button" aria-label={t.together.bringBackThis(name)} onClick={back}>
        {t.together.bringBack}
      </button>
    </li>
  );
}
