/** Tools as a form has them, which refusals lead to which figure, and what a tool was before. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { BENDER_FIGURES, type BenderRecord, type Entry } from "../src/engine/types";
import { answered, fresh, going, profileIn, revisionsOf, written } from "../src/app/kept/record";
import { newSurvey } from "../src/app/kept/survey";
import type { KeptRun, SeenEntry } from "../src/app/kept/view";
import { finishedOn, firstReadings } from "../src/app/tools/finished";
import { draftOf, fieldOf, figureOf, LENGTHS, noNumbers, onOtherTape, onTape, recordOf, toolHash } from "../src/app/tools/profile";

const WHOLE: Required<BenderRecord> = {
  raceway: "RMC", size: "1-1/4", take_up: "11 in", gain: "5 5/8 in", radius: "7 1/4 in", lead: "0.3 in", centre: "3 in", star: "4 in",
  hook_reach: "3 in", grip: "8 in", springback_b0_deg: 1.5, springback_b1: 0.02, standing: "own test bends",
};

test("every field of a profile is on the form, and comes back from it as it was", () => {
  const back = recordOf(draftOf("", "shed", WHOLE));
  for (const { field } of BENDER_FIGURES) assert.equal(String(back[field]).replace(/ in$/, ""), String(WHOLE[field]).replace(/ in$/, ""), field);
  assert.deepEqual(Object.keys(WHOLE).sort(), ["raceway", "size", ...BENDER_FIGURES.map((one) => one.field)].sort());
  assert.deepEqual([back.raceway, back.size], ["RMC", "1-1/4"]);
  assert.equal(LENGTHS.length, 8);
});

test("a tape in mm is kept, and a length with another unit stays as it was kept", () => {
  const draft = draftOf("", "press", { raceway: "EMT", size: "2", take_up: "203 mm", radius: "9 1/2 in" });
  assert.deepEqual([draft.unit, draft.texts.take_up, draft.texts.radius], ["mm", "203", "241.3"]);
  assert.deepEqual(recordOf(draft), { raceway: "EMT", size: "2", take_up: "203 mm", radius: "9 1/2 in" });
});

test("a tool that was kept in mm is shown on an inch tape, and stays exactly what it was where nobody changes it", () => {
  const profile = { raceway: "EMT", size: "1/2", take_up: "123.825 mm", gain: "66.7341 mm", radius: "4 in" };
  const draft = draftOf("t", "shed", profile, "in");
  assert.deepEqual([draft.unit, draft.texts.take_up, draft.texts.gain, draft.texts.radius], ["in", "4 7/8", "2.6273", "4"]);
  assert.deepEqual(recordOf(draft), profile);
  const changed = { ...draft, texts: { ...draft.texts, take_up: "5" } };
  assert.deepEqual(recordOf(changed), { ...profile, take_up: "5" });
  const mm = onOtherTape(changed, "mm");
  assert.deepEqual([mm.texts.take_up, mm.texts.gain, mm.texts.radius], ["5", "66.7341", "101.6"]);
  assert.equal(recordOf(mm).radius, "4 in");
  assert.deepEqual([onTape("25.4 mm", "in"), onTape("6.35 mm", "in"), onTape("8 ft", "in"), onTape("5 1/32 in", "mm")], ["1", "1/4", "8 ft", "127.7938"]);
});

test("springback is read with a comma and a fraction, and what is no number is told", () => {
  const draft = draftOf("", "shed", { raceway: "EMT", size: "1/2" });
  const typed = { ...draft, texts: { ...draft.texts, springback_b0_deg: "1,5", springback_b1: "two" } };
  assert.deepEqual(noNumbers(typed), ["springback_b1"]);
  assert.equal(recordOf(typed).springback_b0_deg, 1.5);
});

test("a refusal stands at its field, and one that hangs on the tool leads to its figure", () => {
  assert.equal(fieldOf({ field: "bender.take_up" }), "take_up");
  assert.equal(fieldOf({ field: "name" }), "name");
  assert.equal(fieldOf({ field: "bender.size" }), "raceway");
  assert.equal(figureOf({ quantity: "hand shoe" }), "new");
  assert.equal(figureOf({ rule: "bend.order", severity: "problem" }), "grip");
  assert.equal(figureOf({ rule: "bend.order", severity: "info" }), "");
  assert.equal(figureOf({ field: "survey.run.walk[0].leg", quantity: "length" }), "");
  assert.equal(figureOf({ field: "bender.gain" }), "gain");
  assert.equal(toolHash("3fa9", "grip"), "#/tools/3fa9/grip");
});

const data = (take_up: string) => ({ id: "t", name: "shed", profile: { raceway: "EMT", size: "1/2", take_up } });

test("what a tool was: as written here, and each revision with by whom and when", () => {
  const first = answered(going(fresh("tool", "t", "shop", data("5"), 1)), { kind: "tool", id: "t", outcome: "saved", revision: 1, digest: "d1", stands: null, yours: null, message: "", hint: "" })!;
  const known = { ...first, acked: undefined, agreed: { ...first.agreed, by: "Kim", at: "2026-11-27" } };
  const second = written(known, data("5 1/8"))!;
  assert.deepEqual(revisionsOf(second).map(({ revision, by }) => [revision, by]), [[0, ""], [1, "Kim"]]);
  const saved = answered(going(second), { kind: "tool", id: "t", outcome: "saved", revision: 2, digest: "d2", stands: null, yours: null, message: "", hint: "" })!;
  assert.deepEqual(revisionsOf(saved).map(({ revision, by, data: one }) => [revision, by, (one["profile"] as BenderRecord).take_up]), [[2, "", "5 1/8"], [1, "Kim", "5"]]);
});

const seen = (kind: "readings" | "corrected", piece: number, copy?: number): SeenEntry => {
  const what = kind === "readings" ? { kind, measured: [{ type: "angle", number: 1, angle_rad: 0.8 }] } : { kind, moves: [] };
  return { entry: { run: "r", piece, copy, what, pins: { marks: "4K7WQX" } } as unknown as Entry, mine: true, open: false, by: "", at: "" };
};
const at = () => ({ name: "shed", profile: { raceway: "EMT", size: "1/2", take_up: "5", gain: "2 5/8" } });

test("of each piece and copy the first readings count, before any correction, on the newest figures of the tool", () => {
  const entries = [seen("readings", 1, 1), seen("corrected", 1, 1), seen("readings", 1, 1), seen("corrected", 2), seen("readings", 2), seen("readings", 1, 2)];
  assert.deepEqual(firstReadings(entries), [entries[0]!.entry, entries[5]!.entry]);
  const survey = newSurvey("Pump house");
  const run = (revision: number, of: SeenEntry[]) => ({ survey, tool: { id: "t", revision }, entries: of }) as unknown as KeptRun;
  const told = finishedOn("t", [run(1, [seen("readings", 1)]), run(2, entries), { ...run(2, entries), tool: { id: "u", revision: 2 } }], at);
  assert.deepEqual(told.pieces.map(({ name, marks }) => [name, marks]), [["Pump house-1#1", "4K7WQX"], ["Pump house-1#2", "4K7WQX"]]);
  assert.deepEqual([told.readings, told.others], [2, 1]);
});

test("a piece of which the rest was bent by kept new marks is asked about as that, its copy alone, whatever digest its plan had then", () => {
  const anew = { entry: { id: "k", run: "r", piece: 1, copy: 2, pins: { marks: "4K7WQX" }, what: { kind: "made", bends: [{ number: 1 }], anew: { marks: [{ number: 2, mark_mm: 600, angle_rad: 0.8 }] } } } as unknown as Entry, mine: true, open: false, by: "", at: "" };
  const run = { survey: newSurvey("Pump house"), tool: { id: "t", revision: 1 }, entries: [anew, seen("readings", 1, 1), seen("readings", 1, 2), seen("readings", 2, 2)] } as unknown as KeptRun;
  const asked = finishedOn("t", [run], at).pieces;
  assert.deepEqual(asked.map(({ name, anew: by }) => [name, by]), [["Pump house-1#1", undefined], ["Pump house-1#2", true], ["Pump house-2#2", undefined]]);
  const before = { ...anew, entry: { ...anew.entry, pins: { marks: "BEFORE" } } };
  assert.deepEqual(finishedOn("t", [{ ...run, entries: [before, seen("readings", 1, 2)] }], at).pieces.map((piece) => piece.anew), [true]);
});

test("what is no profile is none, whatever a record holds there, and a whole one is read as it is", () => {
  for (const profile of [null, undefined, 3, "EMT", [], {}, { raceway: "EMT" }, { raceway: "EMT", size: 2 }, { raceway: "EMT", size: "2", take_up: { a: 1 } }]) {
    assert.equal(profileIn({ name: "shed", profile }), null, JSON.stringify(profile));
  }
  assert.equal(profileIn(null), null);
  assert.equal(profileIn({ name: "shed", profile: WHOLE }), WHOLE);
});
