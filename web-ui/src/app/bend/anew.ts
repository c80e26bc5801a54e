/** New marks for the rest of a piece that were kept: which hold, and what of the piece is made. */
import { STATUSES, type BendMade, type Entry, type Made, type MadeEntry as OnRecord, type Status, type StepMade } from '../../engine/types';
import { BY_PLAN, forMarks, isBent, type SeenEntry } from '../kept/view';
import type { BenchStep } from './bench';

type MadeEntry = SeenEntry & { entry: Entry & { what: Made } };
/** An entry that has new marks in place of the plan's. */
export type Kept = SeenEntry & { entry: Entry & { what: Made & { anew: NonNullable<Made['anew']> } } };

const isKept = (seen: MadeEntry): seen is Kept => !!seen.entry.what.anew;

/** What was made by the plan with these marks, oldest first, as marks reckon with it. */
const madeBy = (entries: readonly SeenEntry[], marks: string): MadeEntry[] =>
  entries.flatMap((one) => {
    const { what, pins } = one.entry;
    const made = what.kind === 'made' && marks && pins?.marks === marks ? forMarks(what) : null;
    return !made ? [] : made === what ? (one as MadeEntry) : { ...one, entry: { ...one.entry, what: made } };
  });
/** The same of one of its pieces. */
const madeOf = (entries: readonly SeenEntry[], piece: number, marks: string): MadeEntry[] => madeBy(entries, marks).filter(({ entry }) => (entry.piece ?? 1) === piece);

/** The piece on which a bend was made last, of the plan with these marks; 0: none was. */
export const lastMadeOn = (entries: readonly SeenEntry[], marks: string): number => {
  const last = madeBy(entries, marks).pop();
  return last ? (last.entry.piece ?? 1) : 0;
};

/** All that was made of one, as the engine is told of it: with the steps of the plan, among which its ends are cut. */
export const recordOf = (entries: readonly SeenEntry[], piece: number, marks: string): OnRecord[] =>
  entries.flatMap(({ entry: { id, piece: of, pins, what } }) => (what.kind === 'made' && marks && pins?.marks === marks && (of ?? 1) === piece ? [{ id: id!, what }] : []));

/** The last that was kept for this piece of the plan with these marks; null: the plan's own hold. */
export const keptAnew = (entries: readonly SeenEntry[], piece: number, marks: string): Kept | null => madeOf(entries, piece, marks).filter(isKept).pop() ?? null;

/** By which marks a bend is made that is made now (`by_marks`): the plan's, or new ones. */
export const marksNow = (kept: Kept | null): string => kept?.entry.id ?? BY_PLAN;

/** A bend that is on record, with its entry. */
interface OnRecordBend {
  id: string;
  bend: BendMade;
}
/** One that was made by other marks than those that hold, or that these were kept without. `by`: which marks ('': other new marks
 * were kept with it); `changes`: the piece has a bend by it, or an angle, that these do not know. */
interface OtherMade extends OnRecordBend {
  by: string;
  changes: boolean;
}

/** What was made of a piece by the marks that hold, and otherwise (records/bends_left.py: `so_far`). */
function madeSoFar(entries: readonly SeenEntry[], piece: number, marks: string): { since: OnRecordBend[]; other: OtherMade[]; ticked: string[]; otherSteps: { id: string; step: StepMade }[]; onTwice: OnRecordBend[][] } {
  const made = madeOf(entries, piece, marks);
  const at = made.map(isKept).lastIndexOf(true);
  const holds = made[at]?.entry.id ?? BY_PLAN;
  const read = new Map(made[at]?.entry.what.bends.map((bend) => [bend.number, bend]));
  const since: OnRecordBend[] = [];
  const other: OtherMade[] = [];
  const otherSteps: { id: string; step: StepMade }[] = [];
  const kept = keptById(made);
  const isRead = readAfter(read, kept);
  const knownSteps = (made[at]?.entry.what.steps ?? []).map(stepName);
  const ticked: string[] = [];
  const wanted = made[at] && isKept(made[at]) ? stepsBefore(made[at]) : [];
  const placeOf = new Map(made.map(({ entry }, place) => [entry.id, place]));
  const over = new Map<number, number>(); // known to be bent on or opened since: what was made before those marks says nothing
  made.forEach(({ entry: { id = '', what } }, place) => {
    const after = place > at;
    for (const bend of what.bends) {
      const known = read.get(bend.number);
      const by = bend.by_marks || (after ? holds : '');
      if (what.anew) {
        if (!known) other.push({ id, bend, by: '', changes: true });
      } else if (by === holds) since.push({ id, bend });
      else if (by) {
        const isOn = isBentOn(kept, by, bend.number);
        const isUnread = isOn && (after || !known || !isRead(bend.number, by));
        if (isOn && known && !isUnread) over.set(bend.number, placeOf.get(by)!);
        other.push({ id, bend, by, changes: !known || isUnread });
      } // without: it counts as the new marks say
    }
    for (const step of what.anew ? [] : (what.steps ?? [])) {
      const name = stepName(step);
      if (knownSteps.includes(name)) knownSteps.splice(knownSteps.indexOf(name), 1);
      else if (wanted.some((one) => isSameStep(one, step)) && !ticked.includes(name)) ticked.push(name);
      else otherSteps.push({ id, step });
    }
  });
  const isLeft = ({ id, bend }: OtherMade): boolean => placeOf.get(id)! >= (over.get(bend.number) ?? 0);
  return { since, other: other.filter(isLeft), ticked, otherSteps, onTwice: bentOnTwice(made, at, kept) };
}

