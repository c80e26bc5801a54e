/** What a person does to runs and jobs: the records that come of it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { inShop, JOB, keeping, runAt, runData, TOOL } from "./kept-here";
import * as act from "../src/app/kept/act";
import { allRecs, getRec, local, put, recsOf } from "../src/app/kept/kept";
import { rivalFrom, type Data, type Rec } from "../src/app/kept/record";
import { setForNew } from "../src/app/kept/shoe";
import { change, choose, currentRun, removedAtHand, state } from "../src/app/kept/state";
import type { Survey } from "../src/app/kept/survey";
import type { PlanAnswer } from "../src/engine/types";
import * as copies from "../src/app/kept/copies";
import { copyTold, entryIn, type KeptRun, type SeenEntry } from "../src/app/kept/view";

const [RUN, OTHER] = ["b".repeat(32), "c".repeat(32)];
const profile = { raceway: "EMT", size: "1/2" };
const tool = () => inShop("tool", { id: TOOL, name: "blue half", profile });
const surveyIn = (data: Data | null | undefined): Survey => data?.["survey"] as Survey;
/** What stands of a run's entries, in short: 'planned', 'bent#2', '1' (a bend), each with * where it is not in the shop. */
const said = (run = RUN): string[] =>
  recsOf(run, "entry").filter((rec) => rec.data).map((rec) => {
    const { what, copy } = entryIn(rec);
    const words = what.kind === "status" ? what.status : what.kind === "made" ? `${what.bends[0]!.number}` : what.kind;
    return `${words}${copy ? `#${copy}` : ""}${rec.open ? "*" : ""}`;
  });
let count = 0;
const entry = (what: object, more: Data = {}, rec: Partial<Rec> = {}): Rec => inShop("entry", { id: String((count += 1)).padStart(32, "0"), run: RUN, what, ...more }, rec);
const status = (to: string, copy?: number): Rec => entry({ kind: "status", status: to }, copy ? { copy } : {});
const one = (more: Data = {}, ...recs: Rec[]): KeptRun => {
  keeping(inShop("run", runData(RUN, more)), ...recs);
  return runAt(RUN);
};

test("a new run goes into the job at hand, on the own shoe of its raceway; with a status from a file it is on none", () => {
  keeping(tool());
  setForNew("EMT 1/2", TOOL);
  const survey = surveyIn(runData(RUN));
  act.addRun(survey);
  const first = currentRun()!;
  assert.deepEqual([first.job, first.tool, first.status, getRec(first.id)!.open], [JOB, { id: TOOL, revision: 1 }, "measured", true]);
  act.addRun(survey, { status: "bent", key: "PH-07" });
  const second = currentRun()!;
  assert.deepEqual([second.tool, second.status, second.key, said(second.id)], [null, "bent", "PH-07", ["bent*"]]);
  assert.notEqual(first.id, second.id);
  setForNew("EMT 1/2", "");
});

test("where no job is at hand a new run is the first of one of this device's own", () => {
  keeping();
  for (const gone of ["", "f".repeat(32)]) {
    state.job = gone;
    act.addRun(surveyIn(runData(RUN)));
    const { job } = currentRun()!;
    assert.deepEqual([job === JOB, state.job === job, getRec(job)!.data], [false, true, { name: "Runs of phone" }]);
  }
});

test("a change of the survey leaves the run on its tool; of another raceway it goes on that one's", () => {
  keeping(tool(), inShop("run", runData(RUN, { tool: { id: TOOL, revision: 1 }, area: "Shed" })));
  const before = currentRun()!.survey;
  act.edit((survey) => void (survey.run.name = "Packing shed"));
  assert.deepEqual([before.run.name, currentRun()!.survey.run.name, currentRun()!.tool?.id, getRec(RUN)!.open], ["Pump house", "Packing shed", TOOL, true]);
  act.edit((survey) => void (survey.run.raceway = "EMT 3/4"));
  assert.deepEqual([currentRun()!.tool, getRec(RUN)!.data!["area"]], [null, "Shed"]);
});

