// The person's own bender on the phone: its take-up and gain change the marks, and stay after a reload.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { enterSaddle, newPage, openBrowser, PHONE, serve, shows } from "./support.mjs";

let server, browser;

before(async () => {
  server = await serve();
  browser = await openBrowser();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

test("own take-up and gain move the marks, are kept, and can be given up", async () => {
  const context = await browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(server.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor({ timeout: 30_000 });
    await page.evaluate(() => {
      location.hash = "#/see";
    });
    const words = async () =>
      `${await page.locator("main").innerText()} ${await page.locator("main").ariaSnapshot()}`.replace(/\s+/g, " ");
    await page.getByRole("button", { name: "Enter your own bender" }).tap();
    const usual = await words();
    await page.getByLabel("Take-up").fill("9");
    await page.getByLabel("Gain of a 90").fill("5");
    await page.getByRole("button", { name: "Use these" }).tap();
    await page.getByText("your own: take-up").first().waitFor({ timeout: 30_000 });
    const own = await words();
    // 5 and 2 5/8 put the star on 19 3/4; 9 and 5 put it elsewhere
    assert.ok(shows(usual, "19 3/4"), usual.slice(0, 2000));
    assert.ok(!shows(own, "19 3/4"), own.slice(0, 2000));
    if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE });
    await page.reload();
    await page.getByText("your own: take-up").first().waitFor({ timeout: 30_000 });
    await page.getByRole("button", { name: "Change your own bender" }).tap();
    await page.getByRole("button", { name: "Use the usual ones" }).tap();
    await page.getByText("emt-1/2: take-up").first().waitFor({ timeout: 30_000 });
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
  }
});
