/** Where a piece is at this bench, by its record and by what was ticked off here; and what a tap does there. */
import type { Plan, PlanAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { goOnWith, tick, type Ticked } from '../kept/act';
import { bentElsewhere, copyAtHand, freeCopy, ofCopy, stepsElsewhere, type Elsewhere } from '../kept/copies';
import { say, type KeptRun } from '../kept/state';
import { forMarks, isBent, NO_BENCH, setBy, type Bench, type Deed, type SeenEntry } from '../kept/view';
import { shortly } from '../parts/when';
import { firstSteps, inNewOrder, keptAnew, marksNow, statusAtBench, type FirstStep, type Kept } from './anew';
import { benchAt, benchSteps, doneSteps, isBeforeBends, isBend, isOf, isOver, isRecorded, isStep, isStill, nameOf, ticksOf, type BenchStep } from './bench';

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
  /** Where it is said to be bent, and the person here says so too: its bends and what comes before them, ticked off or not. */
  behind: readonly number[];
  /** The step at hand. */
  at: number;
  step: BenchStep;
  /** What comes before the rest is bent; of those up to here `first` is done next. */
  firsts: readonly FirstStep[];
  first: FirstStep | undefined;
  /** The bends that other devices ticked off, and the other `ticks`. Of those of a piece in hand here that nobody here has seen `news` leave it open
   * which piece is in hand; where there are none, this piece only `went` on elsewhere, and the bench with it. */
  others: readonly Elsewhere[];
  ticks: readonly Elsewhere[];
  begun: boolean;
  news: readonly Elsewhere[];
  went: readonly Elsewhere[];
  /** The plan has changed since it was begun. */
  changed: boolean;
}

/** What stood on the screen: which step of which plan and copy, and what others had done by then. */
export interface Sight {
  of: string;
  piece: number;
  step: string;
  knew: readonly string[];
}

/** `sight`: what stood there last, since the screen was opened. */
export function atBench(run: KeptRun, answer: PlanAnswer, sight?: Sight): AtBench {
  const { digest } = answer.plan;
  const bench = run.done.of === digest ? run.done : { ...NO_BENCH, of: digest };
  const copy = copyAtHand(run);
  const entries = ofCopy(run.entries, copy);
  const kept = (piece: number): Kept | null => keptAnew(entries, piece, digest);
  const steps = inNewOrder(benchSteps(answer), kept);
  const own = { ...bench, at: benchAt(bench, steps, doneSteps(0, steps, entries, digest, kept)) };
  const { begun } = own;
  const ticked = doneSteps(begun ? own.at : 0, steps, entries, digest, kept);
  const done = begun ? ticked : wentBefore(steps, ticked, kept);
  const others = bentElsewhere(entries, digest);
  const ticks = stepsElsewhere(entries, digest, (piece, step) => isStill(step, kept(piece)));
  const behind = saidBent(run, copy, own) ? bendsAndBefore(steps) : [];
  const open = steps.findIndex((step, i) => isBend(step, kept) && !done.includes(i) && !behind.includes(i)); // taken back: nothing after it is shown
  const from = Math.min(own.at, steps.length - 1, open < 0 ? own.at : open);
  const isNew = ({ id }: Elsewhere): boolean => begun && !own.knew?.includes(id);
  const isUnseen = (one: Elsewhere): boolean => isNew(one) && isInHand(one.piece, steps[from]!, entries);
  const unseen = others.filter(isUnseen);
  const asDone = { steps, done, kept, others };
  const twice = ticks.filter((one) => one.before !== undefined && isNew(one));
  const news = [...twice, ...unseen.filter((one) => one.before !== undefined || isOutOfOrder(one, asDone))];
  const firsts = firstSteps(steps, kept, entries, digest);
  const before = firstsElsewhere(firsts).filter(isUnseen);
  const ofPiece = ticks.filter((one) => isNew(one) && one.piece === steps[from]!.at);
  const went = news.length ? [] : [...unseen.filter((one) => !isAmong(one, before)), ...before, ...ofPiece];
  const passed = [...behind, ...(begun ? passedBy(asDone, went) : done)]; // where nothing is begun here, the first step that is left
  const at = firstLeft(from, steps, (i) => isOver(steps, i, kept) || passed.includes(i));
  const here = {
    run,
    answer,
    copy,
    free: freeCopy(run, copy),
    kept,
    steps,
    own,
    done,
    behind,
    at,
    step: steps[at]!,
    firsts,
    others,
    ticks,
    begun,
    first: behind.length ? undefined : firsts.find((one) => one.at <= at && !one.done), // nothing that comes after it is shown before it is done
    news,
    went,
    changed: run.done.of !== '' && run.done.of !== digest && run.done.begun,
  };
  return sight && !begun && !here.changed ? { ...here, went: wentSince(here, sight) } : here;
}

/** The person here says so, of what says so still, or of what this device has said since. */
function saidBent(run: KeptRun, copy = 1, { bent }: Bench): boolean {
  const { from } = setBy(run.entries, run.times)[copy - 1]!;
  return !!bent && !!from && isBent(run.statuses[copy - 1]!) && (from.entry.id === bent || from.mine);
}

