// Measures the page in a real browser; run by bench_page.py. Prints one line of JSON.
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { exampleSurvey, hostStatic, KEEPING, newPage, openBrowser, racewright, serve, waitUntilKept } from "../tests/browser/support.mjs";

const ROUNDS = Number(process.argv[2] ?? 3);
const median = (list) => list.slice().sort((a, b) => a - b)[Math.floor(list.length / 2)];
const out = {};
const add = (name, value) => (out[name] ??= []).push(value);

const folder = mkdtempSync(join(tmpdir(), "site-"));
racewright("site", folder);
const host = await hostStatic(folder);
const server = await serve();
const browser = await openBrowser();
const survey = exampleSurvey("pump-house-saddle");

async function open(page, url, name) {
  await page.goto(url, { waitUntil: "commit" });
  await page.getByRole("button", { name: /Start a run|Another run/ }).first().waitFor();
  add(`${name}: page takes input`, await page.evaluate(() => performance.now()));
  add(`${name}: first paint`, await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? -1));
  await page.getByText(/^Ready/).first().waitFor({ timeout: 120_000, state: "attached" });
  add(`${name}: engine ready`, await page.evaluate(() => performance.now()));
}

async function plans(page, name, inBrowser, pictures) {
  const times = await page.evaluate(
    async ([survey, inBrowser, pictures]) => {
      const request = { survey, pictures };
      let ask = async () => (await fetch("ask/plan", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(request) })).json();
      if (inBrowser) {
        const list = await (await fetch("sw.js")).text();
        window.bench ??= await new Promise((ready) => {
          const worker = new Worker(/"(assets\/worker-[^"]+\.js)"/.exec(list)[1], { type: "module" });
          worker.onmessage = (event) => event.data.ready && ready(worker);
          worker.postMessage({ base: new URL("engine/", document.baseURI).href });
        });
        ask = () =>
          new Promise((answer) => {
            window.bench.onmessage = (event) => answer(JSON.parse(event.data.answer));
            window.bench.postMessage({ id: 1, operation: "plan", request: JSON.stringify(request) });
          });
      }
      const times = [];
      for (let k = 0; k < 12; k += 1) {
        const start = performance.now();
        await ask();
        times.push(performance.now() - start);
      }
      return times.slice(2);
    },
    [survey, inBrowser, pictures],
  );
  for (const time of times) add(name, time);
}

for (let round = 0; round < ROUNDS; round += 1) {
  for (const [slow, rate] of [["", 1], [", CPU 4 times slower", 4]]) {
    for (const [kind, url] of [["browser engine", host.url], ["server", server.url]]) {
      const context = await browser.newContext(KEEPING);
      const page = await newPage(context);
      const cdp = await context.newCDPSession(page);
      await cdp.send("Emulation.setCPUThrottlingRate", { rate });
      await open(page, url, `${kind}, first visit${slow}`);
      if (rate === 1 && round === 0) await plans(page, `plan, ${kind}`, kind !== "server", []);
      if (rate === 1 && round === 0) await plans(page, `plan with side view, ${kind}`, kind !== "server", ["side"]);
      await waitUntilKept(page);
      await page.waitForTimeout(2000); // what else is kept after a first visit is written
      await open(page, `${url}?again`, `${kind}, next visit${slow}`);
      await context.close();
    }
  }
}
await browser.close();
await host.stop();
await server.stop();
console.log(JSON.stringify(Object.fromEntries(Object.entries(out).map(([name, list]) => [name, { median_ms: Math.round(median(list)), worst_ms: Math.round(Math.max(...list)), count: list.length }]))));
