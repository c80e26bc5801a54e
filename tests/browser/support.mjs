// What the browser tests share: the server, the browser, the page's two engines, walking through the page by thumb.
import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { copyFileSync, existsSync, mkdtempSync, readFileSync, renameSync, rmSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, extname, join, resolve } from "node:path";
import { after, before } from "node:test";
import { fileURLToPath } from "node:url";
import { SLOW, slowed, waitLonger } from "./slow.mjs";
import { afterAWhile, clockOfTaps } from "./taps.mjs";

export { afterAWhile, clockOfTaps, tapAtOnce, tapInARow } from "./taps.mjs";

export const ROOT = resolve(dirname(fileURLToPath(import.meta.url)), "../..");
const need = createRequire(join(ROOT, "web-ui", "package.json"));
const { chromium } = need("playwright-core");
const OWN = join(ROOT, ".venv", "bin", "python");
const PYTHON = process.env.RACEWRIGHT_PYTHON ?? (existsSync(OWN) ? OWN : "python3");
// without its windows, where that is there: the same pages for a third less work
const CHROMIUM = process.env.CHROMIUM ?? ["chromium-headless-shell", "chromium", "chromium-browser"].map((name) => `/usr/bin/${name}`).find(existsSync);
const ENV = { ...process.env, PYTHONPATH: join(ROOT, "src"), PYTHONUNBUFFERED: "1" };

/** So long is waited for what happens: on a busy machine everything takes a multiple of its time. */
const PATIENCE_MS = 120_000;

/** Looks again until it holds. */
export async function until(look, words) {
  for (const end = Date.now() + PATIENCE_MS; Date.now() < end; ) {
    if (await look()) return;
    await new Promise((next) => setTimeout(next, 100));
  }
  throw new Error(`waited in vain: ${words}`);
}

/** A phone that keeps no files of the page, as one at a server of plain http. */
export const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2, serviceWorkers: "block" };

/** A phone that keeps them, for use without the network: fetching all of them takes longer than the page itself. */
export const KEEPING = { ...PHONE, serviceWorkers: "allow" };

export function axeSource() {
  return readFileSync(need.resolve("axe-core/axe.min.js"), "utf-8");
}

/** Axe finds nothing wrong with the screen as it is, in light and dark. It reads the key of 1 over 2, named 1/2 inch, as 12. */
export async function nothingForAxe(page, name = "") {
  for (const colorScheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme });
    await settled(page);
    await page.evaluate(axeSource());
    assert.deepEqual(await page.evaluate(async () => (await globalThis.axe.run({ exclude: [".key.bit"] })).violations.map((one) => `${one.id}: ${one.nodes[0].html}`)), [], `${name}, ${colorScheme}`);
  }
  await page.emulateMedia({ colorScheme: null });
}

/** What the command line prints. */
export function racewright(...args) {
  const done = spawnSync(PYTHON, ["-m", "racewright", ...args], { cwd: ROOT, env: ENV, encoding: "utf-8" });
  if (done.status > 1) throw new Error(done.stderr);
  return done.stdout;
}

/** An example run as the data that a page sends. */
export function exampleSurvey(name) {
  const code = "import json, sys, yaml; print(json.dumps(yaml.load(open(sys.argv[1]), Loader=yaml.BaseLoader)))";
  const done = spawnSync(PYTHON, ["-c", code, join(ROOT, "examples", `${name}.yaml`)], { env: ENV, encoding: "utf-8" });
  return JSON.parse(done.stdout);
}

/** `doors`: the requests that the command and the server are asked too: operation, request, command. `each`: operation ->
 * a request that it answers. */
export function doorRequests() {
  const done = spawnSync(PYTHON, [join(ROOT, "tests/unit/door_requests.py")], { env: ENV, encoding: "utf-8" });
  return JSON.parse(done.stdout);
}

const running = new Set(); // a test that failed leaves its server running
process.on("exit", () => running.forEach((child) => child.kill("SIGKILL")));

