/** What things cost, as a device that is told it has it: the job's own prices go before the shop's. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { fresh } from "../src/app/kept/record";

Object.assign(globalThis, { BroadcastChannel: undefined, document: { baseURI: "http://127.0.0.1/" } });
const { keeper, put } = await import("../src/app/kept/kept");
const { withPrices } = await import("../src/app/kept/job-file");

const [JOB, SHOP] = ["a".repeat(32), "5".repeat(32)];
/** As `list_id` of records/prices.py makes them. */
const [OF_JOB, OF_SHOP] = ["31ec2cf0a3a2af4c9bf3d206fedcc052", "5d6fc4fdfcf0d14d5b3130ef4053cb65"];
const job = { id: JOB, head: { name: "Orchard" } };

test("the shop's prices count until the job has its own", async () => {
  assert.deepEqual(withPrices(job), job);
  await keeper.put(new Map(), { number: 1, mark: "", shop: SHOP });
  const shops = fresh("prices", OF_SHOP, SHOP, { id: OF_SHOP, of: SHOP, labour_rate: "48" }, 1);
  await put(new Map([[OF_SHOP, shops]]));
  assert.deepEqual(withPrices(job).prices, { labour_rate: "48" });
  await put(new Map([[OF_JOB, fresh("prices", OF_JOB, SHOP, { id: OF_JOB, of: JOB, labour_rate: "52" }, 2)]]));
  assert.deepEqual(withPrices(job).prices, { labour_rate: "52" });
});

test("a form changes what was written into it; what others changed meanwhile stays, or is told first", async () => {
  const { changeOf } = await import("../src/app/settings/change-of");
  const { SETTINGS } = await import("../src/engine/forms");
  const [, ...fields] = SETTINGS.price;
  const stands = { item: "tape", price: "9.90", labour_h: "0.2", per: "each" };
  const of = (typed: Record<string, [text: string, over: string]>): unknown => {
    const made = changeOf("price", fields, Object.fromEntries(Object.entries(typed).map(([name, [text, over]]) => [name, { text, over }])), stands);
    return "wrong" in made ? made.wrong : made.change;
  };
  assert.deepEqual(of({ labour_h: ["0.3", "0.2"] }), { set: "price", item: "tape", labour_h: "0.3" });
  assert.deepEqual(of({ price: ["9.90", "7.40"] }), null, "it stands so already");
  assert.deepEqual(of({ price: ["7.50", "7.40"] }), { price: "Changed meanwhile: 9.90 stands now. Keep once more to have yours." });
  assert.deepEqual(of({ price: ["7.50", "9.90"] }), { set: "price", item: "tape", price: "7.50" });
  assert.deepEqual(of({ price: ["", "9.90"] }), { set: "price", item: "tape", price: "" });
  assert.deepEqual(of({ per: ["ft", "each"] }), { set: "price", ...stands, per: "ft" }, "for another unit all of it is said anew");
  const [price, per] = ["2", "ft"].map((text) => ({ text, over: "" }));
  assert.deepEqual(changeOf("price", fields, { price: price!, per: per! }, { item: "wire" }), { change: { set: "price", item: "wire", price: "2", per: "ft" } }, "with what it began");
  assert.deepEqual(of({ per: ["ft", "each"], price: ["", "9.90"] }), { set: "price", ...stands, per: "ft", price: "" });
});
