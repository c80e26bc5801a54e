/** What the page keeps, in memory: for tests of what a person does to it. Import it before the page's own modules. */
export { root } from "./no-browser";
import { reopened } from "../src/app/bend/anew";
import { allRecs, getRec, put } from "../src/app/kept/kept";
import type { Data, Rec } from "../src/app/kept/record";
import { chooseJob, load, viewOf, type KeptRun } from "../src/app/kept/state";
import { judgeReopened } from "../src/app/kept/view";

export const JOB = "a".repeat(32);
export const TOOL = "e".repeat(32);
let count = 0;
judgeReopened(reopened);
await load();

/** A record as the shop told it. */
export function inShop(kind: string, data: Data, more: Partial<Rec> = {}): Rec {
  const id = (data["id"] as string | undefined) ?? JOB;
  count += 1;
  return { id, kind, job: JOB, data, agreed: { revision: 1, digest: `d${count}`, data, by: "desk", at: "2026-05-04T10:32:00Z" }, open: false, order: count, made: count, mine: false, stamp: count, ...more };
}

export const runData = (id: string, more: Data = {}): Data => ({
  id,
  key: "R-1",
  survey: { racewright: 1, units: "in", run: { name: "Pump house", raceway: "EMT 1/2", walk: [{ leg: "56 1/4", features: [] }] } },
  ...more,
});

/** One job with these records, at hand; nothing else is kept. */
export function keeping(...records: Rec[]): void {
  const all = new Map<string, Rec | null>([...allRecs()].map((rec) => [rec.id, null]));
  for (const rec of [inShop("job", { name: "Orchard" }), ...records]) all.set(rec.id, rec);
  void put(all, { device: "phone", person: "" });
  chooseJob(JOB);
}

export const runAt = (id: string): KeptRun => viewOf(getRec(id)!);
