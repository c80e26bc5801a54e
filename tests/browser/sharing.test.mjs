// A phone and the shop file: what was lost on the way, pages closed in the middle of it, shops that are not there or newer.
import assert from "node:assert/strict";
import { test } from "node:test";
import { called, inShop, phonesAtOneShop, runsIn, shopOf, takeExample } from "./phones.mjs";
import { newPage, nothingForAxe, openPlace, PHONE, until } from "./support.mjs";

const { at, two } = phonesAtOneShop();

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
