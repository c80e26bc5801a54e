/** New marks that were kept: they hold for the rest of that copy's piece, and no step back takes them away. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Answered } from "../src/engine/records";
import type { Entry, Made } from "../src/engine/types";
import { angleKept, bendsLeft, firstOf, firstSteps, inNewOrder, isBentBy, isLeftOut, keptBefore, keptAnew, lastMadeOn, madeBends, measuredOf, onTwice, otherMade, recordOf, soFar, stepsTwice, tickedTwice, toldWith } from "../src/app/bend/anew";
import { doneSteps, isOver, type BenchStep } from "../src/app/bend/bench";
import { countAs, note, takeBack, takeTicksBack, tick } from "../src/app/kept/act";
import { ofCopy } from "../src/app/kept/copies";
import { getRec, put, putOne } from "../src/app/kept/kept";
import { answered } from "../src/app/kept/record";
import { begunWords } from "../src/app/parts/begun";
import { RUN, again, cutBy, entry, rad, tickBy, ticked, wantsCut, what } from "./anew-here";
import { inShop, keeping, runAt, runData } from "./kept-here";

test("they hold for their copy, piece and plan alone, the last that was kept", () => {
  keeping(inShop("run", runData(RUN, { times: 3 })), entry("1", { copy: 2 }), entry("2", { copy: 2, what: { kind: "made", bends: [{ number: 2 }] } }));
  const { entries } = runAt(RUN);
  const kept = keptAnew(ofCopy(entries, 2), 1, "P")!;
  assert.deepEqual(measuredOf(kept), [{ number: 1, angle_deg: 25 }]);
  assert.equal(keptAnew(ofCopy(entries, 1), 1, "P"), null);
  assert.equal(keptAnew(ofCopy(entries, 2), 2, "P"), null);
  assert.equal(keptAnew(ofCopy(entries, 2), 1, "Q"), null);
  assert.deepEqual([...madeBends(ofCopy(entries, 2), 1, "P").keys()], [1, 2]);
});

test("how far a plane is off stays with its bend: as it was recorded last, told with the marks, and kept where they do not hold", () => {
  const off = (deg: number, kept = false): Made => ({ ...(kept ? what : {}), kind: "made", bends: [{ number: 1, angle_rad: rad(25), roll_off_rad: rad(deg) }] });
  keeping(inShop("run", runData(RUN)), entry("1", { what: off(2, true) }), entry("2", { what: ticked(1) }));
  const { entries } = runAt(RUN);
  const kept = keptAnew(entries, 1, "P")!;
  assert.deepEqual(measuredOf(kept), [{ number: 1, off_deg: 2, angle_deg: 25 }]);
  assert.equal(madeBends(entries, 1, "P").get(1)!.roll_off_rad, rad(2));
  assert.deepEqual(toldWith(kept, [entries[0]!], "P"), [{ number: 1, angle_rad: rad(25), mark_mm: null, roll_off_rad: rad(2), by_marks: "plan" }]);
  keeping(inShop("run", runData(RUN)), entry("1", { what: off(2, true) }), entry("2", { what: off(-3) }));
  assert.equal(madeBends(runAt(RUN).entries, 1, "P").get(1)!.roll_off_rad, rad(-3));
});

test("a step back leaves them: the planned marks never come back by themselves", () => {
  keeping(inShop("run", runData(RUN)), entry("1", {}), entry("2", { what: { kind: "made", bends: [{ number: 1 }] } }));
  tick(runAt(RUN), { bench: { of: "p", begun: false, at: 0 }, status: () => "planned", made: [], back: [{ piece: 1, number: 1 }], marks: "P", tool: "" });
  assert.deepEqual([getRec("1")?.data === null, getRec("2")?.data ?? null], [false, null]);
});

/** Of piece 1 four bends, which the plan makes in this order, between the cut and the check; then one of piece 2. */
const steps = [
  { kind: "cut", at: 1, bend: null },
  ...[4, 1, 2, 3].map((number) => ({ kind: "bend", at: 1, bend: { number } })),
  { kind: "check", at: 1, bend: null },
  { kind: "bend", at: 2, bend: { number: 1 } },
] as BenchStep[];
const numbers = (list: readonly BenchStep[]) => list.map((step) => step.bend?.number ?? 0);