test("runs that are not begun go on another tool; what was planned is to be planned anew", () => {
  const pin = { id: TOOL, revision: 1 };
  keeping(tool(), inShop("run", runData(RUN)), status("planned"), inShop("run", runData(OTHER)), entry({ kind: "made", bends: [{ number: 1 }] }, { run: OTHER }));
  act.putOn([runAt(RUN), runAt(OTHER)], pin);
  assert.deepEqual([runAt(RUN).tool, said(), runAt(OTHER).tool], [pin, ["planned", "measured*"], null]);
  act.putOn([runAt(RUN)], undefined);
  assert.deepEqual([runAt(RUN).tool, said()], [null, ["planned", "measured*"]]);
});

test("on the trade's shoe the survey names no tool either", () => {
  const { run, ...rest } = surveyIn(runData(RUN));
  keeping(inShop("run", runData(RUN, { survey: { ...rest, run: { ...run, bender: "blue half" } } })));
  act.putOn([runAt(RUN)], undefined);
  assert.equal(runAt(RUN).survey.run.bender, undefined);
  assert.equal(runAt(RUN).survey.run.name, "Pump house");
});

test("a run that is removed comes back as it was, and to hand where its job is", () => {
  one({ area: "Shed" });
  act.bringBack(RUN);
  assert.equal(getRec(RUN)!.open, false, "it is there");
  act.removeRun(RUN);
  assert.deepEqual([getRec(RUN)!.data, state.runs.length], [null, 0]);
  act.bringBack(RUN);
  assert.deepEqual([getRec(RUN)!.data!["area"], state.current], ["Shed", RUN]);
});

test("a run at hand that is removed, here or elsewhere, stays at hand, and no other takes its place", () => {
  keeping(inShop("run", runData(RUN)), inShop("run", runData(OTHER)));
  choose(OTHER);
  void put(new Map([[RUN, { ...getRec(RUN)!, data: null, was: getRec(RUN)!.data! }]]));
  assert.deepEqual([state.runs.map((run) => run.id), state.current, removedAtHand()], [[OTHER], OTHER, undefined]);
  act.bringBack(RUN);
  assert.equal(state.current, RUN);
  void put(new Map([[RUN, { ...getRec(RUN)!, data: null, was: getRec(RUN)!.data! }]]));
  assert.deepEqual([state.current, currentRun(), removedAtHand()?.id], [RUN, undefined, RUN]);
  act.bringBack(RUN);
  act.removeRun(RUN);
  assert.deepEqual([state.current, removedAtHand()?.id], [RUN, RUN]);
  choose(OTHER);
  assert.equal(currentRun()?.id, OTHER);
});

test("a note is an entry; what this device wrote is taken back, what others wrote stays", () => {
  const run = one({}, entry({ kind: "note", note: "wet" }));
  act.note(run, { kind: "note", note: "dry" }, { pins: { run: 1 } });
  const [theirs, mine] = runAt(RUN).entries;
  assert.deepEqual([mine!.entry.pins?.run, mine!.by, mine!.mine], [1, "phone", true]);
  act.takeBack(theirs!);
  act.takeBack(mine!);
  assert.deepEqual(said(), ["note"]);
});

test("a status by hand is one entry for all, or one for each copy that was not so", () => {
  act.setStatus(one({ times: 3 }, status("bent", 2)), "bent");
  assert.deepEqual(said(), ["bent#2", "bent*"]);
  act.setStatus(one({ times: 3 }, status("bent", 2)), "bent", [1, 2]);
  assert.deepEqual(said(), ["bent#2", "bent#1*"]);
  act.setStatus(one({ times: 3 }, status("bent", 2)), "in", [1, 2, 3]);
  assert.deepEqual(said(), ["bent#2", "in*"], "all three are all");
  act.setStatus(one({}, status("bent")), "bent");
  assert.deepEqual(said(), ["bent"]);
  act.setStatus(one({}), "in");
  assert.equal(runAt(RUN).entries[0]!.entry.pins?.run, 1, "of the revision that is shown");
});

test("so many alike: from 1 to 1000, copies that are new begin anew, and come back as they were", () => {
  const times = (): unknown => getRec(RUN)!.data!["times"];
  for (const wrong of [0, 1001, 2.5, 2, -1]) act.setTimes(one({ times: 2 }), wrong);
  assert.equal(getRec(RUN)!.open, false);
  act.setTimes(one({ times: 2 }, status("bent")), 1000);
  assert.deepEqual([times(), runAt(RUN).statuses.filter((each) => each === "bent").length], [1000, 2]);
  act.setTimes(one({ times: 2 }, status("bent")), 3, true);
  assert.deepEqual([times(), said()], [3, ["bent"]]);
  act.setTimes(one({ times: 2 }), 1);
  assert.equal(times(), undefined);
});

