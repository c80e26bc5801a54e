/** A bend at the bench, by the plan or by new marks: first what the hands need of it (mark, angle, rotation, hook, tool),
 * in sight at once in every window and with large text; then what to look at and the picture. */
import type { ComponentChildren } from 'preact';
import { Sign, ShoeView } from '../../draw/shoe-view';
import { SpinDial } from '../../draw/spin-dial';
import type { BendAtBench, MarkedBend, PlannedPiece, Shoe } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { Tape } from '../parts/tape';
import { useInSight } from './use-in-sight';

interface Props {
  piece: PlannedPiece;
  bend: MarkedBend;
  words: BendAtBench;
  unit: Unit;
  title: { current: HTMLHeadingElement | null };
  bender: Shoe | null;
  tool: string;
  /** what the picture shows, for who does not see it */
  picture: string;
  /** the mark falls off what conduit there is */
  off?: boolean;
  /** above the angle, where it is not what the pointer must show */
  angleWords?: string;
  /** where the line faced at the bend made before, where that is not the plan's */
  was?: number;
  /** by what, or by whom, below its name */
  by: ComponentChildren;
  /** between what the hands need and what to look at */
  told: ComponentChildren;
  children?: ComponentChildren;
}

export function BendStep({ piece, bend, words, unit, title, bender, tool, picture, off = false, angleWords = t.bend.bendTo, was, by, told, children }: Props) {
  const inSight = useInSight();
  return (
    <article class="step bend-step">
      <div ref={inSight} class="in-sight">
        <div>
          <h2 ref={title} tabIndex={-1} class="step-title">
            {t.bend.sentence(words.name)}
          </h2>
          {by}
          <div class="big-mark">
            <div class="big-place">
              {bend.on_shoe && (
                <svg class="sign-box" viewBox="-13 -13 26 26" aria-hidden="true">
                  <Sign at={[0, 0]} kind={bend.reference} />
                </svg>
              )}
              <div>
                <p class="big-mark-words">{t.bend.sentence(words.placed)}</p>
                {off ? <p class="huge-angle">{t.check.offIt}</p> : <Tape text={bend.mark_tape} unit={unit} size="huge" />}
              </div>
            </div>
            <div class="big-angle">
              <p class="big-mark-words">{angleWords}</p>
              <p class="huge-angle">{words.bend_to}</p>
              <p class="big-mark-words">{words.read}</p>
            </div>
          </div>
        </div>
        <ul class="facts">
          <li class="rotate">
            <SpinDial was={was ?? piece.bends.find((b) => b.order === bend.order - 1)?.line_deg ?? 0} now={bend.line_deg} />
            <b>{bend.spin_words}</b>
          </li>
          <li>
            {bend.on_shoe && (
              <span class={`hook-arrow ${bend.hook}`} aria-hidden="true">
                <Icon name={bend.hook === 'A' ? 'left' : 'right'} big />
              </span>
            )}
            <span>
              <b>{t.bend.sentence(bend.on_shoe ? words.hook : bend.stance_words)}</b>
              {bend.on_shoe && <small>{bend.stance_words}</small>}
              <small class="tool-line">{tool}</small>
            </span>
          </li>
        </ul>
      </div>
      {told}
      <p class="look-at">
        <span class="quiet">{t.bend.sentence(words.part)}.</span> {bend.look_at}
      </p>
      <div class="shoe-stage">{bender && <ShoeView piece={piece} bend={bend} bender={bender} words={picture} />}</div>
      {children}
    </article>
  );
}
