/** What the page works out for itself too is the engine's: cases that tests/unit/test_same_in_both.py holds it to as well. */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import type { Status } from "../src/engine/types";
import { inShop, keeping, runAt, runData, TOOL } from "./kept-here";
import { bendsLeft, firstOf, keptAnew, madeBends, onTwice, otherMade, statusAtBench, stepsTwice, tickedTwice } from "../src/app/bend/anew";
import { statusWords } from "../src/app/job/status-words";
import { setTimes } from "../src/app/kept/act";
import { ofCopy, pieceName } from "../src/app/kept/copies";
import { getRec } from "../src/app/kept/kept";
import { differences, saidOf } from "../src/app/kept/differ";
import type { Data, Rec } from "../src/app/kept/record";
import { ticksPlanned, type BenchStep } from "../src/app/bend/bench";
import { newerOf } from "../src/app/kept/shoe";
import { noteUnfinished } from "../src/app/kept/state";
import { shopTools } from "../src/app/kept/tools";
import { copiesBegun, isBegun, ofPlan, type KeptRun } from "../src/app/kept/view";

type OneTold = string | number | null;
type Told = (OneTold | (number | OneTold[])[])[];
interface Case {
  name: string;
  times: number;
  unfinished?: boolean;
  entries: Told[];
  statuses: Status[];
}
interface Cases {
  runs: (Case & { status: Status; words: string; begun: number[]; pieces: number[][] })[];
  bends_left: { name: string; planned: number[][]; entries: Told[]; left: number[][] }[];
  as_recorded: { name: string; entries: Told[]; bends: [number, ...(number | null)[]][] }[];
  status_at_bench: { name: string; stood: Status; planned: number[][]; entries: Told[]; status: Status }[];
  reopened: { name: string; entries: Told[]; again: boolean }[];
  before_bends: { name: string; entries: Told[]; left: (string | number)[]; other: boolean }[];
  twice: { name: string; entries: Told[]; twice: number[]; steps?: (number | string)[]; on?: number[] }[];
  steps_planned: { name: string; steps: [BenchStep["kind"], number | null][]; named: ([number, string, number] | null)[] }[];
  called_before: { name: string; digest: string; before: string; pinned: string[]; now: string[] }[];
  of_its_bends: { name: string; bends: number[]; entries: Told[]; left: number[][] }[];
  added: (Case & { to: number; then?: number; pieces?: number[][] })[];
  newer_tool: { on: number | null; now: number; newer: number | null }[];
  pieces: [string, number, number, number | null, string][];
  tools: [string, string, string][];
  differences: { name: string; kind: string; mine: Data; theirs: Data; told: [string, string, string][] }[];
}
const CASES = JSON.parse(readFileSync("../tests/unit/same_in_both.json", "utf8")) as Cases;
const RUN = "b".repeat(32);
const degOf = (rad: number | null | undefined): number | null => (rad == null ? null : Math.round((rad * 180e6) / Math.PI) / 1e6);
const MARKS = "7KM3QX";
const OF_MARKS = { marks: MARKS };
const profile = { raceway: "EMT", size: "1/2" };

/** One of a case: a status of a copy (and the marks that it pins), a bend made of a piece of a copy (and its degrees, by which marks: the plan's, or the new marks with
 * this number, how far its plane is off, where its mark stood), the bends that are made of a piece (of each its number, or this with its
 * degrees, by which marks and how far its plane is off) and those that have new marks (and their number, and what these want done before the bends), a step before
 * the bends of a piece for the marks with this number, what else was done on a piece of a copy, or any of these as somebody said it at a time, by the marks P. */
