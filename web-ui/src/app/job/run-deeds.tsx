/** What can be done with a run in the office: say how far it is, note something, go to it, print it, take it out. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { bringBack, removeRun } from '../kept/act';
import type { KeptRun } from '../kept/state';
import { Icon } from '../parts/icons';
import { Alike } from '../parts/alike';
import { AskBegun, begunWords } from '../parts/begun';
import { took } from '../parts/undo';
import { toolHash } from '../tools/profile';
import type { Sheet } from './print';
import { RunNotes } from './run-notes';
import { StatusPick } from './status-pick';

/** `ready`: it has a plan to print. */
export function RunDeeds({ run, ready, onPrint }: { run: KeptRun; ready: boolean; onPrint: (sheet: Sheet) => void }) {
  const [sure, setSure] = useState(false);
  const remove = (): void => {
    took(run.survey.run.name || t.job.noName, () => bringBack(run.id));
    removeRun(run.id);
  };
  const removeWords = run.there ? t.job.reallyRemoveThere : t.job.reallyRemove;
  return (
    <>
      <StatusPick run={run} />
      <Alike run={run} />
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
      <a class="quiet-button" href={toolHash(run.tool?.id ?? '')}>
        {t.tools.link}
      </a>
      {sure && begunWords(run).length > 0 ? (
        <AskBegun run={run} after={t.begun.afterRemoval} sure={removeWords} onSure={remove} onLeave={() => setSure(false)} />
      ) : sure ? (
        <div class="two">
          <button type="button" class="wide-button danger" onClick={remove}>
            {removeWords}
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
