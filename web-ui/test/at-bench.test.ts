/** Where a piece is at the bench, what a tap and a step back write, and what others did meanwhile. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Entry, Made, PlanAnswer, StepMade } from "../src/engine/types";
import { isBentBy, keptAnew, onTwice, otherMade } from "../src/app/bend/anew";
import { atBench as atTheBench, bringBench, goOn, onward, sightOf, wentWords, type AtBench } from "../src/app/bend/at-bench";
import { lookAt, placesBefore, takeBack as takeTickBack, takenWith, tickAt } from "../src/app/bend/look-back";
import { countAs, tick } from "../src/app/kept/act";
import { ofCopy } from "../src/app/kept/copies";
import { put } from "../src/app/kept/kept";
import type { Bench } from "../src/app/kept/view";
import { RUN, again, cutBy, entry, rad, tickBy, ticked, wantsCut, what } from "./anew-here";
import { inShop, keeping, runAt, runData } from "./kept-here";

/** One piece whose bends are made in this order, between its cut and its check. */
const planned = (order: readonly number[], digest = "P"): PlanAnswer =>
  ({
    plan: {
      digest,
      bender: { name: "blue half" },
      pieces: [{ bends: [1, 2, 3].map((number) => ({ number })) }],
      steps: [{ kind: "cut", piece: 1 }, ...order.map((bend) => ({ kind: "bend", piece: 1, bend })), { kind: "check", piece: 1 }],
    },
    step_cautions: [],
    bench: [],
  }) as unknown as PlanAnswer;
/** Two of them. */
function planOfTwo(): PlanAnswer {
  const { plan, ...more } = planned([1, 2, 3]);
  return { ...more, plan: { ...plan, pieces: [...plan.pieces, ...plan.pieces].map((piece, i) => ({ ...piece, label: `PH-${i + 1}` })), steps: [...plan.steps, ...plan.steps.map((step) => ({ ...step, piece: 2 }))] } };
}
const here = (order: readonly number[] = [1, 2, 3]): AtBench => atTheBench(runAt(RUN), planned(order));
/** The entries in short: 'planned', '1' (a bend that was made), 'length'. */
const onRecord = (): string => runAt(RUN).entries.map(({ entry: { what: one } }) => (one.kind === "status" ? one.status : one.kind === "made" ? (one.bends[0]?.number ?? one.steps![0]!.kind) : one.kind)).join(" ");
const begun = (done: Partial<Bench>, ...records: ReturnType<typeof entry>[]): Promise<void> => {
  keeping(inShop("run", runData(RUN)), ...records);
  return put(new Map(), { [`bench:${RUN}`]: { of: "P", begun: false, at: 0, ...done } });
};

/** A step of the plan that is no bend, done. */
const stepDone = (kind: StepMade["kind"], number = 1): Partial<Entry> => ({ what: { kind: "made", bends: [], steps: [{ kind, number, by_marks: "plan" }] } });
/** What another device did. */
const theirs = (...records: ReturnType<typeof entry>[]) => records.map((one) => ({ ...one, mine: false }));

/** The step before the one at hand is not done. */
const goBack = (at: AtBench): void => placesBefore(at).slice(-1).forEach((place) => takeTickBack(at, place));

test("from step to step: each goes on record, and a step back takes back what comes after it", async () => {
  await begun({});
  const way: unknown[] = [];
  const go = (step: (at: AtBench) => void): void => {
    step(here());
    way.push([here().at, here().begun, onRecord()]);
  };
  for (let i = 0; i < 5; i += 1) go(goOn);
  assert.deepEqual(way.splice(0), [
    [1, true, "length planned"],
    [2, true, "length planned 1"],
    [3, true, "length planned 1 2"],
    [4, true, "length planned 1 2 3 bent"],
    [4, true, "length planned 1 2 3 bent check in"],
  ]);
  for (let i = 0; i < 4; i += 1) go(goBack);
  assert.deepEqual(way, [[3, true, "length planned 1 2"], [2, true, "length planned 1"], [1, true, "length planned"], [0, false, ""]]);
});

