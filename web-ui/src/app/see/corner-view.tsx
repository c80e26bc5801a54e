/** The run in the room as the engine draws it from a corner, to be turned to the four corners: the same picture in every browser. */
import { useEffect, useState } from 'preact/hooks';
import type { CornerAnswer, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { surveyed } from '../kept/job-file';
import type { KeptRun } from '../kept/state';
import { TroubleNotice } from '../parts/parts';
import { SvgImage } from '../parts/svg-image';

type Corner = 0 | 1 | 2 | 3;

export function CornerView({ run, waiting }: { run: KeptRun; waiting: boolean }) {
  const [corner, setCorner] = useState<Corner>(0);
  const [answer, setAnswer] = useState<CornerAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  useEffect(() => {
    let gone = false;
    void ask('corner', { ...surveyed(run), corner }).then((reply) => {
      if (gone) return;
      setAnswer(reply.ok ? reply.answer : null);
      setError(reply.ok ? null : reply.error);
    });
    return () => {
      gone = true;
    };
  }, [run, corner]);
  return (
    <>
      {error && <TroubleNotice error={error} />}
      {answer ? <SvgImage svg={answer.svg} label={`${run.survey.run.name}, ${answer.caption}`} kind="corner-picture" /> : !error && <div class="corner-picture" />}
      <p class="quiet small room-words" role="status">
        {waiting || !answer ? t.see.roomLoading : t.bend.sentence(answer.caption)}
        {answer && answer.left_over.length > 0 && ` ${answer.left_over.join('. ')}.`}
      </p>
      <div class="room-keys" role="group" aria-label={t.see.standAt}>
        <TurnKeys onTurn={(way) => setCorner(((corner + 4 + way) % 4) as Corner)} />
      </div>
    </>
  );
}

/** -1: to the left. */
export function TurnKeys({ onTurn }: { onTurn: (way: 1 | -1) => void }) {
  return (
    <>
      <button type="button" class="chip" onClick={() => onTurn(-1)} aria-label={t.see.turnLeft}>
        ⟲
      </button>
      <button type="button" class="chip" onClick={() => onTurn(1)} aria-label={t.see.turnRight}>
        ⟳
      </button>
    </>
  );
}
