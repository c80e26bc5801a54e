/** A job file whose job is here: what is new comes in, what was known stays as it is here, what differs waits for a choice. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { Job } from "../src/engine/types";
import { fresh, settled, written, type Data, type Rec } from "../src/app/kept/record";

Object.assign(globalThis, { BroadcastChannel: undefined, document: { baseURI: "http://127.0.0.1/" } });
const { getRec, put } = await import("../src/app/kept/kept");
const { jobFile } = await import("../src/app/kept/job-file");
const { meet } = await import("../src/app/kept/file-meets");

const JOB = "a".repeat(32);
const SECOND = () => 99;
const id = (letter: string): string => letter.repeat(32);
const run = (letter: string, leg: string): Data => ({ id: id(letter), key: "R-1", survey: { racewright: 1, units: "in", run: { name: `run ${letter}`, raceway: "EMT 1/2", walk: [{ leg }] } } });
const entry = (letter: string, of: string): Data => ({ id: id(letter), run: id(of), what: { kind: "note", note: letter }, by: "Kim", at: "" });

const keep = (...recs: (Rec | null)[]): Promise<void> => put(new Map(recs.map((rec) => [rec!.id, rec])));
const write = (letter: string, data: Data | null): Promise<void> => put(new Map([[id(letter), written(getRec(id(letter))!, data)]]));
/** The file as the engine reads it again: what is usual is left out. */
const read = (text: string): Job => {
  const job = JSON.parse(text) as Job;
  for (const one of job.runs!) one.survey = { run: one.survey.run };
  return job;
};
const met = (job: Job) => meet(job, SECOND, () => undefined, () => (pin) => pin);
const counts = (job: Job): Record<string, unknown> => {
  const { added, entries, differ, head, older, removed } = met(job)!;
  return { added, entries, differ, head, older, removed };
};
const legs = (data: Data | null | undefined): string => (data as unknown as { survey: { run: { walk: { leg: string }[] } } }).survey.run.walk[0]!.leg;
const NOTHING = { added: 0, entries: 0, differ: 0, head: false, older: 0, removed: 0 };

await keep(fresh("job", JOB, JOB, { name: "Orchard" }, 1), fresh("run", id("b"), JOB, run("b", "40"), 2), fresh("run", id("c"), JOB, run("c", "50"), 3), fresh("entry", id("d"), JOB, entry("d", "b"), 4));
const first = read(jobFile(JOB));

test("a file of what is here says nothing new", () => assert.deepEqual(counts(first), NOTHING));

test("a job that is not here meets none", () => assert.equal(met({ ...first, id: id("9"), runs: [], entries: [] }), null));

test("the job that has its runs is the file's, under whatever id", () => assert.deepEqual(counts({ ...first, id: id("9") }), NOTHING));

test("what was changed, removed, taken back here since the file was saved stays so", async () => {
  await write("b", run("b", "41"));
  await write("c", null);
  await write("d", null);
  assert.deepEqual(counts(first), { ...NOTHING, older: 1, removed: 1 });
});

test("what the file alone has comes in, and what it says else of a run waits for a choice", async () => {
  const file: Job = {
    ...first,
    head: { name: "Orchard, east" },
    runs: [{ ...first.runs![0]!, survey: run("b", "43")["survey"] as never }, { ...first.runs![1]!, id: id("e") }],
    entries: [entry("f", "e"), entry("d", "b")] as never,
  };
  assert.deepEqual(counts(file), { ...NOTHING, added: 1, entries: 1, differ: 1, head: true });
  assert.equal(met(file)!.asOwn(), 99);
  assert.equal(met(file)!.bringIn(), 2);
  const both = getRec(id("b"))!;
  assert.deepEqual([legs(both.data), legs(both.there!.data), both.clash], ["41", "43", true]);
  assert.equal(legs(settled(both, "theirs")!.data), "43");
  assert.equal(legs(settled(both, "mine")!.data), "41");
  assert.equal(getRec(id("e"))?.job, JOB);
  assert.equal(getRec(id("f"))?.data?.["run"], id("e"));
  assert.equal(getRec(id("d")), undefined);
  assert.equal(getRec(JOB)?.there?.data?.["name"], "Orchard, east");
});

test("a run that was removed here and is another in the file waits for a choice", async () => {
  await put(new Map([[JOB, settled(getRec(JOB)!, "theirs")]]));
  met({ ...first, head: { name: "Orchard, east" }, runs: [{ ...first.runs![1]!, survey: run("c", "55")["survey"] as never }], entries: [] })!.bringIn();
  const gone = getRec(id("c"))!;
  assert.deepEqual([gone.data, gone.clash], [null, true]);
  assert.equal(settled(gone, "theirs")!.data!["key"], "R-1");
});
