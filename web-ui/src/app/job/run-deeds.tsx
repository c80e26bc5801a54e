/** What can be done with a run in the office: say how far it is, note something, go to it, print it, take it out. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { removeRun, setStatus } from '../kept/act';
import type { KeptRun, Status } from '../kept/state';
import { Icon } from '../parts/icons';
import { Pick } from '../parts/parts';
import type { Sheet } from './print';
import { RunNotes } from './run-notes';

/** `ready`: it has a plan to print. */
export function RunDeeds({ run, ready, onPrint }: { run: KeptRun; ready: boolean; onPrint: (sheet: Sheet) => void }) {
  const [sure, setSure] = useState(false);
  return (
    <>
      <Pick
        label={run.times > 1 ? t.job.statusOfAll(run.times) : t.job.status}
        value={run.status}
        options={Object.entries(t.status).map(([value, label]) => ({ value, label }))}
        onPick={(v) => setStatus(run, v as Status)}
      />
      <RunNotes run={run} />
      <div class="two">
        <a class="wide-button" href="#/measure">
          {t.places.measure}
        </a>
        <a class="wide-button" href="#/bend">
          {t.places.bend}
        </a>
        <button type="button" class="wide-button" disabled={!ready} onClick={() => onPrint('card')}>
          <Icon name="print" />
          {t.print.card}
        </button>
        <button type="button" class="wide-button" disabled={!ready} onClick={() => onPrint('bench')}>
          <Icon name="print" />
          {t.print.bench}
        </button>
        <button type="button" class="wide-button" disabled={!ready} onClick={() => onPrint('strip')}>
          <Icon name="print" />
          {t.print.strip}
        </button>
      </div>
      {sure ? (
        <div class="two">
          <button type="button" class="wide-button danger" onClick={() => removeRun(run.id)}>
            {run.revision ? t.job.reallyRemoveThere : t.job.reallyRemove}
          </button>
          <button type="button" class="wide-button" onClick={() => setSure(false)}>
            {t.job.keepIt}
          </button>
        </div>
      ) : (
        <button type="button" class="quiet-button" onClick={() => setSure(true)}>
          <Icon name="bin" />
          {t.job.remove}
        </button>
      )}
    </>
  );
}