/** A tick of a bend that new marks bend on or open, at its place in the record; `of`: those marks. */
interface OnTick extends OnRecordBend {
  place: number;
  of: Kept;
}

/** The bends that two entries say are bent on or opened by new marks, with no angle read of them since, each with its ticks: by the same
 * marks, or by two of which neither knew of the other's (records/bends_left.py: `_on_twice`); `at`: the place of the marks that hold. */
function bentOnTwice(made: readonly MadeEntry[], at: number, kept: ReadonlyMap<string, Kept>): OnRecordBend[][] {
  const holds = made[at]?.entry.id ?? BY_PLAN;
  const placeOf = new Map(made.map(({ entry }, place) => [entry.id, place]));
  const ticked = new Map<number, OnTick[]>();
  const found = new Map<number, OnTick[]>();
  made.forEach(({ entry: { id = '', what } }, place) => {
    for (const bend of what.bends) {
      const { number } = bend;
      const by = bend.by_marks || (place > at ? holds : '');
      const isOn = !what.anew && isBentOn(kept, by, number);
      const isMeasured = [bend.angle_rad, bend.mark_mm, bend.roll_off_rad].some((read) => read != null);
      if (bend.angle_rad != null && (isOn || what.anew || by === holds)) found.delete(number);
      const before = ticked.get(number) ?? [];
      if (!isOn || before.some((one) => one.id === id && one.of.entry.id === by)) continue;
      const one: OnTick = { id, bend, place, of: kept.get(by)! };
      const again = before.filter((other) => isAgain(one, other, placeOf, kept));
      if (again.length && isMeasured) continue; // what was measured later is no second tick
      ticked.set(number, [...before, one]);
      if (again.length) found.set(number, [...new Set([...(found.get(number) ?? []), ...again, one])]);
    }
  });
  return [...found.values()].sort(([a], [b]) => a!.bend.number - b!.bend.number);
}

/** Whether a bend that is bent on or opened may be so twice by two ticks (records/bends_left.py: `_is_again`). */
function isAgain(tick: OnTick, other: OnTick, placeOf: ReadonlyMap<string | undefined, number>, kept: ReadonlyMap<string, Kept>): boolean {
  const keptAt = ({ of }: OnTick): number => placeOf.get(of.entry.id)!;
  const [first, last] = keptAt(tick) <= keptAt(other) ? [tick, other] : [other, tick];
  if (first.of === last.of || first.place > keptAt(last)) return true;
  const { number } = tick.bend;
  const [read, had] = [last, first].map(({ of }) => numbered(of.entry.what.bends, number)!);
  return !readAfter(new Map([[number, read!]]), kept)(number, first.of.entry.id!) && isSameAngle(read!.angle_rad, had!.angle_rad);
}

const isSameAngle = (one: number | null | undefined, other: number | null | undefined): boolean =>
  one == null || other == null ? (one ?? null) === (other ?? null) : Math.abs(one - other) < LEAST_MADE_RAD;

const whichStep = ({ kind, number }: StepMade): string => `${kind} ${number ?? ''}`;
/** A step that is no bend, and for which marks it was done. */
const stepName = (step: StepMade): string => `${whichStep(step)} ${step.by_marks ?? ''}`;

