/** Runs alike: the status of each copy, and the copy that is at the bench. The same figures as the command's. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Entry } from "../src/engine/types";
import { fresh } from "../src/app/kept/record";
import { begunElsewhere, bentElsewhere, copiesIn, copyAtHand, countedAgain, freeCopy, goneCopies, isBeingBent, newCopies, nextCopy, ofCopy } from "../src/app/kept/copies";
import { counted, NO_BENCH, runOf, type Bench, type KeptRun, type Status } from "../src/app/kept/view";

const RUN = "a".repeat(32);

let made = 0;
function entry(what: Entry["what"], copy?: number) {
  const id = String(++made).padStart(32, "0");
  return fresh("entry", id, "j", { id, run: RUN, what, ...(copy ? { copy } : {}) }, made);
}
/** A bend ticked off by the marks of plan P: on this device, or (so it is told by the shop) on that of `by`. */
function tick(number: number, copy: number, by = "", order = made + 1, more: object = {}) {
  const one = entry({ kind: "made", bends: [{ number, ...more }] }, copy);
  return { ...one, data: { ...one.data, piece: 1, pins: { marks: "P" }, ...(by && { by, at: "2026-05-04T10:32:00Z" }) }, mine: !by, order };
}
const status = (to: Status, copy?: number) => entry({ kind: "status", status: to }, copy);

function run(times: number | undefined, entries: ReturnType<typeof entry>[], bench: Bench = NO_BENCH): KeptRun {
  const survey = { racewright: 1, units: "in", run: { name: "x", raceway: "EMT 1/2", walk: [] } };
  return runOf(fresh("run", RUN, "j", { id: RUN, key: "RM", survey, ...(times ? { times } : {}) }, 1), entries, bench);
}

test("a run that is there once has the status of its last entry, and no copy", () => {
  const one = run(undefined, [status("planned"), status("bent")]);
  assert.deepEqual([one.times, one.status, one.statuses], [1, "bent", ["bent"]]);
  assert.equal(copyAtHand(one), undefined);
});

test("of those alike each has its own: an entry of a copy counts for it, one of none for all", () => {
  const entries = [status("bent", 1), status("planned"), status("bent", 2), status("in", 2), status("bent", 4), status("bent", 9)];
  const many = run(5, entries);
  assert.deepEqual(many.statuses, ["planned", "in", "planned", "bent", "planned"]);
  assert.equal(many.status, "planned");
  assert.deepEqual(counted(many.statuses), [
    { status: "in", count: 1 },
    { status: "bent", count: 1 },
    { status: "planned", count: 3 },
  ]);
});

test("the copy at the bench is the one begun there, else the first that is not bent", () => {
  const entries = [status("bent", 1), status("in", 2)];
  assert.equal(copyAtHand(run(3, entries)), 3);
  assert.equal(copyAtHand(run(3, entries, { of: "p", begun: true, at: 1, copy: 2 })), 2);
  assert.equal(copyAtHand(run(3, entries, { of: "p", begun: true, at: 1, copy: 7 })), 3);
  assert.equal(nextCopy(run(2, entries)), 2);
  assert.equal(copyAtHand(run(3, [entry({ kind: "made", bends: [{ number: 1 }] })], { of: "p", begun: true, at: 1 })), 1, "begun while there was one");
  assert.equal(copyAtHand(run(1, [], { of: "p", begun: true, at: 1 })), undefined);
});

test("bends of another copy are not those of this one", () => {
  const many = run(3, [entry({ kind: "made", bends: [{ number: 1 }] }, 1), entry({ kind: "made", bends: [{ number: 2 }] }, 2), entry({ kind: "note", note: "wet" })]);
  assert.deepEqual(ofCopy(many.entries, 2).map((one) => one.entry.what.kind), ["made", "note"]);
  assert.deepEqual(ofCopy(many.entries, undefined), ofCopy(many.entries, 1), "where there is one only, it is the first");
});

test("a number of copies that none can have is one", () => {
  for (const times of [0, -1, 1.5, 4000]) assert.equal(run(times || undefined, []).times, 1);
});

test("a copy that another device has begun is not taken while one is free; what is free is what nobody has bent of", () => {
  assert.equal(nextCopy(run(3, [status("bent", 1), tick(1, 2, "Kim")])), 3);
  assert.equal(nextCopy(run(3, [status("bent", 1), tick(1, 2)])), 2, "its own is gone on with");
  assert.equal(nextCopy(run(2, [status("bent", 1), tick(1, 2, "Kim")])), 2, "none is free");
  assert.equal(freeCopy(run(4, [status("bent", 1), tick(1, 2, "Kim"), tick(1, 3)])), 4);
  assert.equal(freeCopy(run(3, [status("bent", 1), tick(1, 2, "Kim"), tick(1, 3)])), undefined);
  assert.equal(freeCopy(run(1, [])), undefined);
  const step = (kind: "stock" | "length" | "lay-out", copy: number, by: string) => ({ ...entry({ kind: "made", bends: [], steps: [{ kind, number: 1 }] }, copy), by, mine: by === "" });
  const cut = run(3, [step("length", 1, "Kim"), step("stock", 2, "Kim"), step("length", 3, "Kim")]);
  assert.deepEqual([nextCopy(cut), freeCopy(cut), freeCopy(cut, 1), begunElsewhere(cut)], [1, 1, 2, []], "somebody else cut them: they are free to be bent");
  assert.deepEqual([isBeingBent(cut), isBeingBent(run(2, [tick(1, 2, "Kim")])), isBeingBent(run(2, [tick(1, 2, "Kim"), status("bent", 2)]))], [false, true, false], "whoever is at it");
  const drawn = run(3, [step("length", 1, "Kim"), step("lay-out", 1, "Kim"), step("length", 2, "Kim")]);
  assert.deepEqual([nextCopy(drawn), freeCopy(drawn)], [2, 2]);
});

