// What is worked out without a run: three questions of different kinds give the numbers of the command, by the browser's own engine.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, PHONE, racewright, serverAndBrowser, until } from "./support.mjs";

const at = serverAndBrowser();
const command = (...words) => JSON.parse(racewright(...words, "--json"));
const flat = (text) => text.replace(/\s+/g, " ");

async function open(page, key) {
  await page.evaluate((to) => (location.hash = `#/figure/${to}`), key);
  await page.locator(".figure-form").waitFor();
}

async function answer(page) {
  await page.getByRole("button", { name: "Work it out", exact: true }).tap();
  await page.locator(".figure-answer").waitFor();
  return flat(`${await page.locator(".figure-answer").innerText()} ${await page.locator(".figure-answer").ariaSnapshot()}`);
}

test("drop, pull and an offset: the numbers of the command, from a run where one is at hand, kept as a note of it", async () => {
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(`${at.server.url}?engine=browser`);
    await page.getByRole("link", { name: /work it out/ }).tap();
    await page.getByRole("link", { name: /Voltage drop/ }).tap();
    await page.getByRole("button", { name: "Work it out", exact: true }).tap();
    assert.equal(await page.getByText("Still needed.").count(), 3);
    await page.getByLabel("Current, A").fill("20");
    await page.getByLabel("Length one way").fill("100");
    await page.getByLabel("Voltage at the source, V").fill("120");
    const drop = command("wires", "drop", "--current", "20", "--length", "100 ft", "--volts", "120");
    const dropped = await answer(page);
    assert.ok(dropped.includes(drop.headline.split("\n")[0]), dropped);
    for (const step of drop.steps) assert.ok(dropped.includes(flat(step.text)), step.text);
    assert.ok(dropped.includes(drop.from_memory[0] ?? "") && dropped.includes(drop.cautions[0]), dropped);

    await open(page, "shape/offset");
    await page.getByRole("button", { name: /^Rise/ }).tap();
    await page.getByRole("textbox", { name: "Rise" }).fill("6 1/4");
    await page.getByRole("button", { name: "Close the keypad" }).tap();
    await page.getByRole("button", { name: /^End A to where/ }).tap();
    await page.getByRole("textbox", { name: /^End A to where/ }).fill("40");
    await page.getByRole("button", { name: "Close the keypad" }).tap();
    const offset = command("shape", "offset", "--rise", "6 1/4", "--at", "40");
    const bent = await answer(page);
    for (const bend of offset.bends) for (const mark of bend.marks.filter((one) => one.hook === "A")) assert.ok(bent.includes(mark.at.tape.replace(" ", " and ")), `${mark.at.tape} ${bent}`);
    for (const fact of offset.facts) assert.ok(bent.includes(fact.text), fact.text);
    assert.ok(bent.includes(offset.taught) && bent.includes(offset.rules[0].source), bent);

    await page.evaluate(() => (location.hash = "#/job"));
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    await open(page, "pull");
    await page.getByText(/from this run/).first().waitFor();
    await page.getByRole("textbox", { name: "Wires" }).fill("3 x 12 THHN");
    const parts = page.getByRole("textbox", { name: /^The way from end A/ });
    let path = "";
    await until(async () => (path = (await parts.evaluateAll((all) => all.map((one) => one.value))).filter(Boolean).join(", ")), "the run's way on the form");
    const pull = command("pull", "--raceway", "EMT", "--size", "1/2", "--wires", "3 x 12 THHN", "--path", path);
    const pulled = await answer(page);
    for (const way of pull.told[0].ways) for (const row of way.rows) for (const cell of row) assert.ok(pulled.includes(cell), `${cell} ${pulled}`);
    assert.ok(pulled.includes(pull.bears) && pulled.includes(pull.facts[0]), pulled);
    await page.getByRole("button", { name: "Keep as a note of this run" }).tap();
    await page.evaluate(() => (location.hash = "#/job"));
    await page.getByText(/Wire pull \(Raceway EMT; Trade size 1\/2; Wires 3 x 12 THHN/).first().waitFor();
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
  }
});
