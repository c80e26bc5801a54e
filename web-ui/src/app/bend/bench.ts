/** The plan as steps at the bench, each bend step with its bend; and what is done of them. */
import type { MarkedBend, PlannedPiece, PlanAnswer, Plan } from '../../engine/types';

export interface BenchStep {
  kind: Plan['steps'][number]['kind'];
  title: string;
  detail: string;
  /** what this step asks to take care of */
  care: string[];
  piece: PlannedPiece | null;
  bend: MarkedBend | null;
}

export function benchSteps({ plan, step_cautions }: PlanAnswer): BenchStep[] {
  return plan.steps.map((step, i) => {
    const piece = plan.pieces[(step.piece ?? 0) - 1] ?? null;
    const bend = piece?.bends.find((b) => b.number === step.bend) ?? null;
    return { kind: step.kind, title: step.title, detail: step.detail ?? '', care: step_cautions[i] ?? [], piece, bend };
  });
}

/** The same plan has the same print: done steps hold only for the plan they were done from. */
export function planPrint(plan: Plan): string {
  const marks = plan.pieces.flatMap((p) => [
    p.cut_length_tape,
    ...p.bends.map((b) => `${b.order}:${b.mark_tape}${b.hook}${b.reference}${b.pointer_deg.toFixed(1)}${b.stance}`),
  ]);
  return marks.join('|');
}
