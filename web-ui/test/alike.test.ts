/** Runs alike: the status of each copy, and the copy that is at the bench. The same figures as the command's. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Entry } from "../src/engine/types";
import { fresh } from "../src/app/kept/record";
import { bentOf, copyAtHand, counted, NO_BENCH, nextCopy, ofCopy, runOf, type Bench, type KeptRun, type Status } from "../src/app/kept/view";

const RUN = "a".repeat(32);

let made = 0;
function entry(what: Entry["what"], copy?: number) {
  const id = String(++made).padStart(32, "0");
  return fresh("entry", id, "j", { id, run: RUN, what, ...(copy ? { copy } : {}) }, made);
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
  assert.equal(bentOf(many), 2);
  assert.deepEqual(counted(many.statuses), [
    { status: "in", count: 1 },
    { status: "bent", count: 1 },
    { status: "planned", count: 3 },
  ]);
});

test("the copy at the bench is the one begun there, else the first that is not bent", () => {
  const entries = [status("bent", 1), status("in", 2)];
  assert.equal(copyAtHand(run(3, entries)), 3);
  assert.equal(copyAtHand(run(3, entries, { of: "p", steps: [0], at: 1, copy: 2 })), 2);
  assert.equal(copyAtHand(run(3, entries, { of: "p", steps: [0], at: 1, copy: 7 })), 3);
  assert.equal(nextCopy(run(2, entries)), 2);
});

test("bends of another copy are not those of this one", () => {
  const many = run(3, [entry({ kind: "made", bends: [{ number: 1 }] }, 1), entry({ kind: "made", bends: [{ number: 2 }] }, 2), entry({ kind: "note", note: "wet" })]);
  assert.deepEqual(ofCopy(many.entries, 2).map((one) => one.entry.what.kind), ["made", "note"]);
  assert.equal(ofCopy(many.entries, undefined).length, 3);
});

test("a number of copies that none can have is one", () => {
  for (const times of [0, -1, 1.5, 4000]) assert.equal(run(times || undefined, []).times, 1);
});
