/** A step of a piece whose rest has new marks: those, and never the plan's. */
import type { ComponentChildren } from 'preact';
import type { Shoe } from '../../engine/types';
import { t } from '../../text/words';
import type { Unit } from '../../text/lengths';
import { NewMarks } from '../check/new-marks';
import { Notice, TroubleNotice } from '../parts/parts';
import { Care } from '../parts/tail';
import { shortly } from '../parts/when';
import { measuredOf, type Kept } from './anew';
import { BendStep } from './bend-step';
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

interface Props {
  step: BenchStep;
  anew: Anew;
  unit: Unit;
  title: { current: HTMLHeadingElement | null };
  bender: Shoe | null;
  tool: string;
  by: ComponentChildren;
  told: ComponentChildren;
}

export function AnewStep({ step, anew: { kept, answer, error }, unit, title, bender, tool, by, told }: Props) {
  const number = step.bend?.number ?? 0;
  const mark = answer?.marks.find((m) => m.number === number && m.further_deg === 0);
  const [piece, words] = [answer?.anew, answer?.bench[number - 1]];
  const isMade = kept.entry.what.bends.some((b) => b.number === number);
  const hold = (
    <Notice kind="caution" title={t.check.newHold}>
      <KeptFrom kept={kept} />
      {answer?.other_order && <p>{t.check.otherOrder}</p>}
      {step.bend && answer && !mark && !isMade && <p>{t.check.noneHere}</p>}
    </Notice>
  );
  const below = (
    <>
      {error && <TroubleNotice error={error} />}
      {!answer && !error && <p class="pad quiet">{t.check.comingBack}</p>}
      {step.bend && !answer && <Care list={step.care} />}
      {answer && (
        <section class="card">
          <NewMarks answer={answer} />
        </section>
      )}
    </>
  );
  if (mark && piece && words)
    return (
      <BendStep
        piece={piece}
        bend={piece.bends[number - 1]!}
        words={words}
        unit={unit}
        title={title}
        bender={mark.stance ? bender : null}
        tool={tool}
        picture={`${words.name}. ${t.bend.sentence(words.placed)}. ${t.bend.sentence(mark.bend_to)}`}
        off={!mark.on_conduit}
        by={
          <>
            <p class="pad quiet small">{t.check.byNew}</p>
            {by}
          </>
        }
        told={
          <>
            {hold}
            {told}
          </>
        }
      >
        {below}
      </BendStep>
    );
  return (
    <article class="step">
      <h2 ref={title} tabIndex={-1} class="step-title">
        {step.bendWords?.name ?? step.title}
        <small>{t.check.byNew}</small>
      </h2>
      {step.bend && told}
      {isMade && <p class="look-at">{t.check.isMade}</p>}
      {hold}
      {below}
      {step.kind === 'check' && (
        <a class="wide-button" href="#/check">
          {t.bend.toCheck}
        </a>
      )}
    </article>
  );
}
