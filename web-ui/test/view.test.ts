/** What the screens show of a run: its status by its entries, in the order of the shop file. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { fresh, type Data, type Rec } from "../src/app/kept/record";
import type { Entry } from "../src/engine/types";
import { NO_BENCH, ofPlan, runOf, saysOfMarks, type Status } from "../src/app/kept/view";

const RUN = "b".repeat(32);
const run = (): Rec =>
  fresh("run", RUN, "a".repeat(32), { id: RUN, key: "R-1", survey: { run: { name: "Pump house", raceway: "EMT 1/2", walk: [{ leg: 31.5, from: null }] } } }, 1);
let made = 1;
function entry(status: Status, order: number): Rec {
  made += 1;
  const data: Data = { id: String(made), run: RUN, what: { kind: "status", status } };
  return { ...fresh("entry", String(made), "a".repeat(32), data, made), order };
}

test("the last in the shop's order sets the status, what is not there yet after it", () => {
  const [late, early, here] = [entry("bent", 7), entry("planned", 3), entry("in", 0)];
  assert.equal(runOf(run(), [late, early], NO_BENCH).status, "bent");
  assert.equal(runOf(run(), [here, late, early], NO_BENCH).status, "in");
  assert.equal(runOf(run(), [{ ...late, data: null }, early], NO_BENCH).status, "planned", "one that was taken back counts for nothing");
  assert.equal(runOf(run(), [], NO_BENCH).status, "measured");
});

test("a survey is read as the page writes one, and is the same object as long as it says the same", () => {
  const rec = run();
  const { survey } = runOf(rec, [], NO_BENCH);
  assert.deepEqual(survey, { racewright: 1, units: "in", run: { name: "Pump house", raceway: "EMT 1/2", walk: [{ leg: "31.5" }] } });
  assert.equal(runOf({ ...rec, open: false }, [entry("bent", 1)], NO_BENCH).survey, survey);
});

/** Of a run with an entry that waits: its revision, and whether the shop has it. */
const told = (rec: Rec): unknown[] => [runOf(rec, [entry("bent", 0)], NO_BENCH)].map(({ revision, there }) => [revision, there]);

test("what is done is of the revision that is shown: of none while something written of the run is not in the shop", () => {
  const agreed: Rec = { ...run(), open: false, agreed: { revision: 3, digest: "d", data: run().data, by: "", at: "" } };
  assert.deepEqual(told(agreed), [[3, true]], "an entry that waits changes nothing of it");
  assert.deepEqual([{ ...agreed, open: true }, { ...agreed, clash: true }, { ...agreed, doubt: true }].flatMap(told), [[0, true], [0, true], [0, true]]);
  assert.deepEqual(told(run()), [[0, false]]);
});

/** Where it is kept, and why the shop does not take it. */
const shown = (rec: Rec, ...entries: Rec[]): unknown[] => [runOf(rec, entries, NO_BENCH)].map((one) => [one.where, one.refusal]).flat();

test("where a run is kept: two versions go before a refusal, its own or that of an entry, and that before what waits", () => {
  const there: Rec = { ...run(), open: false, agreed: { revision: 1, digest: "d", data: run().data, by: "", at: "" } };
  const done: Rec = { ...entry("bent", 3), open: false };
  const refusal = { outcome: "refused" as const, words: "no.", at: 1 };
  assert.deepEqual(shown(there, done), ["shop", ""]);
  assert.deepEqual(shown({ ...there, open: true }, done), ["here", ""]);
  assert.deepEqual(shown(there, done, entry("in", 0)), ["here", ""]);
  assert.deepEqual(shown({ ...there, refusal }, done), ["refused", "no."]);
  assert.deepEqual(shown(there, done, { ...done, refusal }), ["refused", "no."]);
  assert.deepEqual(shown({ ...there, clash: true, refusal }, done), ["choose", "no."]);
});

const tickOf = (marks: string, i: number): Rec =>
  fresh("entry", `t${i}`, "a".repeat(32), { id: `t${i}`, run: RUN, piece: 1, pins: { marks, tool: "half" }, what: { kind: "made", bends: [{ number: 1 }] } }, 1);

const pieces = [{ bends: [1] }];
test("what was made by the run's plan while names were in its digest is its own: ticks, new marks and the steps of this bench", () => {
  const before = runOf(run(), ["WITHXX", "NEWXXX", "OTHERX"].map(tickOf), { ...NO_BENCH, of: "WITHXX", begun: true });
  const now = ofPlan(before, { digest: "NEWXXX", digest_before: "WITHXX", pieces });
  assert.deepEqual(now.entries.map((seen) => [seen.entry.pins?.marks, seen.entry.pins?.tool]), [["NEWXXX", "half"], ["NEWXXX", "half"], ["OTHERX", "half"]]);
  assert.deepEqual([now.done, now.key, now.survey], [{ ...NO_BENCH, of: "NEWXXX", begun: true }, "R-1", before.survey]);
  assert.equal(ofPlan(now, { digest: "NEWXXX", digest_before: "WITHXX", pieces }), now);
  assert.equal(ofPlan(runOf(run(), [entry("bent", 1)], NO_BENCH), { digest: "NEWXXX", digest_before: "", pieces }).entries[0]!.entry.pins, undefined);
  const wet = { ...tickOf("NEWXXX", 0), data: { ...(tickOf("NEWXXX", 0).data as object), what: { kind: "made", bends: [{ number: 2 }], note: "wet" } } } as Rec;
  assert.deepEqual(ofPlan(runOf(run(), [wet], NO_BENCH), { digest: "NEWXXX", digest_before: "", pieces }).entries.map((seen) => seen.entry.what), [{ kind: "note", note: "wet" }], "of a bend that it does not have the note alone");
});

test("of its own plan's card a bend by other marks, an angle and a step that is no bend may say something; a tick and a note do not", () => {
  const of = (more: object): Entry => ({ run: RUN, what: { kind: "made", bends: [], ...more } });
  const said = [{ bends: [{ number: 1 }] }, { bends: [{ number: 1, by_marks: "plan" }] }, { bends: [{ number: 1, by_marks: "k" }] }, { bends: [{ number: 1, angle_rad: 0.4 }] }, { steps: [{ kind: "cut", by_marks: "k" }] }].map((one) => saysOfMarks(of(one)));
  assert.deepEqual([said, saysOfMarks({ run: RUN, what: { kind: "note", note: "wet" } }), saysOfMarks({ run: RUN, what: { kind: "readings", measured: [{ type: "off", way: "up", off_mm: 3, station_mm: null }] } })], [[false, false, true, true, true], false, true]);
});
