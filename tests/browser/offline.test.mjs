// After one visit everything works with the network and the server gone, the engine included.
import assert from "node:assert/strict";
import { cpSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { enterSaddle, hostStatic, KEEPING, newPage, openBrowser, openPlace, racewright, serve, waitUntilKept } from "./support.mjs";

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

/** A port for a server that goes and comes back: none of those that a connection or another server is given meanwhile. */
async function freePort() {
  for (;;) {
    const port = 20_000 + Math.floor(Math.random() * 10_000);
    const there = createServer();
    const isFree = await new Promise((done) => there.once("error", () => done(false)).listen(port, "127.0.0.1", () => done(true)));
    await new Promise((done) => there.close(done));
    if (isFree) return String(port);
  }
}

async function marksReady(page) {
  await page.getByText("Marks are ready").first().waitFor();
}

for (const kind of ["racewright serve", "a plain web host"]) {
  test(`visited once on ${kind}`, async () => {
    const host = kind === "racewright serve" ? await serve() : await hostStatic(folder);
    const context = await browser.newContext(KEEPING);
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
      await page.goto(`${host.url}?again#/practice`);
      for (const [place, part] of Object.entries({ practice: ".practice", see: ".cut-card", bend: ".bench", check: ".check", figure: ".figure", tools: ".tools" })) {
        await page.goto(`${host.url}?again#/${place}`);
        await page.locator(`main ${part}`).first().waitFor();
        assert.equal(await page.locator("main > p.quiet").count(), 0, `${place} is there offline`);
      }
      await page.goto(`${host.url}?again#/measure`);
      await marksReady(page);
      const texts = await page.evaluate(async () => (await fetch("notices.txt")).text());
      assert.match(texts, /Mozilla Public License Version 2\.0/, "the licenses can be read offline");
      assert.match(await page.locator("body").innerText(), /56\s*1/, "the run is still there");
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
      await host.stop();
    }
  });
}

test("the server dies while the page is open: the next question is answered in the browser; it comes back: it makes its files again", async () => {
  const shop = mkdtempSync(join(tmpdir(), "shop-"));
  const serveShop = (...more) => serve("--shop", join(shop, "jobs.rwshop"), ...more);
  const port = await freePort();
  let host = await serveShop("--port", port);
  const context = await browser.newContext(KEEPING);
  try {
    const page = await newPage(context);
    const pad = page.locator("#keypad-typed");
    const xlsx = page.getByRole("button", { name: "Bill as XLSX", exact: true });
    const away = page.getByText("is not reached now");
    const openFiles = async () => {
      await openPlace(page, "Job");
      await page.getByText("Lists, pack and models of this job").tap();
    };
    await page.goto(host.url);
    await page.getByRole("button", { name: "Start a run" }).waitFor();
    await waitUntilKept(page);
    await host.stop();
    await enterSaddle(page);
    await marksReady(page);
    await page.reload(); // opened while there is no server
    await page.getByText("Ready, on this device").waitFor();
    await openFiles();
    await away.waitFor();
    assert.ok(await xlsx.isDisabled());
    await openPlace(page, "Measure");
    await page.getByRole("button", { name: /^Length/ }).tap();
    await pad.fill("57 1/");
    host = await serveShop("--port", port);
    await page.getByText("Ready, by server").waitFor();
    assert.equal(await pad.inputValue(), "57 1/", "what is being entered stays");
    await pad.fill("57 1/2");
    await page.getByText("Marks are ready").first().waitFor();
    await openFiles();
    await away.waitFor({ state: "detached" });
    const [download] = await Promise.all([page.waitForEvent("download"), xlsx.tap()]);
    assert.match(download.suggestedFilename(), /-bill\.xlsx$/);
    await host.stop();
    await away.waitFor(); // with nothing asked
    assert.ok(await xlsx.isDisabled());
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
    await host.stop();
    rmSync(shop, { recursive: true, force: true });
  }
});

test("the page takes input before the engine is ready", async () => {
  const host = await hostStatic(folder);
  const context = await browser.newContext(KEEPING);
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
    const sketch = page.getByRole("img", { name: /^Sketch of/ }).first();
    assert.equal(await sketch.textContent(), "AB", "a plain line from end to end until then");
    assert.match(await page.getByRole("button", { name: /^To its middle/ }).textContent(), /26/);
    await page.getByText(/Getting ready \d+ %, \d+ s/).waitFor();
    letGo();
    await marksReady(page);
    assert.match(await sketch.textContent(), /26 1\/8.*suction pipe/, "and then the run as it was entered meanwhile");
  } finally {
    await context.close();
    await host.stop();
  }
});

