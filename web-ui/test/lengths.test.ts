/** The page reads a written length as the engine does: one table of cases for both. */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { h, options, type VNode } from "preact";
import { numberOf, takeApart, toKeyed, withBit, withDigit, type Unit } from "../src/text/lengths";
import { keepReadingsWhole } from "../src/text/whole";

type Case = [text: string, unit: Unit, mm: number | null, meant?: string[]];
const CASES = JSON.parse(readFileSync("../tests/unit/length_cases.json", "utf8")) as Case[];

test("what the keypad adds to is read as the engine reads it; the rest is left to the engine", () => {
  let taken = 0;
  for (const [text, unit, mm] of CASES) {
    const keyed = toKeyed(text, unit);
    if (!text.trim() || keyed === null) continue;
    const read = unit === "mm" ? Number(keyed.whole) : 25.4 * (Number(keyed.whole) + keyed.sixteenths / 16);
    assert.ok(mm !== null && Math.abs(read - mm) < 1e-4, `'${text}' in ${unit}: ${read}, not ${mm}`);
    taken += 1;
  }
  assert.ok(taken >= 12, `only ${taken} cases are within the keypad's reach`);
});

test("a forgotten space is not drawn as a fraction of 1 or more", () => {
  assert.deepEqual(takeApart("371/2"), { sign: "", whole: "371/2", num: "", den: "" });
  for (const written of ["37 1/2", "37-1/2", "37 - 1/2"]) assert.deepEqual(takeApart(written), { sign: "", whole: "37", num: "1", den: "2" });
  assert.deepEqual(takeApart("-3/8"), { sign: "-", whole: "", num: "3", den: "8" });
  assert.deepEqual(takeApart("37--1/2"), { sign: "", whole: "37--1/2", num: "", den: "" });
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

test("what a phone's own keyboard writes is added to, and degrees are read so too", () => {
  for (const [text, then] of [["26½", "26 3/4"], ["26,5", "26 3/4"], ["3' 4½\"", "40 3/4"], ["1,250", "1,250"]] as const) assert.equal(withBit(text, 4), then, text);
  for (const [text, degrees] of [["22 1/2", 22.5], ["22½", 22.5], ["44,5", 44.5], ["-3", -3], ["½", 0.5], ["221/2", null], ["", null], ["1,250", null], ["45°", null]] as const)
    assert.equal(numberOf(text), degrees, text);
});

test("a key in a text is an element of its own, which no line breaks at its hyphen; in a button it stays one text", () => {
  keepReadingsWhole();
  const told = h("p", null, "WS-11-1#2: bend on, half-bent, at 19 3/4\"").props.children as unknown[];
  const inButton = h("button", null, "Go on with PH-01").props.children as VNode<{ children: unknown[] }>;
  delete options.vnode;
  const classes = (list: unknown[]): unknown[] => list.flatMap((one) => (typeof one === "string" ? [] : [[(one as VNode<{ class: string }>).props.class, (one as VNode).props.children]]));
  assert.deepEqual(classes(told.flat()), [["whole-key", "WS-11-1#2"], ["whole", '19 3/4"']]);
  assert.deepEqual([inButton.type, classes(inButton.props.children)], ["span", [["whole-key", "PH-01"]]]);
});
