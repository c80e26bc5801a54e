/** New marks for the rest of a piece that were kept: which hold, and what the engine is asked to show them again. */
import type { Entry, Made, MadeReading, NewMark, RemarkAnswer } from '../../engine/types';
import type { SeenEntry } from '../kept/view';
import type { BenchStep } from './bench';

/** An entry that has new marks in place of the plan's. */
export type Kept = SeenEntry & { entry: Entry & { what: Made & { anew: NonNullable<Made['anew']> } } };

const isKept = (seen: SeenEntry): seen is Kept => seen.entry.what.kind === 'made' && !!seen.entry.what.anew;
const ofPiece = ({ entry }: SeenEntry, piece: number, marks: string): boolean => !!marks && entry.pins?.marks === marks && (entry.piece ?? 1) === piece;
const degrees = (rad: number): number => Math.round((rad * 180e6) / Math.PI) / 1e6;

/** The last that was kept for this piece of the plan with these marks; null: the plan's own hold. */
export const keptAnew = (entries: readonly SeenEntry[], piece: number, marks: string): Kept | null =>
  entries.filter(isKept).filter((one) => ofPiece(one, piece, marks)).pop() ?? null;

/** The marks of the bends of a piece that are made, by whomever. */
export const madeMarks = (entries: readonly SeenEntry[], piece: number, marks: string): Set<number> =>
  new Set(entries.filter((one) => ofPiece(one, piece, marks)).flatMap(({ entry: { what } }) => (what.kind === 'made' ? what.bends.map((b) => b.number) : [])));

/** The bends of a piece that are still to be made: of these planned ones, or of its kept new marks (records/bends_left.py). */
export const bendsLeft = (planned: readonly number[], made: ReadonlySet<number>, kept: Kept | null): number[] =>
  (kept ? kept.entry.what.anew.marks.map((mark) => mark.number) : planned).filter((number) => !made.has(number));

/** The bends that the marks were kept for, as they were measured. */
export const measuredOf = ({ entry }: Kept): MadeReading[] =>
  entry.what.bends.map(({ number, angle_rad, mark_mm }) => ({ number, ...(angle_rad == null ? {} : { angle_deg: degrees(angle_rad) }), ...(mark_mm == null ? {} : { mark: `${mark_mm} mm` }) }));

/** The steps in the order in which they are done: the bends left of a piece with kept marks in the order of those. */
export function inNewOrder(steps: readonly BenchStep[], kept: (piece: number) => Kept | null): BenchStep[] {
  const out = [...steps];
  for (const piece of new Set(steps.map((step) => step.at))) {
    const what = kept(piece)?.entry.what;
    if (!what) continue;
    const made = what.bends.map((bend) => bend.number);
    const order = what.anew.marks.map((mark) => mark.number).filter((number) => !made.includes(number));
    const of = (step: BenchStep): number => (step.at === piece && step.bend ? order.indexOf(step.bend.number) : -1);
    const left = steps.filter((step) => of(step) >= 0).sort((a, b) => of(a) - of(b));
    steps.forEach((step, i) => {
      if (of(step) >= 0) out[i] = left.shift()!;
    });
  }
  return out;
}

/** Where the pencil mark stands, as the tape shows it (mm). */
const penciled = (mark: NewMark): number => mark.mark.mm + mark.mark_rounding_mm;

/** Whether these are the marks that were kept: another version of the program may find others. */
export function agrees({ entry }: Kept, answer: RemarkAnswer): boolean {
  const { marks } = entry.what.anew;
  return (
    marks.length === answer.marks.length &&
    answer.marks.every((m, i) => {
      const was = marks[i]!;
      return was.number === m.number && Math.abs(was.mark_mm - penciled(m)) < 0.5 && Math.abs(degrees(was.angle_rad) - m.angle_deg) < 0.1;
    })
  );
}
