/** What stands on Bend at a piece that is begun: what another device changes of it is told first, what this one changes is not. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Entry, Made, PlanAnswer } from "../src/engine/types";
import { atBench, goOn, goOnBent, goOnFrom, onward, type AtBench } from "../src/app/bend/at-bench";
import { takeBack as stepBack } from "../src/app/bend/look-back";
import { isOf } from "../src/app/bend/bench";
import { bentUnseen, bentUnticked, doneAsItWas, goOnUnbent, keepStood, mayBeDone, turnedBy } from "../src/app/bend/stood";
import { takeBack, takeTicksBack } from "../src/app/kept/act";
import { getRec, put, putOne } from "../src/app/kept/kept";
import { inShop, keeping, runAt, runData } from "./kept-here";

const RUN = "b".repeat(32);
const PLAN = {
  plan: {
    digest: "P",
    bender: { name: "half" },
    pieces: [{ label: "PH", bends: [1, 2, 3].map((number) => ({ number })) }],
    steps: [{ kind: "cut", piece: 1, title: "Cut" }, ...[1, 2, 3].map((bend) => ({ kind: "bend", piece: 1, bend, title: "" })), { kind: "check", piece: 1, title: "Check" }],
  },
  step_cautions: [],
  bench: [],
} as unknown as PlanAnswer;
const KEPT: Made = { kind: "made", bends: [{ number: 1, angle_rad: 0.4 }], anew: { marks: [2, 3].map((number) => ({ number, mark_mm: 680, angle_rad: 0.77 })) } };
const entry = (id: string, what: Made, by: string, mine = false) => {
  const data: Entry = { id, run: RUN, piece: 1, pins: { marks: "P" }, what, by, at: "2026-05-04T10:32:00Z" };
  return inShop("entry", { ...data }, { mine });
};
const tick = (id: string, number: number, by: string, mine = false) => entry(id, { kind: "made", bends: [{ number, by_marks: "plan" }] }, by, mine);
const here = (): AtBench => atBench(runAt(RUN), PLAN);
/** What is told before the next step. */
const told = (): string[] => turnedBy(here())?.words ?? [];

/** Shown with these entries, and then nothing untold. */
async function shown(...records: ReturnType<typeof entry>[]): Promise<void> {
  keeping(inShop("run", runData(RUN)), ...records);
  await put(new Map(), { [`bench:${RUN}`]: { of: "P", begun: true, at: 2, knew: ["t1", "t2"] } });
  keepStood(here(), "2nd bend, at 27 7/16 to 45°");
  assert.deepEqual(told(), []);
}
const arrives = (record: ReturnType<typeof entry>): Promise<void> => putOne(record.id, record);
const goes = (id: string): Promise<void> => putOne(id, null);

test("new marks of another device are told with what stood there, and the step may be done as it stood; one's own are not told", async () => {
  await shown(tick("t1", 1, "Bo", true));
  await arrives(entry("k1", KEPT, "Ana"));
  assert.match(told()[0]!, /^Ana, .*: new marks are kept\./);
  const [bench, turned] = [here(), turnedBy(here())!];
  assert.deepEqual([turned.was.words, mayBeDone(bench, turned)], ["2nd bend, at 27 7/16 to 45°", true]);
  keepStood(bench, "2nd bend, at 26 13/16 to 44°");
  assert.equal(told().length, 1, "it is told until it is tapped");
  onward(bench);
  keepStood(here(), "2nd bend, at 26 13/16 to 44°");
  assert.deepEqual([told(), here().own.stood?.by], [[], "k1"]);
  await arrives(entry("k2", KEPT, "Cy"));
  assert.match(told()[0]!, /^Cy, .*: new marks are kept\./, "in the place of those of before");
  doneAsItWas(here(), turnedBy(here())!);
  const last = runAt(RUN).entries.flatMap(({ entry: { what } }) => (what.kind === "made" ? what.bends : [])).pop();
  assert.deepEqual(last, { number: 2, by_marks: "k1" }, "by the marks by which it stood there");
  await shown(tick("t1", 1, "Bo", true));
  await arrives(entry("k1", KEPT, "Bo", true));
  assert.deepEqual(told(), []);
});

