/** What other devices ticked off of the piece at this bench: told before the next step, with the next free copy in one tap. */
import { useEffect, useRef } from 'preact/hooks';
import { t } from '../../text/words';
import { beginCopy, countAs } from '../kept/act';
import type { Elsewhere } from '../kept/copies';
import { say, type KeptRun } from '../kept/state';
import type { SeenEntry } from '../kept/view';
import type { leadTo } from '../parts/clash-card';
import { Icon } from '../parts/icons';
import { Notice } from '../parts/parts';
import { shortly } from '../parts/when';
import { goOnBent, onward, wentWords, type AtBench } from './at-bench';
import { painted } from './painted';
import { bentUnseen, bentUnticked, doneAsItWas, goOnUnbent, mayBeDone, type Turned } from './stood';
import { isStep, nameOf, type BenchStep } from './bench';

interface Props {
  run: KeptRun;
  copy: number | undefined;
  free: number | undefined;
  others: readonly Elsewhere[];
  steps: readonly BenchStep[];
}

const at = (one: Elsewhere): string => shortly(Date.parse(one.at));

/** At the bend itself: who has bent it, and when. */
export const BentBy = ({ one }: { one: Elsewhere | undefined }) => (one ? <p class="pad quiet small">{t.together.bentBy(one.by, at(one))}</p> : null);

/** Before anything of it is begun here. */
export function BentAlready({ title, run, free, others, steps }: Props & { title: string }) {
  return (
    <Notice kind="caution" title={title}>
      {others.map((one) => (
        <p key={one.id}>{t.together.bentOn(nameOf(one, steps), one.by, at(one))}</p>
      ))}
      {free && (
        <button type="button" class="wide-button" onClick={() => beginCopy(run, free)}>
          {t.together.take(free)}
        </button>
      )}
    </Notice>
  );
}

/** Before anything of it is begun here: the other steps of the piece at hand that are done on other devices. */
export function DoneAlready({ begun, ticks, steps, step }: AtBench) {
  const of = begun ? [] : ticks.filter((one) => one.piece === step.at);
  return of.length ? <p class="pad quiet small">{t.together.doneAlready(of.map((one) => t.together.doneBy(nameOf(one, steps), one.by, at(one))))}</p> : null;
}

function moveTo(run: KeptRun, from: number, to: number): void {
  countAs(run, from, to);
  say(t.together.counted(to, run.times));
}

/** Where this piece only went on at another bench: what is done of it. */
export const WentOn = (here: AtBench) =>
  here.went.length ? (
    <p class="pad small went-on" role="status">
      {t.together.wentOn(wentWords(here))}
    </p>
  ) : null;

/** What puts the step at hand in question, in short, and the card of it, which is below what the hands need of a bend. */
export interface Question {
  words: string;
  card: Parameters<typeof leadTo>[0];
}

/** That which is answered first; null: nothing does. `isTwice`: a tick that may be taken back stops the step. */
export function questionOf(hand: AtBench, turned: Turned | null, isTwice: boolean): Question | null {
  const { run, copy, news } = hand;
  if (news.length) return { words: t.together.twoBenches(copy, run.times), card: '.two-benches' };
  const bent = bentUnseen(hand);
  if (bent) return { words: saidBy(bent.said), card: '.said-bent' };
  if (turned) return { words: t.together.turned, card: '.turned' };
  return isTwice ? { words: t.together.twice, card: '.ticked-twice' } : null;
}

const Short = ({ words, name = '' }: { words: string | undefined; name?: string }) =>
  words ? (
    <p class={`pad in-short ${name}`}>
      <Icon name="warn" />
      <b>{words}</b>
    </p>
  ) : null;

/** Above what the hands need of a bend: what puts it in question (not where the bar that says so is beside it), and that others were
 * at the piece. */
export const InShort = ({ question, already }: { question: Question | null; already: string }) => (
  <>
    <Short words={question?.words} name="asked" />
    <Short words={already} />
  </>
);

/** What others changed of what stood here: who, and what was and is now; and that it is done by what was. `words`: the step at
 * hand with its figures, `called`: without. */
