/** What was measured on a finished piece goes to the engine with all that is kept of its run. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { inShop, keeping, runAt, runData, TOOL } from "./kept-here";
import { toRecord } from "../src/app/check/to-record";

const RUN = "b".repeat(32);
const profile = { raceway: "EMT", size: "1/2", take_up: "5 3/8 in", gain: "2 3/4 in" };
const status = (id: string, to: string) => inShop("entry", { id, run: RUN, what: { kind: "status", status: to } });

test("a run that is in place is told so, with its key and its tool", () => {
  keeping(inShop("tool", { id: TOOL, name: "blue half", profile }), inShop("run", runData(RUN, { key: "PH-07", tool: { id: TOOL, revision: 1 } })), status("1", "bent"), status("2", "in"));
  const { job, ...asked } = toRecord(runAt(RUN), 2, undefined, [{ what: "angle", number: 1, angle_deg: 44 }], "4K7WQX")!;
  assert.deepEqual(asked, { run: RUN, revision: 1, piece: 2, copies: [], measured: [{ what: "angle", number: 1, angle_deg: 44 }], plan: "4K7WQX" });
  assert.deepEqual(job.entries!.map(({ what }) => what), [{ kind: "status", status: "bent" }, { kind: "status", status: "in" }]);
  assert.deepEqual([job.runs![0]!.key, job.tools], ["PH-07", [{ id: TOOL, revision: 1, name: "blue half", profile }]]);
});

test("of runs alike it is of one copy", () => {
  keeping(inShop("run", runData(RUN, { times: 3 })));
  assert.deepEqual(toRecord(runAt(RUN), 1, 2, [], "")!.copies, [2]);
});
