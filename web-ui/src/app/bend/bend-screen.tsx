/** Bend: one step a screen, large enough to be read from the floor. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { StepView } from '../../draw/step-view';
import { StripView } from '../../draw/strip-view';
import type { PlanAnswer, Plan } from '../../engine/types';
import { t } from '../../text/words';
import { benchSteps, doneSteps, type BenchStep } from './bench';
import { Icon } from '../parts/icons';
import type { Unit } from '../../text/lengths';
import { Care, Tail } from '../parts/tail';
import { ToolLine } from '../parts/tool-news';
import { NoPlan, usePlan } from '../parts/plan';
import { beginCopy, goOnWith, takeBack, tick } from '../kept/act';
import { say, type KeptRun } from '../kept/state';
import { bentElsewhere, copyAtHand, freeCopy, nextCopy, ofCopy } from '../kept/copies';
import { leadTo, waitsForChoice } from '../parts/clash-card';
import { Tape } from '../parts/tape';
import { bendsLeft, firstSteps, inNewOrder, keptAnew, madeFirst, type Kept } from './anew';
import { AnewStep, isReplaced } from './anew-step';
import { BendStep } from './bend-step';
import { BentAlready, BentBy, isOf, TwoBenches } from './others';
import { useAnew } from './use-anew';
import { useAwake } from './wake';

/** A tap so soon after the last one was not meant for the step that it would hit (ms). */
const TOO_SOON_MS = 400;

/** `told`: of the run; at a bend it stands below what the hands need. */
export function BendScreen({ run, told }: { run: KeptRun; told: ComponentChildren }) {
  const { answer, stale } = usePlan();
  if (!answer || stale)
    return (
      <>
        {told}
        <NoPlan />
      </>
    );
  return <Bench run={run} answer={answer} told={told} />;
}