/** It is that step, by so much but for float noise. */
const isSameStep = (one: StepMade, other: StepMade): boolean =>
  stepName(one) === stepName(other) && Math.abs((one.trim_mm ?? 0) - (other.trim_mm ?? 0)) < 1e-6 && Math.abs((one.by_rad ?? 0) - (other.by_rad ?? 0)) < 1e-6;

/** The new marks among these entries, by the ids of their entries. */
const keptById = (made: readonly MadeEntry[]): ReadonlyMap<string, Kept> => new Map(made.filter(isKept).map((one) => [one.entry.id!, one]));
const numbered = <T extends { number: number }>(list: readonly T[] | undefined, number: number): T | undefined => list?.find((one) => one.number === number);

/** A bend was made before these new marks, and they bend it on or open it. */
function isBentOn(kept: ReadonlyMap<string, Kept>, id: string, number: number): boolean {
  const what = kept.get(id)?.entry.what;
  return !!numbered(what?.bends, number) && !!numbered(what?.anew?.marks, number);
}

/** Nobody bends less on purpose (fit/made.py). */
const LEAST_MADE_RAD = Math.PI / 720;

/** Whether a bend was read, for new marks, as it is since others with these marks bent it on or opened it: it was taken from these, or from
 * such as were taken from these, or measured so (records/bends_left.py: `_taken_from`, `_is_read_after`). */
function readAfter(read: ReadonlyMap<number, BendMade>, kept: ReadonlyMap<string, Kept>): (number: number, by: string) => boolean {
  const taken = new Map<number, Set<string>>();
  const takenFrom = (bend: BendMade): Set<string> => {
    const passed = new Set<string>();
    for (let at = bend; at.by_marks && !passed.has(at.by_marks); ) {
      passed.add(at.by_marks);
      at = numbered(kept.get(at.by_marks)?.entry.what.bends, bend.number) ?? at;
    }
    taken.set(bend.number, passed);
    return passed;
  };
  return (number, by) => {
    const now = read.get(number)!;
    const mark = numbered(kept.get(by)?.entry.what.anew.marks, number);
    if ((taken.get(number) ?? takenFrom(now)).has(by) || !mark) return true;
    return now.angle_rad == null ? !now.by_marks : Math.abs(now.angle_rad - mark.angle_rad) < LEAST_MADE_RAD;
  };
}

/** The ticks of a bend by the same marks: the plan's, or new ones (`kept`; null: they are not kept any more). */
export interface Ticks {
  isPlan: boolean;
  kept: Kept | null;
  ticks: SeenEntry[];
}
/** A bend; with a `kind` a step before the bends (`number` 0: the cut at end A), or a made bend that is bent on or opened. */
export interface TickedTwice {
  number: number;
  kind?: StepBefore['kind'] | 'on';
  by: Ticks[];
}

/** The bends of a piece that were ticked off by different marks, none of which bend it on or open it: bent they are once. As `ticked_twice`
 * of records/other_marks.py. */
export function tickedTwice(entries: readonly SeenEntry[], piece: number, marks: string): TickedTwice[] {
  const made = madeOf(entries, piece, marks);
  const kept = keptAnew(entries, piece, marks);
  const { since, other } = madeSoFar(entries, piece, marks);
  const byThese = since.filter(({ bend }) => !numbered(kept?.entry.what.bends, bend.number)).map((one) => ({ ...one, by: marksNow(kept) }));
  const byId = keptById(made);
  const place = new Map(made.map(({ entry }, i) => [entry.id, i]));
  const ticks = [...byThese, ...other.filter(({ by }) => by)].sort((a, b) => place.get(a.id)! - place.get(b.id)!);
  const bentOn = new Set(other.flatMap(({ by, bend }) => (isBentOn(byId, by, bend.number) ? bend.number : [])));
  const found = new Map<number, Map<string, Ticks>>();
  for (const { id, by, bend } of ticks) {
    const of = found.get(bend.number) ?? new Map<string, Ticks>();
    const same = of.get(by) ?? { isPlan: by === BY_PLAN, kept: byId.get(by) ?? null, ticks: [] };
    same.ticks.push(made[place.get(id)!]!);
    found.set(bend.number, of.set(by, same));
  }
  return [...found].flatMap(([number, of]) => (of.size > 1 && !bentOn.has(number) ? { number, by: [...of.values()] } : []));
}

