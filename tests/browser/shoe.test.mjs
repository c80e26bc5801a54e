// The person's own bender on the phone: its take-up and gain change the marks, and stay after a reload.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, nextStep, openPlace, PHONE, serve, serverAndBrowser, settled, shows } from "./support.mjs";

const at = serverAndBrowser();

test("own take-up and gain move the marks, are kept, and can be given up", async () => {
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(at.server.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await page.evaluate(() => {
      location.hash = "#/see";
    });
    const words = async () =>
      `${await page.locator("main").innerText()} ${await page.locator("main").ariaSnapshot()}`.replace(/\s+/g, " ");
    await page.getByRole("button", { name: "Enter your own bender" }).tap();
    const usual = await words();
    await page.getByLabel("Take-up").fill("9");
    await page.getByLabel("Gain per 90").fill("5");
    await page.getByRole("button", { name: "Use these" }).tap();
    await page.getByText(/emt-1\/2 [0-9a-f]{4}: take-up/).first().waitFor();
    const own = await words();
    // 5 and 2 5/8 put the star on 19 3/4; 9 and 5 put it elsewhere
    assert.ok(shows(usual, "19 3/4"), usual.slice(0, 2000));
    assert.ok(!shows(own, "19 3/4"), own.slice(0, 2000));
    if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE });
    await page.reload();
    await page.getByText(/emt-1\/2 [0-9a-f]{4}: take-up/).first().waitFor();
    await page.getByRole("button", { name: "Change your own bender" }).tap();
    await page.getByRole("button", { name: "Use the usual ones" }).tap();
    await page.getByText("emt-1/2: take-up").first().waitFor();
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
  }
});

const marksOn = (page) => page.locator("table.marks").first().ariaSnapshot();

/** Looks again until it holds. */
async function until(look, words) {
  for (let tries = 0; tries < 300; tries += 1) {
    if (await look()) return;
    await new Promise((next) => setTimeout(next, 100));
  }
  assert.fail(words);
}

test("two phones show the same marks: a run is on the own bender for everybody, its others are asked after, and newer figures wait for a tap", async () => {
  const server = await serve();
  const phones = [await at.browser.newContext(PHONE), await at.browser.newContext(PHONE)];
  const shop = async (kind) => {
    const { records } = await (await fetch(`${server.url}records?after=0`)).json();
    return records.filter((one) => one.kind === kind && one.data);
  };
  const pins = async () => (await shop("run")).map((run) => run.data.tool?.revision ?? 0).sort().join();
  const words = async (page) => (await page.locator("main").innerText()).replace(/\s+/g, " ");
  try {
    const [one, other] = [await newPage(phones[0]), await newPage(phones[1])];
    for (const page of [one, other]) page.setDefaultTimeout(15_000);
    await one.goto(server.url);
    await one.getByRole("button", { name: "Look at an example" }).tap();
    await openPlace(one, "Job");
    await enterSaddle(one);
    await openPlace(one, "See");
    const measured = async (takeUp, gain) => {
      await one.locator("#own-shoe").tap();
      await one.getByLabel("Take-up").fill(takeUp);
      await one.getByLabel("Gain per 90").fill(gain);
      await one.getByRole("button", { name: "Use these" }).tap();
    };
    await measured("9", "5");
    await one.getByRole("button", { name: "Also for the other run of EMT 1/2 that is not begun" }).tap();
    await until(async () => (await pins()) === "1,1", "both runs are on the tool's first revision");
    await other.goto(`${server.url}#/job`);
    await other.locator(".run-list .run").nth(1).waitFor();
    for (const page of [one, other]) {
      await page.reload();
      await openPlace(page, "See");
      await page.getByText(/emt-1\/2 [0-9a-f]{4}: take-up/).first().waitFor();
      assert.ok(!shows(await words(page), "19 3/4"), "no marks of the taught shoe");
    }
    assert.equal(await marksOn(other), await marksOn(one), "the same lines on both");
    // a new run is put on it at once
    await openPlace(one, "Job");
    await one.getByRole("button", { name: "Another run" }).tap();
    await until(async () => (await pins()) === "1,1,1", "the new run too");
    await one.getByRole("button", { name: "Close the keypad" }).tap();
    await openPlace(one, "Job");
    await one.locator(".run-head").first().tap();
    // measured anew: this run alone goes along, the others wait for a tap
    await openPlace(one, "See");
    await one.getByText(/: take-up/).first().waitFor();
    await measured("8", "4 1/2");
    await until(async () => (await pins()) === "1,1,2", "this run alone");
    await openPlace(other, "Job");
    await other.locator(".run-head").nth(1).tap();
    await openPlace(other, "See");
    await other.getByText("was measured anew since this run was put on it").waitFor();
    await openPlace(other, "Bend");
    await other.getByText("was measured anew since this run was put on it").waitFor();
    await other.getByRole("button", { name: "Take its figures as they are now" }).tap();
    await until(async () => (await pins()) === "1,2,2", "taken by one tap");
    await other.getByText("was measured anew").waitFor({ state: "detached" });
    // what is begun stays
    await nextStep(other);
    await openPlace(one, "See");
    await measured("8 1/8", "4 1/2");
    await until(async () => (await pins()) === "1,2,3", "again");
    await other.getByText("stays on its figures as they were").waitFor();
    assert.equal(await other.getByRole("button", { name: "Take its figures as they are now" }).count(), 0);
    for (const page of [one, other]) assert.deepEqual(page.faults, []);
  } finally {
    for (const context of phones) await context.close();
    await server.stop();
  }
});

test("the center mark is a notch in the rim, and the shoe is grey: no shape or color of one maker", async () => {
  const alone = await serve(); // without the run above
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(alone.url);
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await openPlace(page, "Bend");
    for (const scheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme: scheme });
      while (!(await page.getByText(/^Center mark on mark/).count())) await nextStep(page);
      await settled(page);
      const sign = await page.locator(".sign-box path").getAttribute("d");
      assert.match(sign, /^M[-\d. ]+H[-\d.]+L[-\d. ]+L[-\d. ]+H[-\d.]+$/, "a straight rim with a V cut into it");
      assert.equal(await page.locator(".shoe .notch").count(), 1, "the same notch on the shoe");
      for (const [part, paint] of [["body", "fill"], ["body", "stroke"], ["handle", "stroke"], ["hook", "stroke"], ["web", "stroke"]]) {
        const color = await page.locator(`.shoe .tool:not(.ghost) .${part}`).evaluate((node, by) => getComputedStyle(node)[by], paint);
        const [red, green, blue] = /rgb\((\d+), (\d+), (\d+)\)/.exec(color).slice(1);
        assert.ok(red === green && green === blue, `${part} is ${color}, ${scheme}`);
      }
    }
  } finally {
    await context.close();
    await alone.stop();
  }
});