function Bench({ run, answer, told: ofRun }: { run: KeptRun; answer: PlanAnswer; told: ComponentChildren }) {
  const { plan } = answer;
  const awake = useAwake();
  const of = plan.digest;
  const own = run.done.of === of ? run.done : { of, steps: [], at: 0 };
  const copy = copyAtHand(run);
  const entries = ofCopy(run.entries, copy);
  const kept = (piece: number): Kept | null => keptAnew(entries, piece, plan.digest);
  const steps = inNewOrder(benchSteps(answer), kept);
  const done = { ...own, steps: doneSteps(own.steps, steps, entries, plan.digest, (piece) => kept(piece) !== null) };
  const others = bentElsewhere(entries, plan.digest);
  const [begun, knew] = [own.steps.length > 0, others.map((one) => one.id)];
  const news = begun ? others.filter((one) => !own.knew?.includes(one.id)) : [];
  const free = freeCopy(run);
  const changed = run.done.of !== '' && run.done.of !== of && run.done.steps.length > 0;
  const at = Math.min(done.at, steps.length - 1);
  const step = steps[at]!;
  const firsts = firstSteps(steps, kept, entries, plan.digest);
  const before = firsts.filter((one) => one.at <= at);
  const first = before.find((one) => !one.done); // nothing that comes after it is shown before it is done
  const anew = useAnew(run, plan, first?.piece ?? step.at);
  const title = useRef<HTMLHeadingElement>(null);
  const opened = useRef(true);
  const tapped = useRef(-TOO_SOON_MS);
  useEffect(() => {
    if (!opened.current) {
      title.current?.focus({ preventScroll: true });
      window.scrollTo(0, 0);
    }
    opened.current = false;
  }, [at, first?.number]);
  const go = (to: number, finished: boolean): void => {
    const list = finished ? [...new Set([...done.steps, at])] : done.steps.filter((s) => s < to);
    const all = list.length >= steps.length;
    const bends = (which: (i: number) => boolean): { piece: number; number: number }[] =>
      steps.flatMap((s, i) => (which(i) && s.kind === 'bend' && s.bend ? [{ piece: s.at, number: s.bend.number }] : []));
    const ticked = bends((i) => list.includes(i));
    const left = plan.pieces.flatMap((piece, i) => {
      const here = new Set(ticked.filter((one) => one.piece === i + 1).map((one) => one.number));
      return bendsLeft(piece.bends.map((bend) => bend.number), here, kept(i + 1), firsts.filter((one) => one.piece === i + 1));
    });
    const status = all ? 'in' : !list.length ? 'measured' : left.length ? 'planned' : 'bent';
    const bench = { of, steps: list, at: Math.max(0, Math.min(to, steps.length - 1)), copy, knew };
    const made = bends((i) => list.includes(i) && !done.steps.includes(i));
    const back = bends((i) => !list.includes(i) && done.steps.includes(i));
    tick(run, { bench, status, made, back, marks: plan.digest, tool: plan.bender?.name ?? '' });
    if (all) say(t.bend.allDone);
  };
  const goOn = (when: number): void => {
    const soon = when - tapped.current < TOO_SOON_MS;
    tapped.current = when;
    if (soon) return;
    if (!first) return go(at + 1, true);
    const [planned, made] = [plan.pieces[first.piece - 1]?.bends[first.number - 1], anew?.answer];
    if (!planned || !made) return;
    const bend = madeFirst(first, made, planned);
    tick(run, { bench: { ...own, copy, knew }, status: 'planned', made: [{ piece: first.piece, number: first.number, bend }], back: [], marks: plan.digest, tool: plan.bender?.name ?? '' });
  };
  const goBack = (): void => {
    const last = before.filter((one) => one.at === at && one.done?.mine).pop();
    if (last) takeBack(last.done!);
    else go(at - 1, false);
  };
  const clash = waitsForChoice(run.id); // its card puts the step out of sight
  const waits = clash || (anew !== null && !anew.answer && (!!first || isReplaced(step)));
  const by = !first && <BentBy one={others.find((one) => isOf(one, step))} />;
  const atBend = !!first || !!step.bend;
  const told = (
    <>
      {news.length > 0 && <TwoBenches run={run} copy={copy} free={free} others={news} steps={steps} onGoOn={() => goOnWith(run, knew)} />}
      {ofRun}
    </>
  );
  const over = !first && done.steps.length >= steps.length;
  const next = nextCopy(run);
  const isLast = !first && at === steps.length - 1;
  const shown = steps.flatMap((s, i) => [
    ...firsts.filter((one) => one.at === i).map((one) => ({ now: one === first, done: one.done !== null, isBend: true })),
    { now: i === at && !first, done: done.steps.includes(i), isBend: s.kind === 'bend' },
  ]);
  const progress = t.bend.progress(shown.findIndex((one) => one.now) + 1, shown.length);
  const label = (first ? plan.pieces[first.piece - 1] : step.piece)?.label;
  return (
    <div class="bench">
      {!atBend && told}
      <ol class="progress" aria-label={progress}>
        {shown.map((one, i) => (
          <li key={i} class={`${one.now ? 'now' : ''} ${one.done ? 'done' : ''} ${one.isBend ? 'is-bend' : ''}`}>
            <span class="unseen">{t.bend.stepState(i + 1, one.done)}</span>
          </li>
        ))}
      </ol>
      <p class="step-count" aria-hidden="true">
        {progress}
        {plan.pieces.length > 1 && label ? ` · ${label}` : ''}
        {copy ? ` · ${t.bend.copy(copy, run.times)}` : ''}
      </p>
      {!begun && <BentAlready run={run} copy={copy} free={free} others={others} steps={steps} />}
      {changed && <p class="wrong pad">{t.bend.changed}</p>}
      {over && at === steps.length - 1 && <p class="all-done" role="status"><Icon name="tick" />{t.bend.allDone}</p>}
      {over && at === steps.length - 1 && next !== undefined && next !== copy && (
        <div class="pad">
          <button type="button" class="wide-button strong" onClick={() => beginCopy(run, next)}>
            {t.bend.nextCopy(next, run.times)}
          </button>
        </div>
      )}
      {anew && (first || isReplaced(step)) ? (
        <AnewStep first={first} over={firsts.filter((one) => one.done && one.piece === (first?.piece ?? step.at))} step={step} anew={anew} unit={run.survey.units} title={title} bender={plan.bender} tool={answer.tool} by={by} told={atBend && told} />
      ) : step.bend && step.piece ? (
        <BendStep
          piece={step.piece}
          bend={step.bend}
          words={step.bendWords!}
          unit={run.survey.units}
          title={title}
          bender={plan.bender}
          tool={answer.tool}
          picture={`${step.title}. ${step.detail}`}
          by={by}
          told={told}
        >
          <Care list={step.care} />
          <StripView piece={step.piece} words={step.pieceWords!} current={step.bend.number} />
        </BendStep>
      ) : (
        <OtherStep plan={plan} step={step} unit={run.survey.units} title={title} />
      )}
      {at === 0 ? <Tail answer={answer} checked /> : !step.bend && <Care list={step.care} />}
      {step.kind === 'lay-out' && <ToolLine words={answer.bender_words} />}
      <p class="quiet awake">{awake ? t.bend.awake : t.bend.asleep}</p>
      <div class="step-bar">
        {news.length > 0 ? (
          <button type="button" class="step-button caution" onClick={() => leadTo('.two-benches')}>
            <Icon name="warn" />
            {t.together.twoChoose(copy, run.times)}
          </button>
        ) : (
          <>
            {clash && <p class="wrong">{t.bend.chooseFirst}</p>}
            <button type="button" class="step-button" disabled={at === 0} onClick={goBack}>
              <Icon name="left" />
              {t.bend.back}
            </button>
            <button type="button" class="step-button strong" disabled={waits} onClick={(e) => goOn(e.timeStamp)}>
              {isLast ? t.bend.finish : t.bend.next}
              <Icon name={isLast ? 'tick' : 'right'} />
            </button>
          </>
        )}
      </div>
    </div>
  );
}

interface StepProps {
  plan: Plan;
  step: BenchStep;
  unit: Unit;
  title: { current: HTMLHeadingElement | null };
}

function OtherStep({ plan, step, unit, title }: StepProps) {
  const { piece, pieceWords: words } = step;
  return (
    <article class="step">
      <h2 ref={title} tabIndex={-1} class="step-title">
        {step.title}
      </h2>
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
