// Every screen shows what stands under an answer: marks planted there on the way to the page come out, each once.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { enterSaddle, newMarksPartWay, newPage, openBrowser, openPlace, PHONE, riseTooHigh, serve, settled } from "./support.mjs";

let server, browser, page;

const marks = (operation) => [`Found by ${operation},`, `left out by ${operation},`, `care asked by ${operation},`, `Noted by ${operation},`];

before(async () => {
  server = await serve();
  browser = await openBrowser();
  page = await newPage(await browser.newContext(PHONE));
  await page.route("**/ask/*", async (route) => {
    const response = await route.fetch();
    const answer = await response.json();
    if (answer.error) return route.fulfill({ response });
    const [found, left, care, noted] = marks(route.request().url().split("/").at(-1));
    answer.findings.push({ rule: "planted", severity: "caution", message: found, where: "bend 7", citation: "Table 9", standing: "from memory" });
    answer.findings.push({ rule: "planted", severity: "info", message: noted });
    answer.not_included.push(left);
    answer.cautions.unshift(care);
    return route.fulfill({ response, json: answer });
  });
  await page.goto(server.url);
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

async function shown(...operations) {
  await settled(page);
  for (const notes of await page.locator(".notes:not([open]) summary").all()) await notes.tap();
  const said = (await page.locator("main").innerText()).replace(/\s+/g, " ");
  const all = ["plan", "sketch", "tweak", "remark", "job_bill", "practice", "card", "wires_drop", "shape", "pull"];
  for (const operation of all) {
    for (const mark of marks(operation)) assert.equal(said.split(mark).length - 1, operations.includes(operation) ? 1 : 0, `${mark} ${said}`);
  }
  assert.equal(said.split("Caution, bend 7").length - 1, operations.length, said);
  assert.equal(said.split("Table 9 (from memory)").length - 1, operations.length, said);
}

test("Measure shows the sketch's", () => shown("sketch"));

test("See and the first step of Bend show the plan's", async () => {
  await openPlace(page, "See");
  await shown("plan");
  await openPlace(page, "Bend");
  await shown("plan");
});

test("Check shows those of what is asked", async () => {
  await openPlace(page, "Check");
  await riseTooHigh(page);
  await shown("tweak");
  await newMarksPartWay(page);
  await shown("remark");
});

test("what is worked out without a run shows its answer's", async () => {
  const questions = {
    wires_drop: { "Current, A": "20", "Length one way": "100", "Voltage at the source, V": "120" },
    "shape/stub": { "Stub height": "12" },
    pull: { Wires: "3 x 12 THHN" },
  };
  for (const [key, written] of Object.entries(questions)) {
    await page.evaluate((to) => (location.hash = `#/figure/${to}`), key);
    await page.locator(".figure-form", { hasText: Object.keys(written)[0] }).waitFor(); // not that of the question before
    for (const [label, text] of Object.entries(written)) {
      const reading = page.locator(`[data-label="${label}"]`);
      if (await reading.count()) await reading.tap();
      await page.getByRole("textbox", { name: label, exact: true }).fill(text);
      if (await reading.count()) await page.getByRole("button", { name: "Close the keypad" }).tap();
    }
    await page.getByRole("button", { name: "Work it out", exact: true }).tap();
    await page.locator(".figure-answer").waitFor();
    await shown(key.split("/")[0]);
  }
});

test("Practice shows the sheet's", async () => {
  await openPlace(page, "Practice");
  await page.getByRole("button", { name: "Make the sheet" }).tap();
  await page.locator(".problem").first().waitFor();
  await shown("practice");
});

test("Job shows the plan's and the bill's, the sheets to print the card's", async () => {
  await openPlace(page, "Job");
  await shown("plan");
  await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
  await page.locator(".table-scroll").first().waitFor();
  await shown("plan", "job_bill");
  await page.getByRole("button", { name: "Bend card" }).tap();
  await page.locator(".paper").first().waitFor();
  await shown("card");
  assert.deepEqual(page.faults, []);
});
