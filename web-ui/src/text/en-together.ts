/** English for what several people do to one job: a piece at two benches, copies, runs removed, a device put out. */
import { STEPS, type StepMade } from '../engine/types';

/** The steps of the plan as they are done. */
const planned = Object.fromEntries(Object.entries(STEPS).map(([kind, { done }]) => [kind, (number: number) => (number > 1 ? `${done} (${number})` : done)])) as Record<StepMade['kind'], (number: number) => string>;

/** 'copy 3 of 20', 'this piece' */
const piece = (copy: number | undefined, times: number): string => (copy ? `copy ${copy} of ${times}` : 'this piece');
const keptBy = (by: string, at: string): string => `kept ${[by && `by ${by}`, at].filter(Boolean).join(', ')}`;
const who = (by: string): string => by || 'Another device';

/** What a file holds of the shop's lists, where this device is not told them; what a page over plain http lacks. */
export const lists = {
  title: (prices: boolean, people: number) =>
    `${[prices && 'Prices and hours', people && (people === 1 ? '1 person’s accuracy' : `${people} people’s accuracy`)].filter(Boolean).join(', ')}: on this device only`,
  words: (device: string, kinds: string) =>
    `The shop tells this device no such lists, and takes none from it: these count here alone. The rest goes there. To let them in, at the shop’s computer: racewright devices "${device}" --reads ${kinds}`,
  leaveOut: 'Leave them out here too',
  plainHttp: 'Plain http',
  plainHttpWords:
    'Without its server this page does not open; what is kept here comes back with it. Anybody on this network can listen, and write in this device’s name. With racewright serve --lan (https) neither is so.',
  welcomeHttp: 'It is kept on this device. The page opens only where its server can be reached: it came over plain http.',
};

