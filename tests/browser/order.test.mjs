// What all runs together need, from the job screen: bill and cut list, by either engine.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { enterSaddle, newPage, openBrowser, PHONE, serve } from "./support.mjs";

let server, browser;

before(async () => {
  server = await serve();
  browser = await openBrowser();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

for (const engine of ["server", "browser"]) {
  test(`bill and cut list by the ${engine}`, async () => {
    const context = await browser.newContext(PHONE);
    try {
      const page = await newPage(context);
      await page.goto(engine === "server" ? server.url : `${server.url}?engine=browser`);
      await enterSaddle(page);
      await page.getByText("Marks are ready").first().waitFor();
      await page.evaluate(() => {
        location.hash = "#/job";
      });
      await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
      await page.getByText("no plan can do with fewer").first().waitFor();
      const text = (await page.locator("main").innerText()).replace(/\s+/g, " ");
      for (const said of ["EMT 1/2, 10 ft", "set-screw connector", "58 7/8"]) assert.ok(text.includes(said), said);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `the page scrolls sideways by ${wide}`);
      if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE, fullPage: true });
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
    }
  });
}
