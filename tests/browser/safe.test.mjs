// A page from elsewhere cannot use the server; names cannot run as script; with --lan nothing works without the code.
import assert from "node:assert/strict";
import { createServer } from "node:http";
import { join } from "node:path";
import { test } from "node:test";
import { askServer, newPage, nothingForAxe, openPlace, PHONE, racewright, serve, serverAndBrowser, until } from "./support.mjs";

const at = serverAndBrowser();

test("a page from elsewhere", async () => {
  const other = createServer((_, response) => response.writeHead(200, { "content-type": "text/html" }).end("<p>elsewhere"));
  await new Promise((up) => other.listen(0, "127.0.0.1", up));
  const context = await at.browser.newContext();
  try {
    const page = await context.newPage();
    await page.goto(`http://127.0.0.1:${other.address().port}/`);
    const seen = await page.evaluate(async (url) => {
      const tries = [
        () => fetch(`${url}ask/plan`, { method: "POST", headers: { "content-type": "application/json" }, body: "{}" }),
        () => fetch(`${url}records`),
        () => fetch(`${url}records`, { method: "POST", body: "{}" }),
      ];
      const out = [];
      for (const go of tries) out.push(await go().then(() => "let in", () => "refused"));
      const blind = await fetch(`${url}ask/plan`, { method: "POST", mode: "no-cors", body: "{}" }).then((r) => r.type, () => "refused");
      return [...out, blind];
    }, at.server.url);
    assert.deepEqual(seen.slice(0, 3), ["refused", "refused", "refused"]);
    assert.ok(["opaque", "refused"].includes(seen[3]));
    const framed = await page.evaluate(async (url) => {
      const frame = document.createElement("iframe");
      frame.src = url;
      const shown = new Promise((done) => frame.addEventListener("load", done)); // a refused page loads as an empty one
      document.body.append(frame);
      await shown;
      try {
        return frame.contentDocument === null ? "closed" : frame.contentDocument.title;
      } catch {
        return "closed";
      }
    }, at.server.url);
    assert.notEqual(framed, "Racewright");
  } finally {
    await context.close();
    other.close();
  }
});

test("script in every name stays text", async () => {
  const evil = `<img src=x onerror="window.hit=1"><script>window.hit=1</script>`;
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(at.server.url);
  const survey = {
    run: {
      name: evil, raceway: "EMT 1/2", strap: evil, start: { name: evil }, end: { name: evil },
      walk: [{ leg: "56 1/4", note: evil, features: [{ saddle: { name: evil, centre: "26 1/8", height: "2 7/8" } }] }],
    },
  };
  const answer = await askServer(page, "plan", { survey, pictures: ["side", "card", "strip"] });
  const hit = await page.evaluate(async (pictures) => {
    for (const svg of pictures) {
      const box = document.createElement("div");
      box.innerHTML = svg;
      document.body.append(box);
    }
    const loading = [...document.images].filter((image) => !image.complete);
    const over = (image) => new Promise((done) => ["load", "error"].forEach((end) => image.addEventListener(end, done)));
    await Promise.all(loading.map(over));
    return window.hit ?? 0;
  }, [...answer.card, ...answer.strip, ...answer.side.map((side) => side.svg)]);
  assert.equal(hit, 0);
  await page.reload();
  await page.getByRole("button", { name: "Start a run" }).tap();
  await page.getByRole("textbox", { name: "Where it goes" }).fill(evil);
  await page.getByRole("textbox", { name: "Called" }).first().fill(evil);
  for (const place of ["See", "Bend", "Check", "Job"]) {
    await openPlace(page, place);
  }
  assert.equal(await page.evaluate(() => window.hit ?? 0), 0);
});

test("with --lan only the code lets a phone in", async () => {
  const wide = await serve("--lan", "--http");
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(wide.url);
    await page.getByRole("button", { name: "Start a run" }).waitFor();
    const status = await page.evaluate(async () => (await fetch("records")).status);
    assert.equal(status, 401);
    const code = /Pairing code: ([A-Z0-9]{4}-[A-Z0-9]{4})/.exec(wide.said())[1];
    const visitor = await newPage(await at.browser.newContext(PHONE));
    await visitor.goto(`${wide.url}#code=${code.replace("-", "")}`);
    await visitor.getByRole("button", { name: "Pair", exact: true }).tap();
    await visitor.locator(".wrong", { hasText: /^Name it/ }).waitFor();
    await visitor.getByRole("textbox", { name: "Name of this device" }).fill("Ana's phone");
    await visitor.getByRole("button", { name: "Pair", exact: true }).tap();
    await visitor.getByText(/Ready/).first().waitFor();
    await until(() => new RegExp(`Paired: Ana's phone\\. Pairing code for the next device: (?!${code})[A-Z0-9-]{9}`).test(wide.said()), "the server says who was paired");
    await page.reload();
    await page.getByRole("textbox", { name: "Pairing code" }).fill(code);
    await page.getByRole("textbox", { name: "Name of this device" }).fill("Second phone");
    await page.getByRole("button", { name: "Pair", exact: true }).tap();
    await page.getByText(/did not take this code/).waitFor(); // used up by the first device
    assert.equal(await visitor.evaluate(async () => (await fetch("records")).status), 200);
    assert.ok(!(await visitor.evaluate(() => location.href)).includes("code="), "the code leaves the address");
    racewright("devices", "Ana's phone", "--revoke", "--shop", join(wide.home, "jobs.rwshop"));
    await openPlace(visitor, "Practice"); // told on whatever screen is open
    await visitor.getByText("This device was revoked by the shop").waitFor();
    await visitor.getByRole("button", { name: "Go on without the server" }).tap();
    await visitor.getByRole("button", { name: "Pair again" }).tap();
    const next = /next device: ([A-Z0-9]{4}-[A-Z0-9]{4})/.exec(wide.said())[1];
    await visitor.getByRole("textbox", { name: "Pairing code" }).fill(next);
    await visitor.getByRole("textbox", { name: "Name of this device" }).fill("Ana's phone");
    await nothingForAxe(visitor);
    await visitor.getByRole("button", { name: "Pair", exact: true }).tap();
    await visitor.getByText("This device was revoked by the shop").waitFor({ state: "detached" });
  } finally {
    await context.close();
    await wide.stop();
  }
});