/** After bend 1 the rest is marked anew, to be bent in this order. */
const keptIn = (order: number[], ...more: Partial<Entry>[]) => {
  const anew = { marks: order.map((number) => ({ number, mark_mm: 100, angle_rad: 0.5 })) };
  const all = [{ what: { kind: "made" as const, bends: [{ number: 1 }], anew } }, ...more];
  keeping(inShop("run", runData(RUN)), ...all.map((one, i) => entry(String(i), one)));
  const { entries } = runAt(RUN);
  return { entries, kept: (piece: number) => keptAnew(entries, piece, "P") };
};

test("the steps follow the order of the new marks: the bends left change places, and nothing else does", () => {
  assert.deepEqual(numbers(inNewOrder(steps, keptIn([3, 4, 2]).kept)), [0, 3, 1, 4, 2, 0, 1]);
  assert.deepEqual(numbers(inNewOrder(steps, keptIn([1, 3, 4]).kept)), [0, 3, 1, 2, 4, 0, 1], "made bends are bent further, and 2 is left out");
  assert.deepEqual(numbers(inNewOrder(steps, () => null)), numbers(steps));
});

test("what is ticked off by the new marks is the bend that its step shows, and stays so when the order changes again", () => {
  const first = keptIn([3, 4, 2], { what: { kind: "made", bends: [{ number: 3 }] } });
  const done = ({ entries, kept }: typeof first) => {
    const list = inNewOrder(steps, kept);
    return doneSteps(3, list, entries, "P", kept).map((i) => list[i]!.bend?.number ?? 0);
  };
  assert.deepEqual(done(first), [0, 3, 1], "the cut, and bends 1 and 3");
  const later = keptIn([2, 4], { what: { kind: "made", bends: [{ number: 3 }] } });
  assert.deepEqual(done(later), [0, 1, 3], "the first place is another bend's now");
});

test("a bend is made as long as it is on record; what else comes before the step at hand is passed", () => {
  const made = entry("1", { what: { kind: "made", bends: [{ number: 4 }] } });
  const done = (...records: ReturnType<typeof entry>[]): number[] => {
    keeping(inShop("run", runData(RUN)), ...records);
    const { entries } = runAt(RUN);
    return doneSteps(3, steps, entries, "P", (piece) => keptAnew(entries, piece, "P"));
  };
  assert.deepEqual(done(made), [0, 1]);
  assert.deepEqual(done(), [0], "its entry was taken back elsewhere");
  const anew = { marks: [{ number: 2, mark_mm: 100, angle_rad: 0.5 }] };
  assert.deepEqual(done(entry("1", { what: { kind: "made", bends: [{ number: 4 }], anew } })), [0, 1, 2], "bend 1 is left out, and never on record");
});

const bench = [
  { kind: "cut", at: 1, bend: null },
  ...[3, 1, 2].map((number) => ({ kind: "bend", at: 1, bend: { number } })),
  { kind: "check", at: 1, bend: null },
] as BenchStep[];
const atBench = (...more: Partial<Entry>[]) => {
  const all = [{ what: { kind: "made" as const, bends: [{ number: 3 }] } }, { what: again }, ...more];
  keeping(inShop("run", runData(RUN)), ...all.map((one, i) => entry(String(i), one)));
  return runAt(RUN);
};
test("a made bend that is bent on or opened is a step of its own, before the first bend that is left", () => {
  const kept = (run: ReturnType<typeof atBench>) => (piece: number) => keptAnew(run.entries, piece, "P");
  const firsts = (run: ReturnType<typeof atBench>) => firstSteps(bench, kept(run), run.entries, "P").map((one) => [one.piece, one.number, one.at, one.done?.entry.id ?? null]);
  assert.deepEqual(firsts(atBench()), [[1, 3, 2, null]], "the tick of before does not count");
  assert.deepEqual(firsts(atBench({ what: { kind: "made", bends: [{ number: 3, angle_rad: rad(90) }] } })), [[1, 3, 2, "2"]]);
  assert.deepEqual(firsts(atBench({ pins: { marks: "Q" }, what: { kind: "made", bends: [{ number: 3 }] } })), [[1, 3, 2, null]], "nor one of another plan");
  const all = { ...again, bends: [1, 2, 3].map((number) => ({ number })) };
  assert.deepEqual(firsts(atBench({ what: all })).map((one) => one[2]), [4, 4, 4], "none is left: before what comes after the bends");
});

