/** What differs between two versions of a run, in words. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Data } from "../src/app/kept/record";

Object.assign(globalThis, { BroadcastChannel: undefined }); // one window, which ends
const { differences } = await import("../src/app/kept/differ");

const run = (name: string, leg: string, turn: string, centre: string, times: number): Data => ({
  id: "b".repeat(32),
  key: "R-1",
  times,
  survey: {
    racewright: 1,
    units: "in",
    run: { name: "Pump house", raceway: "EMT 1/2", start: { name, fitting: "set-screw" }, end: { name: `${name} B` }, walk: [{ leg, features: [{ saddle: { centre, over: "round", height: "2" } }] }, { turn }, { leg: "9" }] },
  },
});

test("each field by what a person calls it", () => {
  const told = differences("run", run("disconnect", "56", "left", "26", 2), run("starter", "57", "away", "27", 3));
  assert.deepEqual(told.map(({ field, here, there }) => [field, here, there]), [
    ["end A, called", "disconnect", "starter"],
    ["end B, called", "disconnect B", "starter B"],
    ["leg 1, length", "56", "57"],
    ["leg 1, saddle center", "26", "27"],
    ["turn 1, way", "left", "away"],
    ["how many alike", "2", "3"],
  ]);
});
