/** What stood on Bend last: by which marks a piece that is begun was shown, and which ticks were told as done. What another device
 * changes of it is told before the next step, and never comes under the hands unsaid. */
import type { Made } from '../../engine/types';
import { t } from '../../text/words';
import { goOnWith } from '../kept/act';
import { ofCopy } from '../kept/copies';
import { getRec } from '../kept/kept';
import { BY_PLAN, isBent, setBy, type SeenEntry, type Stood } from '../kept/view';
import { shortly } from '../parts/when';
import { doneNow, write, type AtBench } from './at-bench';
import { marksNow } from './anew';
import { isBend, isOf, nameOf, ticksOnRecord } from './bench';

const at = (moment: string): string => shortly(Date.parse(moment));

/** What is ticked off of the piece at hand, by this plan, and is not kept with new marks. */
const ticksNow = ({ run, copy, answer }: AtBench): (SeenEntry & { made: Made })[] =>
  ofCopy(run.entries, copy).flatMap((seen) => {
    const { what, pins } = seen.entry;
    return what.kind === 'made' && !what.anew && pins?.marks === answer.plan.digest ? { ...seen, made: what } : [];
  });

/** What a tick says is done, each with the marks that it is done by. */
const deedsOf = ({ entry: { piece }, made: { bends, steps = [] } }: ReturnType<typeof ticksNow>[number]): string[] =>
  [...bends.map(({ number, by_marks: by }) => ['bend', number, by]), ...steps.map(({ kind, number, by_marks: by }) => [kind, number, by])].map((deed) => [piece ?? 1, ...deed].join(' '));

/** As it is shown now; `words`: the step at hand with its figures, '' without them. Null: nothing of it is begun. */
function standsNow(here: AtBench, words: string): Stood | null {
  const { copy, steps, step, first, begun, changed } = here;
  const isHereToo = (id: string): boolean => here.ticks.some((one) => one.id === id && one.before !== undefined); // without it that is done all the same
  const told = ticksNow(here).filter(({ entry: { id = '' } }) => !isHereToo(id));
  const ticks = told.map(({ entry: { id = '', piece }, made, by, at: when }) => {
    const names = [
      ...made.bends.map(({ number }) => nameOf({ piece: piece ?? 1, number }, steps) || t.bend.mark(number)),
      ...(made.steps ?? []).map(({ kind, number }) => nameOf({ piece: piece ?? 1, number: number ?? 0, kind }, steps) || t.together.step[kind](number ?? 0)),
    ];
    return [id, t.together.doneBy(names.join(', '), by, at(when))] as const;
  });
  const deeds = Object.fromEntries(told.map((one) => [one.entry.id ?? '', deedsOf(one)]));
  const piece = first?.piece ?? step.at;
  const by = marksNow(here.kept(piece));
  if (changed || (!begun && !ticks.length && by === BY_PLAN)) return null;
  return { ...(copy ? { copy } : {}), piece, by, ticks: Object.fromEntries(ticks), deeds, words, deed: doneNow(here) };
}

/** Of what stood there: what other devices changed, in words; and what the person may have done by it. */
export interface Turned {
  words: string[];
  was: Stood;
  /** Other marks hold: the step that stood there may be done by the ones before. */
  isByOther: boolean;
}

/** Null: nothing was, but by this device. */
export function turnedBy(here: AtBench): Turned | null {
  const { run, own, copy, kept } = here;
  const was = own.stood;
  if (!was || was.copy !== copy) return null;
  const entries = ofCopy(run.entries, copy);
  const isThere = (id: string): boolean => entries.some(({ entry }) => entry.id === id);
  const now = kept(was.piece);
  const isByOther = marksNow(now) !== was.by;
  const done = new Set(ticksNow(here).flatMap(deedsOf));
  const isAnew = (id: string): boolean => was.deeds?.[id]?.every((deed) => done.has(deed)) ?? false;
  const words = Object.entries(was.ticks).flatMap(([id, tick]) => (isThere(id) || isAnew(id) ? [] : t.together.tickGone(tick)));
  if (isByOther && was.by !== BY_PLAN && !isThere(was.by)) {
    const { by = '', at: when = '' } = getRec(was.by)?.agreed ?? {};
    words.push(t.together.marksGone(by, when && at(when), now !== null));
  } else if (isByOther && now && !now.mine) words.push(t.together.marksCame(now.by, at(now.at)));
  return words.length ? { words, was, isByOther } : null;
}

/** What is shown is kept, once nothing that others changed of it is still to be told. */
export function keepStood(here: AtBench, words: string): void {
  const now = standsNow(here, words);
  const { run, copy, own, steps, answer, kept } = here;
  const ticks = ticksOnRecord(steps, ofCopy(run.entries, copy), answer.plan.digest, kept);
  if (!now || turnedBy(here) || JSON.stringify([now, ticks]) === JSON.stringify([own.stood, own.ticks])) return;
  goOnWith(run, { ...own, stood: now, ticks });
}

/** The step that stood there is done, by the marks by which it stood there. */
export function doneAsItWas(here: AtBench, { was: { deed } }: Turned): void {
  if (deed) write(here, 'planned', {}, { made: [deed] });
}

/** Its bend is not on record yet. */
export const mayBeDone = ({ steps, done }: AtBench, { isByOther, was: { deed } }: Turned): boolean =>
  isByOther && !!deed && !(!deed.bend && !deed.step && done.some((i) => isOf(deed, steps[i]!)));

/** What says that it is bent, while not all of its bends (`piece`: those of this one) are on record, and these by name; null: nothing
 * does. */
export function bentUnticked({ run, copy = 1, steps, done, kept }: AtBench, piece?: number): { said: SeenEntry; left: string[] } | null {
  const { from: said } = setBy(run.entries, run.times)[copy - 1]!;
  const left = steps.flatMap((step, i) => (isBend(step, kept) && !done.includes(i) && step.at === (piece ?? step.at) ? (step.bendWords?.name ?? t.bend.mark(step.bend!.number)) : []));
  return said && isBent(run.statuses[copy - 1]!) && left.length ? { said, left } : null;
}

/** The same, as long as the person here has not seen it and gone on. */
export function bentUnseen(here: AtBench): ReturnType<typeof bentUnticked> {
  const bent = bentUnticked(here);
  return bent && !here.behind.length && !here.own.knew?.includes(bent.said.entry.id!) ? bent : null;
}

/** The person here has seen that it is said to be bent, and goes on with it. */
export const goOnUnbent = ({ run, own }: AtBench, { entry }: SeenEntry): void => goOnWith(run, { ...own, knew: [...(own.knew ?? []), entry.id!] });