/** `racewright serve` on a free port, a shop file in a folder of its own. */
export async function serve(...args) {
  const folder = mkdtempSync(join(tmpdir(), "runs-"));
  const child = spawn(PYTHON, ["-m", "racewright", "serve", "--port", "0", "--shop", join(folder, "jobs.rwshop"), ...args], { cwd: ROOT, env: { ...ENV, RACEWRIGHT_HOME: folder } });
  running.add(child);
  let said = "";
  const url = await new Promise((found, failed) => {
    child.stdout.on("data", (part) => {
      said += part;
      const match = /(http:\/\/127\.0\.0\.1:\d+\/) for this/.exec(said) ?? (/Ctrl-C/.test(said) && /(https?:\/\/[\d.]+:\d+\/)\n/.exec(said));
      if (match) found(match[1]);
    });
    child.on("exit", (code) => failed(new Error(`the server ended with ${code}: ${said}`)));
  });
  child.removeAllListeners("exit");
  const up = () => url.startsWith("https:") || fetch(`${url}server.json`).then((r) => r.ok, () => false);
  while (child.exitCode === null && !(await up())) await new Promise((next) => setTimeout(next, 50)); // not listening yet
  let stopped = false;
  const stop = () =>
    new Promise((done) => {
      const gone = () => {
        stopped = true;
        rmSync(folder, { recursive: true, force: true });
        done();
      };
      if (stopped) return done();
      if (child.exitCode !== null || child.signalCode !== null) return gone(); // ended by itself: what it said tells why
      child.on("exit", gone);
      child.kill("SIGKILL");
    });
  return { url, stop, said: () => said, home: folder };
}

/** The static site as `racewright site` writes it, on a plain file server without any of our code. */
export async function hostStatic(folder) {
  const types = { ".html": "text/html", ".js": "text/javascript", ".mjs": "text/javascript", ".css": "text/css",
    ".json": "application/json", ".svg": "image/svg+xml", ".wasm": "application/wasm" };
  const host = createServer((request, response) => {
    const path = new URL(request.url, "http://x").pathname.replace(/\/$/, "/index.html");
    const file = join(folder, path);
    if (!existsSync(file)) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { "content-type": types[extname(file)] ?? "application/octet-stream" }).end(readFileSync(file));
  });
  await new Promise((up) => host.listen(0, "127.0.0.1", up));
  return {
    url: `http://127.0.0.1:${host.address().port}/`,
    stop: () => new Promise((done) => (host.closeAllConnections(), host.close(done))),
  };
}

export function openBrowser(env = {}) {
  return chromium.launch({ executablePath: CHROMIUM, args: ["--no-sandbox"], env: { ...process.env, ...env } });
}

/** A server and a browser for all tests of a file: they are there once a test runs, and end after the last. `anew` gives the
 * server as a test finds it that had one of its own, in a fraction of the time that one takes to start. */
export function serverAndBrowser() {
  const at = { server: null, browser: null, anew: () => withEmptyShop(at) };
  before(async () => {
    at.server = await serve();
    at.browser = await openBrowser();
  });
  after(async () => {
    await at.browser?.close();
    await at.server?.stop();
  });
  return at;
}

/** The server once no page is open any more and nothing stands in its shop. */
async function withEmptyShop({ server, browser }) {
  for (const context of browser.contexts()) await context.close();
  const shop = join(server.home, "jobs.rwshop");
  if (!existsSync(shop)) return server;
  for (let last = 0; last < 2; last += 1) // one saves at a time: behind these, what a page sent last is saved
    await fetch(`${server.url}records`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ job: "0".repeat(32), records: [] }) });
  const code = "import sys; from racewright.store.job_store import JobStore; JobStore.open(sys.argv[1], create=True).close()";
  const empty = join(server.home, "empty.rwshop");
  if (!existsSync(empty) && spawnSync(PYTHON, ["-c", code, empty], { env: ENV }).status !== 0) throw new Error("no empty shop");
  copyFileSync(empty, `${shop}.next`);
  renameSync(`${shop}.next`, shop);
  rmSync(`${shop}.numbers`, { force: true }); // a shop that begins, and none that was put back
  return server;
}

/** A page whose console errors and faults are kept in `page.faults`. */
export async function newPage(context) {
  const page = await context.newPage();
  for (const inPage of [clockOfTaps, waitLonger]) await page.addInitScript(inPage);
  if (SLOW) await slowed(context, page);
  page.setDefaultTimeout(PATIENCE_MS);
  page.faults = [];
  page.on("pageerror", (fault) => page.faults.push(fault.message));
  page.on("console", (message) => {
    const quiet = /ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_FAILED/;
    if (message.type() === "error" && !quiet.test(message.text())) page.faults.push(message.text());
  });
  return page;
}

