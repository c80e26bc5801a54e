/** Tools on phones and in the shop: each keeps what it was, as runs stay on the figures that they were put on. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { atRevision, fresh, settled, written, type Data } from "../src/app/kept/record";
import type { ToolPin } from "../src/engine/types";
import { JOB, RUN, shoe, run, sync, add, edit, two } from "./records-here";
import { Device, Shop } from "./shop";

test("a tool keeps what it was, as runs stay on the revision that they were put on", async () => {
  const [one, other, shop] = await two();
  const tool = "e".repeat(32);
  const figures = (take_up: string): Data => ({ id: tool, name: "blue half", profile: shoe(take_up) });
  one.write(tool, fresh("tool", tool, "", figures("5"), one.nextMade()));
  assert.deepEqual(atRevision(one.get(tool), 0), figures("5"), "before it is in the shop");
  await sync(one, shop);
  await sync(other, shop);
  for (const take_up of ["5 1/8", "5 1/4"]) {
    edit(one, tool, figures(take_up));
    await sync(one, shop);
  }
  const all = (device: Device): (Data | null)[] => [1, 2, 3, 4].map((revision) => atRevision(device.get(tool), revision));
  assert.deepEqual(all(one), [figures("5"), figures("5 1/8"), figures("5 1/4"), null]);
  await sync(other, shop); // two revisions at once
  const late = new Device("late"); // the first that it hears is the third
  await sync(late, shop);
  edit(other, tool, null);
  await sync(other, shop);
  for (const device of [one, late]) await sync(device, shop);
  const last = new Device("last"); // it hears of a tool that is no more, and runs are on it all the same
  await sync(last, shop);
  for (const device of [one, other, late, last]) {
    assert.deepEqual(all(device), all(one), device.name);
    assert.deepEqual([device.says(tool), device.get(tool)!.open], [null, false], device.name);
  }
  edit(late, tool, figures("5 3/8")); // measured there, and kept after all
  edit(one, tool, figures("5 1/2"));
  await sync(late, shop);
  await sync(one, shop);
  assert.deepEqual([one.get(tool)!.clash, atRevision(one.get(tool), 5)], [true, figures("5 3/8")], "what stands there is told as well");
});

test("a run on figures that were entered here goes out after its tool, and names its revision", async (context) => {
  context.mock.timers.enable({ apis: ["Date"], now: 1_000_000 });
  const [one, other, shop] = await two();
  shop.knows.push("tool");
  shop.jobs.add(shop.id);
  const tool = "e".repeat(32);
  const figures = (take_up: string): Data => ({ id: tool, name: "own half", profile: shoe(take_up) });
  const on = (revision: number): Data => ({ ...run(RUN, "56 1/4"), tool: { id: tool, revision } });
  for (const [revision, take_up] of [[1, "5"], [2, "5 1/8"]] as const) {
    const rec = one.get(tool);
    one.write(tool, rec ? written(rec, figures(take_up)) : fresh("tool", tool, "", figures(take_up), one.nextMade()));
    edit(one, RUN, on(0));
    assert.deepEqual(atRevision(one.get(tool), 0), figures(take_up));
    shop.full = true; // no room today: neither goes in
    await sync(one, shop);
    assert.deepEqual([one.says(RUN), one.get(RUN)!.open], [on(0), true]);
    shop.full = false;
    context.mock.timers.tick(3_600_000);
    await sync(one, shop);
    await sync(other, shop);
    for (const device of [one, other]) assert.deepEqual([device.says(RUN), atRevision(device.get(tool), revision), device.get(RUN)!.open], [on(revision), figures(take_up), false]);
    assert.deepEqual(shop.now(RUN), on(revision));
  }
  assert.deepEqual(shop.refused, []);
  assert.ok(shop.rows.every((row) => (row.data as { tool?: { revision: number } } | null)?.tool?.revision !== 0), "no other number went out");
});

test("a run that was taken over stays on the own shoe that it was shown for; two shoes for one run are chosen between", async () => {
  const [one, other, shop] = await two();
  shop.knows.push("tool");
  shop.jobs.add(shop.id);
  const [first, second] = [new Device("first"), new Device("second")];
  for (const [device, tool] of [[first, "e".repeat(32)], [second, "f".repeat(32)]] as const) {
    device.write(tool, fresh("tool", tool, "", { id: tool, name: device.name, profile: shoe("5") }, 1));
    device.write(JOB, { ...fresh("job", JOB, JOB, { name: "Orchard" }, 2), soft: true });
    device.write(RUN, { ...fresh("run", RUN, JOB, { ...run(RUN, "old"), tool: { id: tool, revision: 0 } }, 3), soft: true });
  }
  await sync(first, shop);
  await sync(one, shop);
  const on = { ...run(RUN, "56 1/4"), tool: { id: "e".repeat(32), revision: 1 } };
  assert.deepEqual([first.says(RUN), one.says(RUN), first.get(RUN)!.clash], [on, on, undefined]);
  await sync(second, shop);
  const now = second.get(RUN)!;
  assert.deepEqual([now.clash, now.data, now.there!.data], [true, { ...on, tool: { id: "f".repeat(32), revision: 1 } }, on]);
  second.write(RUN, settled(now, "mine"));
  await sync(second, shop);
  await sync(other, shop);
  assert.deepEqual((other.says(RUN) as { tool?: unknown }).tool, { id: "f".repeat(32), revision: 1 });
});

test("in another shop, and in a file that lost the tool, runs stay on the figures that they were put on", async () => {
  const tool = "e".repeat(32);
  const figures = (inches: number): Data => ({ id: tool, name: "own", profile: shoe(`${inches} in`) });
  const other = new Shop("6".repeat(32));
  const stranger = "9".repeat(32);
  other.offer(other.id, [{ kind: "tool", id: stranger, base: 0, base_digest: "", data: { id: stranger, name: "theirs", profile: shoe("5") }, format: 1 }], "desk");
  for (const to of ["other", "brought back"]) {
    const [one, , shop] = await two();
    const changes = shop.rows.at(-1)!.change;
    one.write(tool, fresh("tool", tool, "", figures(5), one.nextMade()));
    const runs = ["1", "2", "3"].map((n) => n.repeat(32));
    for (const [at, id] of runs.entries()) {
      if (at) edit(one, tool, figures(5 + at));
      add(one, id, "12");
      edit(one, id, { ...run(id, "12"), tool: { id: tool, revision: 0 } });
      await sync(one, shop);
    }
    const pins = (): ToolPin[] => runs.map((id) => (one.says(id) as { tool: ToolPin }).tool);
    assert.deepEqual(pins(), [1, 2, 3].map((revision) => ({ id: tool, revision })));
    const now = to === "other" ? other : shop;
    if (now === shop) shop.broughtBack(changes);
    await sync(one, now);
    const stands = pins().map(({ id, revision }) => now.rows.find((row) => row.id === id && row.revision === revision)?.data as { profile: unknown });
    assert.deepEqual(stands.map(({ profile }) => profile), [5, 6, 7].map((inches) => shoe(`${inches} in`)), to);
    assert.deepEqual(runs.map((id) => (now.now(id) as { tool: ToolPin }).tool), pins());
  }
});

test("a file brought back to before a tool's revision: a run on it stays on its figures, whatever the number comes to mean", async () => {
  for (const since of [7, 6]) {
    const tool = "e".repeat(32);
    const figures = (inches: number): Data => ({ id: tool, name: "own", profile: shoe(`${inches} in`) });
    const [one, other, shop] = await two();
    one.write(tool, fresh("tool", tool, "", figures(5), one.nextMade()));
    await sync(one, shop);
    const changes = shop.rows.at(-1)!.change;
    edit(one, tool, figures(6));
    await sync(one, shop);
    const [first, second] = ["1".repeat(32), "2".repeat(32)];
    for (const [id, revision] of [[first, 1], [second, 2]] as const) {
      add(one, id, "12");
      edit(one, id, { ...run(id, "12"), tool: { id: tool, revision } });
    }
    await sync(one, shop);
    shop.broughtBack(changes);
    await sync(other, shop);
    edit(other, tool, figures(since)); // other figures, or the same under another number
    await sync(other, shop);
    await sync(one, shop);
    await sync(one, shop);
    const pin = (id: string): ToolPin => (shop.now(id) as { tool: ToolPin }).tool;
    const on = (id: string): unknown => (shop.rows.find((row) => row.id === pin(id).id && row.revision === pin(id).revision)!.data as { profile: unknown }).profile;
    assert.deepEqual(pin(first), { id: tool, revision: 1 });
    assert.deepEqual([on(first), on(second)], [shoe("5 in"), shoe("6 in")]);
    assert.equal(pin(second).id === tool, since === 6, "as a tool by itself only where its figures do not stand there");
  }
});