test("the angle of a bend is the one on record, else the one that it gets by the new marks", () => {
  const run = atBench();
  assert.deepEqual([3, 1, 4].map((number) => angleKept(number, run.entries, 1, "P")), [{ deg: 86, isAnew: false }, { deg: 22.5, isAnew: true }, null]);
  assert.deepEqual(angleKept(3, atBench({ what: { kind: "made", bends: [{ number: 3 }] } }).entries, 1, "P"), { deg: 90, isAnew: true });
  keeping(inShop("run", runData(RUN)), entry("1", {}), entry("2", { what: ticked(1) }));
  assert.deepEqual(angleKept(1, runAt(RUN).entries, 1, "P"), { deg: 25, isAnew: false }, "a tick of another phone leaves what was measured");
  assert.deepEqual(angleKept(3, atBench({ what: { kind: "made", bends: [{ number: 3, angle_rad: rad(89) }] } }).entries, 1, "P"), { deg: 89, isAnew: false });
  // made by the plan's mark while new marks hold it is as planned, and by new marks of before as these have it
  assert.equal(angleKept(1, atBench({ what: { kind: "made", bends: [{ number: 1, by_marks: "plan" }] } }).entries, 1, "P"), null);
  const later: Made = { ...again, anew: { marks: [{ number: 1, mark_mm: 100, angle_rad: rad(30) }] } };
  const byFirst: Made = { kind: "made", bends: [{ number: 1, by_marks: "1" }] };
  assert.deepEqual(angleKept(1, atBench({ what: later }, { what: byFirst }).entries, 1, "P"), { deg: 22.5, isAnew: true });
});

const upTo = (chosen: number, ...made: Made[]): number => {
  keeping(inShop("run", runData(RUN)), ...made.map((one, i) => entry(String(i), { what: one })));
  return soFar([1, 2, 3, 4], runAt(RUN).entries, 1, "P", chosen).made;
};
test("how far a piece is said to be bent stays as it was chosen, once that is kept or another phone ticks a bend off", () => {
  const two: Made = { ...again, bends: [{ number: 1 }, { number: 2 }], anew: { marks: [3, 4].map((number) => ({ number, mark_mm: 100, angle_rad: 0.5 })) } };
  assert.deepEqual([upTo(0), upTo(2), upTo(2, two), upTo(2, ticked(1)), upTo(9, ticked(1))], [1, 2, 2, 2, 3]);
  assert.deepEqual([upTo(0, two), upTo(1, two, ticked(3))], [2, 3], "what is on record is made");
});

const madeOn = (piece: number, marks = "P"): Partial<Entry> => ({ piece, pins: { marks }, what: ticked(1) });
const lastOf = (...told: Partial<Entry>[]): number => {
  keeping(inShop("run", runData(RUN)), ...told.map((one, i) => entry(String(i), one)), entry("9", { piece: 4, what: { kind: "note", note: "wet" } }));
  return lastMadeOn(runAt(RUN).entries, "P");
};
test("the piece at hand is the one on which a bend was made last by the plan, in whatever order they are bent", () => {
  assert.deepEqual([lastOf(), lastOf(madeOn(1), madeOn(2)), lastOf(madeOn(2), madeOn(1)), lastOf(madeOn(1), madeOn(3, "Q"))], [0, 2, 1, 1]);
});

/** What is kept of piece 1, and what is said of its bends: number, and degrees where they were measured. */
const known = (): [number, number | null][] => [...madeBends(runAt(RUN).entries, 1, "P")].map(([number, { angle_rad }]) => [number, angle_rad == null ? null : Math.round((angle_rad * 180) / Math.PI)]);
const holds = () => keptAnew(runAt(RUN).entries, 1, "P");
const drop = (): (() => void) => {
  const bends = toldWith(holds()!, runAt(RUN).entries, "P");
  return takeBack(holds()!, bends.length ? { kind: "made", bends } : undefined);
};

