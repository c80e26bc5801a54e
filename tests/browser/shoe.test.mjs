// The person's own bender on the phone: its take-up and gain change the marks, and stay after a reload.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, nextStep, openPlace, PHONE, serve, serverAndBrowser, settled, shows } from "./support.mjs";

const at = serverAndBrowser();

test("own take-up and gain move the marks, are kept, and can be given up", async () => {
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(at.server.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await page.evaluate(() => {
      location.hash = "#/see";
    });
    const words = async () =>
      `${await page.locator("main").innerText()} ${await page.locator("main").ariaSnapshot()}`.replace(/\s+/g, " ");
    await page.getByRole("button", { name: "Enter your own bender" }).tap();
    const usual = await words();
    await page.getByLabel("Take-up").fill("9");
    await page.getByLabel("Gain per 90").fill("5");
    await page.getByRole("button", { name: "Use these" }).tap();
    await page.getByText("your own: take-up").first().waitFor();
    const own = await words();
    // 5 and 2 5/8 put the star on 19 3/4; 9 and 5 put it elsewhere
    assert.ok(shows(usual, "19 3/4"), usual.slice(0, 2000));
    assert.ok(!shows(own, "19 3/4"), own.slice(0, 2000));
    if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE });
    await page.reload();
    await page.getByText("your own: take-up").first().waitFor();
    await page.getByRole("button", { name: "Change your own bender" }).tap();
    await page.getByRole("button", { name: "Use the usual ones" }).tap();
    await page.getByText("emt-1/2: take-up").first().waitFor();
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
  }
});

test("the center mark is a notch in the rim, and the shoe is grey: no shape or color of one maker", async () => {
  const alone = await serve(); // without the run above
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(alone.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await openPlace(page, "Bend");
    for (const scheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme: scheme });
      while (!(await page.getByText(/^Center mark on mark/).count())) await nextStep(page);
      await settled(page);
      const sign = await page.locator(".sign-box path").getAttribute("d");
      assert.match(sign, /^M[-\d. ]+H[-\d.]+L[-\d. ]+L[-\d. ]+H[-\d.]+$/, "a straight rim with a V cut into it");
      assert.equal(await page.locator(".shoe .notch").count(), 1, "the same notch on the shoe");
      for (const [part, paint] of [["body", "fill"], ["body", "stroke"], ["handle", "stroke"], ["hook", "stroke"], ["web", "stroke"]]) {
        const color = await page.locator(`.shoe .tool:not(.ghost) .${part}`).evaluate((node, by) => getComputedStyle(node)[by], paint);
        const [red, green, blue] = /rgb\((\d+), (\d+), (\d+)\)/.exec(color).slice(1);
        assert.ok(red === green && green === blue, `${part} is ${color}, ${scheme}`);
      }
    }
  } finally {
    await context.close();
    await alone.stop();
  }
});
