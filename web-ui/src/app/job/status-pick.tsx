/** How far a run is, set by hand; of runs alike it is asked of which copies. */
import { useState } from 'preact/hooks';
import { STATUSES } from '../../engine/types';
import { t } from '../../text/words';
import { setStatus } from '../kept/act';
import { begunElsewhere, copiesIn } from '../kept/copies';
import { say, state, type KeptRun, type Status } from '../kept/state';
import { isBent } from '../kept/view';
import { Notice, Pick, TextField } from '../parts/parts';
import { shortly } from '../parts/when';

export function StatusPick({ run }: { run: KeptRun }) {
  const [wanted, setWanted] = useState<Status | null>(null);
  /** What is asked about before it is set, as another bench has begun it. */
  const [doubt, setDoubt] = useState<{ of?: readonly number[] } | null>(null);
  const leave = (): void => {
    setWanted(null);
    setDoubt(null);
  };
  const set = (status: Status, of?: readonly number[], sure = false): void => {
    if (!sure && isBent(status) && begunElsewhere(run, of).length) {
      setWanted(status);
      return setDoubt(of ? { of } : {});
    }
    setStatus(run, status, of);
    leave();
  };
  const pick = (status: Status): void => {
    leave();
    if (status === 'planned' && state.planned.state === 'gaps') return say(t.see.gaps);
    if (run.times > 1) setWanted(status);
    else set(status);
  };
  const options = STATUSES.map((value) => ({ value, label: t.status[value] }));
  return (
    <>
      <Pick label={t.job.status} value={wanted ?? run.status} options={options} onPick={(status) => pick(status as Status)} />
      {wanted && !doubt && <WhichCopies run={run} status={wanted} onSet={(of) => set(wanted, of)} onLeave={leave} />}
      {wanted && doubt && (
        <div role="alert">
          <Notice kind="caution" title={t.together.begunElsewhere}>
            {begunElsewhere(run, doubt.of).map(({ copy, by, at }) => (
              <p key={copy ?? 0}>{t.together.begunBy(copy, by, shortly(Date.parse(at)))}</p>
            ))}
            <button type="button" class="wide-button" onClick={leave}>
              {t.together.leaveIt}
            </button>
            <button type="button" class="wide-button" onClick={() => set(wanted, doubt.of, true)}>
              {t.together.setAnyway(t.status[wanted])}
            </button>
          </Notice>
        </div>
      )}
    </>
  );
}

interface Which {
  run: KeptRun;
  status: Status;
  onSet: (of?: readonly number[]) => void;
  onLeave: () => void;
}

function WhichCopies({ run, status, onSet, onLeave }: Which) {
  const [words, setWords] = useState('');
  const copies = copiesIn(words, run.times);
  return (
    <div class="which-copies">
      <TextField label={t.together.whichCopies(t.status[status])} value={words} help={t.together.whichHelp(run.times)} onText={setWords} {...(words.trim() && !copies ? { wrong: t.together.whichHelp(run.times) } : {})} />
      <div class="two">
        <button type="button" class="wide-button" disabled={!copies} onClick={() => copies && onSet(copies)}>
          {t.together.theseCopies}
        </button>
        <button type="button" class="wide-button" onClick={() => onSet()}>
          {t.together.allCopies(run.times)}
        </button>
      </div>
      <button type="button" class="quiet-button" onClick={onLeave}>
        {t.together.leaveIt}
      </button>
    </div>
  );
}
