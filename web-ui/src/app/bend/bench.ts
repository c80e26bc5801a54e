/** The plan as steps at the bench, each bend step with its bend; and what is done of them. */
import { isLeftOut, madeBends, type Kept } from './anew';
import type { Elsewhere } from '../kept/copies';
import type { SeenEntry } from '../kept/view';
import type { BendAtBench, MarkedBend, PieceAtBench, PlannedPiece, PlanAnswer, Plan } from '../../engine/types';

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
  /** piece and bend in the card's words */
  pieceWords: PieceAtBench | null;
  bendWords: BendAtBench | null;
}

export function benchSteps({ plan, step_cautions, bench }: PlanAnswer): BenchStep[] {
  return plan.steps.map((step, i) => {
    const [at, number] = [(step.piece ?? 0) - 1, (step.bend ?? 0) - 1];
    const [piece, pieceWords] = [plan.pieces[at] ?? null, bench[at] ?? null];
    const [bend, bendWords] = [piece?.bends[number] ?? null, pieceWords?.bends[number] ?? null];
    return { kind: step.kind, title: step.title, detail: step.detail ?? '', move: step.move, care: step_cautions[i] ?? [], at: step.piece ?? 0, piece, bend, pieceWords, bendWords };
  });
}

/** Whether a step is the one of this bend. */
export const isOf = (one: Pick<Elsewhere, 'piece' | 'number'>, step: BenchStep): boolean => step.bend?.number === one.number && step.at === one.piece;

/** The bend as its step calls it. */
export const nameOf = (one: Pick<Elsewhere, 'piece' | 'number'>, steps: readonly BenchStep[]): string => steps.find((step) => isOf(one, step))?.bendWords?.name ?? '';

/** Whether the record says that a step is done: those of bends, but not of one that the new marks leave out. */
export function isRecorded({ kind, bend, at }: BenchStep, kept: (piece: number) => Kept | null): boolean {
  const anew = kept(at);
  return kind === 'bend' && !!bend && !(anew && isLeftOut(anew, bend.number));
}

/** Whether a step is done because new marks were kept for its piece: what comes before the first bend, for bends are made, and those
 * that they were kept with (one that is bent on has a step of its own). */
export function isOver(steps: readonly BenchStep[], i: number, kept: (piece: number) => Kept | null): boolean {
  const { at, kind, bend } = steps[i]!;
  const made = kept(at)?.entry.what.bends;
  if (!made) return false;
  return kind === 'bend' ? made.some(({ number }) => number === bend?.number) : i < steps.findIndex((step) => step.kind === 'bend' && step.at === at);
}

/** The steps that are done: the bends as they are on record, by whomever; the others as they were ticked off here, and those
 * that are over. */
export function doneSteps(own: readonly number[], steps: readonly BenchStep[], entries: readonly SeenEntry[], marks: string, kept: (piece: number) => Kept | null): number[] {
  const made = new Map([...new Set(steps.map((step) => step.at))].map((piece) => [piece, madeBends(entries, piece, marks)]));
  const isMade = ({ kind, bend, at }: BenchStep): boolean => kind === 'bend' && !!bend && made.get(at)!.has(bend.number);
  return steps.flatMap((step, i) => (isMade(step) || (!isRecorded(step, kept) && own.includes(i)) || isOver(steps, i, kept) ? i : []));
}
