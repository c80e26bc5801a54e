// Phones and the shop file: what was written on both sides, what was lost on the way, pages closed in the middle of it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { createHash } from "node:crypto";
import { enterSaddle, fiveInSight, KEEPING, keyIn, newPage, nothingCutOff, nothingForAxe, onTo, openPlace, PHONE, ROOT, serverAndBrowser, takeBack, until } from "./support.mjs";

const at = serverAndBrowser();
const NAME = "Pump house, disconnect to pump 2 starter";
const idOf = (text) => createHash("sha256").update(text).digest("hex").slice(0, 32);

/** What stands in the shop, by kind. */
async function shopOf(server) {
  const { records } = await (await fetch(`${server.url}records?after=0`)).json();
  const standing = records.filter((one) => one.data);
  return (kind) => standing.filter((one) => one.kind === kind).map((one) => one.data);
}
const runsIn = async (server) => (await shopOf(server))("run");

async function phone(server, place = "", kind = PHONE) {
  const page = await newPage(await at.browser.newContext(kind));
  await page.goto(`${server.url}${place}`);
  return page;
}

/** Called of the run's start, on the Measure screen. */
const called = (page) => page.getByRole("textbox", { name: "Called" }).first();

/** The saddle's run with one tap, to be written on. */
async function takeExample(page) {
  await page.getByRole("button", { name: "Look at an example" }).tap();
  await openPlace(page, "Measure");
}
const inShop = async (server) => (await runsIn(server)).length === 1;

/** An empty shop, a phone (of that kind) with the saddle's run, and another that has it too. */
async function two(kind = PHONE) {
  const server = await at.anew();
  const one = await phone(server, "", kind);
  await takeExample(one);
  await until(() => inShop(server), "the run is in the shop");
  const other = await phone(server, "#/job");
  await other.getByRole("button", { name: new RegExp(`^${NAME}`) }).waitFor();
  const noFaults = () => [one, other].forEach((page) => assert.deepEqual(page.faults, []));
  return { server, one, other, noFaults };
}

/** One has no network, both write; the clash stands on the screen of the one that was away. */
async function clashing({ server, one, other }) {
  await openPlace(one, "Measure");
  await openPlace(other, "Measure");
  await one.context().setOffline(true);
  await called(one).fill("west wall");
  await called(other).fill("east wall");
  await until(async () => (await runsIn(server))[0].survey.run.start.name === "east wall", "the other's is in the shop");
  await openPlace(one, "Bend");
  await one.context().setOffline(false);
  const clash = one.getByRole("region", { name: /^Changed here and there/ });
  await clash.waitFor();
  assert.match(await clash.innerText(), /end A, called\s+west wall\s+east wall/);
  await nothingCutOff(one);
  await one.evaluate(() => scrollTo(0, document.body.scrollHeight)); // wherever one stands, the bar leads to the choice
  await one.getByRole("banner").getByRole("button", { name: "Changed here and there: choose" }).tap();
  await one.waitForFunction(() => document.activeElement?.matches(".clash h2") && document.activeElement.getBoundingClientRect().top > 60);
  return clash;
}

for (const [choice, stands] of [
  ["Keep this device’s", ["west wall"]],
  ["Keep the shop’s", ["east wall"]],
  ["Keep both, as two runs", ["east wall", "west wall"]],
])
  test(`written on both, one without a network: ${choice}`, async () => {
    const all = await two(KEEPING);
    const clash = await clashing(all);
    await openPlace(all.one, "Practice");
    await clash.getByRole("button", { name: choice }).tap();
    await clash.waitFor({ state: "detached" });
    const names = async () => (await runsIn(all.server)).map((run) => run.survey.run.start.name).sort();
    await until(async () => (await names()).join() === stands.join(), `in the shop stands ${stands}`);
    await openPlace(all.other, "Job");
    await all.other.reload();
    await until(async () => (await all.other.locator(".run-list .run").count()) === stands.length, "on the other phone too");
    if (stands.length === 1) {
      await openPlace(all.other, "Measure");
      await until(async () => (await called(all.other).inputValue()) === stands[0], "and says the same");
    }
    all.noFaults();
  });