const bendsAndBefore = (steps: readonly BenchStep[]): number[] => steps.flatMap(({ kind }, i) => (kind === 'bend' || isBeforeBends(steps, i) ? i : []));

/** It is bent, as was said: the bench goes on behind its bends, and ticks none of them off. */
export function goOnBent(here: AtBench, { entry: { id } }: SeenEntry): void {
  const { run, own, steps, done } = here;
  const behind = bendsAndBefore(steps);
  const at = firstLeft(0, steps, (i) => behind.includes(i) || done.includes(i));
  goOnWith(run, { ...own, begun: true, at, bent: id, knew: [...knewAll(here), id!], stood: undefined });
}

/** This bend, which nobody ticked off, is not made all the same: it is at hand. */
export const goOnFrom = ({ run, own }: AtBench, at: number): void => goOnWith(run, { ...own, at, bent: undefined });

export function sightOf(here: AtBench): Sight {
  const { run, answer, copy, step, first } = here;
  const piece = first?.piece ?? step.at;
  const shown = first ? [first.before?.kind ?? 'again', first.number] : [step.kind, step.bend?.number ?? step.tick?.number];
  return { of: [run.id, answer.plan.digest, copy].join(' '), piece, step: [piece, ...shown].join(' '), knew: knewAll(here) };
}

/** Where nothing is begun here and another step stood there: what others did since, of its piece and of that of the step at hand. */
function wentSince(here: AtBench, sight: Sight): Elsewhere[] {
  const now = sightOf(here);
  if (sight.of !== now.of || sight.step === now.step) return [];
  const before = firstsElsewhere(here.firsts);
  const all = [...here.others.filter((one) => !isAmong(one, before)), ...before, ...here.ticks];
  return all.filter(({ id, piece }) => [sight.piece, now.piece].includes(piece) && !sight.knew.includes(id) && !here.own.knew?.includes(id));
}

/** The steps that are done where nobody here has begun: those on record, and of the pieces begun, and those that have no bends,
 * what comes before the last bend that is made, the cut to length with it: not every bench ticks these off. */
function wentBefore(steps: readonly BenchStep[], done: readonly number[], kept: AtBench['kept']): number[] {
  const made = done.filter((i) => isBend(steps[i]!, kept));
  const isUntouched = (piece: number): boolean => steps.some(({ kind, at }) => kind === 'bend' && at === piece) && !made.some((i) => steps[i]!.at === piece);
  return steps.flatMap((step, i) => (done.includes(i) || (i < (made.at(-1) ?? 0) && !isBend(step, kept) && !isUntouched(step.at)) ? i : []));
}

const firstLeft = (from: number, steps: readonly BenchStep[], isPassed: (i: number) => boolean): number => {
  let at = from;
  while (at < steps.length - 1 && isPassed(at)) at += 1;
  return at;
};

/** It is the piece of this step, or a bend of it was ticked off on this device. */
const isInHand = (piece: number, step: BenchStep, entries: readonly SeenEntry[]): boolean => step.at === piece || isBentHere(piece, entries);

const isBentHere = (piece: number, entries: readonly SeenEntry[]): boolean =>
  entries.some(({ mine, entry: { what, piece: of } }) => mine && what.kind === 'made' && forMarks(what) && (of ?? 1) === piece);

/** What other devices did of what comes before the rest. */
const firstsElsewhere = (firsts: readonly FirstStep[]): Elsewhere[] =>
  firsts.flatMap(({ piece, number, done, before }) => (done && !done.mine && (!before || isTick(done)) ? { id: done.entry.id!, piece, number, by: done.by, at: done.at, kind: before?.kind ?? 'again' } : []));

/** A bend is told as one of these, as it is bent on or opened: by the same entry, which may say more bends. */
const isAmong = ({ id, piece, number }: Elsewhere, firsts: readonly Elsewhere[]): boolean =>
  firsts.some((one) => one.kind === 'again' && one.id === id && one.piece === piece && one.number === number);

/** What went on elsewhere, in words; where the run has several pieces, of which. */
export const wentWords = ({ went, steps, answer: { plan } }: Pick<AtBench, 'went' | 'steps' | 'answer'>): string[] =>
  went.map((one) => {
    const words = t.together.doneBy(one.kind && !isStep(one.kind) ? t.together.step[one.kind](one.number) : nameOf(one, steps), one.by, shortly(Date.parse(one.at)));
    return plan.pieces.length > 1 ? t.together.ofPiece(plan.pieces[one.piece - 1]!.label, words) : words;
  });

type Done = Pick<AtBench, 'steps' | 'done' | 'kept' | 'others'>;

/** A bend of its piece that comes before it, as it is shown here, is not made. */
function isOutOfOrder(one: Elsewhere, { steps, done, kept }: Done): boolean {
  const at = steps.findIndex((step) => isOf(one, step));
  return steps.some((step, i) => i < at && step.at === one.piece && isBend(step, kept) && !done.includes(i));
}

