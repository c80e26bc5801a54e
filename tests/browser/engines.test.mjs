// One engine, three ways to it: the server, the browser and the command line answer alike, to the last character.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { askBrowser, askServer, doorRequests, exampleSurvey, newPage, openBrowser, PHONE, racewright, serve, until } from "./support.mjs";

let server, browser, page;

before(async () => {
  server = await serve();
  browser = await openBrowser();
  page = await newPage(await browser.newContext(PHONE));
  await page.goto(server.url);
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

for (const name of ["pump-house-saddle", "workshop-bench-u", "packing-shed-column"]) {
  test(`the card of ${name} is the command line's`, async () => {
    const request = { survey: exampleSurvey(name), pictures: ["side", "card", "strip", "text"] };
    const card = racewright("plan", `examples/${name}.yaml`, "--colour", "never").trimEnd();
    const fromServer = await askServer(page, "plan", request);
    const fromBrowser = await askBrowser(page, "plan", request);
    assert.equal(fromServer.text.trimEnd(), card);
    assert.equal(fromBrowser.text.trimEnd(), card);
    const marks = (answer) => answer.plan.pieces.flatMap((p) => p.bends.map((b) => b.mark_tape));
    const planned = JSON.parse(racewright("plan", `examples/${name}.yaml`, "--json"));
    assert.deepEqual(marks(fromServer), marks({ plan: planned }));
    assert.deepEqual(marks(fromBrowser), marks({ plan: planned }));
    assert.deepEqual(fromBrowser.card, fromServer.card);
    assert.deepEqual(fromBrowser.strip, fromServer.strip);
  });
}

test("what is asked of every door is answered alike by the server and the browser", async () => {
  const survey = exampleSurvey("pump-house-saddle");
  const questions = [
    ...doorRequests().doors.map(({ operation, request }) => [operation, request]),
    ["catalogue", {}],
    ["parse_length", { text: "2 ft 3 5/16" }],
    ["practice", { seed: 7, count: 7 }],
    ["sketch", { survey }],
    ["card", { survey, what: "strip" }],
    ["plan", { survey: { run: { name: "x", raceway: "EMT 9", walk: [{ leg: "1" }] } } }],
  ];
  for (const [operation, request] of questions) {
    const one = await askServer(page, operation, request);
    const other = await askBrowser(page, operation, request);
    near(one, other, operation);
  }
});

test("every operation is answered by the browser's trimmed library, started or put back; what it has no part for is said", async () => {
  const { each } = doorRequests();
  const described = await page.evaluate(async () => Object.keys((await (await fetch("openapi.json")).json()).paths));
  assert.deepEqual(Object.keys(each).sort(), described.flatMap((path) => /^\/ask\/(.*)/.exec(path)?.[1] ?? []).sort());
  const later = await putBack(["there is no operation", "there is no 0peration"]);
  assert.match((await askBrowser(later, "mark it", {})).error.message, /^there is no 0peration/, "it is the memory that was kept");
  const files = [];
  for (const [operation, request] of Object.entries(each)) {
    const fromBrowser = await askBrowser(page, operation, request);
    assert.deepEqual(await askBrowser(later, operation, request), fromBrowser, operation);
    if (/^files of this kind are not written here/.test(fromBrowser.error?.message)) files.push(operation);
    else near(await askServer(page, operation, request), fromBrowser, operation);
    if (!files.includes(operation)) assert.equal(fromBrowser.error, undefined, operation);
  }
  assert.deepEqual(files, ["export", "job_models"]);
});

test("a kept memory that was altered since is made anew; the engine starts without it", async () => {
  const later = await putBack(["there is no operation", "there is no 0peration"], { noted: false });
  assert.match((await askBrowser(later, "mark it", {})).error.message, /^there is no operation/);
  await until(async () => (await later.evaluate(noteOfMemory)).unfinished === 0, "the memory is kept anew");
});

test("a kept memory that answers otherwise, or is broken, is given up: the engine starts without it", async () => {
  for (const change of [["raceways", "racewayz"], null]) {
    const later = await putBack(change);
    assert.match((await askBrowser(later, "mark it", {})).error.message, /^there is no operation/);
    assert.equal((await later.evaluate(noteOfMemory)).unfinished, 3);
  }
});

test("a kept memory with which the engine says that it failed is given up", async () => {
  const later = await putBack(["pull.pull", "pull.pu11"]); // its function is not found
  assert.equal((await askBrowser(later, "pull", { raceway: "EMT", size: "2", wires: ["3 x 4/0 XHHW"], path: "straight 40" })).error?.kind, "engine");
  await until(async () => (await later.evaluate(noteOfMemory)).unfinished === 3, "the memory is given up");
});

/** A page opened after the engine's memory was kept anew, with some words in it changed; null: with its code gone. `noted`:
 * as if it had been so when it was kept. */
async function putBack(change, { noted = true } = {}) {
  const context = await browser.newContext(PHONE);
  const first = await newPage(context);
  await first.goto(server.url);
  await askBrowser(first, "catalogue", {});
  await first.evaluate(noteOfMemory);
  await first.evaluate(async ({ words, noted }) => {
    const store = await caches.open("racewright-memory");
    const [request] = (await store.keys()).filter(({ url }) => url.includes("/memory?"));
    const memory = new Uint8Array(await (await store.match(request)).arrayBuffer());
    if (!words) memory.fill(0, 1 << 20, 16 << 20);
    else {
      const text = new TextDecoder("latin1").decode(memory);
      for (let at = text.indexOf(words[0]); at >= 0; at = text.indexOf(words[0], at + 1)) memory.set(new TextEncoder().encode(words[1]), at);
    }
    await store.put(request, new Response(memory));
    if (!noted) return;
    const address = request.url.replace("/memory?", "/note?");
    const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", memory)).toHex();
    await store.put(address, new Response(JSON.stringify({ ...(await (await store.match(address)).json()), digest })));
  }, { words: change, noted });
  const later = await newPage(context);
  await later.goto(server.url);
  return later;
}

/** In the page: what stands beside the kept memory, once it is kept. */
async function noteOfMemory() {
  for (;;) {
    const note = await (await caches.open("racewright-memory")).match(new URL("assets/note?kept", document.baseURI));
    if (note) return note.json();
    await new Promise((next) => setTimeout(next, 50));
  }
}

/** Equal, numbers to 1e-9: two builds of the C library may differ in the last bit. */
function near(a, b, at) {
  if (typeof a === "number") return assert.ok(Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a)), `${at}: ${a} ${b}`);
  if (a === null || typeof a !== "object") return assert.equal(a, b, at);
  assert.deepEqual(Object.keys(a), Object.keys(b), at);
  for (const key of Object.keys(a)) near(a[key], b[key], `${at}.${key}`);
}