test("at another run's bend the card stands below the step, and a bar leads to it", async () => {
  const all = await two(KEEPING);
  const clash = await clashing(all);
  await nothingForAxe(all.one);
  await openPlace(all.one, "Job");
  await enterSaddle(all.one);
  await openPlace(all.one, "Bend");
  await onTo(all.one, ".bend-step");
  const top = (part) => part.evaluate((node) => node.getBoundingClientRect().top + scrollY);
  assert.ok((await top(clash)) > (await top(all.one.locator(".shoe-stage"))));
  await fiveInSight(all.one);
  await all.one.getByRole("banner").getByRole("button", { name: "Changed here and there: choose" }).tap();
  await all.one.waitForFunction(() => document.activeElement?.matches(".clash h2"));
  all.noFaults();
});

for (const [button, left] of [["Keep it", 1], ["Remove it", 0]])
  test(`removed on one and written on by the other: ${button}`, async () => {
    const all = await two(KEEPING);
    const { server, one, other } = all;
    await openPlace(one, "Measure");
    await one.context().setOffline(true);
    await called(one).fill("west wall");
    await other.getByRole("button", { name: "Remove this run" }).tap();
    await other.getByRole("button", { name: "Remove it for everybody" }).tap();
    await until(async () => !(await runsIn(server)).length, "it is out of the shop");
    await one.context().setOffline(false);
    await one.getByText("removed elsewhere").waitFor();
    assert.equal(await called(one).inputValue(), "west wall", "what was written here is still there");
    await one.getByRole("button", { name: button, exact: true }).tap();
    await until(async () => (await one.locator(".clash").count()) === 0, "it is chosen");
    await until(async () => (await runsIn(server)).length === left, `${left} in the shop`);
    await openPlace(one, "Job");
    await until(async () => (await one.locator(".run-list .run").count()) === left, `${left} on the phone`);
    all.noFaults();
  });

test("what the shop cannot read is told on whatever screen is open, until it is mended", async () => {
  const { server, one, noFaults } = await two();
  await openPlace(one, "Measure");
  const half = String.fromCharCode(0xd83d);
  await called(one).evaluate((field, words) => {
    field.value = words;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }, `west ${half}`);
  const told = one.getByText(/The shop does not take it: half a character stands in it\. Write the letter itself\./);
  await told.waitFor();
  await openPlace(one, "Bend");
  await told.waitFor();
  await one.getByRole("button", { name: "The shop does not take something: see why" }).tap();
  await one.waitForFunction(() => document.activeElement?.matches(".refused"));
  await nothingForAxe(one);
  await openPlace(one, "Measure");
  await called(one).fill("west wall");
  await until(async () => (await runsIn(server))[0].survey.run.start.name === "west wall", "what is mended is in the shop");
  await told.waitFor({ state: "detached" });
  one.faults = one.faults.filter((words) => !words.includes("status of 400")); // the engine by server cannot read it either
  noFaults();
});

test("an answer that is lost on the way is no clash with oneself", async () => {
  const server = await at.anew();
  const page = await newPage(await at.browser.newContext(PHONE));
  let lose = false;
  let lost = 0;
  await page.route("**/records", async (route) => {
    if (route.request().method() !== "POST" || !lose) return route.continue();
    lose = false;
    lost += 1;
    await route.fetch(); // the server has it
    await route.abort();
  });
  await page.goto(server.url);
  await takeExample(page);
  await until(() => inShop(server), "the run is in the shop");
  lose = true;
  await called(page).fill("meter");
  await until(async () => lost === 1, "an answer was lost");
  await called(page).fill("main panel"); // written on before the page has looked again
  await page.reload();
  await until(async () => (await runsIn(server))[0].survey.run.start.name === "main panel", "the newest is in the shop");
  assert.equal(await page.locator(".clash").count(), 0);
  assert.equal((await runsIn(server)).length, 1);
  assert.deepEqual(page.faults, []);
});

test("a page closed right after a tap, and in the middle of an offer, loses nothing", async () => {
  const server = await at.anew();
  const context = await at.browser.newContext(PHONE);
  const page = await newPage(context);
  await page.goto(server.url);
  await takeExample(page);
  await page.route("**/records", () => undefined); // an offer never ends
  await openPlace(page, "Job");
  await page.getByLabel("Status").selectOption("wired");
  await page.close();
  const again = await newPage(context);
  await again.goto(`${server.url}#/job`);
  await again.locator(".run-head .status.wired").waitFor();
  await until(async () => (await shopOf(server))("entry").some((entry) => entry.what.status === "wired"), "it is in the shop");
  const tapped = again.waitForRequest((request) => request.method() === "POST" && request.url().endsWith("/records"));
  await again.getByRole("textbox", { name: "A note on this run" }).fill("knockout is rusty");
  await again.getByRole("button", { name: "Keep this note" }).tap();
  await tapped;
  await again.close();
  const third = await newPage(context);
  await third.goto(`${server.url}#/job`);
  await third.getByText("knockout is rusty").waitFor();
  await until(async () => (await third.locator(".run-head .status", { hasText: "in the shop" }).count()) === 1, "all is in the shop");
  const notes = (await shopOf(server))("entry").filter((entry) => entry.what.kind === "note");
  assert.deepEqual(notes.map((entry) => entry.what.note), ["knockout is rusty"]);
  assert.deepEqual(third.faults, []);
});

