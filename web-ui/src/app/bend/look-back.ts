/** What is done already on Bend: looked at without a change to the record; and ticks taken back from one of these steps on. */
import { t } from '../../text/words';
import { ofCopy } from '../kept/copies';
import type { SeenEntry } from '../kept/view';
import { isTick, write, type AtBench } from './at-bench';
import type { FirstStep } from './anew';
import { isBend, isOver, isRecorded, ticksOf } from './bench';

/** A step on Bend: what comes before a rest, or a step of the plan. */
export interface Place {
  at: number;
  first?: FirstStep;
}

/** What was shown before the step at hand, oldest first. */
export function placesBefore(here: AtBench): Place[] {
  const { steps, kept, firsts, first, at } = here;
  const all: Place[] = steps.slice(0, at + 1).flatMap((_, i) => [...firsts.filter((one) => one.at === i).map((one) => ({ at: i, first: one })), ...(i === at || isOver(steps, i, kept) ? [] : [{ at: i }])]);
  const now = all.findIndex((one) => one.first === first && first);
  return now < 0 ? all : all.slice(0, now);
}

/** The bench as it shows this step. */
export const lookAt = (here: AtBench, { at, first }: Place): AtBench => ({ ...here, at, step: here.steps[at]!, first });

/** Who ticked it off; undefined: nobody did, it is known otherwise, or is kept on this device alone. */
export function tickAt({ run, copy, steps, answer, kept }: AtBench, { at, first }: Place): SeenEntry | undefined {
  if (first) return first.done && (!first.before || isTick(first.done)) ? first.done : undefined;
  const { bend, at: piece } = steps[at]!;
  const entries = ofCopy(run.entries, copy);
  return bend
    ? entries
        .filter(({ entry: { what, piece: of, pins } }) => what.kind === 'made' && !what.anew && what.bends.length === 1 && what.bends[0]!.number === bend.number && (of ?? 1) === piece && pins?.marks === answer.plan.digest)
        .pop()
    : ticksOf(steps[at]!, entries, answer.plan.digest, kept).pop();
}

const isOwn = (here: AtBench, place: Place): boolean => (place.first || isRecorded(here.steps[place.at]!, here.kept) ? !!tickAt(here, place)?.mine : here.begun && place.at < here.own.at);

/** What it is called. */
export function placeName({ steps }: AtBench, { at, first }: Place): string {
  if (first) return t.together.step[first.before?.kind ?? 'again'](first.number);
  return steps[at]!.bendWords?.name ?? steps[at]!.title;
}

/** What goes with this device's tick of a step where it is taken back, itself included, and what others have done after
 * it; null: it is not this device's to take back. */
export function takenWith(here: AtBench, place: Place): { own: Place[]; others: Place[] } | null {
  if (!isOwn(here, place)) return null;
  const places = placesBefore(here);
  const from = places.slice(places.findIndex((one) => one.at === place.at && one.first === place.first));
  return { own: from.filter((one) => isOwn(here, one)), others: from.filter((one) => !isOwn(here, one) && tickAt(here, one)) };
}

/** This step is not done, nor (on this device) what came after it. */
export function takeBack(here: AtBench, place: Place): void {
  const { steps, done, behind, kept, run, copy, answer } = here;
  const staysBent = behind.length > 0 && !behind.includes(place.at);
  const places = placesBefore(here);
  const entries = ofCopy(run.entries, copy);
  const firsts = places.slice(places.findIndex((one) => one.at === place.at && one.first === place.first)).flatMap(({ first }) => (first ? first : []));
  const stays = done.filter((s) => s < place.at || isOver(steps, s, kept));
  write(
    here,
    staysBent ? 'bent' : stays.length ? 'planned' : 'measured',
    { begun: staysBent || stays.some((i) => steps[i]!.kind !== 'bend'), at: place.at, ...(staysBent ? {} : { bent: undefined }) },
    {
      back: steps.flatMap((s, i) => (done.includes(i) && !stays.includes(i) && isBend(s, kept) ? [{ piece: s.at, number: s.bend!.number }] : [])),
      taken: [
        ...firsts.flatMap(({ done: one, before }) => (one?.mine && (!before || isTick(one)) ? one : [])),
        ...steps.flatMap((s, i) => (i >= place.at && !stays.includes(i) ? ticksOf(s, entries, answer.plan.digest, kept).filter(({ mine }) => mine) : [])),
      ],
    },
  );
}
