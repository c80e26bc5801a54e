/** The plan as steps at the bench, each bend step with its bend; and what is done of them. */
import { isLeftOut, madeBends, marksNow, type Kept } from './anew';
import type { Elsewhere } from '../kept/copies';
import type { Bench, SeenEntry } from '../kept/view';
import { STEPS, type BendAtBench, type MarkedBend, type PieceAtBench, type PlannedPiece, type PlanAnswer, type Plan, type StepMade } from '../../engine/types';

/** A step of the plan that is no bend: of which kind, and which of this kind among those of its piece, from 1. */
export interface Tick {
  kind: StepMade['kind'];
  number: number;
}

export interface BenchStep {
  kind: Plan['steps'][number]['kind'];
  title: string;
  detail: string;
  /** which move of the assembly it is, from 1 */
  move: number | null;
  /** what this step asks to take care of */
  care: string[];
  /** which piece, from 1 */
  at: number;
  piece: PlannedPiece | null;
  bend: MarkedBend | null;
  /** what the record calls it; null: a bend, or what no record says */
  tick: Tick | null;
  /** piece and bend in the card's words */
  pieceWords: PieceAtBench | null;
  bendWords: BendAtBench | null;
}

const OF_PLAN = new Map(Object.entries(STEPS).flatMap(([kind, { planned }]) => (planned ? [[planned, kind as StepMade['kind']] as const] : [])));

/** What the record calls each of a plan's steps; null: a bend, or what no record says. As `steps_planned` of records/steps.py. */
export function ticksPlanned(steps: readonly Pick<Plan['steps'][number], 'kind' | 'piece'>[]): (Tick | null)[] {
  const count = new Map<string, number>();
  return steps.map(({ kind: planned, piece }) => {
    const kind = piece && OF_PLAN.get(planned);
    if (!kind) return null;
    const number = (count.get(`${piece} ${kind}`) ?? 0) + 1;
    count.set(`${piece} ${kind}`, number);
    return { kind, number };
  });
}

export function benchSteps({ plan, step_cautions, bench }: PlanAnswer): BenchStep[] {
  const ticks = ticksPlanned(plan.steps);
  return plan.steps.map((step, i) => {
    const [at, number] = [(step.piece ?? 0) - 1, (step.bend ?? 0) - 1];
    const [piece, pieceWords] = [plan.pieces[at] ?? null, bench[at] ?? null];
    const [bend, bendWords] = [piece?.bends[number] ?? null, pieceWords?.bends[number] ?? null];
    return { kind: step.kind, title: step.title, detail: step.detail ?? '', move: step.move, care: step_cautions[i] ?? [], at: step.piece ?? 0, piece, bend, tick: ticks[i]!, pieceWords, bendWords };
  });
}

type Told = Pick<Elsewhere, 'piece' | 'number' | 'kind'>;

/** Whether a step is this one: of the plan, or of this bend. */
export const isOf = ({ piece, number, kind }: Told, { at, bend, tick }: BenchStep): boolean => at === piece && (tick ? tick.kind === kind && tick.number === number : !kind && bend?.number === number);

/** It is a step of the plan, and no bend. */
export const isStep = (kind: Told['kind']): boolean => !!kind && kind !== 'again' && STEPS[kind].of === 'plan';

/** The bend as its step calls it; another step of the plan by its title. */
export function nameOf(one: Told, steps: readonly BenchStep[]): string {
  const step = steps.find((of) => isOf(one, of));
  return step?.bendWords?.name ?? (step?.tick ? step.title : '');
}

/** Whether the record says that a bend is made, or another step of the plan done; of a bend that the new marks leave out it does not. */
export const isRecorded = (step: BenchStep, kept: (piece: number) => Kept | null): boolean => !!step.tick || isBend(step, kept);

export function isBend({ kind, bend, at }: BenchStep, kept: (piece: number) => Kept | null): boolean {
  const anew = kept(at);
  return kind === 'bend' && !!bend && !(anew && isLeftOut(anew, bend.number));
}

/** It comes before the first bend of its piece. */
export const isBeforeBends = (steps: readonly BenchStep[], i: number): boolean => i < steps.findIndex(({ kind, at }) => kind === 'bend' && at === steps[i]!.at);

/** Whether a step is done because new marks were kept for its piece: what comes before the first bend, for bends are made, and those
 * that they were kept with (one that is bent on has a step of its own). */
export function isOver(steps: readonly BenchStep[], i: number, kept: (piece: number) => Kept | null): boolean {
  const { at, kind, bend } = steps[i]!;
  const made = kept(at)?.entry.what.bends;
  if (!made) return false;
  return kind === 'bend' ? made.some(({ number }) => number === bend?.number) : isBeforeBends(steps, i);
}

/** Whether a step of the plan is done still by the marks that hold for its piece: what is done once it is bent is done again for
 * others. As `planned_done` of records/entry.py. */
export const isStill = ({ kind, by_marks: by }: StepMade, kept: Kept | null): boolean => !STEPS[kind].again || by === marksNow(kept);

/** Who ticked off a step of the plan, oldest first. */
export const ticksOf = ({ at, tick }: BenchStep, entries: readonly SeenEntry[], marks: string, kept: (piece: number) => Kept | null): SeenEntry[] =>
  entries.filter(
    ({ entry: { what, piece, pins } }) =>
      tick && what.kind === 'made' && pins?.marks === marks && (piece ?? 1) === at && what.steps?.some((one) => one.kind === tick.kind && one.number === tick.number && isStill(one, kept(at))),
  );

/** What this bench calls a step of the plan that is no bend; '' where no record says it. */
const tickName = ({ at, tick }: BenchStep): string => (tick ? `${at} ${tick.kind} ${tick.number}` : '');

/** The steps of the plan that are on record. */
export const ticksOnRecord = (steps: readonly BenchStep[], entries: readonly SeenEntry[], marks: string, kept: (piece: number) => Kept | null): string[] =>
  steps.filter((step) => ticksOf(step, entries, marks, kept).length).map(tickName);

/** Where the bench is: where it was, or at the first step that was on record when this was shown last, and is not done any more; what
 * comes after it is not shown. */
export function benchAt({ at, ticks = [] }: Bench, steps: readonly BenchStep[], done: readonly number[]): number {
  const gone = steps.findIndex((step, i) => ticks.includes(tickName(step)) && !done.includes(i));
  return gone < 0 ? at : Math.min(at, gone);
}

/** The steps that are done: as they are on record, by whomever; what comes before the bends where one is made, what is over, and
 * what this bench has `passed`: all but bends that come before that step. */
export function doneSteps(passed: number, steps: readonly BenchStep[], entries: readonly SeenEntry[], marks: string, kept: (piece: number) => Kept | null): number[] {
  const made = new Map([...new Set(steps.map((step) => step.at))].map((piece) => [piece, madeBends(entries, piece, marks)]));
  const isDone = (step: BenchStep, i: number): boolean => {
    const bends = made.get(step.at)!;
    if (isBend(step, kept) || (step.bend && bends.has(step.bend.number))) return bends.has(step.bend!.number);
    const isAgain = !!step.tick && STEPS[step.tick.kind].again && kept(step.at) !== null; // for the new marks somebody has ticked it off, or it is not done
    return (i < passed && !isAgain) || ticksOf(step, entries, marks, kept).length > 0 || (bends.size > 0 && isBeforeBends(steps, i));
  };
  return steps.flatMap((step, i) => (isDone(step, i) || isOver(steps, i, kept) ? i : []));
}
