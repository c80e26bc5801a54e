// Two builds of the page on plain hosts, in turn: how long until the engine is ready, at the first visit and the next.
// node bench_page_against.mjs ROUNDS OLD NEW: folders as `racewright site` writes them. Prints one line of JSON.
import { hostStatic, KEEPING, newPage, openBrowser, waitUntilKept } from "../tests/browser/support.mjs";

const [rounds, ...folders] = process.argv.slice(2);
const median = (list) => list.slice().sort((a, b) => a - b)[Math.floor(list.length / 2)];
const hosts = await Promise.all(folders.map(hostStatic));
const browser = await openBrowser();
const times = { "first visit": [[], []], "next visit": [[], []] };

/** In the page: when its worker said that the engine is ready. */
function watchWorkers() {
  const Plain = Worker;
  window.Worker = class extends Plain {
    constructor(...given) {
      super(...given);
      this.addEventListener("message", ({ data }) => data.ready && (window.engineReady ??= performance.now()));
    }
  };
}

async function ready(page, url) {
  await page.goto(url, { waitUntil: "commit" });
  await page.waitForFunction(() => window.engineReady, null, { timeout: 120_000 });
  return page.evaluate(() => window.engineReady);
}

for (let round = 0; round < Number(rounds); round += 1) {
  for (const [index, host] of hosts.entries()) {
    const context = await browser.newContext(KEEPING);
    const page = await newPage(context);
    await page.addInitScript(watchWorkers);
    times["first visit"][index].push(await ready(page, host.url));
    await waitUntilKept(page);
    await page.waitForTimeout(2000); // what else is kept after a first visit is written
    times["next visit"][index].push(await ready(page, `${host.url}?again`));
    await context.close();
  }
}
await browser.close();
await Promise.all(hosts.map((host) => host.stop()));
const row = ([old, now]) => ({ old_ms: Math.round(median(old)), new_ms: Math.round(median(now)), ratio: median(now) / median(old) });
console.log(JSON.stringify(Object.fromEntries(Object.entries(times).map(([name, both]) => [name, row(both)]))));