test("new marks that do not hold leave the bends that were told with them, and come back in their old place", () => {
  for (const inTheShop of [true, false]) {
    keeping(inShop("run", runData(RUN)), entry("0", { what: ticked(2) }), ...(inTheShop ? [entry("1", {})] : []));
    if (!inTheShop) note(runAt(RUN), what, { piece: 1, pins: { marks: "P" } });
    const id = holds()!.entry.id!;
    const back = drop();
    assert.deepEqual([holds(), known()], [null, [[2, null], [1, 25]]], "bend 1 and its angle stay");
    note(runAt(RUN), { kind: "made", bends: [{ number: 3 }] }, { piece: 1, pins: { marks: "P" } });
    back();
    assert.equal(holds()!.entry.id, id, "the very record");
    assert.deepEqual(known(), [[1, 25], [3, null]], "and what was ticked off meanwhile is made still");
    assert.equal(isBentBy(holds()!, runAt(RUN).entries, "P"), true);
  }
});

test("new marks are there to be brought back in their place once the shop has heard that they are gone", () => {
  keeping(inShop("run", runData(RUN)), entry("1", {}), entry("2", { what: { kind: "made", bends: [{ number: 3 }] } }));
  const back = takeBack(holds()!);
  const gone = getRec("1")!;
  void putOne("1", answered(gone, { id: "1", outcome: "saved", revision: 2, digest: "d", message: "", hint: "", found: 2 } as unknown as Answered));
  assert.equal(holds(), null);
  back();
  const now = getRec("1")!;
  assert.deepEqual([now.agreed.revision, now.open, known()], [2, true, [[1, 25], [3, null]]]);
});

test("of marks that were kept twice those before hold again, with what was told of the bends since", () => {
  const first: Made = { ...again, bends: [{ number: 3, angle_rad: rad(86) }] };
  const second: Made = { kind: "made", bends: [{ number: 3, angle_rad: rad(86) }, { number: 1, angle_rad: rad(24), mark_mm: 90 }], anew: { marks: [{ number: 2, mark_mm: 100, angle_rad: 0.5 }] } };
  keeping(inShop("run", runData(RUN)), entry("1", { what: first }), entry("2", { what: ticked(1) }), entry("3", { what: second }));
  assert.equal(keptBefore(holds()!, runAt(RUN).entries, "P")!.entry.id, "1");
  assert.equal(isBentBy(holds()!, runAt(RUN).entries, "P"), false);
  drop();
  assert.equal(holds()!.entry.id, "1");
  assert.deepEqual(known(), [[3, 86], [1, 24]]);
  assert.equal(firstOf(holds()!, runAt(RUN).entries, 1, "P")[0]!.done, null, "bend 3 is still to be bent on");
});

test("what was measured of a bend stays where new marks do not hold, though those before want it twisted: it is not twisted again", () => {
  const twist: Made = { kind: "made", bends: [{ number: 1 }, { number: 2, roll_off_rad: rad(-1) }], anew: { marks: [{ number: 3, mark_mm: 100, angle_rad: 0.5 }], twisted: [{ number: 2, by_rad: rad(4), how: "" }] } };
  assert.deepEqual(leftBy([{ number: 2, angle_rad: rad(46), roll_off_rad: rad(3) }], twist), [{ number: 2, angle_rad: rad(46), mark_mm: null, roll_off_rad: rad(3), by_marks: "0" }]);
  drop();
  assert.deepEqual([known(), firstOf(holds()!, runAt(RUN).entries, 1, "P")[0]!.done !== null], [[[1, null], [2, 46]], true]);
});

test("a tick is taken back alone: the one of before the new marks stays", () => {
  const run = atBench({ what: { kind: "made", bends: [{ number: 3, angle_rad: rad(90) }] } });
  const kept = keptAnew(run.entries, 1, "P")!;
  const taken = firstOf(kept, run.entries, 1, "P")[0]!.done!;
  tick(run, { bench: { of: "P", begun: true, at: 2 }, status: () => "planned", made: [], back: [], taken: [taken], marks: "P", tool: "" });
  const { entries } = runAt(RUN);
  assert.deepEqual(entries.flatMap(({ entry: one }) => (one.what.kind === "made" ? [one.what.bends.length] : [])), [1, 1]);
  assert.equal(firstOf(keptAnew(entries, 1, "P")!, entries, 1, "P")[0]!.done, null);
});