/** The steps before the bends of a piece that are ticked off more than once, as far as the marks that hold do not know of it: each tick
 * by itself, for by the same marks too it may have been done twice. As `steps_twice` of records/bends_left.py. */
export function stepsTwice(entries: readonly SeenEntry[], piece: number, marks: string): (TickedTwice & { kind: StepBefore['kind'] })[] {
  const made = madeOf(entries, piece, marks);
  const byId = keptById(made);
  const { ticked, otherSteps } = madeSoFar(entries, piece, marks);
  const others = new Map(otherSteps.map(({ step }) => [whichStep(step), step]));
  return [...others].flatMap(([which, { kind, number }]) => {
    const names = [...ticked, ...otherSteps.map(({ step }) => stepName(step))].filter((name) => name.startsWith(`${which} `));
    const by = made.flatMap((one): Ticks[] => {
      const step = one.entry.what.anew ? undefined : one.entry.what.steps?.find((done) => names.includes(stepName(done)));
      return step ? [{ isPlan: false, kept: byId.get(step.by_marks ?? '') ?? null, ticks: [one] }] : [];
    });
    return by.length > 1 ? { number: number ?? 0, kind: kind as StepBefore['kind'], by } : [];
  });
}

/** The made bends of a piece that are ticked off twice as bent on or opened, each tick by itself. As `on_twice` of records/bends_left.py. */
export function onTwice(entries: readonly SeenEntry[], piece: number, marks: string): TickedTwice[] {
  const made = madeOf(entries, piece, marks);
  const byId = keptById(made);
  const last = keptAnew(entries, piece, marks);
  const tick = ({ id, bend: { by_marks: by } }: OnRecordBend): Ticks => ({ isPlan: false, kept: byId.get(by ?? '') ?? last, ticks: made.filter(({ entry }) => entry.id === id) });
  return madeSoFar(entries, piece, marks).onTwice.map((ticks) => ({ number: ticks[0]!.bend.number, kind: 'on', by: ticks.map(tick) }));
}

/** The entries of what was done for other marks than those that hold, or twice for these; the engine says what follows from them. */
export function otherMade(entries: readonly SeenEntry[], piece: number, marks: string): string[] {
  const { other, otherSteps, onTwice: on } = madeSoFar(entries, piece, marks);
  return [...other, ...otherSteps, ...on.flat()].map((one) => one.id);
}

/** What was made since the marks that hold, by them or otherwise. */
function madeSince(entries: readonly SeenEntry[], piece: number, marks: string): OnRecordBend[] {
  const { since, other } = madeSoFar(entries, piece, marks);
  return [...other.filter((one) => one.changes), ...since];
}

/** Each of these as it was recorded last: what was measured of it stands until it is measured anew (records/bends_left.py). */
function asRecorded(bends: readonly BendMade[]): Map<number, BendMade> {
  const found = new Map<number, BendMade>();
  for (const { number, angle_rad, mark_mm, roll_off_rad } of bends) {
    const before = found.get(number);
    found.set(number, { number, angle_rad: angle_rad ?? before?.angle_rad, mark_mm: mark_mm ?? before?.mark_mm, roll_off_rad: roll_off_rad ?? before?.roll_off_rad });
  }
  return found;
}

/** The bends of a piece that are made, by whomever, each as it was recorded last; of one that was bent on or opened by new marks
 * what was measured before says nothing. */
export function madeBends(entries: readonly SeenEntry[], piece: number, marks: string): Map<number, BendMade> {
  const kept = keptAnew(entries, piece, marks);
  const since = madeSince(entries, piece, marks).map((one) => one.bend);
  const changed = (number: number): boolean => !!kept?.entry.what.anew.marks.some((mark) => mark.number === number) && since.some((bend) => bend.number === number);
  const before = kept ? kept.entry.what.bends.map((bend) => (changed(bend.number) ? { ...bend, angle_rad: null } : bend)) : [];
  return asRecorded([...before, ...since]);
}

/** The bends of a piece that are still to be made, of these planned ones (records/bends_left.py). */
export function bendsLeft(planned: readonly number[], entries: readonly SeenEntry[], piece: number, marks: string): number[] {
  const kept = keptAnew(entries, piece, marks);
  const done = new Set(madeSince(entries, piece, marks).map((one) => one.bend.number));
  return (kept ? kept.entry.what.anew.marks.map((mark) => mark.number) : planned).filter((number) => !done.has(number));
}