/** Of each step before: the tick on record, and the steps that are taken back with it, and that others did since. */
const takenThere = (one: AtBench): unknown[] =>
  placesBefore(one).map((place) => [tickAt(one, place)?.entry.id ?? "", ...Object.values(takenWith(one, place) ?? {}).map((list) => list.map(({ at }) => at))]);

test("a look back changes nothing; a tick is taken back with this device's own after it, and with none of another's", async () => {
  await begun({ begun: true, at: 3 }, entry("c", stepDone("length")), entry("1", { what: ticked(1) }), ...theirs(entry("2", { what: ticked(2) })));
  const before = JSON.stringify(runAt(RUN));
  assert.deepEqual(takenThere(here()), [["c", [0, 1], [2]], ["1", [1], [2]], ["2"]]);
  assert.equal(lookAt(here(), placesBefore(here())[1]!).step.bend?.number, 1);
  assert.equal(JSON.stringify(runAt(RUN)), before);
  takeTickBack(here(), placesBefore(here())[1]!);
  assert.deepEqual([here().at, onRecord()], [1, "length 2 planned"]);
});

test("a step that is no bend is done for every bench: none asks for it again, one that has the piece in hand is told, and no status hangs on it", async () => {
  const cut = entry("c", stepDone("length"));
  await begun({}, ...theirs(cut));
  assert.deepEqual([here().at, here().ticks.map(({ kind }) => kind), runAt(RUN).statuses], [1, ["length"], ["measured"]], "a bench that has not begun goes on behind it");
  await begun({ begun: true, at: 0 }, ...theirs(cut));
  assert.deepEqual([here().at, here().went.map(({ kind }) => kind)], [1, ["length"]]);
  goOn(here());
  assert.deepEqual([here().at, onRecord()], [2, "length 1 planned"]);
  await begun({ begun: true, at: 4 }, ...[1, 2, 3].map((number) => entry(String(number), { what: ticked(number) })), ...theirs(entry("k", stepDone("check"))));
  onward(here());
  assert.deepEqual([here().at, here().done, here().went], [4, [0, 1, 2, 3, 4], []]);
  goOn(here());
  assert.equal(onRecord(), "1 2 3 check in", "ticked off once");
  await begun({ begun: true, at: 1 }, cut, ...theirs(entry("2", stepDone("length"))));
  assert.deepEqual([here().at, here().went, otherMade(runAt(RUN).entries, 1, "P")], [1, [], []], "cut to length twice it has that length");
  assert.deepEqual(here().news.map(({ kind, before }) => [kind, before]), [["length", false]], "and there may be two of them");
  onward(here());
  assert.deepEqual([here().at, here().news, here().went], [1, [], []]);
  await begun({ begun: true, at: 1 }, ...theirs(entry("2", stepDone("length"))), entry("c", stepDone("length")), ...theirs(entry("3", { what: ticked(1) })));
  assert.deepEqual([here().news.map(({ kind, before }) => [kind, before]), here().went], [[["length", true]], []], "whatever was bent of the other one since");
  await begun({ begun: true, at: 4 }, entry("s", stepDone("strap")), ...theirs(entry("2", stepDone("strap"))));
  assert.deepEqual([here().news, here().went], [[], []], "in its place there is one");
  const two = (): AtBench => atTheBench(runAt(RUN), planOfTwo());
  await begun({ begun: true, at: 5 }, ...[1, 2, 3].map((number) => entry(String(number), { what: ticked(number) })), ...theirs(entry("k", stepDone("check")), entry("c", { ...stepDone("length"), piece: 2 })));
  assert.deepEqual(two().went.map(({ piece, kind }) => [piece, kind]), [[2, "length"]], "of the piece in hand");
});

