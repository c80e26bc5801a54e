/** How many of a run are made alike. */
import { useId, useState } from 'preact/hooks';
import { MOST_COPIES } from '../../engine/types';
import { t } from '../../text/words';
import { setTimes } from '../kept/act';
import { countedAgain } from '../kept/copies';
import { state, type KeptRun, type Status } from '../kept/state';
import { took } from './undo';

export function Alike({ run }: { run: KeptRun }) {
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const [again, setAgain] = useState('');
  const times = Number(typed ?? run.times);
  const wrong = !Number.isInteger(times) || times < 1 || times > MOST_COPIES;
  const set = (to: number): void => {
    setTyped(null);
    setAgain(wordsOf(countedAgain(run, to)));
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
        {wrong ? t.together.howManyWrong(MOST_COPIES) : again}
      </p>
    </div>
  );
}

/** 'Copies 3 to 4: bent, copy 5: measured' and what that means; '' for none. */
function wordsOf(again: ReturnType<typeof countedAgain>): string {
  const spans: { from: number; to: number; status: Status }[] = [];
  for (const [copy, { status }] of again) {
    const last = spans.at(-1);
    if (last?.to === copy - 1 && last.status === status) last.to = copy;
    else spans.push({ from: copy, to: copy, status });
  }
  return spans.length ? t.together.again(spans.map(({ from, to, status }) => `${t.together.copiesGone(from, to)}: ${t.status[status].toLowerCase()}`)) : '';
}

/** As many as there were, and as far as they were. */
function bringBack(was: KeptRun): void {
  const now = state.runs.find((run) => run.id === was.id);
  if (now) setTimes(now, was.times, true);
}
