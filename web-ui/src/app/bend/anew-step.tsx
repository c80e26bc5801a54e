/** A step of a piece whose rest has new marks, or bends by new marks that are not kept any more: those, and never the plan's. */
import type { ComponentChildren } from 'preact';
import type { NewMark, RemarkAnswer, Shoe } from '../../engine/types';
import { t } from '../../text/words';
import type { Unit } from '../../text/lengths';
import { NewMarks } from '../check/new-marks';
import { Notice, TroubleNotice } from '../parts/parts';
import { Care } from '../parts/tail';
import { shortly } from '../parts/when';
import type { AtBench } from './at-bench';
import { measuredOf, type First, type Kept } from './anew';
import { BendStep } from './bend-step';
import type { BenchStep } from './bench';
import type { Anew } from './use-anew';
import { useInSight } from './use-in-sight';

/** The steps whose figures the new marks stand in place of. */
const REPLACED: readonly BenchStep['kind'][] = ['stock', 'lay-out', 'cut', 'bend', 'check', 'trim'];
const isReplaced = (step: BenchStep): boolean => REPLACED.includes(step.kind);
/** The step in which the ends of its piece are cut once it is bent: where the plan has none for it, that in which they are reamed. */
const cutsEnds = (step: BenchStep, steps: readonly BenchStep[]): boolean => step.kind === 'trim' || (step.kind === 'ream' && !steps.some((one) => one.kind === 'trim' && one.at === step.at));
/** The step in which its piece goes in: new marks may want it turned there. */
export const goesIn = (step: BenchStep, steps: readonly BenchStep[]): boolean => step === steps.find((one) => one.kind === 'insert' && one.at === step.at);

/** New marks stand in the step in place of the plan's words, or may, once they are known. */
export function showsAnew({ first, step, steps }: Pick<AtBench, 'first' | 'step' | 'steps'>, anew: Anew | null): boolean {
  if (!anew) return false;
  const mayCut = cutsEnds(step, steps);
  return !!first || isReplaced(step) || (anew.answer ? mayCut && anew.answer.ends.length > 0 : mayCut || goesIn(step, steps));
}

/** What the step at hand is called. */
export function calledAt({ first, step }: Pick<AtBench, 'first' | 'step'>, anew: Anew | null): string {
  if (!first) return step.bendWords?.name ?? step.title;
  const { number, before } = first;
  if (before) return t.check.beforeName[before.kind](number);
  return anew?.answer?.opened.some((one) => one.number === number) ? t.check.openName(number) : t.check.firstAgain(number);
}

/** The same with its figures; '' while they are not known, or without any. */
export function saidAt({ first, step }: Pick<AtBench, 'first' | 'step'>, anew: Anew | null): string {
  const number = first?.number ?? step.bend?.number ?? 0;
  const answer = anew?.answer;
  if (first?.before) return answer?.first.find((one) => one.kind === first.before!.kind && (one.number ?? 0) === number)?.to_do ?? '';
  if (!first && !anew && step.bend) return t.bend.figures(step.bendWords!.name, step.bend.mark_tape, step.bendWords!.bend_to);
  const [on, open] = [answer?.bent_on.find((one) => one.bend.number === number), answer?.opened.find((one) => one.number === number)];
  if (first) return on ? t.bend.figures(calledAt({ first, step }, anew), on.bend.mark_tape, on.words.bend_to) : (open?.to_do ?? '');
  const [bend, words] = [answer?.anew?.bends[number - 1], answer?.bench[number - 1]];
  return step.bend && bend && words ? t.bend.figures(words.name, bend.mark_tape, words.bend_to) : '';
}

/** Since when, and by which readings. */
export function KeptFrom({ kept }: { kept: Kept }) {
  const made = measuredOf(kept).map((one) => t.check.madeAs(one.number, one.angle_deg, one.off_deg));
  return <p>{t.check.keptFrom(made.join(', '), kept.by, shortly(Date.parse(kept.at)))}</p>;
}

/** Where the line faces before this bend is made: as at the one bent before it, or last by the plan's marks. */
function lineBefore({ marks, anew }: RemarkAnswer, kept: Kept | null, mark: NewMark): number | undefined {
  const i = marks.indexOf(mark);
  if (i > 0) return marks[i - 1]!.line_deg;
  const made = anew?.bends.filter((bend) => kept?.entry.what.bends.some((one) => one.number === bend.number)) ?? [];
  return made.sort((a, b) => a.order - b.order).pop()?.line_deg;
}

interface Props {
  /** What comes before it. */
  first: First | undefined;
  /** Those of its piece that are done. */
  over: readonly First[];
  step: BenchStep;
  anew: Anew;
  unit: Unit;
  title: { current: HTMLHeadingElement | null };
  bender: Shoe | null;
  tool: string;
  by: ComponentChildren;
  told: ComponentChildren;
  /** where the marks do not hold, what may mend that */
  mend: ComponentChildren;
}

/** What the new marks say of the step: it is a cut or a twist before the rest (`before`), a made bend is opened (`open`), or bent at
 * this `mark`; with its bend of the piece as it is then, in figures and words. */
