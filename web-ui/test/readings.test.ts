/** Readings of test bends: there again until they are kept or put away, each tool's by itself. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { keepReadings, readingsOf, type Readings } from "../src/app/tools/readings";

const kept = new Map<string, string>();
Object.defineProperty(globalThis, "localStorage", {
  configurable: true,
  value: { getItem: (key: string) => kept.get(key) ?? null, setItem: (key: string, text: string) => void kept.set(key, text) },
});
const bend = { angle: "90", stub: "15 1/8", leg: "", cut: "", mark: "10", at: "arrow", pointer: "" } as const;
const blue: Readings = { unit: "in", bends: [bend], fit: "none" };
const red: Readings = { unit: "mm", bends: [{ ...bend, stub: "384" }, bend], fit: "star" };

test("readings of test bends stay, each tool's by itself, until they are put away", () => {
  assert.equal(readingsOf("blue"), undefined);
  keepReadings("blue", blue);
  keepReadings("red", red);
  assert.deepEqual([readingsOf("blue"), readingsOf("red")], [blue, red]);
  keepReadings("blue", null);
  assert.deepEqual([readingsOf("blue"), readingsOf("red")], [undefined, red]);
});

test("a store that cannot be read or written holds nobody up", () => {
  kept.set("racewright-test-bends", "{half");
  assert.equal(readingsOf("red"), undefined);
  keepReadings("red", red);
  assert.deepEqual(readingsOf("red"), red);
});
