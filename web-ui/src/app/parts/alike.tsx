/** How many of a run are made alike. */
import { useId, useState } from 'preact/hooks';
import { MOST_COPIES } from '../../engine/types';
import { t } from '../../text/words';
import { setTimes } from '../kept/act';
import { state, type KeptRun } from '../kept/state';
import { took } from './undo';

export function Alike({ run }: { run: KeptRun }) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const times = Number(typed ?? run.times);
  const wrong = !Number.isInteger(times) || times < 1 || times > MOST_COPIES;
  const set = (to: number): void => {
    setTyped(null);
    if (to < run.times) took(t.together.copiesGone(to + 1, run.times), () => bringBack(run));
    setTimes(run, to);
  };
  return (
    <div class="field alike">
      <label for={id}>{t.together.howMany}</label>
      <div class="stepper">
        <button type="button" class="small-button" aria-label={t.together.fewer} disabled={run.times <= 1} onClick={() => set(run.times - 1)}>
          −
        </button>
        <input
          id={id}
          type="text"
          inputMode="numeric"
          autocomplete="off"
          maxLength={4}
          value={typed ?? String(run.times)}
          aria-invalid={wrong ? 'true' : undefined}
          aria-describedby={`${id}h`}
          onInput={(e) => setTyped(e.currentTarget.value)}
          onChange={() => !wrong && set(times)}
        />
        <button type="button" class="small-button" aria-label={t.together.more} disabled={run.times >= MOST_COPIES} onClick={() => set(run.times + 1)}>
          +
        </button>
      </div>
      <p id={`${id}h`} class={wrong ? 'wrong' : 'help'}>
        {wrong ? t.together.howManyWrong(MOST_COPIES) : ''}
      </p>
    </div>
  );
}

/** As many as there were, and as far as they were. */
function bringBack(was: KeptRun): void {
  const now = state.runs.find((run) => run.id === was.id);
  if (now) setTimes(now, was.times, true);
}
