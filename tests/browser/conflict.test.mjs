// Phones and the shop file: what was written on both sides is chosen between, removed or put together.
import assert from "node:assert/strict";
import { test } from "node:test";
import { called, phonesAtOneShop, runsIn, shopOf, takeExample } from "./phones.mjs";
import { enterSaddle, fiveInSight, KEEPING, keyIn, nothingCutOff, nothingForAxe, onTo, openPlace, takeBack, until } from "./support.mjs";

const { at, phone, two } = phonesAtOneShop();

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

test("bends ticked off on one phone are ticked off on the other, and taken back", async () => {
  const { server, one, other, noFaults } = await two();
  await openPlace(one, "Bend");
  const made = async () => (await shopOf(server))("entry").filter((entry) => entry.what.kind === "made" && entry.what.bends.length);
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

test("a run whose readings change after bends were made says so on each of its screens", async () => {
  const server = await at.anew();
  const page = await phone(server);
  await takeExample(page);
  await openPlace(page, "Bend");
  await onTo(page, ".progress .is-bend.done");
  await until(async () => (await shopOf(server))("entry").some((entry) => entry.what.bends?.length), "a bend that is made is in the shop");
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
