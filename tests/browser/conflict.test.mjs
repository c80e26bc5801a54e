// Two phones on one run: a save that comes too late is refused and kept, and each phone can see both versions.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, keyIn, newPage, PHONE, serve, serverAndBrowser } from "./support.mjs";

const at = serverAndBrowser();

const save = (page, base, note, by) =>
  page.evaluate(
    async ([b, n, who]) => {
      const response = await fetch("runs/east-wall", {
        method: "PUT",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ base: b, data: { name: "East wall", note: n }, by: who }),
      });
      return [response.status, await response.json()];
    },
    [base, note, by],
  );

test("both versions are kept", async () => {
  const phones = [];
  for (let k = 0; k < 2; k += 1) {
    const page = await newPage(await at.browser.newContext(PHONE));
    await page.goto(at.server.url);
    phones.push(page);
  }
  const [one, two] = phones;
  assert.equal((await save(one, 0, "start", "one"))[0], 200);
  const [first, second] = await Promise.all([save(one, 1, "from one", "one"), save(two, 1, "from two", "two")]);
  assert.deepEqual([first[0], second[0]].sort(), [200, 409]);
  const refused = first[0] === 409 ? first[1] : second[1];
  const notes = [refused.conflict.newest.data.note, refused.conflict.yours.data.note].sort();
  assert.deepEqual(notes, ["from one", "from two"]);
  for (const page of phones) {
    const run = await page.evaluate(async () => (await fetch("runs/east-wall")).json());
    assert.deepEqual([run.data.note, run.rivals[0].data.note].sort(), ["from one", "from two"]);
  }
});

test("a save whose answer is lost on the way is no clash with oneself", async () => {
  const alone = await serve();
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(alone.url);
    let lost;
    const gone = new Promise((done) => (lost = done));
    let saves = 0;
    await page.route("**/runs/*", async (route) => {
      if (route.request().method() !== "PUT" || (saves += 1) > 1) return route.continue();
      await route.fetch(); // the server has it
      await route.abort();
      lost();
    });
    const revision = async () => (await (await fetch(`${alone.url}runs`)).json()).runs.map((run) => [run.revision, run.rivals]);
    await enterSaddle(page);
    await gone;
    assert.deepEqual(await revision(), [[1, 0]]);
    await page.reload(); // and the run is changed before the page has looked again
    await page.getByRole("button", { name: /^Length/ }).tap();
    await keyIn(page, "57");
    await page.getByRole("button", { name: "Close the keypad" }).tap();
    while ((await revision())[0][0] === 1) await new Promise((next) => setTimeout(next, 100));
    assert.equal((await revision())[0][1], 0, "no version waits to be settled");
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
    await alone.stop();
  }
});
