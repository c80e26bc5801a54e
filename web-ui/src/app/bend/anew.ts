/** New marks for the rest of a piece that were kept: which hold, and what the engine is asked to show them again. */
import type { BendMade, Entry, Made, MadeReading, MarkedBend, NewMark, RemarkAnswer } from '../../engine/types';
import type { SeenEntry } from '../kept/view';
import type { BenchStep } from './bench';

/** An entry that has new marks in place of the plan's. */
export type Kept = SeenEntry & { entry: Entry & { what: Made & { anew: NonNullable<Made['anew']> } } };

const isKept = (seen: SeenEntry): seen is Kept => seen.entry.what.kind === 'made' && !!seen.entry.what.anew;
const ofPiece = ({ entry }: SeenEntry, piece: number, marks: string): boolean => !!marks && entry.pins?.marks === marks && (entry.piece ?? 1) === piece;
const degrees = (rad: number): number => Math.round((rad * 180e6) / Math.PI) / 1e6;
/** A place as a reading: with no more digits than a length may have. */
const inMm = (mm: number): string => `${+mm.toFixed(6)} mm`;

/** The last that was kept for this piece of the plan with these marks; null: the plan's own hold. */
export const keptAnew = (entries: readonly SeenEntry[], piece: number, marks: string): Kept | null =>
  entries.filter(isKept).filter((one) => ofPiece(one, piece, marks)).pop() ?? null;

/** The marks of the bends of a piece that are made, by whomever. */
export const madeMarks = (entries: readonly SeenEntry[], piece: number, marks: string): Set<number> =>
  new Set(entries.filter((one) => ofPiece(one, piece, marks)).flatMap(({ entry: { what } }) => (what.kind === 'made' ? what.bends.map((b) => b.number) : [])));

/** The bends of a piece that are still to be made: of these planned ones, or of its kept new marks, with the made ones that are
 * bent on or opened first (records/bends_left.py). */
export const bendsLeft = (planned: readonly number[], made: ReadonlySet<number>, kept: Kept | null, first: readonly First[]): number[] =>
  (kept ? kept.entry.what.anew.marks.map((mark) => mark.number) : planned).filter((number) => {
    const again = first.find((one) => one.number === number);
    return again ? !again.done : !made.has(number);
  });

/** A made bend that is bent on or opened before the rest is bent: a step of its own, the first of what is left. */
export interface First {
  number: number;
  angle_rad: number;
  /** What ticked it off, null: it is still to be done. */
  done: SeenEntry | null;
}

/** Those of a piece, in the order in which they are done. */
export function firstOf({ entry: { id, what } }: Kept, entries: readonly SeenEntry[], piece: number, marks: string): First[] {
  const since = entries.slice(entries.findIndex((seen) => seen.entry.id === id) + 1).filter((seen) => ofPiece(seen, piece, marks));
  const done = (number: number): SeenEntry | null => since.filter(({ entry }) => entry.what.kind === 'made' && entry.what.bends.some((bend) => bend.number === number)).pop() ?? null;
  return what.anew.marks.filter((mark) => what.bends.some((bend) => bend.number === mark.number)).map(({ number, angle_rad }) => ({ number, angle_rad, done: done(number) }));
}

/** One of them among the steps of all pieces: it comes before the step `at`. */
interface FirstStep extends First {
  piece: number;
  at: number;
}

/** Before the first bend that is left of their piece, or (none is) after its last. `steps` in the new order. */
export function firstSteps(steps: readonly BenchStep[], kept: (piece: number) => Kept | null, entries: readonly SeenEntry[], marks: string): FirstStep[] {
  const pieces = [...new Set(steps.flatMap((step) => (step.bend ? [step.at] : [])))];
  return pieces.flatMap((piece) => {
    const one = kept(piece);
    if (!one) return [];
    const isLeft = (step: BenchStep): boolean => step.at === piece && !!step.bend && !one.entry.what.bends.some((bend) => bend.number === step.bend!.number);
    const left = steps.findIndex(isLeft);
    const at = left >= 0 ? left : steps.reduce((last, step, i) => (step.at === piece && step.bend ? i + 1 : last), 0);
    return firstOf(one, entries, piece, marks).map((first) => ({ ...first, piece, at }));
  });
}

/** What is recorded of it once it is done: its angle, and where the plan's mark of it would stand for it to be where it is. */
export function madeFirst({ number, angle_rad }: First, { anew }: RemarkAnswer, planned: MarkedBend): BendMade {
  const mark_mm = anew?.bends[number - 1]?.all_marks_mm[`${planned.hook} ${planned.reference}`];
  return { number, angle_rad, ...(mark_mm === undefined ? {} : { mark_mm }) };
}

/** How a bend is recorded to be, as a reading. */
const readingOf = ({ number, angle_rad, mark_mm }: BendMade): MadeReading => ({
  number,
  ...(angle_rad == null ? {} : { angle_deg: degrees(angle_rad) }),
  ...(mark_mm == null ? {} : { mark: inMm(mark_mm) }),
});

/** What is known of a bend from the marks that were kept: as it was bent on, opened or measured, else as the new marks have it;
 * null: it is to be measured by other means. */
export function nowAs(planned: MarkedBend, kept: Kept, answer: RemarkAnswer | null, first: readonly First[]): MadeReading | null {
  const done = first.find((one) => one.number === planned.number)?.done?.entry.what;
  const again = done?.kind === 'made' ? done.bends.find((bend) => bend.number === planned.number) : undefined;
  if (again) return readingOf(again);
  return [...measuredOf(kept), ...(answer?.by_marks ?? [])].find((one) => one.number === planned.number) ?? null;
}

/** The bends that the marks were kept for, as they were measured. */
export const measuredOf = ({ entry }: Kept): MadeReading[] => entry.what.bends.map(readingOf);

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
export function agrees({ entry }: Kept, { opened, marks }: RemarkAnswer): boolean {
  const was = entry.what.anew.marks;
  const now = [...opened.map((one) => ({ ...one, at: null })), ...marks.map((one) => ({ ...one, at: penciled(one) }))];
  return (
    was.length === now.length &&
    now.every(({ number, at, angle_deg }, i) => {
      const one = was[i]!;
      return one.number === number && (at === null || Math.abs(one.mark_mm - at) < 0.5) && Math.abs(degrees(one.angle_rad) - angle_deg) < 0.1;
    })
  );
}
