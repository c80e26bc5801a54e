// The demonstration saddle entered by thumb on a phone: the same marks as the command line's card, by either engine.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, PHONE, racewright, serverAndBrowser, settled, shows } from "./support.mjs";

const at = serverAndBrowser();

for (const engine of ["server", "browser"]) {
  test(`by the ${engine}`, async () => {
    const plan = JSON.parse(racewright("plan", "examples/pump-house-saddle.yaml", "--json"));
    const { url } = await at.anew();
    const context = await at.browser.newContext(PHONE);
    const page = await newPage(context);
    try {
      await page.goto(engine === "server" ? url : `${url}?engine=browser`);
      await enterSaddle(page);
      await page.getByText("Marks are ready").first().waitFor();
      await page.getByRole("link", { name: "See the run" }).first().tap();
      await page.getByText("Bend it, step by step").waitFor();
      await settled(page); // the marks of the last reading: those before it stand there grayed until then
      const text = (await page.locator("main").innerText()).replace(/\s+/g, " ");
      const heard = await page.locator("main").ariaSnapshot();
      const said = `${text} ${heard}`;
      for (const bend of plan.pieces[0].bends) {
        assert.ok(shows(said, bend.mark_tape), `${bend.mark_tape} is not on the page: ${said.slice(0, 3000)}`);
      }
      assert.ok(shows(said, plan.pieces[0].cut_length_tape), plan.pieces[0].cut_length_tape);
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
    }
  });
}
