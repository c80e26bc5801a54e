/** The page reads a written length as the engine does: one table of cases for both. */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { meantBy, parseLength, takeApart, withBit, withDigit, type Unit } from "../src/text/lengths";

type Case = [text: string, unit: Unit, mm: number | null, meant?: string[]];
const CASES = JSON.parse(readFileSync("../tests/unit/length_cases.json", "utf8")) as Case[];

test("a length is read, or asked back, as the engine does it", () => {
  for (const [text, unit, mm, meant] of CASES) {
    const read = parseLength(text, unit);
    if (mm === null) assert.equal(read, null, `'${text}' is no length`);
    else assert.ok(read !== null && Math.abs(read - mm) < 1e-8, `'${text}' in ${unit}: ${read}, not ${mm}`);
    assert.deepEqual(meantBy(text, unit), meant ?? [], `what '${text}' may mean`);
  }
});

test("a forgotten space is not drawn as a fraction of 1 or more", () => {
  assert.deepEqual(takeApart("371/2"), { sign: "", whole: "371/2", num: "", den: "" });
  assert.deepEqual(takeApart("37 1/2"), { sign: "", whole: "37", num: "1", den: "2" });
});

test("a fraction key adds to what stands there, and never wipes the inches", () => {
  const [HALF, QUARTER, EIGHTH] = [8, 4, 2];
  const taps: [string, number, string][] = [
    ["26 5/32", HALF, "26 21/32"], ["26 5/32", EIGHTH, "26 1/32"], ["26-1/8", HALF, "26 5/8"], ["26.125", QUARTER, "26 3/8"],
    ["2' 2 1/8\"", HALF, "26 5/8"], ["19 3/4", HALF, "19 1/4"], ["", HALF, "1/2"], ["7", QUARTER, "7 1/4"], ["371/2", HALF, "371/2"],
  ];
  for (const [text, bit, then] of taps) assert.equal(withBit(text, bit), then, `'${text}' and ${bit}/16`);
});

test("a digit goes to the inches, or on to what stands there", () => {
  const taps: [string, string, string][] = [
    ["26 5/32", "1", "261 5/32"], ["26-1/8", "1", "261 1/8"], ["26.12", "5", "26.125"], ["2' ", "2", "2' 2"], ["26 5/", "8", "26 5/8"],
    ["0", "7", "7"], ["1/2", "3", "3 1/2"], ["", "4", "4"],
  ];
  for (const [text, digit, then] of taps) assert.equal(withDigit(text, digit, "in"), then, `'${text}' and ${digit}`);
  assert.equal(withDigit("81", ".", "mm"), "81.");
  assert.equal(withDigit("12 in", "3", "mm"), "12 in3");
});
