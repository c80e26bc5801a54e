// The shoe that is drawn is nobody's: a notch for the center mark, and grey.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, onTo, openPlace, PHONE, serverAndBrowser, settled } from "./support.mjs";

const at = serverAndBrowser();

test("the center mark is a notch in the rim, and the shoe is grey: no shape or color of one maker", async () => {
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(at.server.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await openPlace(page, "Bend");
    for (const scheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme: scheme });
      await onTo(page, "text=/^Center mark on mark/");
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
  }
});