test("a bend that is bent on, and after which new marks are kept, is one bend made", () => {
  const words = begunWords(atBench({ what: { kind: "made", bends: [{ number: 3, angle_rad: rad(90) }] } }));
  assert.ok(words.some((one) => one.startsWith("1 bend is made")), words.join());
});

/** What new marks that were kept with these bends, after that, leave of them. */
const leftBy = (bends: Made["bends"], ...before: Made[]): Made["bends"] => {
  const last: Made = { kind: "made", bends, anew: { marks: [{ number: 9, mark_mm: 100, angle_rad: 0.5 }] } };
  keeping(inShop("run", runData(RUN)), ...[...before, last].map((one, i) => entry(String(i), { what: one })));
  return toldWith(holds()!, runAt(RUN).entries, "P");
};

test("what was said of the bends with new marks is left by them but where it stands elsewhere, is counted otherwise, or is not done", () => {
  const measured: Made = { kind: "made", bends: [{ number: 1, angle_rad: rad(25), mark_mm: 90 }] };
  const full = { number: 1, angle_rad: rad(25), mark_mm: 90 };
  assert.deepEqual([leftBy([full], measured), leftBy([{ number: 1 }], measured), leftBy([{ ...full, mark_mm: null }], measured), leftBy([{ ...full, angle_rad: null }], measured)], [[], [], [], []]);
  assert.deepEqual(leftBy([{ ...full, mark_mm: 91 }], measured), [{ ...full, mark_mm: 91, by_marks: "plan" }]);
  assert.deepEqual(leftBy([{ ...full, angle_rad: rad(26) }], measured), [{ ...full, angle_rad: rad(26), by_marks: "plan" }]);
  assert.deepEqual(leftBy([full], again), [{ ...full, mark_mm: null, by_marks: "0" }], "its place counts by marks that hold no more");
  const bentOn = { number: 3, angle_rad: rad(90), mark_mm: null };
  assert.deepEqual([leftBy([bentOn], again), leftBy([{ ...bentOn, angle_rad: rad(91) }], again, ticked(3))], [[], [{ ...bentOn, angle_rad: rad(91), by_marks: "0" }]], "told only once it is done");
});

test("what hangs on no plan is none of any; a made bend is not left out by marks that do not name it; a piece of one bend", () => {
  keeping(inShop("run", runData(RUN)), entry("1", { pins: { marks: "" } }));
  assert.deepEqual(recordOf(runAt(RUN).entries, 1, ""), []);
  keeping(inShop("run", runData(RUN)), entry("1", { what: { kind: "made", bends: [], steps: [{ kind: "trim", number: 1, by_marks: "plan" }] } }), entry("2", { piece: 2 }));
  assert.deepEqual(recordOf(runAt(RUN).entries, 1, "P").map((one) => one.what.steps?.[0]?.kind), ["trim"], "the engine sees that its ends are cut");
  const { kept } = keptIn([2, 3]);
  assert.deepEqual([1, 2, 4].map((number) => isLeftOut(kept(1)!, number)), [false, false, true]);
  assert.equal(soFar([1], [], 1, "P", 0).most, 1);
  const on = keptIn([1, 2]);
  assert.deepEqual(firstSteps(steps.slice(3, 5), on.kept, on.entries, "P").map((one) => one.at), [0], "its piece begins there");
});

