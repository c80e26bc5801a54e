/** A bend that was ticked off by different marks, where that is told: by which it is bent, or what a tape says. */
import { t } from '../../text/words';
import { takeTicksBack } from '../kept/act';
import { copyAtHand, ofCopy } from '../kept/copies';
import { type KeptRun } from '../kept/state';
import { Icon } from '../parts/icons';
import { Notice } from '../parts/parts';
import { shortly } from '../parts/when';
import { tickedTwice, type Ticks, type TickedTwice as Twice } from './anew';

const at = (moment: string): string => shortly(Date.parse(moment));
const ticksOf = ({ ticks }: Ticks): string => ticks.map((one) => t.together.who(one.by, at(one.at))).join(' and ');

function nameOf({ isPlan, kept }: Ticks): string {
  if (isPlan) return t.together.planMark;
  return kept ? t.together.newMark(kept.by, at(kept.at)) : t.together.goneMark;
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
  const choose = ({ number, by }: Twice, right: Ticks): void => {
    const wrong = by.filter((one) => one !== right);
    const told = t.together.tickOf(wrong.map(ticksOf).join(', '));
    const why = { note: t.together.bentOnce(number, nameOf(right), ticksOf(right), told), piece, copy };
    onTaken({ words: told, back: takeTicksBack(run, number, wrong.flatMap((one) => one.ticks), why) });
  };
  return (
    <>
      {tickedTwice(ofCopy(run.entries, copy), piece, marks).map((one) => (
        <section key={one.number} class="card ticked-twice" aria-label={t.together.twiceTitle(one.number)}>
          <h3>{t.together.twiceTitle(one.number)}</h3>
          <p>{t.together.twiceWords}</p>
          {one.by.map((of) => (
            <button type="button" class="wide-button" key={of.ticks[0]!.entry.id} onClick={() => choose(one, of)}>
              {t.together.isBentBy(nameOf(of), ticksOf(of))}
            </button>
          ))}
        </section>
      ))}
    </>
  );
}