const marks = "4K7WQX";
const ticked = (bends: number[], to: KeptRun["status"], { steps = bends, back = [], copy }: { steps?: number[]; back?: number[]; copy?: number } = {}): void =>
  act.tick(runAt(RUN), { bench: { of: marks, begun: steps.length > 0, at: steps.length, ...(copy ? { copy } : {}) }, status: () => to, made: bends.map((number) => ({ piece: 1, number, by: "plan" })), back: back.map((number) => ({ piece: 1, number })), marks, tool: "blue half" });

test("ticks are bends made by these marks, and set the status no lower than it is", () => {
  one();
  ticked([], "planned", { steps: [0] });
  ticked([1], "planned");
  ticked([2], "bent");
  ticked([], "in", { steps: [0, 1, 2] });
  assert.deepEqual(said(), ["planned#1*", "1*", "2*", "bent#1*", "in#1*"]);
  const made = runAt(RUN).entries[1]!.entry;
  assert.deepEqual([made.piece, made.pins], [1, { run: 1, tool: "blue half", marks, engine: made.pins!.engine }]);
  one({}, status("in"));
  ticked([1], "bent");
  assert.deepEqual(said(), ["in", "1*"]);
});

test("what is ticked off while one is wanted is of the first: where twenty are wanted by the time that it comes, one is bent", () => {
  one({}, status("planned"));
  ticked([1], "bent");
  const run = one({ times: 20 }, ...recsOf(RUN, "entry"));
  assert.deepEqual([run.statuses.filter((each) => each === "bent").length, run.statuses[0]], [1, "bent"]);
  assert.deepEqual(run.entries.map((each) => copyTold(each.entry, 1)), [undefined, undefined, undefined], "words of one run name no copy");
  ticked([], "planned", { back: [1], copy: 1 });
  assert.equal(runAt(RUN).status, "planned", "and it is taken back with its tick");
});

test("one step back takes back what this device ticked off by these marks, and nothing else", () => {
  const pins = { marks };
  const bend = (number: number, more: Data = {}, rec: Partial<Rec> = { mine: true }): Rec => entry({ kind: "made", bends: [{ number }] }, { piece: 1, pins, ...more }, rec);
  one({}, status("planned"), bend(1), bend(2), bend(2, { piece: 2 }), bend(2, { pins: { marks: "AAAAAA" } }), bend(2, {}, {}), entry({ kind: "status", status: "bent" }, { pins }, { mine: true }));
  ticked([], "planned", { steps: [0, 1], back: [2] });
  assert.deepEqual(said(), ["planned", "1", "2", "2", "2"]);
  one({}, entry({ kind: "status", status: "bent" }, { pins: { marks: "AAAAAA" } }, { mine: true }));
  ticked([], "planned", { back: [1] });
  assert.deepEqual(said(), ["bent"], "that was not set by these marks");
  const anew = entry({ kind: "made", bends: [{ number: 2 }], anew: { marks: [] } }, { piece: 1, pins }, { mine: true });
  one({}, anew, bend(2));
  ticked([], "planned", { back: [2] });
  assert.deepEqual(said(), ["2", "planned#1*"], "new marks that were kept stay");
  one({ times: 2 }, bend(2, { copy: 1 }), bend(2, { copy: 2 }));
  ticked([], "planned", { back: [2], copy: 2 });
  assert.deepEqual(said(), ["2#1", "planned#2*"], "so does the other copy");
  one({ times: 2 }, bend(2));
  ticked([], "planned", { back: [2], copy: 2 });
  assert.deepEqual(said(), ["2", "planned#2*"], "and what is of all copies");
  one({}, entry({ kind: "made", bends: [{ number: 2 }, { number: 3 }] }, { piece: 1, pins }, { mine: true }));
  ticked([], "planned", { back: [2] });
  assert.deepEqual(said(), ["2", "planned#1*"], "and bends that were told together");
  one({}, bend(2, {}, {}));
  act.tick(runAt(RUN), { bench: { of: marks, begun: false, at: 0 }, status: () => "planned", made: [], back: [], taken: [runAt(RUN).entries[0]!], marks, tool: "" });
  assert.deepEqual(said(), ["2", "planned#1*"], "and what another device ticked off");
});