/** How far a person says that a piece is bent: its bends, those on record before those that are bent next; so many of them
 * are made at least, at most, and as it was `chosen` (0: it was not). A bend that comes on record meanwhile changes no choice but one for fewer. */
export function soFar(planned: readonly number[], entries: readonly SeenEntry[], piece: number, marks: string, chosen: number): { inOrder: number[]; least: number; most: number; made: number } {
  const there = madeBends(entries, piece, marks);
  const left = bendsLeft(planned, entries, piece, marks).filter((number) => !there.has(number));
  const inOrder = [...planned.filter((number) => there.has(number)), ...left];
  const least = Math.max(1, there.size);
  const most = Math.max(least, inOrder.length - 1);
  return { inOrder, least, most, made: Math.min(Math.max(least, chosen), most) };
}

/** Each of the entries after new marks were kept: whether bends of these are left then, and whether it calls the piece bent late, as a
 * phone does that has not heard of them (records/bends_left.py: `since_kept`). */
function sinceKept(kept: Kept, entries: readonly SeenEntry[], marks: string): { one: SeenEntry; isLeft: boolean; isLate: boolean }[] {
  const { piece = 1, what: { bends, anew } } = kept.entry;
  const { other } = madeSoFar(entries, piece ?? 1, marks);
  const left = new Set(anew.marks.map((mark) => mark.number).filter((number) => !other.some(({ bend, changes }) => changes && bend.number === number)));
  let isByOthers = false;
  return entries.slice(entries.findIndex((one) => one.entry.id === kept.entry.id) + 1).map((one) => {
    const { what, piece: of, pins } = one.entry;
    if (what.kind === 'made' && (of ?? 1) === (piece ?? 1) && pins?.marks === marks) {
      what.bends.forEach((bend) => left.delete(bend.number));
      isByOthers ||= what.bends.some(({ by_marks: by }) => !!by && by !== kept.entry.id);
    }
    const isLate = what.kind === 'status' && what.status === 'bent' && !!pins?.marks && isByOthers && left.size > 0 && [...left].every((number) => numbered(bends, number));
    return { one, isLeft: left.size > 0, isLate };
  });
}

/** Whether new marks want bends of a copy made, bent on or opened that are not; who calls it bent after that, and not late, measures or
 * corrects the finished piece has said that it is done (records/bends_left.py). */
export function reopened(entries: readonly SeenEntry[]): boolean {
  const kept = new Map<string, Kept>();
  for (const one of entries) {
    const { what, piece, pins } = one.entry;
    if (what.kind === 'made' && what.anew && pins?.marks) kept.set(`${piece ?? 1} ${pins.marks}`, one as Kept);
  }
  return [...kept.values()].some((one) => {
    const { piece, pins } = one.entry;
    return bendsLeft([], entries, piece ?? 1, pins!.marks!).length > 0 && !sinceKept(one, entries, pins!.marks!).some((said) => !said.isLate && saysDone(said.one.entry, piece ?? 1));
  });
}

const saysDone = ({ what, piece: of }: Entry, piece: number): boolean =>
  what.kind === 'status' ? isBent(what.status) : (what.kind === 'readings' || what.kind === 'corrected') && (of ?? 1) === piece;

/** How far a run is that stood so, by what is made of its pieces, with these bends planned (records/bends_left.py). */
export function statusAtBench(stood: Status, pieces: readonly (readonly number[])[], entries: readonly SeenEntry[], marks: string): Status {
  if (!pieces.some((_, i) => madeOf(entries, i + 1, marks).length)) return stood;
  const now: Status = pieces.some((planned, i) => bendsLeft(planned, entries, i + 1, marks).length) ? 'planned' : 'bent';
  return STATUSES.indexOf(now) > STATUSES.indexOf(stood) ? now : stood;
}

const without = (kept: Kept, entries: readonly SeenEntry[]): SeenEntry[] => entries.filter((one) => one.entry.id !== kept.entry.id);

/** Whether a bend was made, or a step before the bends was done, by the marks that hold. */
export function isBentBy({ entry }: Kept, entries: readonly SeenEntry[], marks: string): boolean {
  const { since, ticked } = madeSoFar(entries, entry.piece ?? 1, marks);
  return since.length + ticked.length > 0;
}

