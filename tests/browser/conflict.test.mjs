// Two phones on one run: a save that comes too late is refused and kept, and each phone can see both versions.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { newPage, openBrowser, PHONE, serve } from "./support.mjs";

let server, browser;

before(async () => {
  server = await serve();
  browser = await openBrowser();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

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
    const page = await newPage(await browser.newContext(PHONE));
    await page.goto(server.url);
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
