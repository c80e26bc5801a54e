/** Runs alike: which copy is at the bench, which are free, and what other devices ticked off of the same piece. */
import { STEPS, type BendMade, type StepMade } from '../../engine/types';
import { BY_PLAN, byCopy, isBent, isFurther, isWork, setBy, sets, statusesOf, type KeptRun, type SeenEntry, type SetBy, type Status } from './view';

/** What a piece is called, as on labels and in lists ('PS-06-1#3'); `pieces`: of so many, 0: not known. */
export const pieceName = (key: string, piece: number, copy: number | null | undefined, pieces = 0): string =>
  `${key}${pieces === 1 ? '' : `-${piece}`}${copy ? `#${copy}` : ''}`;

/** What was seen and done on this copy, and on all, since it was last set back from bent. */
export const ofCopy = (entries: readonly SeenEntry[], copy = 1): SeenEntry[] => byCopy(entries, copy)[copy - 1]!;

/** Somebody is at the piece, or was: who only cuts it, or takes a whole stick for it, leaves it to whom bends it. */
const isMade = ({ entry: { what } }: SeenEntry): boolean => what.kind === 'made' && (what.bends.length > 0 || !what.steps?.every(({ kind }) => STEPS[kind].cut === 'is'));

/** The first copy that is not bent yet and that no other device has begun to bend, else the first not bent, else the last;
 * undefined where there is one run only. */
export function nextCopy(run: KeptRun): number | undefined {
  if (run.times === 1) return undefined;
  const made = byCopy(run.entries, run.times);
  const toBend = run.statuses.flatMap((status, i) => (isBent(status) ? [] : i + 1));
  return toBend.find((copy) => !made[copy - 1]!.some((one) => isMade(one) && !one.mine)) ?? toBend[0] ?? run.times;
}

/** The copy that is at the bench: the one that was begun there (the first, where that was begun while there was one), else the next. */
export function copyAtHand(run: KeptRun): number | undefined {
  const begun = run.done.copy ?? (run.done.begun ? 1 : undefined);
  return run.times > 1 && begun && begun <= run.times ? begun : nextCopy(run);
}

/** The first copy that nobody has begun to bend, `but` this one; undefined without one. */
export function freeCopy(run: KeptRun, but?: number): number | undefined {
  const made = byCopy(run.entries, run.times);
  const at = run.statuses.findIndex((status, i) => i + 1 !== but && !isBent(status) && !made[i]!.some(isMade));
  return run.times === 1 || at < 0 ? undefined : at + 1;
}

/** A bend or a step that another device ticked off: of which piece, which mark or which of its kind, by whom and when; `before`: that
 * came into the shop before this device's own tick of the same bend; undefined: this device has none. */
export interface Elsewhere {
  id: string;
  piece: number;
  number: number;
  by: string;
  at: string;
  before?: boolean;
  /** It is no bend, or a made one that was bent on or opened. */
  kind?: StepMade['kind'] | 'again';
}

/** The bends of one piece that other devices ticked off by the marks of this plan, oldest first: each once, as it was first. Of a
 * bend that this device ticked off, not what another one measured of it, nor that it was bent on or opened by new marks. */
export function bentElsewhere(entries: readonly SeenEntry[], marks: string): Elsewhere[] {
  const bends = entries.flatMap(({ entry: { id = '', piece, what, pins }, mine, by, at }) =>
    what.kind === 'made' && marks && pins?.marks === marks ? what.bends.map((bend) => ({ told: { id, piece: piece ?? 1, number: bend.number, by, at }, mine, of: tickOf(bend, !!what.anew) })) : [],
  );
  const others: Elsewhere[] = [];
  bends.forEach(({ told, mine, of }, i) => {
    const isSame = (one: { piece: number; number: number }): boolean => one.piece === told.piece && one.number === told.number;
    if (mine || others.some(isSame)) return;
    const own = bends.filter((one) => one.mine && isSame(one.told));
    const twice = own.find((one) => of !== null && one.of === of);
    if (!own.length) others.push(told);
    else if (twice) others.push({ ...told, before: i < bends.indexOf(twice) });
  });
  return others;
}

/** The steps of the plan that other devices ticked off, oldest first: each once, as it was first; as far as they are done still. Of
 * those that this one has ticked off too only what is done to a piece in hand: in its place there is but one. */
export function stepsElsewhere(entries: readonly SeenEntry[], marks: string, isStill: (piece: number, step: StepMade) => boolean): Elsewhere[] {
  const found = new Map<string, { told?: Elsewhere; isMine?: boolean }>();
  for (const { entry: { id = '', piece, what, pins }, mine, by, at } of entries)
    for (const step of what.kind === 'made' && pins?.marks === marks ? (what.steps ?? []) : []) {
      const { kind, number } = step;
      if (STEPS[kind].of !== 'plan' || !isStill(piece ?? 1, step)) continue;
      const name = `${piece ?? 1} ${kind} ${number}`;
      const { told, isMine = false } = found.get(name) ?? {};
      if (mine) found.set(name, { told: told && { ...told, before: told.before ?? true }, isMine: true });
      else found.set(name, { told: told ?? { id, piece: piece ?? 1, number: number!, by, at, kind, ...(isMine ? { before: false } : {}) }, isMine });
    }
  return [...found.values()].flatMap(({ told }) => (told && (told.before === undefined || !STEPS[told.kind as StepMade['kind']].in_place) ? told : []));
}