test("a phone's own runs wait at a shop that has jobs, until a person says where", async () => {
  for (const [button, jobs] of [[/^Put into/, 1], ["Put in as a job of its own", 2]]) {
    const { server, noFaults } = await two();
    const third = await newPage(await at.browser.newContext(PHONE));
    await third.route("**/server.json", (route) => route.abort());
    await third.goto(server.url);
    await third.getByRole("button", { name: "Start a run" }).tap();
    await third.getByRole("textbox", { name: "Where it goes" }).fill("Workshop, panel to lathe");
    await third.unroute("**/server.json");
    await third.goto(`${server.url}#/job`);
    await third.reload();
    await third.getByText("This run is on this device only.").waitFor();
    assert.equal((await shopOf(server))("job").length, 1, "nothing went there by itself");
    assert.equal((await runsIn(server)).length, 1);
    await third.getByRole("button", { name: button }).tap();
    await until(async () => (await runsIn(server)).length === 2, "the run is in the shop");
    await third.getByText("All of this job is in the shop.").waitFor();
    assert.equal((await shopOf(server))("job").length, jobs);
    await until(async () => (await third.locator(".run-list .run").count()) === 3 - jobs, "with those of its job");
    assert.deepEqual(third.faults, []);
    noFaults();
  }
});

test("bends ticked off on one phone are ticked off on the other, and taken back", async () => {
  const { server, one, other, noFaults } = await two();
  await openPlace(one, "Bend");
  const made = async () => (await shopOf(server))("entry").filter((entry) => entry.what.kind === "made");
  await onTo(one, ".progress .is-bend.done");
  await until(async () => (await made()).length === 1, "a bend is made");
  const [entry] = await made();
  assert.match(entry.pins.marks, /^[0-9A-Z]{6}$/, "with the digest of the plan that was bent");
  assert.ok(entry.pins.engine && entry.pins.tool && entry.by && entry.piece === 1);
  await other.reload();
  await openPlace(other, "Bend");
  await until(async () => (await other.locator(".progress .is-bend.done").count()) === 1, "seen on the other phone");
  await takeBack(one);
  await until(async () => !(await made()).length, "and taken back");
  noFaults();
});

test("two windows of one browser see each other's; what both wrote at once is chosen between", async () => {
  const server = await at.anew();
  const context = await at.browser.newContext(PHONE);
  const one = await newPage(context);
  await one.goto(`${server.url}?engine=browser`);
  await takeExample(one);
  const other = await newPage(context);
  await other.goto(`${server.url}?engine=browser#/measure`);
  await called(other).waitFor();
  await called(one).fill("meter");
  await until(async () => (await called(other).inputValue()) === "meter", "the other window follows");
  const deaf = await newPage(context); // hears of nothing, as a window that sleeps
  await deaf.addInitScript(() => delete globalThis.BroadcastChannel);
  await deaf.goto(`${server.url}?engine=browser#/measure`);
  await called(deaf).waitFor();
  await called(one).fill("west wall");
  await until(async () => (await called(other).inputValue()) === "west wall", "written");
  await called(deaf).fill("east wall");
  const clash = deaf.getByRole("region", { name: /^Changed here and there/ });
  await clash.waitFor();
  assert.match(await clash.innerText(), /In another window[\s\S]*end A, called\s+east wall\s+west wall/);
  await clash.getByRole("button", { name: "Keep the other window’s" }).tap();
  await until(async () => (await called(deaf).inputValue()) === "west wall", "the other's is taken");
  for (const page of [one, other, deaf]) assert.deepEqual(page.faults, []);
});

