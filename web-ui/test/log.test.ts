/** A change taken back by what the shop told of it, on this device alone: a next version of each record. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Logged } from "../src/engine/types";
import { fresh, NEVER, type Rec } from "../src/app/kept/record";

Object.assign(globalThis, { BroadcastChannel: undefined, document: { baseURI: "http://127.0.0.1/" } });
const { getRec, put } = await import("../src/app/kept/kept");
const { canTakeBack, inLines, leaveAsAgreed, saidElsewhere, takeBackChange, waitingHere, whatBack } = await import("../src/app/kept/log");

const [JOB, RUN] = ["a".repeat(32), "b".repeat(32)];
const head = (slack: string) => ({ name: "Orchard", wire_slack: slack });
const agreed = (data: Rec["data"]): Rec => ({ ...fresh("job", JOB, JOB, data ?? {}, 1), data, open: false, agreed: { ...NEVER, revision: 3, digest: "d3", data } });
const told = (before: Logged["before"]): Logged => ({ number: 9, at: "", by: "Kim", what: "wire", differs: [], undone: false, mine: true, before });
const ofHead = { kind: "job", id: JOB, job: JOB, revision: 3, digest: "d3", gone: false, data: head("18") };

test("what it said before is its next version, made from what stands", async () => {
  await put(new Map([[JOB, agreed(head("24"))]]));
  const change = told([ofHead, { kind: "run", id: RUN, job: JOB, revision: 2, digest: "d2", gone: true, data: { key: "PH-01", id: RUN } }]);
  assert.deepEqual(whatBack(change).map(({ now, after }) => [now?.["wire_slack"], after?.["key"] ?? after?.["wire_slack"]]), [["24", "18"], [undefined, "PH-01"]]);
  takeBackChange(change);
  assert.deepEqual([getRec(JOB)?.data, getRec(JOB)?.open, getRec(JOB)?.agreed.revision], [head("18"), true, 3]);
  const run = getRec(RUN);
  assert.deepEqual([run?.data?.["key"], run?.open, run?.agreed.revision, run?.agreed.digest], ["PH-01", true, 2, "d2"]);
  assert.ok(!canTakeBack(change), "it is taken back");
  assert.deepEqual(waitingHere(JOB).map((rec) => rec.id), [RUN, JOB]);
  leaveAsAgreed(getRec(JOB)!);
  assert.deepEqual([getRec(JOB)?.data, getRec(JOB)?.open], [head("24"), false]);
});

test("where something was written since, or another revision stands, nothing is taken back", async () => {
  for (const rec of [{ ...agreed(head("30")), open: true }, { ...agreed(head("24")), agreed: { ...NEVER, revision: 4, digest: "d4" } }, { ...agreed(head("24")), agreed: { ...NEVER, revision: 3, digest: "other" } }]) {
    await put(new Map([[JOB, rec]]));
    const change = told([ofHead]);
    assert.ok(!canTakeBack(change));
    takeBackChange(change);
    assert.equal(getRec(JOB), rec);
  }
  assert.ok(!canTakeBack(told([])));
});

test("an entry that goes is told by its run, what it says and whose it is; of a begun run its bends", async () => {
  const run = { id: RUN, key: "PH-01", survey: { racewright: 1, units: "in", run: { name: "Pump house", raceway: "EMT 1/2", walk: [{ leg: "56" }] } } };
  const made = { id: "c".repeat(32), run: RUN, piece: 1, what: { kind: "made", bends: [{ number: 2 }] }, by: "Ana" };
  await put(new Map([[RUN, { ...fresh("run", RUN, JOB, run, 2), order: 2 }], [made.id, fresh("entry", made.id, JOB, made, 3)]]));
  const entry = (what: object, more = {}): string[] => inLines({ kind: "entry", now: { ...made, ...more, what }, after: null });
  assert.deepEqual(entry(made.what), ["Pump house, piece 1, bend 2 made (Ana): not there any more"]);
  assert.deepEqual(entry({ kind: "status", status: "bent" }, { by: "", piece: null, copy: 3 }), ["Pump house, copy 3, status Bent: not there any more"]);
  assert.deepEqual(entry(made.what, { copy: 1 }), ["Pump house, piece 1, bend 2 made (Ana): not there any more"], "of one run the first is the run itself");
  assert.deepEqual(entry({ ...made.what, anew: { marks: [] } }, { by: "" }), ["Pump house, piece 1, new marks: not there any more"]);
  const begun = "Pump house: bends of it are made already. They are in the conduit, whatever the run says then.";
  assert.deepEqual(inLines({ kind: "run", now: run, after: null }), ["Pump house: not there any more", begun]);
  await put(new Map([[made.id, null]]));
  assert.deepEqual(inLines({ kind: "run", now: run, after: null }), ["Pump house: not there any more"]);
});

test("what another device ticked off is told with whose it is and when, though the change is of the same login", async () => {
  const at = "2026-05-04T10:42:00Z";
  const tick = (id: string, more: Partial<Rec>, by = "Ana"): Rec => ({ ...fresh("entry", id, JOB, { id, run: RUN, what: { kind: "made", bends: [{ number: 1 }] }, ...(by && { by, at }) }, 1), agreed: { ...NEVER, revision: 1, by: "login", at: "then" }, ...more });
  await put(new Map([tick("1", { mine: false }), tick("2", { mine: true }), tick("3", { mine: false }, ""), tick("4", { mine: false }), tick("5", { mine: false, data: null })].map((rec) => [rec.id, rec])));
  const before = ["1", "2", "3", "4", "5", "6"].map((id) => ({ ...ofHead, kind: "entry", id, data: null }));
  assert.deepEqual(saidElsewhere(told([ofHead, ...before])), [{ by: "Ana", at }, { by: "login", at: "then" }]);
  assert.deepEqual(saidElsewhere(told([before[1]!])), []);
});