/** By which marks a bend was ticked off; null: it was measured, by whomever it was bent. */
function tickOf({ angle_rad, mark_mm, roll_off_rad, by_marks: by = '' }: BendMade, isAnew: boolean): string | null {
  const ofPlan = by === '' || by === BY_PLAN;
  return isAnew || (ofPlan && [angle_rad, mark_mm, roll_off_rad].some((read) => read != null)) ? null : ofPlan ? BY_PLAN : by;
}

/** A copy that another device's bench has begun, and that nobody has called bent: who ticked off the first of its bends, and when. */
export interface Begun {
  copy?: number;
  by: string;
  at: string;
}

/** Somebody, here or elsewhere, is at a copy that is not bent. */
export const isBeingBent = (run: KeptRun): boolean => run.done.begun || byCopy(run.entries, run.times).some((made, i) => !isBent(run.statuses[i]!) && made.some(isMade));

/** Of these copies, or (undefined) of all that there are. */
export function begunElsewhere(run: KeptRun, copies?: readonly number[]): Begun[] {
  const found: Begun[] = [];
  byCopy(run.entries, run.times).forEach((made, i) => {
    const first = (copies && !copies.includes(i + 1)) || isBent(run.statuses[i]!) ? undefined : made.find((one) => isMade(one) && !one.mine);
    const of = first && run.times > 1 ? i + 1 : undefined;
    if (first && !found.some((other) => other.copy === of)) found.push({ ...(of ? { copy: of } : {}), by: first.by, at: first.at });
  });
  return found;
}

/** The copies that a person names: '14', '1-14', '1, 3, 5-7'; null where it is none of these, or one that is not there. */
export function copiesIn(text: string, times: number): number[] | null {
  const found = new Set<number>();
  for (const part of text.split(',')) {
    const { 1: low, 2: high = low } = /^\s*(\d{1,4})\s*(?:-\s*(\d{1,4})\s*)?$/.exec(part) ?? [];
    if (!low || !high || Number(low) < 1 || Number(low) > Number(high) || Number(high) > times) return null;
    for (let copy = Number(low); copy <= Number(high); copy += 1) found.add(copy);
  }
  return [...found].sort((a, b) => a - b);
}

type Kept = Pick<KeptRun, 'entries' | 'times'>;

/** Where there are fewer than before: what is kept of the copies that count no more, each with the entry that is to be said of it
 * alone, and how it stood by those that are. As the command does (records/copies.py). */
export function goneCopies({ entries, times: before }: Kept, times: number): { copy: number; from: SeenEntry; stood: Status }[] {
  const stands = setBy(entries, before);
  const own = statusesOf(entries.filter(({ entry }) => entry.copy), before);
  return stands.flatMap(({ status, from }, i) => {
    const stood = own[i]!;
    return i >= times && from && stood !== status && (isBent(stood) || isBent(status)) ? [{ copy: i + 1, from, stood }] : [];
  });
}

/** The copies that count from so many on, and were there before: how each was left, and by which entry (none: it is not bent, but
 * more is kept of it: planned at least where bends of it are made). */
export function countedAgain({ entries, times: before }: Kept, times: number): Map<number, SetBy> {
  const found = new Map<number, SetBy>();
  for (const one of entries) {
    const { copy, what } = one.entry;
    if (!copy || copy <= before || copy > times) continue;
    const stood: SetBy = found.get(copy) ?? { status: 'measured' };
    if (what.kind !== 'status') found.set(copy, what.kind === 'made' && !stood.from ? { status: 'planned' } : stood);
    else if (!sets(one.entry, stood.status)) continue;
    else if (isBent(what.status)) found.set(copy, { status: what.status, from: one });
    else if (found.has(copy) && (stood.from || what.status !== 'planned')) found.set(copy, { status: 'measured' });
  }
  return new Map([...found].sort(([a], [b]) => a - b));
}

/** The work that is in sight of a copy which counts again, half-bent, and that all were bent meanwhile: behind the status that says so
 * it is said again, as what is bent and set back is another piece. */
export const begunAgain = (entries: readonly SeenEntry[], copy: number): SeenEntry[] => byCopy(entries, copy)[copy - 1]!.filter(({ entry }) => entry.copy === copy && isWork(entry));

/** Where there are more than before: what is to be said of the new ones (`stood`: as they are else), so that they begin anew, planned
 * where the rest of the run is, whatever was said of all; those that were bent before are so again. */
export function newCopies(run: Kept, times: number): (SetBy & { copy: number; stood: Status })[] {
  const after = statusesOf(run.entries, times);
  const there = after.slice(0, run.times);
  const status = there.includes('planned') && !there.includes('measured') ? 'planned' : 'measured';
  const again = countedAgain(run, times);
  return after.flatMap((stood, i) => {
    const { from, status: left } = again.get(i + 1) ?? {};
    const now = left && (from || isFurther(left, status)) ? left : status;
    return i >= run.times && stood !== now ? [{ copy: i + 1, status: now, stood, ...(from ? { from } : {}) }] : [];
  });
}
