/** Bend: one step a screen, large enough to be read from the floor. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { StripView } from '../../draw/strip-view';
import type { PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { Care, LeftOut, Tail } from '../parts/tail';
import { ToolLine } from '../parts/tool-news';
import { NoPlan, usePlan } from '../parts/plan';
import { beginCopy } from '../kept/act';
import { type KeptRun } from '../kept/state';
import { nextCopy } from '../kept/copies';
import { leadTo, waitsForChoice } from '../parts/clash-card';
import { AnewStep, calledAt, saidAt, goesIn, showsAnew } from './anew-step';
import { atBench, bringBench, goOn, onward, sightOf, type AtBench, type Sight } from './at-bench';
import { BendStep } from './bend-step';
import { OtherStep } from './other-step';
import { isOf } from './bench';
import { lookAt, placesBefore } from './look-back';
import { LookBar, LookedAt } from './looking-back';
import { BentAlready, BentBy, DoneAlready, GoOnThere, InShort, MineIs, questionOf, SaidBent, TurnedBy, TwoBenches, WentOn, type Question } from './others';
import { painted } from './painted';
import { bentUnseen, keepStood, turnedBy } from './stood';
import { TakenBack, TickedTwice, twiceOf, type Taken } from './ticked-twice';
import { useAnew, type Anew } from './use-anew';
import { useAwake } from './wake';

/** A tap so soon after the last one was not meant for the step that it would hit (ms). */
const TOO_SOON_MS = 400;

/** `told`: of the run; at a bend it stands below what the hands need. */
export function BendScreen({ run, told }: { run: KeptRun; told: ComponentChildren }) {
  const { answer, stale } = usePlan();
  const sight = useRef<Sight | undefined>(undefined);
  if (!answer || stale)
    return (
      <>
        {told}
        <NoPlan />
      </>
    );
  return <Bench run={run} answer={answer} sight={sight} told={told} />;
}

interface BenchProps {
  run: KeptRun;
  answer: PlanAnswer;
  sight: { current: Sight | undefined };
  told: ComponentChildren;
}

function Bench({ run, answer, sight, told: ofRun }: BenchProps) {
  const awake = useAwake();
  const hand = atBench(run, answer, sight.current);
  const { copy, free, steps, others, news } = hand;
  const turned = turnedBy(hand);
  const [look, setLook] = useLook(hand, !!turned);
  const here = look === undefined ? hand : lookAt(hand, placesBefore(hand)[look]!);
  const { step, at, first } = here;
  const anew = useAnew(run, answer.plan, first?.piece ?? step.at);
  const atHand = useAnew(run, answer.plan, look === undefined ? 0 : (hand.first?.piece ?? hand.step.at));
  const [taken, setTaken] = useState<Taken | null>(null);
  const undoTaken = (): void => {
    taken?.back();
    setTaken(null);
  };
  const title = useRef<HTMLHeadingElement>(null);
  const opened = useRef(true);
  useEffect(() => bringBench(run, answer), [answer]);
  useEffect(() => {
    if (!opened.current) {
      title.current?.focus({ preventScroll: true });
      window.scrollTo(0, 0);
    }
    opened.current = false;
  }, [at, first?.number, first?.before?.kind, look, !!turned]);
  const waits = !anew?.answer && showsAnew(here, anew);
  const isStopped = !!(anew?.error ?? atHand?.error);
  const [words, called] = [saidAt(here, anew), calledAt(here, anew)];
  useEffect(() => {
    if (!hand.went.length && !turned) sight.current = sightOf(hand);
    if (look === undefined && (!waits || isStopped)) keepStood(hand, words);
  });
  const atBend = !!step.bend || showsAnew(here, anew);
  const isTwice = !!anew?.error && twiceOf(run, first?.piece ?? step.at, answer.plan.digest).length > 0;
  const question = look === undefined ? questionOf(hand, turned, isTwice) : null;
  const already = !here.begun && others.length ? t.together.onPiece(copy, run.times) : '';
  const asked = (
    <>
      {look === undefined && bentUnseen(hand) && <SaidBent here={hand} called={called} />}
      {turned && <TurnedBy here={here} turned={turned} words={words} called={called} isStopped={isStopped} />}
      {already && <BentAlready title={already} run={run} copy={copy} free={free} others={others} steps={steps} />}
    </>
  );
  const told = (
    <>
      {news.length > 0 && <TwoBenches run={run} copy={copy} free={free} others={news} steps={steps} onGoOn={() => onward(here)} />}
      {atBend && asked}
      <MineIs {...here} />
      {taken && <TakenBack taken={{ ...taken, back: undoTaken }} />}
      {ofRun}
    </>
  );
  return (
    <div class="bench">
      {!atBend && told}
      <Progress here={here} />
      {look !== undefined && <LookedAt key={look} here={hand} index={look} stopped={isStopped} onLook={setLook} />}
      {!atBend && asked}
      {!atBend && (here.went.length ? <WentOn {...here} /> : <DoneAlready {...here} />)}
      {here.changed && <p class="wrong pad">{t.bend.changed}</p>}
      <AllDone here={here} />
      <StepAtHand here={here} anew={anew} title={title} short={<InShort question={question} already={already} />} told={atBend && told} onTaken={setTaken} />
      {at === 0 ? <Tail answer={answer} checked /> : !step.bend && <Care list={step.care} />}
      {step.kind === 'lay-out' && <ToolLine words={answer.bender_words} />}
      <p class="quiet awake">{awake ? t.bend.awake : t.bend.asleep}</p>
      {look === undefined ? <StepBar here={here} waits={waits} isStopped={isStopped} question={question} mayLook={!news.length && !turned} called={called} onTap={() => setTaken(null)} onBack={() => setLook(placesBefore(here).length - 1)} /> : <LookBar index={look} onLook={setLook} />}
    </div>
  );
}

