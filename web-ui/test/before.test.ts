/** What the page kept before it kept records. */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { PlanAnswer } from "../src/engine/types";
import { inShop, keeping, runAt, runData } from "./kept-here";
import { bringBench } from "../src/app/bend/at-bench";
import { recordsOf, type Before } from "../src/app/kept/before";
import { put } from "../src/app/kept/kept";

const RUN = "b".repeat(32);
const told = JSON.parse(readFileSync("../tests/browser/kept_before.json", "utf8")) as { served: { kept: Omit<Before, "shoes">; shoes: Before["shoes"] } };
const old: Before = { ...told.served.kept, shoes: told.served.shoes ?? {} };
const bench = old.runs.find((run) => run.done.of)!.done;

/** The plan whose print the old page kept: one piece with three bends, after a cut and the marks. */
const bends = [["19 3/4", "star", 22.5, "floor"], ["27 7/16", "center", 45, "upside down"], ["35 7/16", "arrow", 22.5, "upside down"]] as const;
const answer = (cut = "58 7/8"): PlanAnswer =>
  ({
    plan: {
      digest: "4K7WQX",
      pieces: [{ cut_length_tape: cut, bends: bends.map(([mark_tape, reference, pointer_deg, stance], i) => ({ number: i + 1, order: i + 1, mark_tape, hook: "A", reference, pointer_deg, stance })) }],
      steps: [{ kind: "cut", piece: 1 }, { kind: "lay-out", piece: 1 }, ...bends.map((_, i) => ({ kind: "bend", piece: 1, bend: i + 1 }))],
    },
    step_cautions: [],
    bench: [{ bends: [] }],
  }) as unknown as PlanAnswer;
const madeOf = (): unknown[] => runAt(RUN).entries.flatMap(({ entry: { what } }) => (what.kind === "made" ? [...what.bends.map((bend) => bend.number), ...(what.steps ?? []).map(({ kind }) => kind)] : []));

test("what is done at the bench goes along, and is of the plan with the same marks from then on, on record", async () => {
  const { local } = recordsOf(old);
  const moved = [...local].find(([name]) => name.startsWith("bench:"))![1];
  assert.deepEqual(moved, bench);
  assert.deepEqual(bench.steps, [0, 1, 2]);
  keeping(inShop("run", runData(RUN)));
  await put(new Map(), { [`bench:${RUN}`]: moved });
  bringBench(runAt(RUN), answer("58"));
  assert.equal(runAt(RUN).done.of, bench.of, "another plan");
  assert.deepEqual(madeOf(), []);
  bringBench(runAt(RUN), answer());
  const { of, begun, steps, at } = runAt(RUN).done;
  assert.deepEqual({ of, begun, steps, at }, { of: "4K7WQX", begun: true, steps: undefined, at: bench.at });
  assert.deepEqual(madeOf(), ["length", "lay-out", 1]);
  bringBench(runAt(RUN), answer());
  assert.deepEqual(madeOf(), ["length", "lay-out", 1], "once");
  assert.equal(runAt(RUN).status, "planned");
});

test("a run that was never on the bench has nothing done", () => {
  keeping(inShop("run", runData("d".repeat(32))));
  bringBench(runAt("d".repeat(32)), answer());
  assert.equal(runAt("d".repeat(32)).done.begun, false);
});