function entry([kind, ...told]: Told, i: number): Rec {
  if (kind === "said") {
    const [by, at, of] = told;
    const rec = entry(of as unknown as Told, i);
    return { ...rec, data: { ...rec.data, by, at, ...(rec.data!["pins"] === OF_MARKS ? { pins: { marks: "P" } } : {}) } };
  }
  const [first, second, third, fourth, by, roll, place] = told;
  const rad = (deg: Told[number]): number => (Number(deg) * Math.PI) / 180;
  const idOf = (number: Told[number] | undefined): string => `new marks ${String(number)}`;
  const listed = (list: Told[number] | undefined): (number | OneTold[])[] => (Array.isArray(list) ? list : []);
  const bend = (number: Told[number] | undefined, deg?: Told[number], marks?: Told[number], off?: Told[number], at?: Told[number]): object => ({
    number,
    ...(deg ? { angle_rad: rad(deg) } : {}),
    ...(off == null ? {} : { roll_off_rad: rad(off) }),
    ...(at ? { mark_mm: at } : {}),
    ...(marks ? { by_marks: marks === "plan" ? marks : idOf(marks) } : {}),
  });
  const wanted = (list: Told[number] | undefined): object => {
    const before: unknown[] = listed(list);
    return { cut_first: before.includes("cut"), trim_mm: before.includes("cut") ? 8 : 0, twisted: before.filter((one) => one !== "cut").map((number) => ({ number, by_rad: 0.1, how: "twist it" })) };
  };
  const empty = { kind, measured: [], moves: [], note: "" };
  const all: Record<string, object> = {
    status: { copy: second, pins: { marks: third ?? "" }, what: { ...empty, status: first } },
    made: { piece: second, copy: third, what: { ...empty, bends: [bend(first, fourth, by, roll, place)] } },
    anew: { piece: third, what: { ...empty, kind: "made", bends: listed(first).map((one) => (Array.isArray(one) ? bend(one[0], one[1], one[2], one[3]) : bend(one))), anew: { marks: listed(second).map((number) => ({ number, angle_rad: 0.5 })), ...wanted(by) } } },
    step: { piece: second, what: { ...empty, kind: "made", bends: [], steps: [{ ...(third == null ? { kind: first, number: 1 } : first === "cut" ? { kind: "cut", trim_mm: fourth ?? 8 } : { kind: "twist", number: first, by_rad: fourth ?? 0.1 }), by_marks: third == null ? "" : idOf(third) }] } },
  };
  return inShop("entry", { id: kind === "anew" && fourth ? idOf(fourth) : String(i).padStart(32, "0"), run: RUN, pins: OF_MARKS, ...(all[kind as string] ?? { piece: first, copy: second, what: empty }) });
}

function kept({ times, entries, unfinished }: Case) {
  keeping(inShop("run", runData(RUN, times > 1 ? { times } : {})), ...entries.map(entry));
  if (unfinished) noteUnfinished(RUN, getRec(RUN)!);
  return runAt(RUN);
}

/** Of each copy the pieces of which bends are made. */
function piecesBegun({ entries, times }: KeptRun): number[][] {
  const made = (copy: number): number[] => ofCopy(entries, copy).flatMap(({ entry: { what, piece } }) => (what.kind === "made" ? [piece ?? 1] : []));
  return Array.from({ length: times }, (_, i) => [...new Set(made(i + 1))].sort((a, b) => a - b));
}

for (const one of CASES.runs) {
  test(one.name, () => {
    const run = kept(one);
    assert.deepEqual([run.statuses, run.status], [one.statuses, one.status]);
    assert.equal(statusWords(run).toLowerCase(), one.words);
    assert.deepEqual([copiesBegun(run), isBegun(run)], [one.begun, one.begun.length > 0]);
    assert.deepEqual(piecesBegun(run), one.pieces);
  });
}

for (const one of CASES.bends_left) {
  test(`bends left: ${one.name}`, () => {
    const { entries } = kept({ ...one, times: 1, statuses: [] });
    assert.deepEqual(one.planned.map((planned, i) => bendsLeft(planned, entries, i + 1, MARKS)), one.left);
  });
}

for (const one of CASES.as_recorded) {
  test(`as recorded: ${one.name}`, () => {
    const bends = madeBends(kept({ ...one, times: 1, statuses: [] }).entries, 1, MARKS).values();
    assert.deepEqual(
      [...bends].map(({ number, angle_rad, roll_off_rad, mark_mm }) => [number, degOf(angle_rad), degOf(roll_off_rad), mark_mm ?? null]),
      one.bends.map((told) => [...told, null, null, null].slice(0, 4)),
    );
  });
}

for (const one of CASES.status_at_bench) {
  test(`how far: ${one.name}`, () => {
    const { entries } = kept({ ...one, times: 1, statuses: [] });
    assert.equal(statusAtBench(one.stood, one.planned, entries, MARKS), one.status);
  });
}

