/** A step of a piece whose rest has new marks: those, and never the plan's. */
import { t } from '../../text/words';
import type { Unit } from '../../text/lengths';
import { NewMarks } from '../check/new-marks';
import { Notice, TroubleNotice } from '../parts/parts';
import { Care } from '../parts/tail';
import { shortly } from '../parts/when';
import { Icon } from '../parts/icons';
import { Tape } from '../parts/tape';
import { measuredOf, type Kept } from './anew';
import type { BenchStep } from './bench';
import type { Anew } from './use-anew';

/** The steps whose figures the new marks stand in place of. */
const REPLACED: readonly BenchStep['kind'][] = ['stock', 'lay-out', 'cut', 'bend', 'check', 'trim'];
export const isReplaced = (step: BenchStep): boolean => REPLACED.includes(step.kind);

/** Since when, and by which readings. */
export function KeptFrom({ kept }: { kept: Kept }) {
  const made = measuredOf(kept).map((one) => t.check.madeAs(one.number, one.angle_deg));
  return <p>{t.check.keptFrom(made.join(', '), kept.by, shortly(Date.parse(kept.at)))}</p>;
}

export function AnewStep({ step, anew, unit, title }: { step: BenchStep; anew: Anew; unit: Unit; title: { current: HTMLHeadingElement | null } }) {
  const mark = anew.answer?.marks.find((m) => m.number === step.bend?.number && m.further_deg === 0);
  const isMade = step.bend && anew.kept.entry.what.bends.some((b) => b.number === step.bend!.number);
  return (
    <article class="step">
      <h2 ref={title} tabIndex={-1} class="step-title">
        {step.bendWords?.name ?? step.title}
        <small>{t.check.byNew}</small>
      </h2>
      {mark && (
        <>
          <p class="look-at">
            <b>{t.bend.sentence(mark.spin_words)}</b>
          </p>
          <div class="big-mark">
            <div>
              <p class="big-mark-words">{t.bend.sentence(mark.placed)}</p>
              {mark.on_conduit ? <Tape text={mark.mark.tape} unit={unit} size="huge" /> : <p class="huge-angle">{t.check.offIt}</p>}
            </div>
            <p class="huge-angle">{t.bend.sentence(mark.bend_to)}</p>
          </div>
          <p class="look-at">
            {mark.on_shoe && <Icon name={mark.hook === 'A' ? 'left' : 'right'} />} {t.bend.sentence(mark.stance_words)}
          </p>
        </>
      )}
      {isMade && <p class="look-at">{t.check.isMade}</p>}
      <Notice kind="caution" title={t.check.newHold}>
        <KeptFrom kept={anew.kept} />
        {anew.answer?.other_order && <p>{t.check.otherOrder}</p>}
        {step.bend && anew.answer && !mark && !isMade && <p>{t.check.noneHere}</p>}
      </Notice>
      {anew.error && <TroubleNotice error={anew.error} />}
      {!anew.answer && !anew.error && <p class="pad quiet">{t.check.comingBack}</p>}
      {step.bend && !anew.answer && <Care list={step.care} />}
      {anew.answer && (
        <section class="card">
          <NewMarks answer={anew.answer} />
        </section>
      )}
      {step.kind === 'check' && (
        <a class="wide-button" href="#/check">
          {t.bend.toCheck}
        </a>
      )}
    </article>
  );
}