/** A site of its own with a newer version to come: `release()` puts it on the host. */
async function siteWithUpdate() {
  const place = mkdtempSync(join(tmpdir(), "site-"));
  cpSync(folder, place, { recursive: true });
  const host = await hostStatic(place);
  const release = () => {
    const at = (name) => join(place, name);
    const [style, room] = [/^index-.*\.css$/, /^room3d-/].map((like) => readdirSync(at("assets")).find((name) => like.test(name)));
    renameSync(at(`assets/${style}`), at("assets/index-newer.css"));
    renameSync(at(`assets/${room}`), at("assets/room3d-newer.js"));
    const html = readFileSync(at("index.html"), "utf-8").replace(style, "index-newer.css");
    writeFileSync(at("index.html"), html.replace('<div id="app"', '<div data-newer id="app"'));
    const worker = readFileSync(at("sw.js"), "utf-8")
      .replace(/"index\.html": "[0-9a-f]+"/, '"index.html": "0123456789abcdef"')
      .replace(`"assets/${style}"`, '"assets/index-newer.css"')
      .replace(`"assets/${room}"`, '"assets/room3d-newer.js"');
    writeFileSync(at("sw.js"), worker);
    return `assets/${room}`;
  };
  return { url: host.url, release, stop: async () => (await host.stop(), rmSync(place, { recursive: true, force: true })) };
}

/** The page opened from the files that are kept, by now through with its own opening. */
async function openKept(page, url) {
  await page.goto(url);
  await waitUntilKept(page);
  const ready = page.locator(".engine.ready"); // nothing is on its way any more: Chromium waits for the last file
  await ready.waitFor();
  await page.reload();
  await ready.waitFor();
  await page.evaluate(() => navigator.serviceWorker.register("sw.js", { updateViaCache: "none" })); // after the page's own
}

/** Settles when the newer version is kept beside the one in force, and waits for a page to open. */
function waitUntilNewerWaits(page) {
  return page.evaluate(async () => {
    const registration = await navigator.serviceWorker.ready;
    await registration.update();
    const coming = registration.waiting ?? registration.installing;
    while (coming.state !== "installed") await new Promise((next) => coming.addEventListener("statechange", next, { once: true }));
  });
}

const newer = () => document.querySelector("[data-newer]") !== null;

/** Settles when the newer version is on the screen. A browser that is watched, as this one is, may leave the worker of
 * before running for minutes after its last answer; one that nobody watches stops it when it is idle, as is done here. */
async function waitForNewer(page) {
  const watch = await page.context().newCDPSession(page);
  await watch.send("ServiceWorker.enable");
  for (let tries = 0; tries < 60; tries += 1) {
    const seen = await page.waitForFunction(newer, null, { timeout: 3_000 }).catch(() => null);
    if (seen) return;
    await watch.send("ServiceWorker.stopAllWorkers");
  }
  assert.fail("the newer version did not come");
}

test("a newer page takes over when it is opened again, never under a page in use", async () => {
  const site = await siteWithUpdate();
  const context = await browser.newContext(KEEPING);
  try {
    const page = await newPage(context);
    await openKept(page, site.url);
    site.release();
    await waitUntilNewerWaits(page);
    assert.equal(await page.evaluate(newer), false, "the page in use stays as it is");
    await page.goto(`${site.url}?again`);
    await waitForNewer(page);
    await context.setOffline(true);
    await page.reload();
    assert.equal(await page.evaluate(newer), true);
  } finally {
    await context.close();
    await site.stop();
  }
});

/** The page opened again, its wish for the newer version held back until `window.letGo()`. */
async function openAgainHeld(context, url) {
  const page = await newPage(context);
  await page.clock.install();
  await page.addInitScript(() => {
    const send = ServiceWorker.prototype.postMessage;
    ServiceWorker.prototype.postMessage = function held(...message) {
      window.letGo = () => send.apply(this, message);
    };
  });
  await page.goto(`${url}?again`);
  await page.waitForFunction(() => window.letGo);
  return page;
}

test("a newer page that is slow to take over is not missed", async () => {
  const site = await siteWithUpdate();
  const context = await browser.newContext(KEEPING);
  try {
    const first = await newPage(context);
    await openKept(first, site.url);
    site.release();
    await waitUntilNewerWaits(first);
    const page = await openAgainHeld(context, site.url);
    await page.clock.fastForward("05:00");
    await page.evaluate(() => window.letGo());
    await waitForNewer(page);
  } finally {
    await context.close();
    await site.stop();
  }
});

test("a page in use while a newer one takes over keeps the parts that it has not loaded yet", async () => {
  const site = await siteWithUpdate();
  const context = await browser.newContext(KEEPING);
  try {
    const first = await newPage(context);
    await openKept(first, site.url);
    const room = site.release();
    await waitUntilNewerWaits(first);
    const page = await openAgainHeld(context, site.url);
    await page.getByRole("button", { name: "Start a run" }).tap();
    await page.evaluate(async () => {
      const changed = new Promise((done) => navigator.serviceWorker.addEventListener("controllerchange", done));
      window.letGo();
      await changed;
    });
    assert.equal(await page.evaluate(newer), false, "a run is being entered: the page stays");
    await context.setOffline(true);
    assert.equal(await page.evaluate(async (name) => (await fetch(name)).status, room), 200, "the room can still be opened");
  } finally {
    await context.close();
    await site.stop();
  }
});
