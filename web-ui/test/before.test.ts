/** What the page kept before it kept records. */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Plan } from "../src/engine/types";
import { inShop, keeping, runAt, runData } from "./kept-here";
import { bringBench, recordsOf, type Before } from "../src/app/kept/before";
import { put } from "../src/app/kept/kept";

const RUN = "b".repeat(32);
const told = JSON.parse(readFileSync("../tests/browser/kept_before.json", "utf8")) as { served: { kept: Omit<Before, "shoes">; shoes: Before["shoes"] } };
const old: Before = { ...told.served.kept, shoes: told.served.shoes ?? {} };
const bench = old.runs.find((run) => run.done.of)!.done;

/** The plan whose print the old page kept: one piece with three bends. */
const bends = [["19 3/4", "star", 22.5, "floor"], ["27 7/16", "center", 45, "upside down"], ["35 7/16", "arrow", 22.5, "upside down"]] as const;
const plan = (cut = "58 7/8"): Plan =>
  ({
    digest: "4K7WQX",
    pieces: [{ cut_length_tape: cut, bends: bends.map(([mark_tape, reference, pointer_deg, stance], i) => ({ order: i + 1, mark_tape, hook: "A", reference, pointer_deg, stance })) }],
  }) as unknown as Plan;

test("what is done at the bench goes along, and is of the plan with the same marks from then on", async () => {
  const { local } = recordsOf(old);
  const moved = [...local].find(([name]) => name.startsWith("bench:"))![1];
  assert.deepEqual(moved, bench);
  keeping(inShop("run", runData(RUN)));
  await put(new Map(), { [`bench:${RUN}`]: moved });
  bringBench(RUN, plan("58"));
  assert.equal(runAt(RUN).done.of, bench.of, "another plan");
  bringBench(RUN, plan());
  assert.deepEqual(runAt(RUN).done, { ...bench, of: "4K7WQX" });
  bringBench(RUN, plan());
  assert.equal(runAt(RUN).done.of, "4K7WQX");
});

test("a run that was never on the bench has nothing done", () => {
  bringBench("d".repeat(32), plan());
  keeping(inShop("run", runData("d".repeat(32))));
  assert.deepEqual(runAt("d".repeat(32)).done.steps, []);
});
