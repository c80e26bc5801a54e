/** The desk's list: what is looked for, sorted and counted; who touched a run last. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Facts } from "../src/app/parts/facts";
import { ALL, NO_AREA, found, rowOf, sorted, totals, type Row } from "../src/app/desk/rows";
import { NEVER, type Rec } from "../src/app/kept/record";
import { NO_BENCH, runOf } from "../src/app/kept/view";

const hex = (n: number): string => n.toString(16).padStart(32, "0");
let made = 0;

function kept(kind: string, id: string, data: Record<string, unknown>, by: string, at: string): Rec {
  made += 1;
  return { id, kind, job: hex(1), data, agreed: { ...NEVER, revision: 1, digest: "d", data, by, at }, open: false, order: made, made, mine: false, stamp: made };
}

interface Made {
  key: string;
  area?: string;
  name?: string;
  times?: number;
  by?: string;
  at?: string;
  entries?: { copy?: number; status?: string; note?: string; by?: string; at?: string }[];
}

function row({ key, area = "", name = `to ${key}`, times = 1, by = "Ana", at = "2026-05-02T08:00:00Z", entries = [] }: Made): Row {
  const id = hex(made + 100);
  const rec = kept("run", id, { id, key, area, times, survey: { run: { name, raceway: "EMT 1/2", walk: [] } } }, by, at);
  const seen = entries.map((one) =>
    kept("entry", hex(made + 5000), { run: id, copy: one.copy, by: one.by, at: one.at, what: one.status ? { kind: "status", status: one.status } : { kind: "note", note: one.note } }, "office", "2026-05-02T09:00:00Z"),
  );
  return rowOf(runOf(rec, seen, NO_BENCH), rec, "Desk");
}

const none = (): undefined => undefined;
const keys = (rows: readonly Row[]): string[] => rows.map((one) => one.key);

test("a run is found by its key, name, area and raceway, every word of what is written", () => {
  const rows = [row({ key: "PH-1", area: "Pump house" }), row({ key: "PH-2", area: "Pump house", name: "tank to lamp" }), row({ key: "WS-1", area: "Workshop" })];
  const of = (words: string): string[] => keys(found(rows, { ...ALL, words }, none));
  assert.deepEqual(of("pump"), ["PH-1", "PH-2"]);
  assert.deepEqual(of("LAMP pump"), ["PH-2"]);
  assert.deepEqual(of("ws-1"), ["WS-1"]);
  assert.deepEqual(of("emt 1/2"), ["PH-1", "PH-2", "WS-1"]);
  assert.deepEqual(of("elsewhere"), []);
  assert.deepEqual(keys(found(rows, { ...ALL, area: "Workshop" }, none)), ["WS-1"]);
});

test("by status a run is found where any of its copies has it; the totals count each copy", () => {
  const rows = [
    row({ key: "A", area: "Shed", times: 20, entries: [1, 2, 3].map((copy) => ({ copy, status: "bent" })) }),
    row({ key: "B", area: "House", entries: [{ status: "bent" }, { status: "wired" }] }),
    row({ key: "C" }),
  ];
  assert.deepEqual(keys(found(rows, { ...ALL, status: "bent" }, none)), ["A"]);
  assert.deepEqual(keys(found(rows, { ...ALL, status: "measured" }, none)), ["A", "C"]);
  const sums = totals(rows, ["House", "Nowhere", "Shed"]);
  assert.deepEqual(sums.map((sum) => [sum.area, sum.all]), [["House", 1], ["Shed", 20], [NO_AREA, 1], ["", 22]]);
  assert.deepEqual(sums.at(-1)!.status, { measured: 18, planned: 0, bent: 3, in: 0, wired: 1 });
});

test("who touched it last is who says so in the newest entry, else who saved it; what is not in the shop is this desk's", () => {
  const noted = row({ key: "A", entries: [{ note: "later", by: "Kim", at: "2026-05-03T07:00:00Z" }, { note: "sooner", by: "Bo", at: "2026-05-01T07:00:00Z" }] });
  assert.deepEqual([noted.by, new Date(noted.at).toISOString()], ["Kim", "2026-05-03T07:00:00.000Z"]);
  assert.deepEqual(noted.people.slice().sort(), ["Ana", "Bo", "Kim"]);
  assert.deepEqual(keys(found([noted, row({ key: "B" })], { ...ALL, person: "Bo" }, none)), ["A"]);
  const brought = row({ key: "C", entries: [{ note: "who?" }] });
  assert.equal(brought.by, "office");
  const data = { key: "D", survey: { run: { name: "", raceway: "", walk: [] } } };
  const mine: Rec = { ...kept("run", hex(9), data, "", ""), open: true };
  assert.equal(rowOf(runOf(mine, [], NO_BENCH), mine, "Desk").by, "Desk");
});

test("sorted as a person counts, equal ones in their order, and back to front", () => {
  const rows = ["A-10", "A-9", "b-1", "A-9"].map((key) => row({ key }));
  const by = (down: boolean): Row[] => sorted(rows, { by: "key", down }, none);
  assert.deepEqual(by(false).map((one) => rows.indexOf(one)), [1, 3, 0, 2]);
  assert.deepEqual(by(true).map((one) => rows.indexOf(one)), [2, 0, 1, 3]);
});

test("by what was found: the worst first, what is not worked out yet last, and not among those of a finding", () => {
  const rows = ["A", "B", "C", "D"].map((key) => row({ key }));
  const facts: Record<string, Facts> = {
    B: { worst: "none", open: 0, pieces: 0, words: "", against: [{ rule: "run.superseded", words: "made with another plan" }] },
    C: { worst: "problem", open: 0, pieces: 0, words: "no room", against: [] },
    D: { worst: "open", open: 3, pieces: 0, words: "", against: [{ rule: "job.far_off", words: "mark 1 is recorded at 4°" }] },
  };
  const known = (run: Row["run"]): Facts | undefined => facts[rows.find((one) => one.run === run)!.key];
  assert.deepEqual(keys(sorted(rows, { by: "found", down: false }, known)), ["C", "D", "B", "A"]);
  assert.deepEqual(keys(sorted(rows, { by: "open", down: true }, known)), ["D", "B", "C", "A"]);
  assert.deepEqual(keys(sorted(rows, { by: "watch", down: false }, known)), ["B", "D", "A", "C"]);
  assert.deepEqual(keys(found(rows, { ...ALL, found: "problem" }, known)), ["C"]);
  assert.deepEqual(keys(found(rows, { ...ALL, found: "run.superseded" }, known)), ["B"]);
  assert.deepEqual(keys(found(rows, { ...ALL, found: "job.far_off" }, known)), ["D"]);
});
