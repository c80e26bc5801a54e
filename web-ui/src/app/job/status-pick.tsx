/** How far a run is, set by hand; of runs alike it is asked of which copies. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { setStatus } from '../kept/act';
import { copiesIn } from '../kept/copies';
import type { KeptRun, Status } from '../kept/state';
import { Pick, TextField } from '../parts/parts';

export function StatusPick({ run }: { run: KeptRun }) {
  const [wanted, setWanted] = useState<Status | null>(null);
  const pick = (status: Status): void => {
    if (run.times > 1) setWanted(status);
    else setStatus(run, status);
  };
  const options = Object.entries(t.status).map(([value, label]) => ({ value, label }));
  return (
    <>
      <Pick label={t.job.status} value={wanted ?? run.status} options={options} onPick={(status) => pick(status as Status)} />
      {wanted && <WhichCopies run={run} status={wanted} onDone={() => setWanted(null)} />}
    </>
  );
}

function WhichCopies({ run, status, onDone }: { run: KeptRun; status: Status; onDone: () => void }) {
  const [words, setWords] = useState('');
  const copies = copiesIn(words, run.times);
  const set = (of?: readonly number[]): void => {
    setStatus(run, status, of);
    onDone();
  };
  return (
    <div class="which-copies">
      <TextField label={t.together.whichCopies(t.status[status])} value={words} help={t.together.whichHelp(run.times)} onText={setWords} {...(words.trim() && !copies ? { wrong: t.together.whichHelp(run.times) } : {})} />
      <div class="two">
        <button type="button" class="wide-button" disabled={!copies} onClick={() => copies && set(copies)}>
          {t.together.theseCopies}
        </button>
        <button type="button" class="wide-button" onClick={() => set()}>
          {t.together.allCopies(run.times)}
        </button>
      </div>
      <button type="button" class="quiet-button" onClick={onDone}>
        {t.together.leaveIt}
      </button>
    </div>
  );
}