/** The steps that are done elsewhere: these, and what comes before the first bend of a piece of which one is made. */
const passedBy = ({ steps, done, kept }: Done, elsewhere: readonly Elsewhere[]): number[] =>
  steps.flatMap((step, i) => {
    if (isRecorded(step, kept) && done.includes(i) && elsewhere.some((one) => one.before === undefined && isOf(one, step))) return i;
    return isBeforeBends(steps, i) && elsewhere.some(({ piece, kind }) => piece === step.at && !isStep(kind)) ? i : [];
  });

/** The first step from this one on that nobody elsewhere has done. */
function leftFrom(here: AtBench, from: number): number {
  const { steps, others, ticks } = here;
  const passed = passedBy(here, [...others, ...ticks]);
  return firstLeft(Math.max(0, Math.min(from, steps.length - 1)), steps, (i) => passed.includes(i));
}

/** The person has seen what others did of the piece in hand, and goes on with it; that alone begins nothing. */
export const onward = (here: AtBench): void =>
  goOnWith(here.run, { ...here.own, ...(here.begun ? { at: leftFrom(here, here.at) } : {}), knew: knewAll(here), stood: undefined });

const knewAll = ({ others, ticks, firsts, own: { knew = [] }, run }: AtBench): string[] => {
  const statuses = run.entries.flatMap(({ entry: { id = '', what } }) => (what.kind === 'status' && knew.includes(id) ? id : []));
  return [...[...others, ...ticks, ...firstsElsewhere(firsts)].map((one) => one.id), ...statuses];
};

/** The entries of a tap, and how far the run is with them: `least` by what is ticked off here. */
export function write(here: AtBench, least: 'measured' | 'planned' | 'bent' | 'in', bench: Partial<Bench>, ticked: Partial<Ticked>): void {
  const { run, own, copy, answer } = here;
  const { plan } = answer;
  const pieces = plan.pieces.map((piece) => piece.bends.map((bend) => bend.number));
  tick(run, {
    bench: { ...own, copy, knew: knewAll(here), stood: undefined, ...bench },
    status: (now) => statusAtBench(least, pieces, now, plan.digest),
    made: [],
    back: [],
    marks: plan.digest,
    tool: plan.bender?.name ?? '',
    ...ticked,
  });
}

/** The step at hand is done. */
export function goOn(here: AtBench): void {
  const { first, at, steps, done, behind } = here;
  if (first) return write(here, 'planned', {}, { made: [doneNow(here)!] });
  const list = [...new Set([...done, at])];
  const all = steps.every((_, i) => list.includes(i) || behind.includes(i));
  const made = done.includes(at) ? null : doneNow(here);
  write(here, all ? 'in' : behind.length ? 'bent' : 'planned', { begun: true, at: leftFrom(here, at + 1) }, { made: made ? [made] : [] });
  if (all) say(t.bend.allDone);
}

/** What goes on record once the step at hand is done; null: nothing does. */
export function doneNow({ first, step, kept }: AtBench): Deed | null {
  if (first) {
    const { piece, number, before } = first;
    return { piece, number, by: marksNow(kept(piece)), ...(before ? { step: before } : { bend: { number } }) }; // it has the angle of its mark: none was read
  }
  return isRecorded(step, kept) ? deedOf(step, marksNow(kept(step.at))) : null;
}

const deedOf = ({ at, bend, tick: done }: BenchStep, by: string): Deed =>
  done ? { piece: at, number: done.number, by, step: { ...done, by_marks: by } } : { piece: at, number: bend!.number, by };

export const isTick = ({ entry: { what } }: SeenEntry): boolean => what.kind === 'made' && !!what.steps?.length;

/** A print of a plan's marks, as the page kept it once. */
const printOf = ({ pieces }: Plan): string =>
  pieces.flatMap((p) => [p.cut_length_tape, ...p.bends.map((b) => `${b.order}:${b.mark_tape}${b.hook}${b.reference}${b.pointer_deg.toFixed(1)}${b.stance}`)]).join('|');

/** What an earlier page ticked off for this device alone goes on record, where the run's plan is the same still: under its digest the
 * steps that are no bends; before the page kept records all of them stood under a print of the plan's marks. What is passed
 * here as others have bent the piece is theirs. */
export function bringBench(run: KeptRun, answer: PlanAnswer): void {
  const { steps: before, ...own } = run.done;
  const { plan } = answer;
  if (!before || (own.of !== plan.digest && own.of !== printOf(plan))) return;
  const here = atBench({ ...run, done: { ...own, of: plan.digest } }, answer);
  const entries = ofCopy(run.entries, here.copy);
  const isOfOthers = (piece: number): boolean => here.others.some((one) => one.piece === piece) && !isBentHere(piece, entries);
  const made = before.flatMap((i) => {
    const step = here.steps[i];
    if (!step || !isRecorded(step, here.kept) || isOfOthers(step.at)) return [];
    const isThere = step.tick ? ticksOf(step, entries, plan.digest, here.kept).length > 0 : here.done.includes(i);
    return isThere ? [] : deedOf(step, marksNow(here.kept(step.at)));
  });
  write(here, 'planned', {}, { made });
}
