// Runs alike on a phone: how many, how far each is, which one is at the bench; the command says the same.
import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { afterAWhile, newPage, onTo, openPlace, PHONE, racewright, ROOT, serverAndBrowser } from "./support.mjs";

const at = serverAndBrowser();

test("one copy after the other is bent at the bench, and each is told by itself", async () => {
  const server = await at.anew();
  const shop = join(server.home, "jobs.rwshop");
  const job = (...words) => racewright("job", ...words, "--shop", shop);
  job("new", "rooms", "--name", "Pump house rooms");
  job("add", join(ROOT, "examples", "pump-house-saddle.yaml"), "--key", "RM", "--times", "20");
  job("plan");
  job("set", "bent", "RM", "--copy", "1-14");

  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(`${server.url}#/job`);
  const row = page.locator(".run-list .run-facts");
  await row.getByText("14 of 20 bent, 6 planned").waitFor();
  await row.getByText("20 alike").waitFor();
  await openPlace(page, "Bend");
  await page.locator(".step-count").getByText("copy 15 of 20").waitFor();
  await onTo(page, "text=Done, all");
  await afterAWhile(page);
  await page.getByRole("button", { name: "Done, all" }).tap();
  await page.getByRole("button", { name: "Go on with copy 16 of 20" }).tap();
  await page.locator(".step-count").getByText("Step 1 of").waitFor();
  await page.locator(".step-count").getByText("copy 16 of 20").waitFor();
  assert.equal(await page.locator(".progress .done").count(), 0);
  await openPlace(page, "Job");
  await row.getByText("1 of 20 in place, 14 bent, 5 planned").waitFor();
  await row.getByText("in the shop", { exact: true }).waitFor();
  assert.match(job("status"), /RM x 20 {2}1 of 20 in place, 14 bent, 5 planned/);
  assert.match(job("log", "RM"), /RM#15 made: mark 1 bent/);
  // what is cut and ordered: all of them, and the five that are left
  await page.getByRole("button", { name: "Cut list", exact: true }).tap();
  await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
  await page.getByText("5 pieces").or(page.getByRole("cell", { name: /#20$/ })).first().waitFor();
  assert.equal(await page.getByRole("cell", { name: /#\d+$/ }).count(), 5);
  assert.deepEqual(page.faults, []);
});
