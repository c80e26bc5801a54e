/** A job as a file: every kind of record has its place in it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { KINDS, type Job } from "../src/engine/types";
import { inShop, JOB, keeping, runData, TOOL } from "./kept-here";
import { bringOthers, jobFile } from "../src/app/kept/job-file";
import type { Rec } from "../src/app/kept/record";
import { idOf } from "../src/app/kept/sha256";

const RUN = "b".repeat(32);
const profile = { raceway: "EMT", size: "1/2", take_up: "5" };
const of: Record<string, ReturnType<typeof inShop>> = {
  run: inShop("run", runData(RUN, { tool: { id: TOOL, revision: 1 } })),
  entry: inShop("entry", { id: "1".repeat(32), run: RUN, what: { kind: "note", note: "wet" } }),
  tool: inShop("tool", { id: TOOL, name: "blue half", profile }),
  person: inShop("person", { id: "7".repeat(32), name: "Sam" }),
  prices: inShop("prices", { id: idOf(`6:prices32:${JOB}`), of: JOB, labour_rate: "48" }),
};

test("a file holds every kind of record that there is, each under its own name", () => {
  keeping(...Object.values(of));
  const file = JSON.parse(jobFile(JOB)) as Job;
  assert.deepEqual(Object.keys(KINDS).filter((kind) => kind !== "job" && !of[kind]), [], "each is kept here");
  for (const [kind, { member }] of Object.entries(KINDS) as [string, { member: keyof Job }][]) {
    const said = JSON.stringify(file[member]);
    assert.match(said, { job: /"Orchard"/, run: /"R-1"/, entry: /"wet"/, tool: /"blue half"/, person: /"Sam"/, prices: /"48"/ }[kind]!, kind);
  }
  assert.deepEqual([file.id, file.prices, file.tools], [JOB, { labour_rate: "48" }, [{ id: TOOL, revision: 1, name: "blue half", profile }]]);
});

test("runs stand in the order of the job, whatever was changed or heard of last", () => {
  const named = ["R-1", "R-2", "R-3"].map((key, i) => inShop("run", runData(`${i}`.repeat(32), { key }), { order: i + 4, made: 9 - i }));
  keeping(named[2]!, named[0]!, named[1]!);
  assert.deepEqual((JSON.parse(jobFile(JOB)) as Job).runs!.map(({ key }) => key), ["R-1", "R-2", "R-3"]);
});

for (const ofShop of [true, false]) {
  test(`a kind more is a row: ${ofShop ? "of the shop" : "of a job"} it goes out in a file, and comes in where it is not known`, () => {
    const rows = KINDS as Record<string, (typeof KINDS)[string]>;
    rows["spot"] = { member: "spots" as keyof Job, called: "spot {name}", ofShop, pinned: false };
    try {
      const [spot, other] = ["2", "3"].map((digit) => ({ id: digit.repeat(32), name: `corner ${digit}` }));
      keeping(inShop("spot", spot!), inShop("spot", { ...other! }, { job: ofShop ? "" : "9".repeat(32) }));
      const file = JSON.parse(jobFile(JOB)) as Job & { spots: unknown[] };
      assert.deepEqual(file.spots, ofShop ? [spot, other] : [spot]);
      const changes = new Map<string, Rec | null>();
      bringOthers(changes, { ...file, spots: [spot, { id: "4".repeat(32), name: "corner 4" }] } as Job, JOB);
      assert.deepEqual([...changes.values()].map((rec) => [rec?.kind, rec?.job, rec?.data]), [["spot", ofShop ? "" : JOB, { id: "4".repeat(32), name: "corner 4" }]]);
    } finally {
      delete rows["spot"];
    }
  });
}
