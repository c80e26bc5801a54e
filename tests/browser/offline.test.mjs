// After one visit everything works with the network and the server gone, the engine included.
import assert from "node:assert/strict";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { enterSaddle, hostStatic, newPage, openBrowser, PHONE, racewright, serve, waitUntilKept } from "./support.mjs";

let browser, folder;

before(async () => {
  browser = await openBrowser();
  folder = mkdtempSync(join(tmpdir(), "site-"));
  racewright("site", folder);
});

after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

async function marksReady(page) {
  await page.getByText("Marks are ready").first().waitFor({ timeout: 30_000 });
}

for (const kind of ["racewright serve", "a plain web host"]) {
  test(`visited once on ${kind}`, async () => {
    const host = kind === "racewright serve" ? await serve() : await hostStatic(folder);
    const context = await browser.newContext(PHONE);
    try {
      const page = await newPage(context);
      await page.goto(host.url);
      await page.getByRole("button", { name: "Start a run" }).waitFor();
      assert.ok((await waitUntilKept(page)) > 10);
      await host.stop();
      await context.setOffline(true);
      await page.reload();
      await enterSaddle(page);
      await marksReady(page);
      await page.reload();
      await page.goto(`${host.url}#/measure`);
      await marksReady(page);
      assert.match(await page.locator("body").innerText(), /54\s*1/, "the run is still there");
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
      await host.stop();
    }
  });
}

test("the server dies while the page is open: the next question is answered in the browser", async () => {
  const host = await serve();
  const context = await browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(host.url);
    await page.getByRole("button", { name: "Start a run" }).waitFor();
    await waitUntilKept(page);
    await host.stop();
    await enterSaddle(page);
    await marksReady(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
    await host.stop();
  }
});

test("the page takes input before the engine is ready", async () => {
  const host = await hostStatic(folder);
  const context = await browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    let letGo;
    const held = new Promise((go) => (letGo = go));
    await context.route("**/engine/**", async (route) => {
      await held;
      await route.continue();
    });
    await page.goto(host.url);
    await enterSaddle(page);
    const sketch = await page.getByRole("img", { name: /^Sketch of/ }).first().textContent();
    assert.match(sketch, /23/, "the sketch draws it already");
    letGo();
    await marksReady(page);
  } finally {
    await context.close();
    await host.stop();
  }
});

test("a newer page takes over when it is opened again, never under a page in use", async () => {
  const place = mkdtempSync(join(tmpdir(), "site-"));
  cpSync(folder, place, { recursive: true });
  const host = await hostStatic(place);
  const context = await browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(host.url);
    await waitUntilKept(page);
    const html = readFileSync(join(place, "index.html"), "utf-8").replace('<div id="app"', '<div data-newer id="app"');
    writeFileSync(join(place, "index.html"), html);
    const worker = readFileSync(join(place, "sw.js"), "utf-8");
    writeFileSync(join(place, "sw.js"), worker.replace(/"index\.html": "[0-9a-f]+"/, '"index.html": "0123456789abcdef"'));
    await page.reload();
    await page.evaluate(async () => {
      const registration = await navigator.serviceWorker.ready;
      await registration.update();
      for (let k = 0; k < 100 && !registration.waiting; k += 1) await new Promise((next) => setTimeout(next, 100));
    });
    const newer = () => document.querySelector("[data-newer]") !== null;
    assert.equal(await page.evaluate(newer), false, "the page in use stays as it is");
    await page.goto(`${host.url}?again`);
    await page.waitForFunction(newer, null, { timeout: 60_000 });
    await context.setOffline(true);
    await page.reload();
    assert.equal(await page.evaluate(newer), true);
  } finally {
    await context.close();
    await host.stop();
    rmSync(place, { recursive: true, force: true });
  }
});