/** Ask the server from within the page. */
export function askServer(page, operation, request) {
  return page.evaluate(
    async ([op, body]) => {
      const response = await fetch(`ask/${op}`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify(body),
      });
      return response.json();
    },
    [operation, request],
  );
}

/** Ask the engine in the browser: the page's own worker file, started here. */
export function askBrowser(page, operation, request) {
  return page.evaluate(
    async ([op, body]) => {
      const list = await (await fetch("sw.js")).text();
      const name = /"(assets\/worker-[^"]+\.js)"/.exec(list)[1];
      window.ownWorker ??= await new Promise((ready, failed) => {
        const worker = new Worker(name, { type: "module" });
        worker.onmessage = (event) => {
          if (event.data.ready) ready(worker);
          if (event.data.broken) failed(new Error(event.data.broken));
        };
        worker.postMessage({ base: new URL("engine/", document.baseURI).href });
      });
      return new Promise((answer) => {
        window.ownWorker.onmessage = (event) => answer(JSON.parse(event.data.answer ?? JSON.stringify(event.data)));
        window.ownWorker.postMessage({ id: 1, operation: op, request: JSON.stringify(body) });
      });
    },
    [operation, request],
  );
}

/** In the page: settles when every file of it is kept on the device, with how many. */
export async function everyFileKept() {
  const { serviceWorker } = navigator;
  await serviceWorker.ready; // a worker in force has kept every file
  if (!serviceWorker.controller) await new Promise((done) => serviceWorker.addEventListener("controllerchange", done));
  const list = JSON.parse(/const FILES = (\{.*?\});/s.exec(await (await fetch("sw.js")).text())[1]);
  const kept = await (await caches.open("racewright-files")).keys();
  if (kept.length < Object.keys(list).length) throw new Error(`${kept.length} files are kept of ${Object.keys(list).length}`);
  return kept.length;
}

export const waitUntilKept = (page) => page.evaluate(everyFileKept);

/** The places of the page, in the order of its bar: a new screen is added here, and is looked at by every test of places. */
export const PLACES = ["Job", "Measure", "See", "Bend", "Check", "Practice"];

/** Go to one of the places and wait until it stands there: colors changed over, nothing half drawn. */
export async function openPlace(page, name) {
  const close = page.getByRole("button", { name: "Close the keypad" });
  if (await close.count()) await close.tap();
  await page.getByRole("navigation").getByRole("link", { name }).tap();
  await page.locator("nav [aria-current=page]", { hasText: name }).waitFor();
  await page.getByText("Opening your runs…").waitFor({ state: "detached" }); // its part of the page is on its way too
  await settled(page);
}

/** A tap on "Done, next" that counts: another step stands there. None does while the plan is worked out anew. */
export async function nextStep(page) {
  const before = await page.locator(".progress").getAttribute("aria-label");
  await afterAWhile(page);
  await page.getByRole("button", { name: "Done, next" }).tap();
  await page.waitForFunction((was) => ![was, undefined].includes(document.querySelector(".progress")?.getAttribute("aria-label")), before);
}

/** The step before the one at hand is not done, nor what this phone did after it. */
export async function takeBack(page) {
  await page.getByRole("button", { name: "Back", exact: true }).tap();
  await page.getByRole("button", { name: "This is not done" }).tap();
}

/** On from step to step until this is seen. */
export async function onTo(page, seen) {
  await page.locator(".progress").waitFor();
  while (!(await page.locator(seen).count())) await nextStep(page);
}

/** The server's answers to an operation stay away; what it gives lets them come, and settles once the page has had the first. */
export async function held(page, operation, isHeld = () => true) {
  let go;
  const free = new Promise((done) => (go = done));
  const name = `**/ask/${operation}`;
  await page.route(name, async (route) => {
    if (isHeld(route.request().postDataJSON())) await free;
    await route.continue();
  });
  const had = page.waitForResponse((response) => response.url().endsWith(`ask/${operation}`) && isHeld(response.request().postDataJSON()));
  had.catch(() => undefined); // a test that failed meanwhile closes the page
  return async () => {
    go();
    await (await had).finished();
    await page.unroute(name);
    await settled(page);
  };
}

/** Settles when nothing was asked of any server for so long. */
export async function quiet(page, forMs = 700) {
  let last = Date.now();
  const asked = () => (last = Date.now());
  page.on("request", asked);
  while (Date.now() - last < forMs) await page.waitForTimeout(50);
  page.off("request", asked);
}