/** The new marks that hold again where these do not; null: the plan's do. */
export const keptBefore = (kept: Kept, entries: readonly SeenEntry[], marks: string): Kept | null => keptAnew(without(kept, entries), kept.entry.piece ?? 1, marks);

/** What was said of the bends with new marks, and stands nowhere else: it stays where these marks do not. Of a bend that the marks
 * before them still want bent on or opened nothing does: that is not done; one that they want twisted was made. */
export function toldWith(kept: Kept, entries: readonly SeenEntry[], marks: string): BendMade[] {
  const [piece, rest, before] = [kept.entry.piece ?? 1, without(kept, entries), keptBefore(kept, entries, marks)];
  const known = madeBends(rest, piece, marks);
  const open = new Set(before ? firstOf(before, rest, piece, marks).flatMap((one) => (one.done || one.before ? [] : one.number)) : []);
  return kept.entry.what.bends.flatMap(({ number, angle_rad = null, mark_mm = null, roll_off_rad = null, by_marks: by }) => {
    const place = before ? null : mark_mm; // by other marks it is counted otherwise
    const there = known.get(number);
    const isKnown = there && (angle_rad === null || angle_rad === there.angle_rad) && (place === null || place === there.mark_mm) && (roll_off_rad === null || roll_off_rad === there.roll_off_rad);
    return isKnown || open.has(number) ? [] : { number, angle_rad, mark_mm: place, ...(roll_off_rad === null ? {} : { roll_off_rad }), by_marks: by || marksNow(before) };
  });
}

/** A step that new marks want done before the bends. */
export type StepBefore = StepMade & { kind: 'cut' | 'twist' };

/** What comes before the rest is bent, each a step of its own, the first of what is left: a made bend is bent on or opened. */
export interface First {
  number: number;
  angle_rad: number;
  /** End A is cut, or the bend is twisted: as it is kept once that is done. */
  before?: StepBefore;
  /** What says that it is done, null: it is still to be. */
  done: SeenEntry | null;
}

const sumOf = (twists: readonly { by_rad: number }[]): number => twists.reduce((sum, one) => sum + one.by_rad, 0);
const turnBy = (rad: number): number => Math.abs(rad - 2 * Math.PI * Math.round(rad / (2 * Math.PI)));

/** Of the twists that new marks want, by the bends that they are at, those that planes read since show to be done, each with what
 * shows it (records/bends_left.py: `twists_read`); `ticked`: the steps that are done. */
function twistsRead({ entry: { id = '', what } }: Kept, since: readonly OnRecordBend[], ticked: readonly string[]): Map<number, OnRecordBend> {
  const twists = what.anew.twisted ?? [];
  const isTicked = (number: number): boolean => ticked.includes(stepName({ kind: 'twist', number, by_marks: id }));
  const found = new Map<number, OnRecordBend>();
  for (const { number, roll_off_rad: was } of [...what.bends].sort((a, b) => a.number - b.number)) {
    const read = since.filter(({ bend }) => bend.number === number && bend.roll_off_rad != null).pop();
    if (!read) continue;
    const carry = twists.filter((twist) => twist.number <= number);
    const open = carry.filter((twist) => !isTicked(twist.number) && !found.has(twist.number));
    const turned = read.bend.roll_off_rad! - (was ?? 0) - sumOf(carry.filter((twist) => !open.includes(twist)));
    if (turnBy(turned - sumOf(open)) < turnBy(turned)) for (const twist of open) found.set(twist.number, read);
  }
  return found;
}

/** Who ticked off a step before the bends; or what else says that it is done (records/anew.py: `Followed`). */
function doneBefore(wanted: StepMade, kept: Kept, entries: readonly SeenEntry[], marks: string): SeenEntry | null {
  const piece = kept.entry.piece ?? 1;
  const { bends } = kept.entry.what;
  const { since, ticked: names } = madeSoFar(entries, piece, marks);
  const { kind, number } = wanted;
  const ticked = madeOf(entries, piece, marks).find(({ entry: { what } }) => !what.anew && what.steps?.some((step) => isSameStep(step, wanted)));
  const shows = kind === 'twist' ? twistsRead(kept, since, names).get(number!) : since.find(({ bend }) => !bends.some((one) => one.number === bend.number));
  const later = sinceKept(kept, entries, marks).find(({ one: { entry: { what, piece: of, pins } }, isLeft, isLate }) => {
    if (what.kind === 'status') return isBent(what.status) && ((isLeft && !isLate) || what.status !== 'bent');
    return (what.kind === 'readings' || what.kind === 'corrected') && (of ?? 1) === piece && pins?.marks === marks;
  })?.one;
  return ticked ?? (shows && entries.find((one) => one.entry.id === shows.id)) ?? later ?? null;
}

