/** Forms of what is worked out without a run: what is asked, what a run fills in, where a refusal stands. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { askedWords, atField, factsOf, inUnit, openFields, partOfIt, requestOf, valueOf, withLabels, type Facts } from "../src/app/figure/form";
import { newSurvey } from "../src/app/kept/survey";
import { FORMS, type Form } from "../src/engine/forms";

const form = (key: string): Form => FORMS.find((one) => one.key === key)!;
const survey = newSurvey("Pump house");
survey.run.raceway = "EMT 1-1/4";
survey.run.wires = ["3 x 8 THHN"];
const plan = { checks: { path: "straight 2, bend of 90 r 4, straight 3", length: "5.125 ft" } } as never;
const facts = factsOf(survey, plan);

test("what the run says is asked where nobody wrote otherwise; what is written wins, emptied too", () => {
  assert.deepEqual(requestOf(form("wires_fit"), {}, facts, "in", {}), {
    request: { raceway: "EMT", size: "1-1/4", wires: ["3 x 8 THHN"] },
  });
  assert.deepEqual(requestOf(form("pull"), { size: "2", wires: ["3 x 4/0 XHHW, 1 x 4 THHN", ""] }, facts, "in", {}), {
    request: { raceway: "EMT", size: "2", wires: ["3 x 4/0 XHHW", "1 x 4 THHN"], path: "straight 2, bend of 90 r 4, straight 3" },
  });
  assert.deepEqual(requestOf(form("wires_fit"), { wires: [""], more: "12 THHN" }, facts, "in", {}), { request: { raceway: "EMT", size: "1-1/4", more: "12 THHN" } });
});

test("what only bears the name of something of the run is not filled from it", () => {
  assert.deepEqual(requestOf(form("wires_box"), { grounds: ["2 x 12"] }, facts, "in", {}), { request: { grounds: ["2 x 12"] } });
  const heated = factsOf({ ...survey, run: { ...survey.run, raceway: "PVC-40 1", bend_radius: "9" } }, null);
  assert.deepEqual(requestOf(form("shape/stub"), { height: "18" }, heated, "in", {}), {
    request: { raceway: "PVC-40", size: "1", bend_radius: "9 in", unit: "in", shape: { name: "stub", height: "18" } },
  });
});

test("a bare length has the tape's unit, a bare distance feet or meters, a number is one; what lacks is told", () => {
  const drop = { current_a: "22½", volts: "120", whole: "yes", wire_size: "8" };
  assert.deepEqual(requestOf(form("wires_drop"), { ...drop, length: "100" }, {}, "in", {}), {
    request: { current_a: 22.5, length: "100 ft", volts: 120, wire_size: "8", whole: true },
  });
  assert.deepEqual(requestOf(form("wires_drop"), drop, facts, "mm", {}), { wrong: { length: "needed" } });
  assert.deepEqual(requestOf(form("wires_drop"), { current_a: "much", whole: "no" }, {}, "in", {}), { wrong: { current_a: "number", length: "needed", volts: "needed" } });
  assert.deepEqual(requestOf(form("wires_pullbox"), { pulls: ["u top 2 -> top 2"], width: "457", height: "18 in" }, {}, "mm", {}), {
    request: { pulls: ["u top 2 -> top 2"], width: "457 mm", height: "18 in" },
  });
});

test("on another tape what was written bare keeps its unit", () => {
  const drop = inUnit(form("wires_drop"), { length: "100", current_a: "20" }, "in", "mm");
  assert.deepEqual(drop, { length: "100 ft", current_a: "20", unit: "mm" });
  const written = inUnit(form("shape/offset"), { rise: "6 1/4", at: "1 m", angle: "30" }, "in", "mm");
  assert.deepEqual(written, { rise: "6 1/4 in", at: "1 m", angle: "30", unit: "mm" });
});

test("a shape has its readings below, its bender beside; a bender brings raceway and size", () => {
  const written = { rise: "6", fraction: "8" };
  assert.deepEqual(requestOf(form("shape/offset"), written, facts, "in", {}), {
    request: { raceway: "EMT", size: "1-1/4", fraction: 8, unit: "in", shape: { name: "offset", rise: "6" } },
  });
  const bender = { raceway: "EMT", size: "3/4", take_up: "6" };
  assert.deepEqual(requestOf(form("shape/offset"), written, facts, "mm", { bender, bender_name: "blue" }), {
    request: { fraction: 8, bender, bender_name: "blue", unit: "mm", shape: { name: "offset", rise: "6" } },
  });
});

test("what must be said and lists stand in the open, and what is filled in", () => {
  const names = (key: string, written = {}, known: Facts = {}) => openFields(form(key), written, known).open.map((field) => field.name);
  assert.deepEqual(names("wires_fit"), ["raceway", "size", "wires", "more"]);
  assert.deepEqual(names("wires_drop"), ["current_a", "length", "volts", "wire_size"]);
  assert.deepEqual(names("wires_drop", { sets: "2" }), ["current_a", "length", "volts", "wire_size", "sets"]);
  assert.deepEqual(names("wires_box").slice(-1), ["terminal_blocks"]);
  const size = form("pull").fields.find((field) => field.name === "size")!;
  assert.equal(valueOf(size, {}, facts), "1-1/4");
});

test("a refusal stands at its field, in the form's words; a note says what was asked", () => {
  assert.deepEqual(atField(form("shape/offset"), "shape.rise: 'x' is no length.", "shape.rise"), { name: "rise", words: "'x' is no length." });
  assert.deepEqual(atField(form("shape/kick"), "shape.rise is missing.", "shape.rise"), { name: "rise", words: "Rise is missing." });
  assert.deepEqual(atField(form("pull"), "path: nothing is written.", "path"), { name: "path", words: "nothing is written." });
  assert.deepEqual(atField(form("pull"), "wires: no", "wires[1]").name, "wires");
  assert.equal(withLabels(form("shape/segmented"), "the first shot's arrow mark (give 'stub' to count from end A)"), "the first shot's arrow mark (give “Stub height” to count from end A)");
  assert.equal(askedWords(form("wires_drop"), { current_a: "20", length: "85 ft", volts: "120", whole: "yes", wet: "no" }, facts), "Current 20 A; Length one way 85 ft; Voltage at the source 120 V; Feeder and branch together");
});

test("every field has a label in words, and every question a field", () => {
  for (const one of FORMS) {
    assert.ok(one.about && one.fields.length, one.key);
    for (const field of [...one.fields, ...one.beside]) assert.match(field.label, /^[A-Z][^_]*$/, `${one.key} ${field.name}`);
  }
});

test("a run is a part of its circuit: its length is offered in words, and fills no field", () => {
  const length = form("wires_drop").fields.find((field) => field.name === "length")!;
  assert.equal(valueOf(length, {}, facts), "");
  assert.equal(partOfIt(length, plan), "5.125 ft");
  assert.equal(partOfIt(length, null), "");
  assert.equal(partOfIt(form("wires_drop").fields[0]!, plan), "");
});

test("ampacity takes the wire of a run whose wires are of one size and kind", () => {
  const wire = form("wires_ampacity").fields.find((field) => field.name === "wire")!;
  const of = (...wires: string[]) => valueOf(wire, {}, factsOf({ ...survey, run: { ...survey.run, wires } }, null));
  assert.equal(of("3 x 8 THHN"), "8 THHN");
  assert.equal(of("2 x 1/0 XHHW, 1 x 1/0 XHHW"), "1/0 XHHW");
  for (const others of [["3 x 8 THHN", "1 x 10 THHN"], ["3 x 8 THHN, 1 x 10 bare"], ["1 x 10 bare"], ["cable 0.46 in"], []]) assert.equal(of(...others), "");
});