test("a shop of a newer form is not talked to: the run stays on the phone, and the page says so, with nothing that axe finds", async () => {
  const server = await at.anew();
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.route("**/server.json", async (route) => {
    const response = await route.fetch();
    await route.fulfill({ response, json: { ...(await response.json()), records: 99 } });
  });
  let asked = 0;
  await page.route("**/records**", (route) => ((asked += 1), route.continue()));
  await page.goto(server.url);
  await takeExample(page);
  await openPlace(page, "Job");
  await page.locator(".job-card .notice.caution").waitFor();
  await page.getByText("kept on this device, not yet in the shop").first().waitFor();
  assert.equal(asked, 0, "nothing was asked of it, nor offered");
  await nothingForAxe(page);
  await page.unroute("**/server.json"); // it is brought up to date
  await page.reload();
  await until(async () => (await runsIn(server)).length === 1, "then it goes in");
  assert.deepEqual(page.faults, []);
});

/** The stores of the page as it was before, written as it wrote them: tests/browser/kept_before.json comes from it. */
const BEFORE = JSON.parse(readFileSync(join(ROOT, "tests", "browser", "kept_before.json"), "utf-8"));
const writeBefore = (page, { kept, shoes }) =>
  page.evaluate(
    async ([values, own]) => {
      const db = await new Promise((done) => {
        const request = indexedDB.open("racewright-page", 1);
        request.onupgradeneeded = () => request.result.createObjectStore("kept");
        request.onsuccess = () => done(request.result);
      });
      const transaction = db.transaction("kept", "readwrite", { durability: "strict" });
      for (const [key, value] of Object.entries(values)) transaction.objectStore("kept").put(value, key);
      await new Promise((done) => (transaction.oncomplete = done));
      db.close();
      localStorage.setItem("racewright-shoes", own);
    },
    [kept, shoes],
  );

for (const [kind, jobName] of [["served", "Shared runs"], ["alone", /^Runs of /]])
  test(`what the page kept before is taken over: ${kind}`, async () => {
    const server = await at.anew();
    const context = await at.browser.newContext(PHONE);
    const page = await newPage(context);
    await page.goto(`${server.url}notices.txt`);
    await writeBefore(page, BEFORE[kind]);
    const olds = BEFORE[kind].kept.runs;
    const [one, other] = [await newPage(context), await newPage(context)]; // two windows open at once
    await Promise.all([one, other].map((window) => window.goto(`${server.url}#/job`)));
    await until(async () => (await one.locator(".run-list .run").count()) === 2, "both runs");
    await until(async () => (await runsIn(server)).length === 2, "both are in the shop");
    await one.getByText("All of this job is in the shop.").waitFor();
    const shop = await shopOf(server);
    assert.equal(shop("job").length, 1);
    assert.match(shop("job")[0].name, new RegExp(jobName));
    assert.deepEqual(shop("run").map((run) => run.id).sort(), olds.map((old) => idOf(`racewright run ${old.id}`)).sort());
    const status = Object.fromEntries(shop("entry").map((entry) => [entry.run, entry.what.status]));
    for (const old of olds) if (old.status !== "measured") assert.equal(status[idOf(`racewright run ${old.id}`)], old.status);
    await until(async () => (await shopOf(server))("tool")[0]?.profile.take_up === "5 1/8", "the own shoe is a tool of the shop");
    const own = (await shopOf(server))("tool")[0].id;
    await until(async () => (await runsIn(server)).every((run) => run.survey.run.raceway !== "EMT 1/2" || (run.tool?.id === own && run.tool.revision === 1)), "and what was shown for it is on it");
    await one.bringToFront(); // a window behind another is drawn once a second
    await one.getByRole("button", { name: new RegExp(`^${NAME}`) }).tap();
    await openPlace(one, "Bend");
    await one.locator(".progress .done").nth(2).waitFor();
    assert.equal(await one.locator(".progress .done").count(), 3, "the place at the bench");
    await openPlace(one, "See");
    await one.getByText(/emt-1\/2 [0-9a-f]{4}: take-up/).first().waitFor();
    const before = await one.evaluate(async () => (await indexedDB.databases()).map((db) => db.name).sort());
    assert.deepEqual(before, ["racewright", "racewright-page"], "what was there before is left alone");
    assert.deepEqual([...one.faults, ...other.faults], []);
  });