for (const one of CASES.before_bends) {
  test(`before the bends: ${one.name}`, () => {
    const { entries } = kept({ ...one, times: 1, statuses: [] });
    const left = firstOf(keptAnew(entries, 1, MARKS)!, entries, 1, MARKS).filter(({ before, done }) => before && !done);
    assert.deepEqual(left.map(({ before, number }) => (before!.kind === "cut" ? "cut" : number)), one.left);
    assert.equal(otherMade(entries, 1, MARKS).length > 0, one.other);
  });
}

for (const one of CASES.twice) {
  test(`ticked off by different marks: ${one.name}`, () => {
    const { entries } = kept({ ...one, times: 1, statuses: [] });
    assert.deepEqual(tickedTwice(entries, 1, MARKS).map(({ number }) => number), one.twice);
    assert.deepEqual(stepsTwice(entries, 1, MARKS).map(({ number, kind }) => number || kind), one.steps ?? []);
    assert.deepEqual(onTwice(entries, 1, MARKS).map(({ number }) => number), one.on ?? []);
  });
}

for (const { name, steps, named } of CASES.steps_planned) {
  test(`called in the record: ${name}`, () => {
    const ticks = ticksPlanned(steps.map(([kind, piece]) => ({ kind, piece })));
    assert.deepEqual(ticks.map((one, i) => one && [steps[i]![1], one.kind, one.number]), named);
  });
}

for (const { name, digest, before, pinned, now } of CASES.called_before) {
  test(`called before: ${name}`, () => {
    keeping(inShop("run", runData(RUN)), ...pinned.map((marks, i) => inShop("entry", { id: String(i).padStart(32, "0"), run: RUN, pins: { marks }, what: { kind: "note", note: "wet" } })));
    const { entries } = ofPlan(runAt(RUN), { digest, digest_before: before, pieces: [] });
    assert.deepEqual(entries.map(({ entry: { pins } }) => pins?.marks), now);
  });
}

for (const { name, bends, entries: told, left } of CASES.of_its_bends) {
  test(`of its bends: ${name}`, () => {
    const run = kept({ name, entries: told, times: 1, statuses: [] });
    const { entries } = ofPlan(run, { digest: MARKS, digest_before: "", pieces: bends.map((count) => ({ bends: Array.from({ length: count }) })) });
    assert.deepEqual(entries.flatMap(({ entry: { what, piece } }) => (what.kind === "made" ? [[piece ?? 1, ...what.bends.map(({ number }) => number)]] : [])), left);
  });
}

for (const one of CASES.reopened) {
  test(`bent, and new marks: ${one.name}`, () => {
    const entries: Told[] = [["status", "bent", null, "P"], ...one.entries];
    assert.deepEqual(kept({ ...one, entries, times: 1, statuses: [] }).statuses, [one.again ? "planned" : "bent"]);
  });
}

for (const one of CASES.added) {
  test(`copies added: ${one.name}`, () => {
    setTimes(kept(one), one.to);
    if (one.then) setTimes(runAt(RUN), one.then);
    assert.deepEqual(runAt(RUN).statuses, one.statuses);
    if (one.pieces) assert.deepEqual(piecesBegun(runAt(RUN)), one.pieces);
  });
}

test("a tool is newer than the revision that its run is on", () => {
  for (const { on, now, newer } of CASES.newer_tool) {
    const tool = inShop("tool", { id: TOOL, name: "blue half", profile });
    keeping({ ...tool, agreed: { ...tool.agreed, revision: now } }, inShop("run", runData(RUN, on ? { tool: { id: TOOL, revision: on } } : {})));
    assert.deepEqual(newerOf(runAt(RUN)), newer && { id: TOOL, revision: newer }, JSON.stringify([on, now]));
  }
});

test("a piece has one name", () => {
  for (const [key, piece, pieces, copy, called] of CASES.pieces) assert.equal(pieceName(key, piece, copy, pieces), called);
});

test("tools of one name are told apart", () => {
  keeping(...CASES.tools.map(([name, begins]) => inShop("tool", { id: begins.padEnd(32, "0"), name, profile })));
  assert.deepEqual(shopTools().map(({ called }) => called), CASES.tools.map(([, , called]) => called));
});

for (const { name, kind, mine, theirs, told } of CASES.differences) {
  test(`differ: ${name}`, () => {
    assert.deepEqual(differences(kind, mine, theirs).map(({ field, here, there }) => [field, here, there]), told);
    assert.equal(saidOf(kind, mine) === saidOf(kind, theirs), told.every(([field]) => field === "label"));
  });
}
