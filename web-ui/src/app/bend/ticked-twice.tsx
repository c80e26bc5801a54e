/** A bend that was ticked off by different marks, or what comes before the rest that was ticked off twice, where that is told: which tick is right. */
import { t } from '../../text/words';
import { takeTicksBack } from '../kept/act';
import { copyAtHand, ofCopy } from '../kept/copies';
import { type KeptRun } from '../kept/state';
import { Icon } from '../parts/icons';
import { Notice } from '../parts/parts';
import { shortly } from '../parts/when';
import { onTwice, stepsTwice, tickedTwice, type Ticks, type TickedTwice as Twice } from './anew';

const at = (moment: string): string => shortly(Date.parse(moment));
const ticksOf = ({ ticks }: Ticks): string => ticks.map((one) => t.together.who(one.by, at(one.at))).join(' and ');

function nameOf({ isPlan, kept }: Ticks, kind: Twice['kind']): string {
  const of = kind ? t.together.forMarks : t.together.byMark;
  if (isPlan) return t.together.planMark;
  return kept ? of.kept(kept.by, at(kept.at)) : of.gone;
}

const titleOf = ({ number, kind }: Twice): string => (kind ? t.together.stepTwice[kind](number) : t.together.twiceTitle(number));

/** All of a piece of the plan with these marks. */
export function twiceOf(run: KeptRun, piece: number, marks: string): Twice[] {
  const entries = ofCopy(run.entries, copyAtHand(run));
  return [...tickedTwice(entries, piece, marks), ...stepsTwice(entries, piece, marks), ...onTwice(entries, piece, marks)];
}

/** What a tick says that is right: by whom, and for which marks where not all are for the same. */
function rightOf({ kind, by }: Twice, of: Ticks): string {
  if (!kind) return t.together.isBentBy(nameOf(of, kind), ticksOf(of));
  return by.every((one) => one.kept === of.kept) ? t.together.isDoneBy(ticksOf(of)) : t.together.isDoneFor(nameOf(of, kind), ticksOf(of));
}

interface Props {
  run: KeptRun;
  piece: number;
  marks: string;
  onTaken: (taken: Taken) => void;
}

/** Ticks that were taken back: in words, and what gives them back again. */
export interface Taken {
  words: string;
  back: () => void;
}

/** Said in the step, where it covers nothing that a hand taps next. */
export const TakenBack = ({ taken: { words, back } }: { taken: Taken }) => (
  <Notice kind="info">
    <p role="status">{t.together.takenBack(words)}</p>
    <button type="button" class="quiet-button" onClick={back}>
      <Icon name="undo" />
      {t.undo.undo}
    </button>
  </Notice>
);

export function TickedTwice({ run, piece, marks, onTaken }: Props) {
  const copy = copyAtHand(run);
  const choose = (twice: Twice, right: Ticks): void => {
    const { number, kind, by } = twice;
    const wrong = by.filter((one) => one !== right);
    const told = t.together.tickOf(wrong.map(ticksOf).join(', '));
    const done = [nameOf(right, kind), ticksOf(right), told] as const;
    const note = kind ? t.together.stepOnce[kind](number, ...done) : t.together.bentOnce(number, ...done);
    onTaken({ words: told, back: takeTicksBack(run, kind && kind !== 'on' ? { number, kind } : { number }, wrong.flatMap((one) => one.ticks), { note, piece, copy }) });
  };
  return (
    <>
      {twiceOf(run, piece, marks).map((one) => (
        <section key={`${one.kind ?? ''} ${one.number}`} class="card ticked-twice" aria-label={titleOf(one)} tabIndex={-1}>
          <h3>{titleOf(one)}</h3>
          <p>{one.kind ? t.together.stepTwiceWords : t.together.twiceWords}</p>
          {one.by.map((of) => (
            <button type="button" class="wide-button" key={of.ticks[0]!.entry.id} onClick={() => choose(one, of)}>
              {rightOf(one, of)}
            </button>
          ))}
        </section>
      ))}
    </>
  );
}