/** The bends that are ticked off by different marks: of each how often, and by which. */
const twice = (): unknown[] => tickedTwice(runAt(RUN).entries, 1, "P").map(({ number, by }) => [number, ...by.map(({ isPlan, kept, ticks }) => `${isPlan ? "plan" : (kept?.entry.id ?? "gone")} ${ticks.length}`)]);
test("a bend that is ticked off by different marks is told with each tick; the wrong one is taken back with a note, and comes back", () => {
  const kept = entry("1", {});
  keeping(inShop("run", runData(RUN)), kept, tickBy("2", 2, "plan"), tickBy("3", 2, "1"), tickBy("4", 2, "1"), tickBy("5", 3, "1"));
  assert.deepEqual(twice(), [[2, "plan 1", "1 2"]]);
  keeping(inShop("run", runData(RUN)), kept, tickBy("2", 2, "9"), tickBy("3", 2, ""), tickBy("4", 3, "1"), tickBy("5", 3, "1"));
  assert.deepEqual(twice(), [[2, "gone 1", "1 1"]], "where it is not said by which, by those that hold");
  keeping(inShop("run", runData(RUN)), tickBy("0", 3, "plan"), entry("1", { what: again }), tickBy("2", 3, "1"), tickBy("3", 1, "plan"));
  assert.deepEqual(twice(), [], "it is bent on, and once made before");
  keeping(inShop("run", runData(RUN)), { ...tickBy("0", 2, ""), mine: true }, kept, tickBy("2", 2, "1"));
  assert.deepEqual(twice(), [], "what was ticked off before, by nobody knows which, counts as the new marks say");
  const theirs2 = { ...tickBy("2", 2, "plan"), mine: false };
  keeping(inShop("run", runData(RUN)), kept, theirs2, tickBy("3", 2, "1"));
  const [{ by }] = tickedTwice(runAt(RUN).entries, 1, "P") as [ReturnType<typeof tickedTwice>[number]];
  const back = takeTicksBack(runAt(RUN), { number: 2 }, by[0]!.ticks, { note: "why", piece: 1 });
  const said = () => runAt(RUN).entries.map(({ entry: { by: of, what: one, piece } }) => [of ?? "", one.kind === "note" ? one.note : one.kind, piece]);
  assert.deepEqual([twice(), said().slice(1)], [[], [["B3", "made", 1], ["phone", "why", 1]]]);
  assert.deepEqual([getRec("2")!.data, getRec("2")!.open], [null, true], "by a next revision");
  back();
  assert.deepEqual([twice(), said().length], [[[2, "plan 1", "1 1"]], 3]);
  const again2 = takeTicksBack(runAt(RUN), { number: 2 }, by[0]!.ticks, { note: "why", piece: 1 });
  void put(new Map([["2", null]])); // the shop has heard of it
  again2();
  assert.deepEqual([twice(), said().at(-1)], [[[2, "1 1", "plan 1"]], ["B2", "made", 1]]);
  keeping(inShop("run", runData(RUN)), kept, entry("2", { what: { kind: "made", bends: [2, 3].map((number) => ({ number, by_marks: "plan" })) } }), tickBy("3", 2, "1"));
  takeTicksBack(runAt(RUN), { number: 2 }, [runAt(RUN).entries[1]!], { note: "why" });
  assert.deepEqual(getRec("2")!.data!["what"], { kind: "made", bends: [{ number: 3, by_marks: "plan" }] }, "what else it says stays");
});

test("what else an entry of a wrong tick says was done stays; of another copy a cut is by the marks as they are called there", () => {
  const both: Made = { kind: "made", bends: [{ number: 2, by_marks: "plan" }], steps: [{ kind: "cut", trim_mm: 8, by_marks: "1" }] };
  keeping(inShop("run", runData(RUN)), entry("1", {}), entry("2", { what: both }));
  takeTicksBack(runAt(RUN), { number: 2 }, [runAt(RUN).entries[1]!], { note: "why" });
  assert.deepEqual(getRec("2")!.data!["what"], { ...both, bends: [] });
  keeping(inShop("run", runData(RUN)), entry("1", {}), entry("2", { what: { kind: "made", bends: [{ number: 2, by_marks: "plan" }], note: "windy" } }));
  takeTicksBack(runAt(RUN), { number: 2 }, [runAt(RUN).entries[1]!], { note: "why" });
  assert.deepEqual(getRec("2")!.data!["what"], { kind: "note", note: "windy" });
  keeping(inShop("run", runData(RUN, { times: 2 })), entry("1", { copy: 1 }), entry("2", { copy: 1, ...cutBy("1") }));
  countAs(runAt(RUN), 1, 2);
  const [kept, cut] = runAt(RUN).entries.filter(({ entry: { copy } }) => copy === 2);
  assert.deepEqual((cut!.entry.what as Made).steps!.map((one) => one.by_marks), [kept!.entry.id]);
});

