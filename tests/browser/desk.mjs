// The Job screen at a desk, for its tests: the demonstration's job at a server, a wide window on it, what is read there.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before } from "node:test";
import { newPage, openBrowser, racewright, ROOT, serve } from "./support.mjs";

export const DESK = { viewport: { width: 1280, height: 800 }, serviceWorkers: "block" };
export const DEMO = join(ROOT, "examples", "orchard-job.json");

/** A server with the demonstration's job and a browser, for all tests of a file; `others` end with them. */
export function demoJob() {
  const folder = mkdtempSync(join(tmpdir(), "desk-"));
  const at = { server: null, browser: null, folder, others: [], desk: (more, url) => desk(at, more, url) };
  before(async () => {
    const shop = join(folder, "jobs.rwshop");
    racewright("job", "import", DEMO, "--shop", shop);
    at.server = await serve("--shop", shop);
    at.browser = await openBrowser();
  });
  after(async () => {
    await at.browser?.close();
    for (const one of [at.server, ...at.others]) await one?.stop();
    rmSync(folder, { recursive: true, force: true });
  });
  return at;
}

async function desk(at, more = {}, url = at.server.url) {
  const page = await newPage(await at.browser.newContext({ ...DESK, bypassCSP: true, ...more }));
  await page.goto(url);
  await page.locator(".run-grid tbody tr").first().waitFor();
  return page;
}

export const rowOf = (page, key) => page.locator(".run-grid tbody tr", { has: page.locator(".col-key", { hasText: new RegExp(`^${key}$`) }) });
export const keysShown = (page) => page.locator(".run-grid tbody .col-key").allInnerTexts();
export const atKey = (page) => page.locator(".run-grid tr.at .col-key").innerText();
export const words = async (place) => (await place.innerText()).replace(/\s+/g, " ");
export const shot = (page, name) => (process.env.PICTURES ? page.screenshot({ path: join(process.env.PICTURES, `${name}.png`) }) : null);

export async function noFaults(page) {
  await page.unrouteAll({ behavior: "ignoreErrors" }); // what still waits for the page when it closes
  assert.deepEqual(page.faults, []);
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), await page.evaluate(() => innerWidth), "no scrolling sideways");
  await page.context().close();
}
