/** Runs that were removed from this job, by whom and when, each to be brought back. */
import { useMemo } from 'preact/hooks';
import { t } from '../../text/words';
import { bringBack } from '../kept/act';
import { recsOf } from '../kept/kept';
import { isRemoved, type Rec } from '../kept/record';
import { say, useApp } from '../kept/state';
import { surveyOf } from '../kept/view';
import { Notice } from '../parts/parts';
import { when } from '../parts/when';

/** So many are listed, the last removed first. */
const MOST = 30;

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
          <Removed key={rec.id} rec={rec} />
        ))}
      </ul>
    </details>
  );
}

export const nameBefore = ({ was }: Rec): string => surveyOf(was).run.name || t.job.noName;
const byWhom = ({ open, agreed }: Rec): string => (open || !agreed.at ? t.together.removedHere : t.together.removedBy(agreed.by, when(agreed.at)));

function back(rec: Rec): void {
  const name = nameBefore(rec);
  bringBack(rec.id);
  say(t.together.isBack(name));
}

function Removed({ rec }: { rec: Rec }) {
  return (
    <li>
      <span>
        {nameBefore(rec)}
        <small class="quiet">{byWhom(rec)}</small>
      </span>
      <button type="button" class="small-button" aria-label={t.together.bringBackThis(nameBefore(rec))} onClick={() => back(rec)}>
        {t.together.bringBack}
      </button>
    </li>
  );
}

/** In place of a screen of the run at hand, which was removed meanwhile. */
export function RemovedAtHand({ rec }: { rec: Rec }) {
  return (
    <div role="alert">
      <Notice kind="problem" title={t.together.goneTitle(nameBefore(rec))}>
        <p>
          {byWhom(rec)}. {t.together.goneWords}
        </p>
        <button type="button" class="wide-button strong" onClick={() => back(rec)}>
          {t.together.bringBack}
        </button>
        <a class="wide-button" href="#/job">
          {t.job.toJob}
        </a>
      </Notice>
    </div>
  );
}