export const together = {
  bentBy: (by: string, at: string) => `Ticked off by ${who(by)}, ${at}.`,
  bentOn: (bend: string, by: string, at: string) => `${bend}: ticked off by ${who(by)}, ${at}`,
  twice: 'Ticked off twice',
  twiceTitle: (number: number) => `Mark ${number} is ticked off twice: how is it bent?`,
  twiceWords: 'If it is bent once, say by which mark: the other tick is taken back, and a note says why. If that is not known, measure it.',
  planMark: 'the planned mark',
  byMark: { kept: (by: string, at: string) => `the new mark ${keptBy(by, at)}`, gone: 'a new mark that is not kept any more' },
  forMarks: { kept: (by: string, at: string) => `the new marks ${keptBy(by, at)}`, gone: 'new marks that are not kept any more' },
  stepTwice: { cut: () => 'The cut at end A is ticked off twice', twist: (mark: number) => `The twist at mark ${mark} is ticked off twice`, on: (mark: number) => `Mark ${mark} is ticked off twice as bent on or opened` },
  stepTwiceWords: 'If it was done once, say which tick is right: the other is taken back, and a note says why. If it was done twice, or that is not known, measure the piece.',
  isDoneFor: (marks: string, ticks: string) => `Once, for ${marks} (${ticks})`,
  isDoneBy: (ticks: string) => `Once: ${ticks}`,
  stepOnce: {
    cut: (_: number, marks: string, ticks: string, wrong: string) => `end A is cut once, for ${marks} (${ticks}). ${wrong}: taken back.`,
    twist: (mark: number, marks: string, ticks: string, wrong: string) => `it is twisted once at mark ${mark}, for ${marks} (${ticks}). ${wrong}: taken back.`,
    on: (mark: number, marks: string, ticks: string, wrong: string) => `mark ${mark} is bent on or opened once, for ${marks} (${ticks}). ${wrong}: taken back.`,
  },
  who: (by: string, at: string) => [who(by), at].filter(Boolean).join(', '),
  isBentBy: (mark: string, ticks: string) => `Once, by ${mark} (${ticks})`,
  tickOf: (ticks: string) => `Tick of ${ticks}`,
  bentOnce: (number: number, mark: string, ticks: string, wrong: string) => `mark ${number} is bent once, by ${mark} (${ticks}). ${wrong}: taken back.`,
  takenBack: (ticks: string) => `${ticks}: taken back.`,
  doneBy: (bend: string, by: string, at: string) => `${bend} (${[who(by), at].filter(Boolean).join(', ')})`,
  step: { ...planned, cut: () => 'end A is cut', twist: (mark: number) => `twisted at mark ${mark}`, again: (mark: number) => `mark ${mark} is bent on or opened` },
  ofPiece: (name: string, done: string) => `${name}: ${done}`,
  doneAlready: (steps: readonly string[]) => `Done already: ${steps.join(', ')}`,
  wentOn: (bends: readonly string[]) => `Done: ${bends.join(', ')}`,
  isBent: (by: string, at: string) => `Bent (${[who(by), at].filter(Boolean).join(', ')})`,
  isBentBut: (left: readonly string[]) => `Not ticked off: ${left.join('; ')}. If it is bent, bend nothing more of it; if it is not, go on.`,
  itIsBent: 'It is bent',
  turned: 'Changed on another device',
  tickGone: (tick: string) => `Taken back elsewhere: ${tick}`,
  marksCame: (by: string, at: string) => `${[who(by), at].filter(Boolean).join(', ')}: new marks are kept. Lines that were drawn before do not hold: draw the new ones.`,
  marksGone: (by: string, at: string, isNew: boolean) =>
    `${[who(by), at].filter(Boolean).join(', ')}: the new marks are taken back, and ${isNew ? 'those kept before' : 'the planned ones'} hold again. Lines that were drawn by the new marks do not: rub them out.`,
  stood: (was: string, now: string) => `It was ${was}.${now ? ` It is ${now} now.` : ''}`,
  asItWas: (was: string) => `It is done as it was: ${was}`,
  isSeen: 'I have seen that',
  seen: (step: string) => `Go on with ${step}`,
  onPiece: (copy: number | undefined, times: number) => `Bent already on ${piece(copy, times)}`,
  twoBenches: (copy: number | undefined, times: number) => `Two are at ${piece(copy, times)}`,
  choose: (question: string) => `${question}: choose`,
  order: { before: 'before you', after: 'after you' },
  tooWords: (bend: string, by: string, at: string, order: string) => `${who(by)} ticked off ${bend} ${[order, at].filter(Boolean).join(', ')}.`,
  titled: (step: string) => `“${step}”`,
  onlyOne: 'It is wanted once.',
  noFree: 'No other copy is free.',
  mineIs: (copy: number) => `Mine is copy ${copy}`,
  take: (copy: number) => `Take copy ${copy} instead`,
  goOn: (copy: number | undefined) => (copy ? `Go on with copy ${copy}` : 'Go on with it'),
  whichCopies: (status: string) => `Which copies are ${status.toLowerCase()}?`,
  whichHelp: (times: number) => `Of ${times}: write ${times}, or 1-${times}, or 1, ${times}.`,
  theseCopies: 'These copies',
  allCopies: (times: number) => `All ${times}`,
  begunElsewhere: 'Begun at another bench',
  begunBy: (copy: number | undefined, by: string, at: string) => `${copy ? `Copy ${copy}` : 'This piece'}: ${who(by)} ticked off its first step, ${at}, and not yet its last.`,
  setAnyway: (status: string) => `It is ${status.toLowerCase()}`,
  leaveIt: 'Leave it',
  howMany: 'How many alike',
  fewer: 'One fewer',
  more: 'One more',
  howManyWrong: (most: number) => `A whole number from 1 to ${most} works.`,
  again: (copies: readonly string[]) => `Counted again as they were left, with what is kept of them. ${copies.join('. ')}.`,
  copiesGone: (from: number, to: number) => (from === to ? `Copy ${from}` : `Copies ${from} to ${to}`),
  removed: (n: number) => (n === 1 ? '1 run removed' : `${n} runs removed`),
  removedWords: 'What was measured and done on them is kept.',
  removedBy: (by: string, at: string) => `Removed by ${[by || 'another device', at].filter(Boolean).join(', ')}`,
  removedHere: 'Removed on this device',
  goneTitle: (name: string) => `${name} was removed from the job`,
  goneWords: 'Bend nothing more of it until it is known why. What was measured and done on it is kept.',
  bringBack: 'Bring it back',
  bringBackThis: (name: string) => `Bring it back: ${name}`,
  isBack: (name: string) => `${name}: back again.`,
  revoked: 'This device was revoked by the shop',
  revokedWords: 'What it has stays here, and nothing goes to the shop any more. Pair it again with the code that the server shows, or save the job as a file.',
  pairAgain: 'Pair again',
  toDo: 'Not in place',
  counted: (copy: number, times: number) => `The piece in hand is copy ${copy} of ${times}.`,
};