/** Settles when the plan is the newest, every picture is loaded and no color is on its way to another. */
export async function settled(page) {
  await page.locator(".stale").waitFor({ state: "detached" });
  await page.evaluate(async () => {
    const frame = () => new Promise((next) => requestAnimationFrame(next));
    await frame();
    await frame();
    const pictures = [...document.images].filter((image) => !image.complete);
    await Promise.all(pictures.map((image) => image.decode().catch(() => undefined)));
    await Promise.all(document.getAnimations().map((move) => move.finished.catch(() => undefined)));
  });
}

/** What `look` sees in each of these windows, [width, height, size of the text in percent], one after the other. */
export async function inEach(page, windows, look) {
  const out = [];
  for (const [width, height, percent] of windows) {
    await page.setViewportSize({ width, height });
    await page.evaluate((size) => document.documentElement.style.setProperty("font-size", size, "important"), percent === 100 ? "" : `${0.17 * percent}px`);
    await settled(page);
    out.push([`${width} x ${height}, text at ${percent} %`, await look(page), width, height, percent]);
  }
  return out;
}

/** With text at 200 % in a window of 360 px nothing of the screen is cut off at its side; what is wider scrolls by itself, by keyboard too. */
export async function nothingCutOff(page, name = "") {
  const { width, height } = page.viewportSize();
  const cut = () =>
    page.evaluate(() => {
      const words = document.createRange();
      const ofWords = (part) => (part.nodeType === Node.TEXT_NODE ? (words.selectNode(part), words.getBoundingClientRect().right) : 0);
      const right = (one) => Math.max(one.getBoundingClientRect().right, ...[...one.childNodes].map(ofWords));
      return [...document.querySelectorAll("main *")]
        .filter((one) => !one.closest("svg, canvas, .unseen, .table-scroll[tabindex='0']"))
        .filter((one) => right(one) > innerWidth + 1)
        .map((one) => `${one.tagName} ${one.className} ${one.textContent.slice(0, 40)}`);
    });
  const [[, found]] = await inEach(page, [[360, 740, 200]], cut);
  await inEach(page, [[width, height, 100]], () => undefined);
  assert.deepEqual(found, [], name);
}

const HAND_HELD = [[360, 740], [740, 360], [390, 844], [844, 390]].flatMap((window) => [[...window, 100], [...window, 200]]);

/** At a bend, in every window that is held in a hand and with large text: what the hands need of it is in sight at once,
 * whole, with the buttons (or what stands in their place) at hand and over nothing of it. Says the tool. */
export async function fiveInSight(page) {
  const { width, height } = page.viewportSize();
  const seen = () =>
    page.evaluate(() => {
      window.scrollTo(0, 0);
      const box = (name) => (({ top, bottom, left, right }) => ({ top, bottom, left, right }))(document.querySelector(name).getBoundingClientRect());
      const parts = [".step-title", ".big-mark .tape", ".big-angle", ".rotate b", ".facts li:last-child b", ".tool-line"].map(box);
      return { parts, top: box(".top"), places: box(".places"), bar: box(".step-bar"), buttons: [...document.querySelectorAll(".step-bar button")].map((one) => one.getBoundingClientRect().height), wide: document.documentElement.scrollWidth };
    });
  const isRight = ({ parts, top, places, bar, buttons, wide }, w, h) =>
    parts.every((one) => one.top >= top.bottom && one.bottom <= Math.min(places.top, bar.top) && one.left >= 0 && one.right <= w) &&
    bar.bottom <= h && (bar.bottom <= places.top + 2 || bar.left >= places.right) &&
    buttons.length > 0 && buttons.every((high) => high >= 44) && wide <= w;
  const look = async () => {
    const { width: w, height: h } = page.viewportSize();
    let at = await seen();
    for (let frames = 0; frames < 30 && !isRight(at, w, h); frames += 1) { // what comes late is let in in the next frames
      await settled(page);
      at = await seen();
    }
    return at;
  };
  for (const [size, at, w, h] of await inEach(page, [...HAND_HELD, [width, height, 100]], look)) assert.ok(isRight(at, w, h), `${size}: ${JSON.stringify(at)}`);
  return page.locator(".tool-line").innerText();
}