test("how far a run is hangs on what stands once a step is taken back; a status that was set by hand since stays", () => {
  const pins = { marks };
  const mine = (what: object): Rec => entry(what, { piece: 1, pins }, { mine: true });
  const [first, second] = [1, 2].map((number) => mine({ kind: "made", bends: [{ number }] }));
  one({}, first!, second!);
  const seen: number[] = [];
  const counting = (now: readonly SeenEntry[]): KeptRun["status"] => {
    seen.push(now.filter((each) => each.entry.what.kind === "made").length);
    return "planned";
  };
  act.tick(runAt(RUN), { bench: { of: marks, begun: false, at: 0 }, status: counting, made: [{ piece: 1, number: 3, by: "plan" }], back: [{ piece: 1, number: 2 }], marks, tool: "" });
  assert.deepEqual(seen, [2], "bends 1 and 3");
  one({}, mine({ kind: "status", status: "bent" }), status("in"));
  ticked([], "planned");
  assert.deepEqual(said(), ["bent", "in"]);
});

test("a tick that comes late from another phone lowers nothing, and is passed by where a step is taken back", () => {
  const pins = { marks };
  const by = (to: string, mine: boolean): Rec => entry({ kind: "status", status: to }, { pins }, { mine });
  const bend = (number: number, mine: boolean): Rec => entry({ kind: "made", bends: [{ number }] }, { piece: 1, pins }, { mine });
  const run = one({}, bend(1, true), by("planned", true), bend(2, true), by("bent", true), bend(1, false), by("planned", false));
  assert.deepEqual([run.status, copies.ofCopy(run.entries).length], ["bent", 6]);
  ticked([], "planned", { back: [2] });
  assert.deepEqual([said(), runAt(RUN).status], [["1", "planned", "1", "planned"], "planned"]);
  one({}, bend(1, true), by("planned", true), bend(2, true), by("bent", true), by("bent", false));
  ticked([], "planned", { back: [2] });
  assert.deepEqual([said(), runAt(RUN).status], [["1", "planned", "bent"], "bent"], "what another device said stays");
  one({}, bend(1, true), by("bent", true), by("bent", false));
  ticked([], "planned", { back: [1] });
  assert.deepEqual(said(), ["bent"], "and nothing is said beside it");
  one({}, by("bent", true), status("planned"), by("bent", true));
  ticked([], "measured");
  assert.deepEqual(said(), ["bent", "planned"], "so does what was set back by hand, and what is before it");
});

const pinned = (): (string | undefined)[] => currentRun()!.entries.map((each) => each.entry.pins?.marks);
test("the run at hand is read by its plan: what this plan made under the digest that it had before is its own", () => {
  keeping(inShop("run", runData(RUN)), entry({ kind: "made", bends: [{ number: 1 }] }, { pins: { marks: "BEFORE" } }));
  const answer = { plan: { digest: marks, digest_before: "BEFORE", pieces: [] } } as unknown as PlanAnswer;
  const told: unknown[] = [pinned()];
  for (const planned of [{ state: "ok", answer }, { state: "asking", before: answer }, { state: "gaps" }] as const) {
    change({ planned });
    told.push(pinned());
  }
  assert.deepEqual(told, [["BEFORE"], [marks], [marks], ["BEFORE"]]);
  assert.equal(currentRun(), currentRun(), "looked for once");
});

test("a piece that is set back from bent begins at the first step, and keeps no tick of the one before", () => {
  one({ times: 2 });
  ticked([1], "bent", { copy: 1 });
  assert.deepEqual(runAt(RUN).done.begun, true);
  act.setStatus(runAt(RUN), "measured", [1]);
  assert.deepEqual([runAt(RUN).done.begun, runAt(RUN).done.copy], [false, 1]);
  ticked([1], "planned", { copy: 1 });
  assert.deepEqual(runAt(RUN).done.begun, true);
  ticked([], "measured", { steps: [], back: [1], copy: 1 });
  assert.deepEqual(said(), ["1#1*", "bent#1*", "measured#1*"], "that of the piece before stands");
});

