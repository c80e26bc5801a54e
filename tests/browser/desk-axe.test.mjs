// At a desk: nothing that axe finds, in light and dark, in each view.
import assert from "node:assert/strict";
import { test } from "node:test";
import { demoJob, noFaults, shot } from "./desk.mjs";
import { axeSource, settled } from "./support.mjs";

const at = demoJob();

for (const [name, more] of [["light", { colorScheme: "light" }], ["dark", { colorScheme: "dark" }]]) {
  test(`nothing that axe finds, ${name}, in each view`, async () => {
    const page = await at.desk(more);
    await page.addScriptTag({ content: axeSource() });
    const lists = page.locator(".lists");
    const list = (name) => async () => {
      await page.locator(".tabs").getByRole("button", { name: "Buy, cut, hand out" }).click();
      await lists.getByRole("button", { name, exact: true }).click();
      await lists.getByRole("button", { name: /^Work it out for \d+ runs$/ }).click();
    };
    const worked = (name) => [name, async () => {
      await list(name)();
      await lists.locator("table").first().waitFor();
    }];
    const refusal = { error: { kind: "limit", message: "The bill is too long.", hint: "take fewer runs", field: "", expected: "", example: "", quantity: "length", asked: 3, limit: 2, unit: "ft" } };
    const VIEWS = [
      ...["Runs", "What was done"].map((tab) => [tab, () => page.locator(".tabs").getByRole("button", { name: tab }).click()]),
      ...["Cut list", "Batch list", "Labels", "Kit list", "Bill"].map(worked),
      ["a list that is refused", async () => {
        await page.route("**/ask/job_bill", (route) => route.fulfill({ status: 422, json: refusal }));
        await list("Bill")();
        await lists.locator(".notice.problem").waitFor();
        await page.unroute("**/ask/job_bill");
      }],
      ["a price that is refused", async () => {
        await page.evaluate(() => (location.hash = "#/setup/prices"));
        await page.getByRole("button", { name: "Another price" }).click();
        await page.locator(".change-form").getByLabel("Item", { exact: true }).fill("tape");
        await page.locator(".change-form").getByLabel("Price", { exact: true }).fill("much");
        await page.getByRole("button", { name: "Keep" }).click();
        await page.getByText(/Cannot take 'much'/).waitFor();
      }],
    ];
    for (const [tab, go] of VIEWS) {
      await go();
      await settled(page);
      const wrong = await page.evaluate(async () => {
        const { violations } = await axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] });
        return violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).slice(0, 3).join(" | ")}`);
      });
      assert.deepEqual(wrong, [], tab);
      await shot(page, `desk-${name}-${tab.replace(/\W/g, "")}`);
    }
    page.faults = page.faults.filter((one) => !one.includes("status of 422")); // the two refusals, as Chromium tells them
    await noFaults(page);
  });
}
