/** A step that is no bend: the conduit, the cut, the lines to draw, what comes after the bends. */
import { StepView } from '../../draw/step-view';
import { StripView } from '../../draw/strip-view';
import type { Plan } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { Tape } from '../parts/tape';
import type { BenchStep } from './bench';

interface StepProps {
  plan: Plan;
  step: BenchStep;
  unit: Unit;
  title: { current: HTMLHeadingElement | null };
  /** How the piece is turned in its fitting, by the new marks. */
  turn: readonly string[];
}

export function OtherStep({ plan, step, unit, title, turn }: StepProps) {
  const { piece, pieceWords: words } = step;
  return (
    <article class="step">
      <h2 ref={title} tabIndex={-1} class="step-title">
        {step.title}
      </h2>
      {turn.map((said) => (
        <p key={said} class="pad before">
          <b>{t.bend.sentence(said)}.</b>
        </p>
      ))}
      {(step.kind === 'cut' || step.kind === 'stock') && words && (
        <div class="big-cut">
          <p class="big-mark-words">{words.take}</p>
          <Tape text={words.length.tape} unit={unit} size="huge" />
        </div>
      )}
      <StepView plan={plan} step={step} piece={piece} words={words} />
      {step.kind === 'lay-out' && piece && words && (
        <>
          <StripView piece={piece} words={words} current={0} />
          <ol class="mark-list">
            {words.lines.map((line) => (
              <li key={line.name}>
                <span class={line.is_cut ? 'number end' : 'number'}>{line.name}</span>
                <Tape text={line.at.tape} unit={unit} size="big" />
                <span class="quiet">{[line.what, line.hook].filter(Boolean).join(', ')}</span>
              </li>
            ))}
          </ol>
        </>
      )}
      <p class="step-detail">{step.detail}</p>
      {step.kind === 'check' && (
        <a class="wide-button" href="#/check">
          {t.bend.toCheck}
        </a>
      )}
    </article>
  );
}