/** Key a length in with the keypad that is open, by thumb: '26 1/8'. */
export async function keyIn(page, text) {
  const pad = page.getByRole("dialog", { name: /^Keypad/ });
  const [whole, part] = text.includes("/") ? (text.includes(" ") ? text.split(" ") : ["", text]) : [text, ""];
  for (const digit of whole) await pad.getByRole("button", { name: digit, exact: true }).tap();
  let sixteenths = part ? (Number(part.split("/")[0]) * 16) / Number(part.split("/")[1]) : 0;
  for (const [name, worth] of [["1/2 inch", 8], ["1/4 inch", 4], ["1/8 inch", 2], ["1/16 inch", 1]]) {
    if (sixteenths >= worth) {
      await pad.getByRole("button", { name, exact: true }).tap();
      sixteenths -= worth;
    }
  }
}

/** The demonstration: the pump house saddle, entered on the phone as it is measured (a clearance of 1/4 in is usual). */
export async function enterSaddle(page) {
  await page.getByRole("button", { name: /^(Start a run|Another run)$/ }).tap();
  const pad = (name) => page.getByRole("dialog", { name }); // it opens on the first reading of what was just added
  await pad("Keypad: Length").waitFor();
  await keyIn(page, "56 1/4");
  await pad("Keypad: Length").getByRole("button", { name: "Something on this leg" }).tap();
  await page.getByRole("button", { name: /^Go over something/ }).tap();
  await pad("Keypad: To its middle").waitFor();
  await keyIn(page, "26 1/8");
  await pad("Keypad: To its middle").getByRole("button", { name: "Next" }).tap();
  await pad("Keypad: Its top off the wall").waitFor();
  await keyIn(page, "2 7/8");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByRole("textbox", { name: "Where it goes" }).fill("Pump house, disconnect to pump 2 starter");
  await page.getByRole("region", { name: /Go over something/ }).getByRole("textbox", { name: "Called" }).fill("suction pipe");
  const called = page.getByRole("textbox", { name: "Called" });
  await called.first().fill("disconnect");
  await called.last().fill("starter");
}

/** On Check of the saddle: it rises too much, with its end right, and what puts it right stands there. */
export async function riseTooHigh(page) {
  await page.getByRole("button", { name: /^Rise measured/ }).tap();
  await keyIn(page, "3 3/8");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByRole("radio", { name: "Yes", exact: true }).dispatchEvent("click"); // end B is right
  await page.getByRole("button", { name: "What puts it right?" }).tap();
  await page.locator(".answer .care").waitFor();
}

/** On Check: new marks for the rest of a piece of which a part is made as planned. */
export async function newMarksPartWay(page) {
  await page.getByLabel("Part way").check({ force: true }); // the radio lies unseen in its label
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator("table.choices").waitFor();
}

/** On the form of a tool: its name, where one is given, and these figures by their fields, until the engine has looked at them. */
export async function fillTool(page, { name, ...figures }) {
  if (name) await page.getByRole("textbox", { name: "Name", exact: true }).fill(name);
  for (const [field, text] of Object.entries(figures)) {
    await page.locator(`[data-length="${field}"]`).click();
    await page.locator("#keypad-typed").fill(text);
  }
  await page.getByRole("button", { name: "Close the keypad" }).click();
  await page.getByRole("button", { name: "Look at these figures" }).click();
}

/** From See: a tool of one's own for the run at hand, and back. */
export async function ownTool(page, figures) {
  await page.getByRole("link", { name: "Enter your own bender" }).last().click();
  await fillTool(page, figures);
  await page.getByRole("button", { name: /^Keep it, and put / }).click();
  await page.getByRole("link", { name: "Back to" }).click();
}

/** A phone at a server of its own with the saddle's run measured and its marks worked out; `close` ends both. */
export async function phoneWithSaddle() {
  const server = await serve();
  const browser = await openBrowser();
  const close = async () => {
    await browser.close();
    await server.stop();
  };
  const page = await newPage(await browser.newContext(PHONE));
  await page.goto(server.url);
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
  return { page, close };
}

/** All words of the screen, once it has settled. */
export async function wordsOf(page) {
  await settled(page);
  return (await page.locator("main").innerText()).replace(/\s+/g, " ");
}

/** '19 3/4' may be drawn as a fraction ('19 3 4') or spoken ('19 and 3/4 inches'). */
export function shows(said, tape) {
  const [whole, part] = tape.split(" ");
  if (!part) return new RegExp(`\\b${whole}\\b`).test(said);
  const [top, bottom] = part.split("/");
  return new RegExp(`\\b${whole}\\s*(and\\s*)?${top}\\s*[/⁄]?\\s*${bottom}\\b`).test(said);
}