test("the piece in hand is another copy: its ticks go along, with by whom and when", () => {
  const by = { by: "Kim", at: "2026-05-04T10:32:00Z" };
  one({ times: 3 }, entry({ kind: "made", bends: [{ number: 1 }] }, { copy: 1, piece: 2, pins: { marks }, ...by }, { mine: true }), entry({ kind: "made", bends: [{ number: 1 }] }, { copy: 1, pins: { marks } }), entry({ kind: "note", note: "wet" }, { copy: 1, ...by }, { mine: true }));
  act.countAs(runAt(RUN), 1, 3);
  assert.deepEqual(said(), ["1#1", "note#1", "1#3*"]);
  const moved = runAt(RUN).entries.at(-1)!.entry;
  assert.deepEqual([moved.piece, moved.pins?.marks, moved.by, moved.at], [2, marks, by.by, by.at]);
  assert.deepEqual([runAt(RUN).done.copy, runAt(RUN).done.knew], [3, []]);
  act.goOnWith(runAt(RUN), { at: 1, begun: true, knew: ["x"] });
  assert.deepEqual([runAt(RUN).done.copy, runAt(RUN).done.knew], [3, ["x"]]);
  act.beginCopy(runAt(RUN), 2);
  assert.deepEqual([runAt(RUN).done.copy, runAt(RUN).done.begun], [2, false]);
  ticked([1], "planned", { copy: 2 });
  act.beginCopy(runAt(RUN), 3);
  assert.deepEqual([runAt(RUN).done.copy, runAt(RUN).done.begun], [3, false], "from its first step");
  one({ times: 2 }, status("bent", 2), status("measured", 2));
  ticked([1], "planned", { copy: 1 });
  act.countAs(runAt(RUN), 1, 2);
  assert.deepEqual([runAt(RUN).done.copy, runAt(RUN).done.begun], [2, true], "copy 2 was set back before: it is no other piece for that");
});

test("a job of this device goes into the shop, or its runs into one of the shop's", () => {
  one();
  act.newJob("Workshop");
  const own = [...allRecs()].find((rec) => rec.kind === "job" && rec.id !== JOB)!;
  assert.deepEqual([own.data, own.open, own.job], [{ name: "Workshop" }, true, own.id]);
  act.sendJob(own.id);
  assert.equal(getRec(own.id)!.go, true);
  act.moveRuns(JOB, own.id);
  assert.deepEqual([getRec(JOB), getRec(RUN)!.job, state.job, local.get("job"), getRec(own.id)!.kind], [undefined, own.id, own.id, own.id, "job"]);
});

const clashing = (...recs: Rec[]): Rec => {
  const mine = inShop("run", runData(RUN, { area: "Shed" }));
  keeping(rivalFrom(mine, runData(RUN, { area: "Yard" }), "the file"), ...recs);
  return getRec(RUN)!;
};

test("of two versions theirs, mine, or both: the second as a run of its own", () => {
  act.settle(clashing(), "theirs");
  assert.equal(getRec(RUN)!.data!["area"], "Yard");
  act.settle(clashing(), "mine");
  assert.equal(getRec(RUN)!.data!["area"], "Shed");
  act.settle(clashing(), "both");
  const runs = state.runs.map((run) => [getRec(run.id)!.data!["area"], run.survey.run.name, run.key === "R-1"]);
  assert.deepEqual(runs, [["Yard", "Pump house", true], ["Shed", "Pump house (other version)", false]]);
});

test("runs that were marked for a tool's figures which the shop does not take stay on them, as a tool by itself", () => {
  const figures = { raceway: "EMT", size: "1/2", take_up: "5 1/4" };
  const mine: Rec = { ...tool(), data: { id: TOOL, name: "blue half", profile: figures } };
  keeping(rivalFrom(mine, { id: TOOL, name: "blue half", profile }, "the file"), inShop("run", runData(RUN, { tool: { id: TOOL, revision: 0 } })), inShop("run", runData(OTHER, { tool: { id: TOOL, revision: 1 } })));
  const clash = getRec(TOOL)!;
  act.settle(clash, "mine");
  assert.deepEqual([runAt(RUN).tool, getRec(TOOL)!.data!["profile"]], [{ id: TOOL, revision: 0 }, figures]);
  act.settle(clash, "theirs");
  const on = runAt(RUN).tool!;
  assert.notEqual(on.id, TOOL);
  assert.deepEqual([on.revision, getRec(on.id)!.data!["profile"], getRec(TOOL)!.data!["profile"], runAt(OTHER).tool], [0, figures, profile, { id: TOOL, revision: 1 }]);
});