test("a cut that new marks were kept with is known once: ticked off once more it is told", () => {
  const told = (...ticks: Partial<Entry>[]): string[] => {
    const later: Made = { ...what, steps: [{ kind: "cut", trim_mm: 8, by_marks: "1" }] };
    const all: Partial<Entry>[] = [{}, cutBy("1"), { what: later }, ...ticks];
    keeping(inShop("run", runData(RUN)), ...all.map((one, i) => entry(String(i + 1), one)));
    return otherMade(runAt(RUN).entries, 1, "P");
  };
  assert.deepEqual([told(), told(cutBy("1"))], [[], ["4"]]);
});

test("of a bend that was made by the marks that hold and by others, what was measured by these that hold counts, in whatever order they came", () => {
  const [by, otherwise] = [tickBy("2", 2, "1", { angle_rad: rad(44) }), tickBy("3", 2, "plan", { angle_rad: rad(40) })];
  for (const order of [[by, otherwise], [otherwise, by]]) {
    keeping(inShop("run", runData(RUN)), entry("1", {}), ...order);
    assert.equal(madeBends(runAt(RUN).entries, 1, "P").get(2)!.angle_rad, rad(44));
  }
});

/** The steps before the bends that are ticked off twice: of each for which marks, tick by tick. */
const stepTwice = (): string[] => stepsTwice(runAt(RUN).entries, 1, "P").map(({ number, kind, by }) => `${kind} ${number}: ${by.map(({ kept, ticks }) => `${kept?.entry.id ?? "gone"} ${ticks[0]!.entry.id}`).join(", ")}`);

test("a cut that is ticked off twice is told with each tick; the wrong one is taken back with a note, and comes back", () => {
  const wants = entry("1", { what: wantsCut });
  const stands = (...more: ReturnType<typeof entry>[]): string[] => {
    keeping(inShop("run", runData(RUN)), wants, ...more);
    return stepTwice();
  };
  assert.deepEqual([stands(entry("2", cutBy("1"))), stands(entry("2", cutBy("9")))], [[], []], "once, for whichever marks: no other tick is wrong");
  assert.deepEqual(stands(entry("2", cutBy("9")), entry("3", cutBy("1"))), ["cut 0: gone 2, 1 3"]);
  const knows = entry("4", { what: { ...wantsCut, steps: (cutBy("1").what as Made).steps! } });
  assert.deepEqual(stands(entry("2", cutBy("1")), knows, entry("5", cutBy("4"))), [], "cut once more for marks that know of the first");
  const twist: Made = { kind: "made", bends: [], steps: [{ kind: "twist", number: 1, by_rad: 0.1, by_marks: "9" }] };
  assert.deepEqual(stands(entry("2", { what: twist }), entry("3", { what: twist }), entry("5", cutBy("1"))), ["twist 1: gone 2, gone 3"]);
  const both: Made = { kind: "made", bends: [{ number: 2, by_marks: "1" }], steps: (cutBy("1").what as Made).steps! };
  assert.deepEqual(stands(entry("2", cutBy("1")), entry("3", { what: both })), ["cut 0: 1 2, 1 3"]);
  const [{ kind, number, by }] = stepsTwice(runAt(RUN).entries, 1, "P") as [ReturnType<typeof stepsTwice>[number]];
  const back = takeTicksBack(runAt(RUN), { number, kind }, by[1]!.ticks, { note: "why", piece: 1 });
  assert.deepEqual([stepTwice(), getRec("3")!.data!["what"]], [[], { ...both, steps: [] }], "the bend that it says too stays");
  back();
  assert.deepEqual(stepTwice(), ["cut 0: 1 2, 1 3"]);
  takeTicksBack(runAt(RUN), { number, kind }, by[0]!.ticks, { note: "why", piece: 1 });
  assert.deepEqual([stepTwice(), getRec("2")!.data], [[], null]);
});