test("what is done once a piece is bent is done again for new marks: it is asked for by these, also where it was passed here", async () => {
  const bends = [1, 2, 3].map((number) => entry(String(number), { what: ticked(number) }));
  const check = (id: string, by: string) => entry(id, { what: { kind: "made", bends: [], steps: [{ kind: "check", number: 1, by_marks: by }] } });
  const since = (...more: ReturnType<typeof entry>[]) => begun({ begun: true, at: 4 }, entry("c", stepDone("length")), ...bends, check("x", "plan"), entry("k", { what: again }), ...[3, 1, 2].map((number) => tickBy(`k${number}`, number, "k")), ...more);
  await since();
  assert.deepEqual([here().at, here().done], [4, [0, 1, 2, 3]]);
  await since(...theirs(check("y", "k")));
  assert.deepEqual([here().done, here().ticks.map(({ id }) => id)], [[0, 1, 2, 3, 4], ["y"]]);
  goOn(here());
  assert.equal(onRecord().split(" ").filter((one) => one === "check").length, 2, "ticked off by the other");
});

test("of one entry elsewhere the bend that is bent on and those made since are gone on with", async () => {
  const onFirst: Made = { kind: "made", bends: [{ number: 1, angle_rad: rad(20) }], anew: { marks: [1, 2, 3].map((number) => ({ number, mark_mm: 100 * number, angle_rad: rad(22.5) })) } };
  const since: Made = { kind: "made", bends: [1, 2].map((number) => ({ number, angle_rad: rad(22.5), by_marks: "k" })) };
  await begun({ begun: true, at: 2, knew: ["k"] }, entry("c", stepDone("length")), entry("1", { what: ticked(1) }), ...theirs(entry("k", { what: onFirst }), entry("m", { what: since })));
  assert.deepEqual([here().went.map(({ number, kind }) => [number, kind]), here().at, here().step.bend?.number], [[[2, undefined], [1, "again"]], 3, 3]);
});

test("what a page of before ticked off for its device alone goes on record once, but for what is passed as others bent the piece", async () => {
  const before = (...records: ReturnType<typeof entry>[]): Promise<void> => {
    keeping(inShop("run", runData(RUN)), ...records);
    return put(new Map(), { [`bench:${RUN}`]: { of: "P", steps: [0, 4], at: 4 } as unknown as Bench });
  };
  const bends = [1, 2, 3].map((number) => entry(String(number), { what: ticked(number) }));
  await before(...bends);
  assert.deepEqual([here().begun, here().at], [true, 4]);
  for (let i = 0; i < 2; i += 1) bringBench(runAt(RUN), planned([1, 2, 3]));
  assert.deepEqual([here().done, onRecord(), runAt(RUN).done.steps], [[0, 1, 2, 3, 4], "1 2 3 length check bent", undefined]);
  await before(...theirs(...bends));
  bringBench(runAt(RUN), planned([1, 2, 3]));
  assert.deepEqual([here().at, onRecord()], [4, "1 2 3 bent"]);
});

test("what was ticked off by another plan is none of this one's; a bend that was taken back elsewhere is where the piece is", async () => {
  await begun({ of: "Q", begun: true, at: 2 });
  assert.deepEqual([here().begun, here().at, here().changed], [false, 0, true]);
  await begun({ of: "Q" });
  assert.equal(here().changed, false, "nothing was begun by it");
  await begun({ begun: true, at: 4 }, entry("1", { what: ticked(1) }));
  assert.equal(here().at, 2);
  await begun({ begun: true, at: 9 }, ...[1, 2, 3].map((number) => entry(String(number), { what: ticked(number) })));
  assert.equal(here().at, 4, "the last there is");
});

/** The step at hand, and of the bends that others ticked off those that are asked about, and those that it went on with. */
const news = (): unknown[] => [here()].map(({ at, news: asked, went }) => [at, ...[asked, went].map((list) => list.map((one) => one.number).join())])[0]!;

test("where another device only went on with a piece begun here the bench goes on with it, once the person has seen that", async () => {
  const first = theirs(entry("1", { what: ticked(1) }));
  await begun({}, ...first);
  assert.deepEqual([news(), here().others.length], [[2, "", ""], 1]);
  await begun({ begun: true, at: 1 }, ...first);
  assert.deepEqual(news(), [2, "", "1"], "the step after it");
  onward(here());
  assert.deepEqual([news(), onRecord()], [[2, "", ""], "1"]);
  goBack(here());
  assert.deepEqual([news(), onRecord()], [[1, "", ""], "1 planned"], "a step back shows it");
  goOn(here());
  assert.deepEqual([news(), onRecord()], [[2, "", ""], "1 planned"]);
  await begun({ begun: false, at: 1 }, ...first);
  await begun({ of: "P", begun: true, at: 0 }, ...theirs(...[1, 2].map((number) => entry(String(number), { what: ticked(number) }))));
  onward(here());
  assert.deepEqual([here().at, here().done], [3, [0, 1, 2]], "what comes before its first bend is done");
});

