/** A shop file that was brought back from a backup: what it lost, and what has another history. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { assured, fresh, settled } from "../src/app/kept/record";
import type { Answered } from "../src/engine/records";
import { JOB, RUN, run, sync, add, edit, two } from "./records-here";
import { Device, Shop } from "./shop";

test("a file brought back from a backup: what it lost goes in again, what differs is shown", async () => {
  const [one, other, shop] = await two();
  const changes = shop.rows.at(-1)!.change;
  edit(one, RUN, run(RUN, "57"));
  add(one, "f".repeat(32), "20");
  await sync(one, shop);
  await sync(other, shop);
  shop.broughtBack(changes);
  await sync(one, shop);
  assert.deepEqual(shop.now("f".repeat(32)), run("f".repeat(32), "20"));
  const now = one.get(RUN)!;
  assert.deepEqual([now.clash, now.data, now.there!.data], [true, run(RUN, "57"), run(RUN, "56 1/4")]);
  one.write(RUN, settled(now, "mine"));
  await sync(one, shop);
  await sync(other, shop);
  assert.deepEqual([other.says(RUN), other.get(RUN)!.clash, other.get(RUN)!.open], [run(RUN, "57"), undefined, false]);
  assert.deepEqual([...other.kept.keys()].sort(), [...one.kept.keys()].sort());
});

/** The file is brought back to before `lost` was written on one phone, and written on from there by the other, so that its
 * revision is a higher one than the first phone knows. */
async function writtenOnFromBackup(lost: (one: Device) => void, full = false): Promise<[Device, Shop]> {
  const [one, other, shop] = await two();
  const changes = shop.rows.at(-1)!.change;
  lost(one);
  await sync(one, shop);
  shop.broughtBack(changes);
  for (const leg of ["58", "59"]) {
    edit(other, RUN, run(RUN, leg));
    await sync(other, shop);
  }
  shop.full = full;
  await sync(one, shop);
  return [one, shop];
}

test("a higher number of another history is no newer revision: both are shown", async () => {
  for (const choice of ["theirs", "mine"] as const) {
    const [one, shop] = await writtenOnFromBackup((phone) => edit(phone, RUN, run(RUN, "57")));
    const now = one.get(RUN)!;
    assert.deepEqual([shop.standing(RUN)!.revision, now.clash, now.data, now.there!.data], [4, true, run(RUN, "57"), run(RUN, "59")]);
    assert.deepEqual(shop.refused.map((kept) => kept.data), [run(RUN, "57")], "the shop has kept what its backup had lost");
    one.write(RUN, settled(now, choice));
    await sync(one, shop);
    assert.deepEqual([shop.now(RUN), one.get(RUN)!.open], [run(RUN, choice === "mine" ? "57" : "59"), false]);
  }
});

test("what the shop has no room to keep of another history is asked about again in an hour, and kept then", async (context) => {
  context.mock.timers.enable({ apis: ["Date"], now: 1_000_000 });
  const [one, shop] = await writtenOnFromBackup((phone) => edit(phone, RUN, run(RUN, "57")), true);
  const state = (): unknown[] => [one.says(RUN), one.get(RUN)!.doubt, one.get(RUN)!.refusal?.outcome, one.get(RUN)!.clash, shop.refused.length];
  assert.deepEqual(state(), [run(RUN, "57"), true, "later", undefined, 0]);
  let questions = 0;
  one.way = (step) => ((questions += step === "question" ? 1 : 0), true);
  await sync(one, shop);
  assert.equal(questions, 1, "it only asks what is new");
  shop.full = false;
  context.mock.timers.tick(3_600_000);
  await sync(one, shop);
  assert.deepEqual(state(), [run(RUN, "57"), undefined, undefined, true, 1]);
});

test("what was doubted and is in the shop's history is refused no more", () => {
  const doubted = { ...fresh("run", RUN, JOB, run(RUN, "57"), 1), doubt: true, refusal: { outcome: "later" as const, words: "no room today", at: 1 } };
  assert.equal(assured(doubted, { kind: "run", id: RUN, outcome: "saved", revision: 4, digest: "d" } as Answered)!.refusal, undefined);
});

test("a higher number of the same history is newer, whatever else the backup had lost", async () => {
  const [one, shop] = await writtenOnFromBackup((phone) => add(phone, "f".repeat(32), "20"));
  assert.deepEqual([one.says(RUN), one.get(RUN)!.clash, one.get(RUN)!.doubt, shop.refused], [run(RUN, "59"), undefined, undefined, []]);
  assert.deepEqual(shop.now("f".repeat(32)), run("f".repeat(32), "20"));
});
