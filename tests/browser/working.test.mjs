// What takes over a second says so on every screen, since when, and a question can be stopped.
import assert from "node:assert/strict";
import { test } from "node:test";
import { exampleSurvey, newPage, openPlace, PHONE, serverAndBrowser } from "./support.mjs";

const at = serverAndBrowser();

/** In the page: plans are not answered while `window.held`, by either engine. */
function holdPlans() {
  window.held = true;
  const post = Worker.prototype.postMessage;
  Worker.prototype.postMessage = function held(...message) {
    if (window.held && message[0].operation === "plan") return;
    post.apply(this, message);
  };
  const plain = fetch;
  window.fetch = (address, ...more) => (window.held && String(address).endsWith("ask/plan") ? new Promise(() => undefined) : plain(address, ...more));
}

for (const kind of ["server", "browser"])
  test(`a question to the ${kind} that takes long is told and can be stopped`, async () => {
    const { url } = await at.anew();
    const page = await newPage(await at.browser.newContext({ ...PHONE, viewport: { width: 360, height: 740 } }));
    await page.addInitScript(holdPlans);
    await page.goto(`${url}${kind === "browser" ? "?engine=browser" : ""}#/job`);
    await page.locator(".engine.ready").waitFor();
    const file = JSON.stringify({ format: "racewright job 1", runs: [{ survey: exampleSurvey("pump-house-saddle"), status: "measured" }] });
    await page.getByLabel("Job file to open").setInputFiles({ name: "job.json", mimeType: "application/json", buffer: Buffer.from(file) });
    await page.getByText(/^Working, ([2-9]|\d\d+) s$/).waitFor();
    await openPlace(page, "Measure");
    const top = page.locator(".top");
    await top.getByRole("button", { name: "Stop" }).waitFor();
    assert.ok(await top.evaluate((bar) => bar.scrollWidth <= bar.clientWidth && bar.querySelector("h1").clientWidth > 60), "the run's name still stands there");
    await top.getByRole("button", { name: "Stop" }).tap();
    await page.getByText("It was stopped.").first().waitFor();
    await page.locator(".engine.ready").waitFor();
    await page.evaluate(() => (window.held = false));
    await page.getByRole("textbox", { name: "Where it goes" }).fill("Pump house, disconnect");
    await page.getByText("Marks are ready").first().waitFor();
    assert.deepEqual(page.faults, []);
    await page.context().close();
  });