test("a tap that says a made bend is bent on or opened says no angle: it is a tick, and two of these are told", async () => {
  await begun({ begun: true, at: 2 }, entry("1", { what: again }));
  goOn(here([3, 1, 2]));
  const { what: tapped } = runAt(RUN).entries.find(({ entry: one }) => one.what.kind === "made" && !one.what.anew)!.entry;
  assert.deepEqual(tapped, { kind: "made", bends: [{ number: 3, by_marks: "1" }] });
  await begun({ begun: true, at: 2 }, entry("1", { what: again }), ...theirs(entry("2", { what: tapped })), entry("3", { what: tapped }));
  assert.deepEqual(onTwice(runAt(RUN).entries, 1, "P").map(({ number, by }) => [number, by.length]), [[3, 2]]);
});

test("it is asked which piece is in hand where a bend is ticked off on two devices, or in another order than is shown", async () => {
  await begun({ begun: true, at: 2 }, entry("1", { what: ticked(1) }), ...theirs(entry("2", { what: ticked(1) })));
  assert.deepEqual(news(), [2, "1", ""]);
  onward(here());
  assert.deepEqual(news(), [2, "", ""]);
  await begun({ begun: true, at: 2 }, entry("1", { what: ticked(1) }), ...theirs(entry("2", { what: ticked(3) })));
  assert.deepEqual(news(), [2, "3", ""]);
  onward(here());
  goOn(here());
  assert.deepEqual([news(), onRecord()], [[4, "", ""], "1 3 2 bent"], "and then passed by");
  const parted = { ...planned([1, 2]), plan: { ...planned([1, 2]).plan, pieces: [1, 2].map(() => ({ bends: [{ number: 1 }, { number: 2 }] })) } } as unknown as PlanAnswer;
  const steps2 = [...parted.plan.steps, ...parted.plan.steps.map((step) => ({ ...step, piece: 2 }))];
  const both = { ...parted, plan: { ...parted.plan, steps: steps2 } };
  await begun({ begun: true, at: 1 }, ...theirs(entry("2", { piece: 2, what: ticked(2) })));
  const there = atTheBench(runAt(RUN), both);
  assert.deepEqual([there.at, there.news, there.went, there.others.length], [1, [], [], 1], "of a piece that is not in hand");
});

/** The same of two pieces. */
const newsOfTwo = (): unknown[] => [atTheBench(runAt(RUN), planOfTwo())].map(({ at, news: asked, went }) => [at, ...[asked, went].map((list) => list.map((one) => `${one.piece}-${one.number}`).join())])[0]!;

test("what others did of a piece is told where a bend of that piece was ticked off here, in the order of that piece; a bend that both ticked off is seen", async () => {
  const of = (id: string, piece: number, number: number) => entry(id, { piece, what: ticked(number) });
  await begun({ begun: true, at: 2 }, of("1", 1, 1), ...theirs(of("2", 2, 1)));
  assert.deepEqual(newsOfTwo(), [2, "", ""], "an own tick of piece 1 makes no piece 2 one in hand");
  await begun({ begun: true, at: 2 }, of("1", 1, 1), of("2", 2, 1), ...theirs(of("3", 2, 2)));
  assert.deepEqual(newsOfTwo(), [2, "", "2-2"], "it is next of its piece, whatever is left of piece 1");
  await begun({ begun: true, at: 2 }, of("1", 1, 1), of("2", 2, 1), ...theirs(of("3", 2, 3)));
  assert.deepEqual(newsOfTwo(), [2, "2-3", ""]);
  await begun({ begun: true, at: 1, knew: ["3"] }, entry("1", { what: ticked(1) }), entry("2", { what: ticked(2) }), ...theirs(entry("3", { what: ticked(2) })));
  goOn(here());
  assert.equal(here().at, 2, "it was ticked off here too, and is not passed by");
});