/** What new marks want done to a piece before its bends (records/bends_left.py: `first_steps`). */
function stepsBefore({ entry: { id = '', what } }: Kept): StepBefore[] {
  const { cut_first: cut, trim_mm = 0, twisted = [] } = what.anew;
  return [...(cut ? [{ kind: 'cut' as const, trim_mm, by_marks: id }] : []), ...twisted.map(({ number, by_rad }) => ({ kind: 'twist' as const, number, by_rad, by_marks: id }))];
}

/** All of it of a piece, in the order in which it is done. */
export function firstOf(kept: Kept, entries: readonly SeenEntry[], piece: number, marks: string): First[] {
  const { what } = kept.entry;
  const before = stepsBefore(kept).map((step) => ({ number: step.number ?? 0, angle_rad: 0, before: step, done: doneBefore(step, kept, entries, marks) }));
  const since = madeSince(entries, piece, marks);
  const done = (number: number): SeenEntry | null => {
    const last = since.filter((one) => one.bend.number === number).pop();
    return (last && entries.find((one) => one.entry.id === last.id)) ?? null;
  };
  const again = what.anew.marks.filter((mark) => what.bends.some((bend) => bend.number === mark.number));
  return [...before, ...again.map(({ number, angle_rad }) => ({ number, angle_rad, done: done(number) }))];
}

/** One of them among the steps of all pieces: it comes before the step `at`. */
export interface FirstStep extends First {
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

const degrees = (rad: number): number => Math.round((rad * 180e6) / Math.PI) / 1e6;

/** The bends that the marks were kept for, as they were measured (degrees). */
export const measuredOf = ({ entry }: Kept): { number: number; angle_deg?: number; off_deg?: number }[] =>
  entry.what.bends.map(({ number, angle_rad, roll_off_rad }) => ({ number, ...(roll_off_rad ? { off_deg: degrees(roll_off_rad) } : {}), ...(angle_rad == null ? {} : { angle_deg: degrees(angle_rad) }) }));

/** The angle that is kept of a bend (degrees), and whether it is that of the new marks that it was made by; null: as planned. */
export function angleKept(number: number, entries: readonly SeenEntry[], piece: number, marks: string): { deg: number; isAnew: boolean } | null {
  const made = madeBends(entries, piece, marks).get(number);
  const { since, other } = madeSoFar(entries, piece, marks);
  const by = since.some(({ bend }) => bend.number === number) ? undefined : other.filter((one) => one.changes && one.bend.number === number).at(-1)?.by;
  const kept = by === undefined ? keptAnew(entries, piece, marks) : keptById(madeOf(entries, piece, marks)).get(by);
  const mark = kept?.entry.what.anew.marks.find((one) => one.number === number);
  const rad = made?.angle_rad ?? mark?.angle_rad;
  return rad == null ? null : { deg: degrees(rad), isAnew: made?.angle_rad == null };
}

/** The bends left of a piece in the order of its kept marks; the made ones among these are not. */
const orderLeft = ({ entry: { what } }: Kept): number[] => what.anew.marks.map((mark) => mark.number).filter((number) => !what.bends.some((bend) => bend.number === number));

/** No bend is made there, by the new marks: nothing of it is ever recorded. */
export const isLeftOut = ({ entry: { what } }: Kept, number: number): boolean => ![...what.bends, ...what.anew.marks].some((one) => one.number === number);

/** The steps in the order in which they are done: the bends left of a piece with kept marks in the order of those. */
export function inNewOrder(steps: readonly BenchStep[], kept: (piece: number) => Kept | null): BenchStep[] {
  const out = [...steps];
  for (const piece of new Set(steps.map((step) => step.at))) {
    const one = kept(piece);
    if (!one) continue;
    const order = orderLeft(one);
    const of = (step: BenchStep): number => (step.at === piece && step.bend ? order.indexOf(step.bend.number) : -1);
    const left = steps.filter((step) => of(step) >= 0).sort((a, b) => of(a) - of(b));
    steps.forEach((step, i) => {
      if (of(step) >= 0) out[i] = left.shift()!;
    });
  }
  return out;
}
