/** The plan as steps at the bench, each bend step with its bend; and what is done of them. */
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

/** Steps done here, and the bends that anybody has ticked off for the same plan. `isAnew`: of a piece whose rest has new
 * marks that alone counts, as its bends may have changed places among the steps. */
export function doneSteps(own: readonly number[], steps: readonly BenchStep[], entries: readonly SeenEntry[], marks: string, isAnew: (piece: number) => boolean): number[] {
  const done = new Set(own.filter((i) => !steps[i]?.bend || !isAnew(steps[i].at)));
  for (const { entry } of entries) {
    if (entry.what.kind !== 'made' || !marks || entry.pins?.marks !== marks) continue;
    for (const { number } of entry.what.bends) {
      const at = steps.findIndex((step) => step.bend?.number === number && step.at === (entry.piece ?? 1));
      if (at >= 0) done.add(at);
    }
  }
  return [...done].sort((a, b) => a - b);
}