function saidOf({ first, step, anew: { kept, answer } }: Props) {
  const isBefore = !!first?.before;
  const number = first?.number ?? step.bend?.number ?? 0;
  const again = isBefore ? undefined : first;
  const on = again && answer?.bent_on.find((one) => one.bend.number === number);
  const [bend, words] = first ? [on?.bend, on?.words] : [answer?.anew?.bends[number - 1], answer?.bench[number - 1]];
  return {
    number,
    before: isBefore ? answer?.first.find((one) => one.kind === first.before!.kind && (one.number ?? 0) === number) : undefined,
    open: again && answer?.opened.find((one) => one.number === number),
    mark: isBefore ? undefined : answer?.marks.find((m) => m.number === number && (m.further_deg !== 0) === !!first),
    bend,
    words,
    isMade: !first && !!kept?.entry.what.bends.some((b) => b.number === number),
  };
}
type Said = ReturnType<typeof saidOf>;

export function AnewStep(props: Props) {
  const { step, anew } = props;
  const { answer, error } = anew;
  const said = saidOf(props);
  const { mark, bend, words } = said;
  const piece = answer?.anew;
  const below = (
    <>
      {!answer && !error && <p class="pad quiet">{t.check.comingBack}</p>}
      {step.bend && !answer && <Care list={step.care} />}
      {answer && (
        <section class="card">
          <NewMarks answer={answer} />
        </section>
      )}
    </>
  );
  if (!answer || !mark || !piece || !bend || !words) return <AnewOther {...props} said={said} below={below} />;
  const { first, unit, title, bender, tool, by, told } = props;
  return (
    <BendStep
      piece={piece}
      bend={bend}
      words={words}
      unit={unit}
      title={title}
      bender={mark.stance ? bender : null}
      tool={tool}
      picture={`${words.name}. ${t.bend.sentence(words.placed)}. ${t.bend.sentence(mark.bend_to)}`}
      off={!mark.on_conduit}
      {...(first ? { angleWords: t.check.bendOn } : {})}
      was={lineBefore(answer, anew.kept, mark)}
      by={
        <>
          <p class="pad quiet small">{t.check.byNew}</p>
          <Before answer={answer} />
          {by}
        </>
      }
      told={
        <>
          <Hold {...props} said={said} />
          {told}
        </>
      }
    >
      {below}
    </BendStep>
  );
}

/** What is drawn first. */
const Before = ({ answer }: { answer: RemarkAnswer | null }) => (
  <>
    {answer?.before.map((line) => (
      <p key={line} class="pad before">
        <b>{line}</b>
      </p>
    ))}
  </>
);

/** That new marks hold, since when, and what is done of what comes before the rest. */
function Hold({ first, over, step, anew: { kept, answer }, said: { mark, isMade, open } }: Props & { said: Said }) {
  if (!kept) return null;
  return (
    <Notice kind="caution" title={t.check.newHold}>
      <KeptFrom kept={kept} />
      {over.map((one) => (
        <p key={`${one.before?.kind} ${one.number}`}>
          <b>{one.before ? t.check.beforeOver[one.before.kind](one.done!.by, shortly(Date.parse(one.done!.at)), one.number) : t.check.firstOver(one.number, (one.angle_rad * 180) / Math.PI)}</b>
        </p>
      ))}
      {answer?.other_order && <p>{t.check.otherOrder}</p>}
      {step.bend && answer && !mark && !isMade && !open && !first?.before && <p>{t.check.noneHere}</p>}
    </Notice>
  );
}

/** What a step is called, with what is done to the ends there. */
const titleOf = (step: BenchStep, ends: readonly string[]): string => {
  const words = t.bend.sentence(ends.join(', '));
  if (!words || !['trim', 'ream'].includes(step.kind)) return step.bendWords?.name ?? step.title;
  return step.kind === 'trim' ? words : t.check.thenStep(words, step.title);
};

/** A step that is no bend by a new mark, or one of which the marks do not hold or are not known yet. */
function AnewOther({ said, below, ...props }: Props & { said: Said; below: ComponentChildren }) {
  const inSight = useInSight();
  const { first, step, anew: { kept, answer, error }, title, by, told, mend } = props;
  const { number, before, open, isMade } = said;
  const isAgain = !!first && !first.before;
  return (
    <article class="step">
      <div ref={inSight} class={error ? 'in-sight' : undefined}>
        <h2 ref={title} tabIndex={-1} class="step-title">
          {open ? t.bend.sentence(open.to_do) : before ? t.bend.sentence(before.to_do) : isAgain ? t.check.firstAgain(number) : titleOf(step, answer?.ends ?? [])}
          {kept && <small>{t.check.byNew}</small>}
        </h2>
        {by}
        {error && <TroubleNotice error={error} />}
        {before?.look_at && <p class="look-at">{before.look_at}</p>}
        {first?.before && answer && <p class="pad before"><b>{t.check.thenOn}</b></p>}
        {isAgain && <Before answer={answer} />}
      </div>
      {open && <p class="pad huge-angle">{t.bend.sentence(open.leaves)}</p>}
      {error && mend}
      {told}
      {isMade && <p class="look-at">{t.check.isMade}</p>}
      <Hold {...props} said={said} />
      {below}
      {(error || (step.kind === 'check' && !first)) && (
        <a class="wide-button" href="#/check">
          {t.bend.toCheck}
        </a>
      )}
    </article>
  );
}