/** All steps as dots, those that come before the rest of a piece among them; and which is at hand, of which piece. */
function Progress({ here }: { here: AtBench }) {
  const { run, answer, copy, steps, done, step, at, firsts, first } = here;
  const { pieces } = answer.plan;
  const shown = steps.flatMap((s, i) => [
    ...firsts.filter((one) => one.at === i).map((one) => ({ now: one === first, done: one.done !== null, isBend: !one.before })),
    { now: i === at && !first, done: done.includes(i), isBend: s.kind === 'bend' },
  ]);
  const words = t.bend.progress(shown.findIndex((one) => one.now) + 1, shown.length);
  const label = (first ? pieces[first.piece - 1] : step.piece)?.label;
  return (
    <>
      <ol class="progress" aria-label={words}>
        {shown.map((one, i) => (
          <li key={i} class={`${one.now ? 'now' : ''} ${one.done ? 'done' : ''} ${one.isBend ? 'is-bend' : ''}`}>
            <span class="unseen">{t.bend.stepState(i + 1, one.done)}</span>
          </li>
        ))}
      </ol>
      <p class="step-count" aria-hidden="true">
        {words}
        {pieces.length > 1 && label ? ` · ${label}` : ''}
        {copy ? ` · ${t.bend.copy(copy, run.times)}` : ''}
      </p>
    </>
  );
}

/** On the last step, once all are done: that, and of runs alike the next copy. */
function AllDone({ here: { run, copy, steps, done, behind, at, first } }: { here: AtBench }) {
  if (first || steps.some((_, i) => !done.includes(i) && !behind.includes(i)) || at < steps.length - 1) return null;
  const next = nextCopy(run);
  return (
    <>
      <p class="all-done" role="status"><Icon name="tick" />{t.bend.allDone}</p>
      {next !== undefined && next !== copy && (
        <div class="pad">
          <button type="button" class="wide-button strong" onClick={() => beginCopy(run, next)}>
            {t.bend.nextCopy(next, run.times)}
          </button>
        </div>
      )}
    </>
  );
}

interface StepProps {
  here: AtBench;
  anew: Anew | null;
  title: { current: HTMLHeadingElement | null };
  /** what of all that is told there stands above a bend */
  short: ComponentChildren;
  told: ComponentChildren;
  onTaken: (taken: Taken) => void;
}