test("who else ticked off bends of the piece in hand, when, and who was first", () => {
  const others = (...entries: ReturnType<typeof tick>[]) => bentElsewhere(ofCopy(run(3, entries).entries, 1), "P").map(({ number, by, at, before }) => [number, by, at, before]);
  const at = "2026-05-04T10:32:00Z";
  assert.deepEqual(others(tick(1, 1, "", 7), tick(1, 1, "Kim", 8), tick(2, 1, "Kim", 9)), [[1, "Kim", at, false], [2, "Kim", at, undefined]]);
  assert.deepEqual(others(tick(1, 1, "", 0), tick(1, 1, "Kim", 8), tick(1, 1, "Kim", 9)), [[1, "Kim", at, true]], "its own is not in the shop yet");
  assert.deepEqual(others(tick(1, 2, "Kim"), tick(1, 1)), [], "another copy");
  const [own, anew] = [tick(1, 1, "", 7, { by_marks: "plan" }), { by_marks: "c".repeat(32), angle_rad: 0.4 }];
  assert.deepEqual(others(own, tick(1, 1, "Kim", 8, anew)), [], "it was opened by new marks: that is another step");
  assert.deepEqual(others(own, tick(1, 1, "", 8, anew), tick(1, 1, "Kim", 9, anew)), [[1, "Kim", at, false]], "by both");
  assert.deepEqual(others(own, tick(1, 1, "Kim", 8, { by_marks: "plan", angle_rad: 0.4 })), [], "it was measured");
  assert.deepEqual(bentElsewhere(run(3, [tick(1, 1, "Kim")]).entries, "Q"), [], "other marks");
});

test("copies as a person names them", () => {
  assert.deepEqual(copiesIn("1-3, 7,14 - 15", 20), [1, 2, 3, 7, 14, 15]);
  for (const wrong of ["", "0", "21", "3-1", "1-21", "two", "1,,2", "1-2-3", "-4"]) assert.equal(copiesIn(wrong, 20), null, wrong);
});

test("copies that are added begin anew: the run is no longer bent as a whole, and planned where the rest is", () => {
  const bent = [status("bent")];
  assert.deepEqual(newCopies(run(2, bent), 4), [3, 4].map((copy) => ({ copy, status: "measured", stood: "bent" })));
  const more = run(4, [...bent, status("measured", 3), status("measured", 4)]);
  assert.deepEqual(counted(more.statuses), [{ status: "bent", count: 2 }, { status: "measured", count: 2 }]);
  assert.deepEqual(newCopies(run(2, [status("planned"), status("bent", 1)]), 3), [], "what was said of all is planned already");
  assert.deepEqual(newCopies(run(2, [status("planned"), status("bent", 1), status("in", 3)]), 3), [], "a copy that was in place before is so");
  assert.deepEqual(newCopies(run(4, []), 2), []);
});

test("copies that are taken away are as they were left where they count again, whatever is said of all meanwhile", () => {
  const before = [status("bent", 3), status("in"), status("measured", 5)];
  const gone = goneCopies(run(5, before), 2);
  assert.deepEqual(gone.map(({ copy, from }) => [copy, from.entry.what]), [[3, { kind: "status", status: "in" }], [4, { kind: "status", status: "in" }]], "5 is not bent, by an entry of its own");
  const kept = [...before, status("in", 3), status("in", 4), status("wired"), tick(1, 5)];
  const again = countedAgain(run(2, kept), 6);
  assert.deepEqual([...again].map(([copy, { status: left, from }]) => [copy, left, from?.entry.copy]), [[3, "in", 3], [4, "in", 4], [5, "measured", undefined]]);
  const added = newCopies(run(2, kept), 6);
  assert.deepEqual(added.map((one) => [one.copy, one.status]), [[3, "in"], [4, "in"], [5, "measured"], [6, "measured"]]);
  assert.deepEqual(goneCopies(run(5, [status("bent", 3), status("measured")]), 2).map(({ copy }) => copy), [3], "it was bent, and is to be made again");
  assert.deepEqual([goneCopies(run(2, before), 5), [...countedAgain(run(5, before), 2)]], [[], []]);
});

test("a copy that another bench has begun, and nobody called bent, is told before it is called so by hand", () => {
  const at = "2026-05-04T10:32:00Z";
  const many = run(4, [status("bent", 1), tick(1, 1, "Bo"), tick(1, 2, "Bo"), tick(2, 2, "Kim"), tick(1, 3), tick(1, 4, "Kim")]);
  assert.deepEqual(begunElsewhere(many), [{ copy: 2, by: "Bo", at }, { copy: 4, by: "Kim", at }]);
  assert.deepEqual(begunElsewhere(many, [1, 3, 4]), [{ copy: 4, by: "Kim", at }]);
  assert.deepEqual(begunElsewhere(run(undefined, [tick(1, 0, "Bo")])), [{ by: "Bo", at }]);
  assert.deepEqual(begunElsewhere(run(undefined, [tick(1, 0, "Bo"), status("bent")])), []);
});
