/** Where a piece is at this bench, by its record and by what was ticked off here; and what a tap does there. */
import type { PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { tick, type Ticked } from '../kept/act';
import { bentElsewhere, copyAtHand, freeCopy, ofCopy, type Elsewhere } from '../kept/copies';
import { say, type KeptRun } from '../kept/state';
import { BY_PLAN, type Bench } from '../kept/view';
import { firstSteps, inNewOrder, keptAnew, marksNow, statusAtBench, type FirstStep, type Kept } from './anew';
import { benchSteps, doneSteps, isOver, isRecorded, type BenchStep } from './bench';

export interface AtBench {
  run: KeptRun;
  answer: PlanAnswer;
  copy: number | undefined;
  free: number | undefined;
  kept: (piece: number) => Kept | null;
  steps: readonly BenchStep[];
  /** What this device keeps of it. */
  own: Bench;
  done: readonly number[];
  /** The step at hand. */
  at: number;
  step: BenchStep;
  /** The made bends that are bent on or opened; of those up to here `first` is done next. */
  firsts: readonly FirstStep[];
  first: FirstStep | undefined;
  /** The bends that other devices ticked off; of a piece begun here `news` are those that nobody here has seen. */
  others: readonly Elsewhere[];
  begun: boolean;
  news: readonly Elsewhere[];
  /** The plan has changed since it was begun. */
  changed: boolean;
}

export function atBench(run: KeptRun, answer: PlanAnswer): AtBench {
  const { digest } = answer.plan;
  const own = run.done.of === digest ? run.done : { of: digest, steps: [], at: 0 };
  const copy = copyAtHand(run);
  const entries = ofCopy(run.entries, copy);
  const kept = (piece: number): Kept | null => keptAnew(entries, piece, digest);
  const steps = inNewOrder(benchSteps(answer), kept);
  const done = doneSteps(own.steps, steps, entries, digest, kept);
  const others = bentElsewhere(entries, digest);
  const begun = own.steps.length > 0;
  const open = steps.findIndex((step, i) => isRecorded(step, kept) && !done.includes(i)); // taken back: nothing after it is shown
  let at = Math.min(own.at, steps.length - 1, open < 0 ? own.at : open);
  const passed = begun ? [] : done; // where nothing is begun here, the first step that is left
  while (at < steps.length - 1 && (isOver(steps, at, kept) || passed.includes(at))) at += 1;
  const firsts = firstSteps(steps, kept, entries, digest);
  return {
    run,
    answer,
    copy,
    free: freeCopy(run),
    kept,
    steps,
    own,
    done,
    at,
    step: steps[at]!,
    firsts,
    others,
    begun,
    first: firsts.find((one) => one.at <= at && !one.done), // nothing that comes after it is shown before it is done
    news: begun ? others.filter((one) => !own.knew?.includes(one.id)) : [],
    changed: run.done.of !== '' && run.done.of !== digest && run.done.steps.length > 0,
  };
}

const knewAll = ({ others }: AtBench): string[] => others.map((one) => one.id);

/** The entries of a tap, and how far the run is with them: `least` by what is ticked off here. */
function write(here: AtBench, least: 'measured' | 'planned' | 'in', bench: Partial<Bench>, ticked: Partial<Ticked>): void {
  const { run, own, copy, answer } = here;
  const { plan } = answer;
  const pieces = plan.pieces.map((piece) => piece.bends.map((bend) => bend.number));
  tick(run, {
    bench: { ...own, copy, knew: knewAll(here), ...bench },
    status: (now) => statusAtBench(least, pieces, now, plan.digest),
    made: [],
    back: [],
    marks: plan.digest,
    tool: plan.bender?.name ?? '',
    ...ticked,
  });
}

/** To another step; `finished`: the one at hand is done, else what comes after that other one is not. */
function go(here: AtBench, to: number, finished: boolean): void {
  const { steps, done, at, kept } = here;
  const list = finished ? [...new Set([...done, at])] : done.filter((s) => s < to || isOver(steps, s, kept));
  const bends = (which: (i: number) => boolean): { piece: number; number: number; by: string }[] =>
    steps.flatMap((s, i) => (which(i) && isRecorded(s, kept) ? [{ piece: s.at, number: s.bend!.number, by: marksNow(kept(s.at)) }] : []));
  const all = list.length >= steps.length;
  write(
    here,
    all ? 'in' : list.length ? 'planned' : 'measured',
    { steps: list.filter((i) => !isRecorded(steps[i]!, kept)), at: Math.max(0, Math.min(to, steps.length - 1)) },
    { made: bends((i) => list.includes(i) && !done.includes(i)), back: bends((i) => !list.includes(i) && done.includes(i)) },
  );
  if (all) say(t.bend.allDone);
}

/** The step at hand is done. */
export function goOn(here: AtBench): void {
  const { first, at } = here;
  if (!first) return go(here, at + 1, true);
  const { piece, number, angle_rad } = first;
  write(here, 'planned', {}, { made: [{ piece, number, bend: { number, angle_rad }, by: marksNow(here.kept(piece)) }] });
}

/** The made bend whose tick a step back takes away. */
const firstBack = ({ firsts, at }: AtBench): FirstStep | undefined => firsts.filter((one) => one.at === at && one.done?.mine).pop();

/** The step before that is not over; -1: there is none. */
function stepBack({ steps, at, kept }: AtBench): number {
  let to = at - 1;
  while (to >= 0 && isOver(steps, to, kept)) to -= 1;
  return to;
}

export const isFirst = (here: AtBench): boolean => !firstBack(here) && stepBack(here) < 0;

/** The step before is not done yet. */
export function goBack(here: AtBench): void {
  const last = firstBack(here);
  if (last) write(here, 'planned', {}, { taken: last.done! });
  else go(here, stepBack(here), false);
}

/** What the page kept at the bench before it kept records stood under a print of the plan's marks, bends with the rest: where
 * the run's plan has these marks still, it is that plan's, and its bends go on record. */
export function bringBench(run: KeptRun, answer: PlanAnswer): void {
  const { done: before } = run;
  const { plan } = answer;
  const marks = plan.pieces.flatMap((p) => [p.cut_length_tape, ...p.bends.map((b) => `${b.order}:${b.mark_tape}${b.hook}${b.reference}${b.pointer_deg.toFixed(1)}${b.stance}`)]);
  if (before.of !== marks.join('|')) return;
  const here = atBench({ ...run, done: { ...before, of: plan.digest } }, answer);
  const made = before.steps.flatMap((i) => {
    const step = here.steps[i];
    return step && isRecorded(step, here.kept) && !here.done.includes(i) ? [{ piece: step.at, number: step.bend!.number, by: BY_PLAN }] : [];
  });
  write(here, 'planned', { steps: before.steps.filter((i) => here.steps[i] && !isRecorded(here.steps[i], here.kept)) }, { made });
}