for (const [what, then] of [
  ["the network is back", (page) => page.evaluate(() => dispatchEvent(new Event("online")))],
  ["something is written", (page) => called(page).fill("meter")],
])
  test(`a phone that found no server when it was opened shares once ${what}`, async () => {
    const server = await at.anew();
    const page = await newPage(await at.browser.newContext(PHONE));
    let looks = 0;
    await page.context().route("**/server.json", (route) => ((looks += 1), route.abort()));
    await page.goto(server.url);
    const before = looks;
    await takeExample(page);
    await until(() => looks > before, "it has looked for the shop after the first writing too");
    assert.equal((await runsIn(server)).length, 0);
    await page.context().unroute("**/server.json");
    await then(page);
    await until(async () => (await runsIn(server)).length === 1, "the run is in the shop");
    assert.deepEqual(page.faults, []);
  });

test("a run whose readings change after bends were made says so on each of its screens", async () => {
  const server = await at.anew();
  const page = await phone(server);
  await takeExample(page);
  await openPlace(page, "Bend");
  await onTo(page, ".progress .is-bend.done");
  await until(async () => (await shopOf(server))("entry").some((entry) => entry.what.kind === "made"), "a bend that is made is in the shop");
  const told = page.locator("main .notice.caution", { hasText: /begun for plan \w{6}; the plan is now \w{6}/ });
  assert.equal(await told.count(), 0);
  await openPlace(page, "Measure");
  await page.getByRole("button", { name: /^To its middle/ }).tap();
  await keyIn(page, "1/16"); // after what stands there
  for (const place of ["Measure", "See", "Bend", "Check"]) {
    await openPlace(page, place);
    await told.waitFor();
  }
  assert.deepEqual(page.faults, []);
});

test("what is set on two phones at once: a form changes what was written into it, and says what stands there already", async () => {
  const { server, one, other, noFaults } = await two();
  const go = (page, part) => page.evaluate((to) => (location.hash = `#/setup/${to}`), part);
  const fill = async (page, fields) => {
    for (const [name, text] of Object.entries(fields)) await page.getByRole("textbox", { name, exact: true }).fill(text);
  };
  const keep = (page) => page.getByRole("button", { name: "Keep", exact: true }).tap();
  const told = (page, text) => page.getByText(text).first().waitFor();
  const hears = (page) => page.evaluate(() => window.dispatchEvent(new Event("online"))); // it asks the shop at once
  await go(one, "prices");
  await go(other, "prices");
  await one.getByRole("button", { name: "Another price" }).tap();
  await fill(one, { Item: "tape", Price: "7,40" });
  await keep(one);
  await told(one, "Kept: tape: 7,40 each.");
  const change = (page) => page.getByRole("button", { name: "Change tape" });
  for (const page of [one, other]) await change(page).tap();
  await fill(one, { Price: "9.90" });
  await keep(one);
  await told(one, "Kept: tape: 9.90 each.");
  await until(async () => (await shopOf(server))("prices")[0].items[0].price === "9.90", "the price is in the shop");
  await hears(other);
  await told(other, "9.90 each");
  await fill(other, { Hours: "0.3" });
  await keep(other);
  await told(other, "Kept: tape: 9.90 each, 0.3 h each.");
  await go(one, "wire");
  await go(other, "wire");
  for (const page of [one, other]) await page.getByRole("button", { name: /^Change 12 in more/ }).tap();
  await fill(other, { Slack: "20 in" });
  await fill(one, { Slack: "18 in" });
  await keep(one);
  await told(one, "Kept: 18 in more at each end of a run; 5 % waste on all wire.");
  await until(async () => (await shopOf(server))("job")[0].wire_slack === "18 in", "the slack is in the shop");
  await hears(other);
  await told(other, /^18 in more/);
  await keep(other);
  await told(other, "Changed meanwhile: 18 in stands now.");
  await keep(other);
  await told(other, "Kept: 20 in more");
  await go(one, "items");
  await one.getByRole("button", { name: "Add an item" }).tap();
  await fill(one, { Item: "box", "How many": "12" });
  await keep(one);
  await told(one, "Kept: 12 x box.");
  await one.getByRole("button", { name: "Add an item" }).tap();
  await fill(one, { Item: "Box", "How many": "5" });
  await keep(one);
  await told(one, "There already: 12 x box.");
  await keep(one);
  await told(one, "Kept: 5 x Box.");
  await until(async () => (await shopOf(server))("job")[0].items?.[0].count === 5, "it is in the shop as it was made since");
  await until(async () => (await shopOf(server))("prices")[0].items[0].labour_h === "0.3", "the hours are in the shop");
  assert.equal((await shopOf(server))("prices")[0].items[0].price, "9.90");
  noFaults();
});