test("new marks that another device takes back are told, with who did; those taken back here are not", async () => {
  const kept = entry("k1", KEPT, "Bo", true);
  await shown(tick("t1", 1, "Bo", true), kept);
  await putOne("k1", { ...kept, data: null, was: kept.data!, agreed: { ...kept.agreed, by: "Ana", data: null } });
  assert.match(told()[0]!, /^Ana, .*: the new marks are taken back, and the planned ones hold again\./);
  await shown(tick("t1", 1, "Bo", true), entry("k0", KEPT, "Bo", true), entry("k1", KEPT, "Cy"));
  await goes("k1");
  assert.match(told()[0]!, /the new marks are taken back, and those kept before hold again/);
  await shown(tick("t1", 1, "Bo", true), kept);
  takeBack(runAt(RUN).entries.find((one) => one.entry.id === "k1")!);
  assert.deepEqual([getRec("k1")?.data, told()], [null, []]);
});

test("a tick that another device takes back is told before the bench goes back to its step; one taken back here is not", async () => {
  await shown(tick("t1", 1, "Ana"), tick("t2", 2, "Bo", true));
  await goes("t1");
  assert.deepEqual([here().at, told().length], [1, 1]);
  assert.match(told()[0]!, /mark 1 \(Ana/);
  assert.equal(mayBeDone(here(), turnedBy(here())!), false, "the marks hold");
  onward(here());
  assert.deepEqual(told(), []);
  await shown(tick("t1", 1, "Ana"), tick("t2", 2, "Bo", true));
  takeTicksBack(runAt(RUN), { number: 1 }, runAt(RUN).entries.slice(0, 1), { note: "not bent" });
  assert.deepEqual(told(), []);
});

test("a step of the plan that is on record no more is where the bench goes back to, whoever took it back", async () => {
  const bends = [1, 2, 3].map((number) => tick(`t${number}`, number, "Bo", true));
  const steps = (...mine: boolean[]) => ["trim", "ream"].map((kind, i) => entry(kind, { kind: "made", bends: [], steps: [{ kind: kind as "ream", number: 1, by_marks: "plan" }] }, "Ana", mine[i]));
  const late = (): AtBench => atBench(runAt(RUN), { ...PLAN, plan: { ...PLAN.plan, steps: [...PLAN.plan.steps.slice(0, 4), ...["trim", "ream", "strap"].map((kind) => ({ kind, piece: 1, title: kind }))] } } as PlanAnswer);
  const stands = async (...records: ReturnType<typeof entry>[]): Promise<void> => {
    keeping(inShop("run", runData(RUN)), ...bends, ...records);
    await put(new Map(), { [`bench:${RUN}`]: { of: "P", begun: true, at: 6, knew: ["trim", "ream"] } });
    keepStood(late(), "strap");
  };
  await stands(...steps());
  await goes("trim");
  assert.deepEqual([late().step.kind, late().done, turnedBy(late())?.words.length], ["trim", [0, 1, 2, 3, 5], 1]);
  onward(late());
  assert.deepEqual([late().step.kind, turnedBy(late())], ["trim", null]);
  keepStood(late(), "trim");
  goOn(late());
  assert.deepEqual([late().step.kind, late().done], ["strap", [0, 1, 2, 3, 4, 5]], "and on behind what others did");
  await stands(...steps(true, true));
  takeBack(runAt(RUN).entries.find((one) => one.entry.id === "ream")!);
  assert.deepEqual([late().step.kind, turnedBy(late())], ["ream", null], "on this device: nobody is told");
  keepStood(late(), "ream");
  assert.equal(late().step.kind, "ream");
  await stands(...steps(true, true), { ...steps()[0]!, id: "other" });
  await goes("other");
  assert.deepEqual([late().step.kind, turnedBy(late())], ["strap", null], "it is done all the same: of another copy is theirs");
  await stands(...steps());
  await arrives({ ...steps(true)[0]!, id: "again" });
  await goes("trim");
  assert.equal(late().step.kind, "strap", "another tick says it still");
});

test("a twist taken back elsewhere is told as that, and what another has ticked off anew since is not told", async () => {
  const twist = (id: string, by: string) => entry(id, { kind: "made", bends: [], steps: [{ kind: "twist", number: 2, by_rad: 0.1, by_marks: "k1" }] }, by);
  const cut = (id: string, by: string) => entry(id, { kind: "made", bends: [], steps: [{ kind: "length", number: 1, by_marks: "plan" }] }, by);
  await shown(tick("t1", 1, "Bo", true), entry("k1", KEPT, "Bo", true), twist("w1", "Ana"), cut("c1", "Ana"));
  await goes("w1");
  assert.match(told()[0]!, /: twisted at mark 2 \(Ana/);
  assert.equal(isOf({ piece: 1, number: 2, kind: "twist" }, here().steps[2]!), false, "it is not the bend there");
  await shown(tick("t1", 1, "Bo", true), cut("c1", "Ana"));
  await goes("c1");
  assert.match(told()[0]!, /: Cut \(Ana/);
  await arrives(cut("c2", "Cy"));
  assert.deepEqual(told(), [], "it is done, and says so");
});

test("a piece that is said to be bent is told as that, with the bends that nobody ticked off, before any step", async () => {
  await shown(tick("t1", 1, "Bo", true));
  assert.equal(bentUnticked(here()), null);
  await arrives(entry("s1", { kind: "status", status: "bent" } as unknown as Made, "Ana"));
  assert.deepEqual([bentUnticked(here())?.said.by, bentUnticked(here())?.left], ["Ana", ["mark 2", "mark 3"]]);
  assert.deepEqual([bentUnticked(here(), 1)?.left, bentUnticked(here(), 2)], [["mark 2", "mark 3"], null], "of the piece that is asked after");
  assert.equal(bentUnseen(here())?.said.by, "Ana");
  goOnUnbent(here(), bentUnseen(here())!.said);
  goOn(here());
  assert.deepEqual([bentUnseen(here()), bentUnticked(here())?.left], [null, ["mark 3"]], "the person has seen it, and goes on");
  await arrives(entry("s2", { kind: "status", status: "in" } as unknown as Made, "Cy"));
  assert.equal(bentUnseen(here())?.said.by, "Cy", "what is said later is told again");
  await arrives(tick("t3", 3, "Ana"));
  assert.equal(bentUnticked(here()), null, "all are on record");
});

test("where the person says too that a piece is bent, the bench goes on behind its bends, and none of them is ticked off for it", async () => {
  await shown(tick("t1", 1, "Bo", true));
  const [said, kinds] = [entry("s1", { kind: "status", status: "bent" } as unknown as Made, "Ana"), (): string[] => runAt(RUN).entries.map(({ entry: { what } }) => what.kind)];
  await arrives(said);
  goOnBent(here(), bentUnseen(here())!.said);
  assert.deepEqual([here().step.kind, bentUnseen(here()), bentUnticked(here())?.left], ["check", null, ["mark 2", "mark 3"]]);
  goOnFrom(here(), 2);
  assert.deepEqual([here().step.bend?.number, bentUnseen(here())], [2, null], "it is not, after all");
  goOnBent(here(), bentUnticked(here())!.said);
  goOn(here());
  assert.deepEqual([kinds().sort(), runAt(RUN).statuses, bentUnseen(here())], [["made", "made", "status", "status"], ["in"], null], "it was the last step");
  const made = runAt(RUN).entries.flatMap(({ entry: { what } }) => (what.kind === "made" ? [what.bends.map(({ number }) => number)] : []));
  assert.deepEqual(made, [[1], []]);
  stepBack(here(), { at: 4 });
  assert.deepEqual([here().step.kind, runAt(RUN).statuses], ["check", ["bent"]], "not the check, and it is bent still");
  await arrives(entry("s3", { kind: "status", status: "measured" } as unknown as Made, "Cy"));
  assert.deepEqual([here().step.kind, here().behind], ["cut", []], "set back, all of it is to be made");
});