export function TurnedBy({ here, turned, words, called, isStopped }: { here: AtBench; turned: Turned; words: string; called: string; isStopped: boolean }) {
  const meant = useMeant();
  const { was, isByOther } = turned;
  const isChoice = !!was.words && mayBeDone(here, turned);
  return (
    <div class="turned" role="status" tabIndex={-1}>
      <Notice kind="caution" title={t.together.turned}>
        {turned.words.map((line) => (
          <p key={line}>{line}</p>
        ))}
        {isByOther && was.words && was.words !== words && <p><b>{t.together.stood(was.words, words)}</b></p>}
        {isChoice && (
          <button type="button" class="wide-button" onClick={(e) => meant(e, () => doneAsItWas(here, turned))}>
            <span>{t.together.asItWas(was.words)}</span>
          </button>
        )}
        <button type="button" class="wide-button" onClick={(e) => meant(e, () => onward(here))}>
          {isStopped ? t.together.isSeen : t.together.seen(called)}
        </button>
      </Notice>
    </div>
  );
}

const saidBy = ({ by, at: when }: SeenEntry): string => t.together.isBent(by, shortly(Date.parse(when)));

/** It was said to be bent, and not all of its bends (`piece`: those of this one) are ticked off. `called`: what the step is called with
 * which the person may go on. */
export function SaidBent({ here, piece, called }: { here: AtBench; piece?: number; called?: string }) {
  const meant = useMeant();
  const bent = called === undefined ? bentUnticked(here, piece) : bentUnseen(here);
  return bent ? (
    <div class="said-bent" role="status" tabIndex={-1}>
      <Notice kind="caution" title={saidBy(bent.said)}>
        <p>{t.together.isBentBut(bent.left)}</p>
        {called !== undefined && (
          <>
            <button type="button" class="wide-button" onClick={(e) => meant(e, () => goOnBent(here, bent.said))}>
              {t.together.itIsBent}
            </button>
            <button type="button" class="wide-button" onClick={(e) => meant(e, () => goOnUnbent(here, bent.said))}>
              {t.together.seen(called)}
            </button>
          </>
        )}
      </Notice>
    </div>
  ) : null;
}

/** That what is in hand is another copy all the same. */
export const MineIs = ({ run, copy, free, begun, went }: Pick<AtBench, 'run' | 'copy' | 'free' | 'begun' | 'went'>) =>
  begun && went.length && copy && free ? (
    <p class="pad">
      <button type="button" class="quiet-button" onClick={() => moveTo(run, copy, free)}>
        {t.together.mineIs(free)}
      </button>
    </p>
  ) : null;

/** In place of the step's button while that is told: the tap that was meant for the step before does nothing. */
export function GoOnThere({ words, isStopped, onGoOn }: { words: string; isStopped: boolean; onGoOn: () => void }) {
  const meant = useMeant();
  return (
    <button type="button" class={`step-button ${isStopped ? 'caution' : 'strong'}`} onClick={(e) => meant(e, onGoOn)}>
      {isStopped ? t.together.isSeen : t.together.seen(words)}
      <Icon name="right" />
    </button>
  );
}

/** A tap so soon after the choice came (ms) was meant for what stood there before. */
const TOO_SOON_MS = 400;

/** Does what a tap is for, but not of one that was meant for what stood there before. */
function useMeant(): (event: MouseEvent, deed: () => void) => void {
  const came = useRef(Infinity);
  useEffect(() => painted(() => (came.current = performance.now())), []);
  return (event, deed) => {
    if (event.timeStamp - came.current > TOO_SOON_MS) deed();
  };
}

/** Where two are at one piece, until the person has said which is in hand: below what the hands need of a bend; the step
 * bar leads there. */
export function TwoBenches({ run, copy, free, others, steps, onGoOn }: Props & { onGoOn: () => void }) {
  const last = others[others.length - 1]!;
  const order = last.before === undefined ? '' : t.together.order[last.before ? 'before' : 'after'];
  const name = nameOf(last, steps);
  const meant = useMeant();
  return (
    <div class="two-benches" role="alert" tabIndex={-1}>
      <Notice kind="caution" title={`${t.together.twoBenches(copy, run.times)}.`}>
        <p>
          {t.together.tooWords(isStep(last.kind) ? t.together.titled(name) : name, last.by, at(last), order)} {copy ? !free && t.together.noFree : t.together.onlyOne}
        </p>
        {copy && free && (
          <button type="button" class={last.before === false ? 'wide-button' : 'wide-button strong'} onClick={(e) => meant(e, () => moveTo(run, copy, free))}>
            {t.together.mineIs(free)}
          </button>
        )}
        <button type="button" class={last.before === false ? 'wide-button strong' : 'wide-button'} onClick={(e) => meant(e, onGoOn)}>
          {t.together.goOn(copy)}
        </button>
      </Notice>
    </div>
  );
}