function StepAtHand({ here, anew, title, short, told, onTaken }: StepProps) {
  const { run, answer, step, steps, first, firsts, others } = here;
  const { plan, tool } = answer;
  const takesTurn = goesIn(step, steps);
  const unit = run.survey.units;
  const by = (
    <>
      {short}
      {here.went.length ? <WentOn {...here} /> : <DoneAlready {...here} />}
      {!here.went.length && !first && <BentBy one={others.find((one) => isOf(one, step))} />}
    </>
  );
  if (anew && showsAnew(here, anew)) {
    const over = firsts.filter((one) => one.done && one.piece === (first?.piece ?? step.at));
    return <AnewStep first={first} over={over} step={step} anew={anew} unit={unit} title={title} bender={plan.bender} tool={tool} by={by} told={told} mend={<TickedTwice run={run} piece={first?.piece ?? step.at} marks={plan.digest} onTaken={onTaken} />} />;
  }
  if (!step.bend || !step.piece)
    return (
      <>
        <OtherStep plan={plan} step={step} unit={unit} title={title} turn={(takesTurn && anew?.answer?.turn) || []} />
        {step.kind === 'strap' && anew?.answer && <LeftOut answer={anew.answer} />}
      </>
    );
  return (
    <BendStep
      piece={step.piece}
      bend={step.bend}
      words={step.bendWords!}
      unit={unit}
      title={title}
      bender={plan.bender}
      tool={tool}
      picture={`${step.title}. ${step.detail}`}
      by={by}
      told={told}
    >
      <Care list={step.care} />
      <StripView piece={step.piece} words={step.pieceWords!} current={step.bend.number} />
    </BendStep>
  );
}

/** Which of the steps before is looked at; undefined: none, the step at hand is shown, as once that is another one. */
function useLook(hand: AtBench, isTurned: boolean): [number | undefined, (to?: number) => void] {
  const { copy, at, first, news, went } = hand;
  const key = [copy, at, first?.piece, first?.number, first?.before?.kind].join(' ');
  const [look, setLook] = useState<{ key: string; index?: number }>({ key });
  const places = placesBefore(hand).length;
  const isLooked = look.key === key && look.index !== undefined && look.index < places && !news.length && !went.length && !isTurned;
  return [isLooked ? look.index : undefined, (index) => setLook({ key, ...(index === undefined ? {} : { index }) })];
}

interface BarProps {
  here: AtBench;
  waits: boolean;
  isStopped: boolean;
  question: Question | null;
  /** What was done before may be looked at. */
  mayLook: boolean;
  /** What the step at hand is called. */
  called: string;
  onTap: () => void;
  onBack: () => void;
}

/** Back, and on; where the step is in question, to that. `waits`: the step at hand is not shown yet. */
function StepBar({ here, waits, isStopped, question, mayLook, called, onTap, onBack }: BarProps) {
  const { run, went, steps, at, first } = here;
  const clash = waitsForChoice(run.id); // its card puts the step out of sight
  const isLast = !first && at === steps.length - 1;
  const tapped = useRef(-TOO_SOON_MS);
  const tap = (when: number): void => {
    const soon = when - tapped.current < TOO_SOON_MS;
    tapped.current = when;
    if (soon) return;
    asked.current = true;
    onTap();
    goOn(here);
  };
  const asked = useRef(true);
  useEffect(() => {
    if (!asked.current) {
      tapped.current = Infinity; // another step stands there by what was done elsewhere
      painted(() => (tapped.current = performance.now()));
    }
    asked.current = false;
  }, [at, first?.number, first?.before?.kind]);
  const back = (
    <button type="button" class="step-button" disabled={placesBefore(here).length === 0} onClick={onBack}>
      <Icon name="left" />
      {t.bend.back}
    </button>
  );
  if (question)
    return (
      <div class="step-bar">
        {mayLook && back}
        <button type="button" class="step-button strong caution" onClick={() => leadTo(question.card)}>
          <Icon name="warn" />
          {t.together.choose(question.words)}
        </button>
      </div>
    );
  if (went.length > 0)
    return (
      <div class="step-bar">
        <GoOnThere words={called} isStopped={isStopped} onGoOn={() => onward(here)} />
      </div>
    );
  return (
    <div class="step-bar">
      {clash && <p class="wrong">{t.bend.chooseFirst}</p>}
      {back}
      <button type="button" class="step-button strong" disabled={clash || waits} onClick={(e) => tap(e.timeStamp)}>
        {isLast ? t.bend.finish : t.bend.next}
        <Icon name={isLast ? 'tick' : 'right'} />
      </button>
    </div>
  );
}