/** What is told of it, without who says so. */
const wentTo = (plan: PlanAnswer): string[] => wentWords(atTheBench(runAt(RUN), plan)).map((words) => words.replace(/ \(.*/, ""));

test("a cut by another device is told at the piece that it is of, or where that is in hand too, with its name", async () => {
  const of2 = theirs(entry("8", { piece: 2, what: wantsCut }), { ...entry("9", { piece: 2, ...cutBy("8"), by: "Bo" }) });
  await begun({ begun: true, at: 2, knew: ["8"] }, entry("1", { what: ticked(1) }), ...of2);
  assert.deepEqual(wentTo(planOfTwo()), [], "the end of piece 1 is not cut by that");
  await begun({ begun: true, at: 2, knew: ["8"] }, entry("1", { what: ticked(1) }), entry("2", { piece: 2, what: ticked(1) }), ...of2);
  assert.deepEqual(wentTo(planOfTwo()), ["PH-2: end A is cut"]);
  await begun({ begun: true, at: 1, knew: ["1"] }, ...theirs(entry("1", { what: wantsCut }), entry("9", cutBy("1"))));
  assert.deepEqual(wentTo(planned([1, 2, 3])), ["end A is cut"], "of one piece");
});

test("a made bend that another device bent on is told before the step after it", async () => {
  const bentOn: Made = { kind: "made", bends: [{ number: 3, angle_rad: rad(90), by_marks: "1" }] };
  await begun({ begun: true, at: 2 }, entry("0", { what: ticked(3) }), entry("1", { what: again }), ...theirs(entry("2", { what: bentOn })));
  assert.deepEqual([here([3, 1, 2]).went.map((one) => one.number), here([3, 1, 2]).first], [[3], undefined]);
  onward(here([3, 1, 2]));
  assert.deepEqual(here([3, 1, 2]).went, []);
  const cut: Made = { ...again, anew: { ...again.anew!, trim_mm: 8, cut_first: true } };
  await begun({ begun: true, at: 2 }, entry("0", { what: ticked(3) }), entry("1", { what: cut }), ...theirs(entry("2", { what: { kind: "made", bends: [], steps: [{ kind: "cut", trim_mm: 8, by_marks: "1" }] } })));
  assert.deepEqual(here([3, 1, 2]).went.map((one) => one.kind), ["cut"]);
});

test("readings say that a cut is done, and are no tick of it: none of another device is told as one, nor taken back by a step back", async () => {
  const first: Made = { ...what, anew: { ...what.anew!, trim_mm: 8, cut_first: true } };
  const readings = () => entry("2", { what: { kind: "readings", measured: [{ type: "angle", number: 1, angle_rad: rad(25) }] } as unknown as Entry["what"] });
  await begun({ begun: true, at: 2, knew: ["1"] }, entry("1", { what: first }), readings());
  assert.deepEqual([here().firsts.map(({ done }) => done?.entry.id), here().firsts.map((one) => takenWith(here(), { at: one.at, first: one }))], [["2"], [null]]);
  await begun({ begun: true, at: 2, knew: ["1"] }, entry("1", { what: first }), ...theirs(readings()));
  assert.deepEqual([here().firsts.map(({ done }) => done?.entry.id), here().went], [["2"], []]);
});

test("made bends that are bent on come before the rest, each ticked off and taken back by itself, others' never", async () => {
  const both: Made = { ...again, bends: [{ number: 3, angle_rad: rad(86) }, { number: 1, angle_rad: rad(20) }] };
  const order = [3, 1, 2];
  const firsts = (): unknown[] => [here(order).at, here(order).first?.number ?? null, here(order).firsts.map((one) => !!one.done)];
  await begun({ begun: true, at: 3 }, entry("1", { what: both }));
  const way = [firsts()];
  for (const step of [goOn, goOn, goBack, goBack]) {
    step(here(order));
    way.push(firsts());
  }
  assert.deepEqual(way, [[3, 3, [false, false]], [3, 1, [true, false]], [3, null, [true, true]], [3, 1, [true, false]], [3, 3, [false, false]]]);
  await begun({ begun: true, at: 3 }, entry("1", { what: both }), { ...entry("2", { what: ticked(3) }), mine: false }, { ...entry("3", { what: ticked(1) }), mine: false });
  goBack(here(order));
  assert.equal(onRecord(), "3 3 1 planned");
});

test("a cut at end A and a twist come before any bend, each ticked off for every phone and taken back by itself; a second tick is told", async () => {
  const cut = { kind: "cut" as const, trim_mm: 8, by_marks: "1" };
  const first: Made = { ...again, anew: { ...again.anew!, trim_mm: 8, cut_first: true, twisted: [{ number: 3, by_rad: rad(3), how: "twist it" }] } };
  const order = [3, 1, 2];
  const now = (): unknown[] => [here(order).first?.before?.kind ?? here(order).first?.number ?? null, here(order).firsts.map(({ done }) => !!done)];
  await begun({ begun: true, at: 3 }, entry("1", { what: first }));
  const way = [now()];
  for (const step of [goOn, goOn, goOn, goBack, goBack, goBack, goOn]) {
    step(here(order));
    way.push(now());
  }
  const [none, one, two, all] = [["cut", [false, false, false]], ["twist", [true, false, false]], [3, [true, true, false]], [null, [true, true, true]]];
  assert.deepEqual(way, [none, one, two, all, two, one, none, one]);
  assert.deepEqual(runAt(RUN).entries.map((seen) => seen.entry.what.kind === "made" && seen.entry.what.steps).filter(Boolean), [[cut]]);
  assert.deepEqual(otherMade(runAt(RUN).entries, 1, "P"), []);
  const ofOther = { ...entry("2", { what: { kind: "made", bends: [], steps: [cut] } }), mine: false };
  await begun({ begun: true, at: 3 }, entry("1", { what: first }), ofOther);
  assert.deepEqual(now(), one);
  assert.equal(isBentBy(keptAnew(runAt(RUN).entries, 1, "P")!, runAt(RUN).entries, "P"), true, "the marks stay with the cut that was made for them");
  goBack(here(order));
  assert.deepEqual(now(), one, "that of another phone stays");
  await begun({ begun: true, at: 3 }, entry("1", { what: first }), ofOther, entry("3", { what: { kind: "made", bends: [], steps: [cut] } }));
  assert.deepEqual(otherMade(runAt(RUN).entries, 1, "P"), ["3"], "end A may be cut twice: the engine says what follows");
});

test("a piece for which new marks were kept is at the first bend that is left; a step back passes by those that were made before", async () => {
  await begun({}, entry("0", { what: ticked(1) }), entry("1", {}));
  assert.deepEqual([here().at, here().done, !placesBefore(here()).length], [2, [0, 1], true]);
  const late = [2, 1, 3];
  assert.equal(here(late).at, 1);
  goOn(here(late));
  assert.deepEqual([here(late).at, onRecord()], [3, "1 1 2 planned"]);
  goBack(here(late));
  assert.deepEqual([here(late).at, onRecord()], [1, "1 1 planned"], "its tick of before stays");
  await begun({}, entry("1", { what: { ...what, bends: [1, 2, 3].map((number) => ({ number })) } }));
  assert.equal(here().at, 4, "none is left");
});

test("a tick says by which marks it was made, and where it moves to another copy the marks move with it", () => {
  keeping(inShop("run", runData(RUN, { times: 2 })), entry("1", { copy: 1 }));
  tick(runAt(RUN), { bench: { of: "P", begun: false, at: 0, copy: 1 }, status: () => "planned", made: [{ piece: 1, number: 2, by: "1" }], back: [], marks: "P", tool: "" });
  const last = () => runAt(RUN).entries.flatMap((one) => (one.entry.what.kind === "made" ? one.entry.what.bends : [])).pop();
  assert.deepEqual(last(), { number: 2, by_marks: "1" });
  countAs(runAt(RUN), 1, 2);
  const there = runAt(RUN).entries.filter((one) => one.entry.copy === 2 && one.entry.what.kind === "made");
  assert.deepEqual([there.length, last()?.by_marks], [2, there[0]!.entry.id]);
  assert.notEqual(there[0]!.entry.id, "1");
  assert.deepEqual(otherMade(ofCopy(runAt(RUN).entries, 2), 1, "P"), []);
});

/** Bends that another device ticked off. */
const madeThere = (...list: [piece: number, number: number][]) => theirs(...list.map(([piece, number], i) => entry(String(i), { piece, what: ticked(number) })));

const twoPieces = (...made: [piece: number, number: number][]): unknown[] => {
  keeping(inShop("run", runData(RUN)), ...madeThere(...made));
  const { at, done } = atTheBench(runAt(RUN), planOfTwo());
  return [at, done];
};

test("where nothing is begun here a bench opens at the first step that is left; Back shows what others made", async () => {
  await begun({}, ...[entry("1", {}), entry("2", { what: ticked(2) })].map((one) => ({ ...one, mine: false })));
  assert.equal(here().step.bend?.number, 3);
  goBack(here());
  assert.equal(here().step.bend?.number, 2);
  await begun({}, ...theirs(entry("1", { what: ticked(1) })));
  assert.deepEqual([here().at, here().done], [2, [0, 1]], "it is cut to length, as a bend of it is made");
  for (let i = 0; i < 3; i += 1) goOn(here());
  assert.equal(onRecord(), "1 2 planned 3 bent check in", "nothing is left to tick off");
  await begun({}, ...theirs(entry("1", { what: ticked(2) })));
  assert.deepEqual([here().at, here().done], [1, [0, 2]], "the bend that was left out");
  assert.deepEqual(twoPieces([2, 1]), [0, [5, 6]], "piece 1 is still to be cut");
  assert.deepEqual(twoPieces([1, 1], [1, 2], [1, 3]), [4, [0, 1, 2, 3]], "the check is still to be done");
  assert.deepEqual(twoPieces([1, 1], [1, 2], [1, 3], [2, 1]), [7, [0, 1, 2, 3, 4, 5, 6]], "somebody has gone on to piece 2");
});

test("where nothing is begun here what others did of the step that stood there is told once before the next; to have seen it begins nothing", async () => {
  const both = planOfTwo();
  const now = (): AtBench => atTheBench(runAt(RUN), both, sight);
  const wentOn = (): unknown[] => [now()].map(({ at, begun: isBegun, went }) => [at, isBegun, went.map((one) => `${one.piece}-${one.number}`).join()])[0]!;
  let sight: ReturnType<typeof sightOf> | undefined;
  await begun({ copy: 1 }, ...madeThere([1, 1]));
  assert.deepEqual(wentOn(), [2, false, ""], "as it is opened");
  sight = sightOf(now());
  await begun({ copy: 1 }, ...madeThere([1, 1], [2, 1]));
  assert.deepEqual(wentOn(), [2, false, ""], "the step at hand is still to be done");
  await begun({ copy: 1 }, ...madeThere([1, 1], [1, 2]));
  assert.deepEqual(wentOn(), [3, false, "1-2"]);
  onward(now());
  assert.deepEqual([wentOn(), now().own.begun, now().own.copy], [[3, false, ""], false, 1]);
  await begun({ copy: 1 }, ...madeThere([1, 1], [1, 2], [1, 3]));
  sight = sightOf(now());
  await begun({ copy: 1 }, ...madeThere([1, 1], [1, 2], [1, 3], [2, 1]));
  assert.deepEqual(wentOn(), [7, false, "2-1"], "the check of piece 1 stood there");
});

test("a step's tick names the marks that hold for its own piece", async () => {
  const by = (): unknown => runAt(RUN).entries.flatMap((one) => (one.entry.what.kind === "made" && !one.entry.what.anew ? one.entry.what.bends : [])).pop()?.by_marks;
  await begun({ begun: true, at: 2 }, entry("1", {}));
  goOn(here());
  assert.equal(by(), "1");
  await begun({ begun: true, at: 6 }, entry("1", {}), ...[2, 3].map((number) => tickBy(String(number), number, "1")));
  goOn(atTheBench(runAt(RUN), planOfTwo()));
  assert.equal(by(), "plan", "those of piece 1 are none of piece 2");
});