test("a made bend that is ticked off twice as opened is told with each tick; the wrong one is taken back, and the bend it names stays made", () => {
  const told = (): unknown[] => onTwice(runAt(RUN).entries, 1, "P").map(({ number, kind, by }) => [kind, number, ...by.map(({ kept, ticks }) => `${kept?.entry.id} ${ticks.map((one) => one.entry.id).join()}`)]);
  const [opens, first, second, other] = [entry("1", { what: again }), tickBy("2", 3, "1"), tickBy("3", 3, ""), tickBy("4", 1, "1")];
  const read = tickBy("5", 3, "1", { angle_rad: rad(90) });
  keeping(inShop("run", runData(RUN)), opens, first, other);
  assert.deepEqual([told(), otherMade(runAt(RUN).entries, 1, "P")], [[], []]);
  keeping(inShop("run", runData(RUN)), opens, first, second, other, read);
  assert.deepEqual(told(), [], "it was read since");
  keeping(inShop("run", runData(RUN)), opens, first, second, other);
  assert.deepEqual([told(), otherMade(runAt(RUN).entries, 1, "P")], [[["on", 3, "1 2", "1 3"]], ["2", "3"]]);
  takeTicksBack(runAt(RUN), { number: 3 }, onTwice(runAt(RUN).entries, 1, "P")[0]!.by[0]!.ticks, { note: "why", piece: 1 });
  assert.deepEqual([told(), bendsLeft([3, 1, 2], runAt(RUN).entries, 1, "P")], [[], [2]]);
});

test("new marks are bent by once a bend of their piece is made by them, or what they want done before; nothing of another piece or by others", () => {
  const bent = (piece: number, ...more: ReturnType<typeof entry>[]): boolean => {
    keeping(inShop("run", runData(RUN)), entry("1", { piece, what: wantsCut }), ...more);
    const { entries } = runAt(RUN);
    return isBentBy(keptAnew(entries, piece, "P")!, entries, "P");
  };
  assert.deepEqual([bent(1), bent(1, tickBy("2", 2, "1")), bent(1, entry("2", cutBy("1")))], [false, true, true]);
  assert.deepEqual([bent(1, tickBy("2", 2, "plan")), bent(1, entry("2", cutBy("9")))], [false, false]);
  const ofPiece2 = (id: string) => entry(id, { piece: 2, what: { kind: "made", bends: [{ number: 2, by_marks: "1" }] } });
  assert.deepEqual([bent(2, ofPiece2("2")), bent(2, tickBy("2", 2, "1")), bent(1, ofPiece2("2"))], [true, false, false]);
});

test("what comes before the first bend of a piece is done once new marks are kept for it, and nothing of another piece", () => {
  const done = ({ entries, kept }: ReturnType<typeof keptIn>): number[] => doneSteps(0, inNewOrder(steps, kept), entries, "P", kept);
  assert.deepEqual(done(keptIn([3, 2])), [0, 2], "the cut, and bend 1");
  keeping(inShop("run", runData(RUN)), entry("1", { what: ticked(1) }));
  const { entries } = runAt(RUN);
  assert.deepEqual(doneSteps(0, steps, entries, "P", () => null), [0, 2], "as once a bend is made");
  assert.deepEqual([0, 1, 5, 6].map((i) => isOver(steps, i, (piece) => keptIn([3, 2]).kept(piece))), [true, false, false, false]);
});

test("what was told with new marks stays by the marks that it names, in its plane, and of its own piece", () => {
  const told = (bend: object, ...before: ReturnType<typeof entry>[]): unknown[] => {
    const kept = entry("9", { piece: 2, what: { ...what, bends: [{ number: 1, angle_rad: rad(25), ...bend }] } });
    keeping(inShop("run", runData(RUN)), ...before, kept);
    const { entries } = runAt(RUN);
    return toldWith(keptAnew(entries, 2, "P")!, entries, "P").map((one) => [one.by_marks, one.roll_off_rad ?? null]);
  };
  const made = (piece: number, roll: number) => entry("0", { piece, what: { kind: "made", bends: [{ number: 1, angle_rad: rad(25), roll_off_rad: rad(roll) }] } });
  assert.deepEqual(told({ by_marks: "7" }), [["7", null]]);
  assert.deepEqual(told({ roll_off_rad: rad(3) }, made(2, 2)), [["plan", rad(3)]]);
  assert.deepEqual(told({ roll_off_rad: rad(3) }, made(2, 3)), []);
  assert.deepEqual(told({}, made(1, 2)), [["plan", null]], "that is of piece 1");
});
