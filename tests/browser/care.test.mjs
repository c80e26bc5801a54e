// What a screen asks for can hurt: each shows the caution that fits, who decides, and whose figures the marks are for.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { newMarksPartWay, nextStep, openPlace, ownTool, PHONE, phoneWithSaddle, PLACES, riseTooHigh, wordsOf } from "./support.mjs";

const DECIDES = "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval.";
const BENDING = "a handle that backs off can throw you";
const CUTTING = "away from a running blade";
let page, close;

before(async () => {
  ({ page, close } = await phoneWithSaddle());
});

after(() => close?.());

const words = () => wordsOf(page);
const times = (text, part) => text.split(part).length - 1;

for (const place of PLACES.filter((name) => name !== "Bend")) { // Bend: step by step, below
  test(`${place} says once who decides`, async () => {
    await openPlace(page, place);
    assert.equal(times(await words(), DECIDES), 1);
  });
}

test("See: cautions of the whole job, nothing found is no approval, the shoe's figures are taught ones", async () => {
  await openPlace(page, "See");
  const said = await words();
  for (const part of [BENDING, CUTTING, "Ladders, lifts and heights", "de-energize, lock out, test"]) assert.ok(said.includes(part), part);
  assert.ok(said.includes("Nothing found of what these checks look for. This is no approval."), said);
  assert.match(said, /take-up 5", gain per 90 2 5\/8"\. Exact for a shoe with these taught figures; calibrate yours\./);
  assert.doesNotMatch(said, /nothing wrong|exact for your/i);
});

test("Check: opening or closing a bend goes a little at a time", async () => {
  await openPlace(page, "Check");
  await riseTooHigh(page);
  assert.ok((await words()).includes("Open or close a bend a little at a time and measure after each pull"));
  await newMarksPartWay(page);
  assert.ok((await words()).includes(BENDING));
});

test("Bend: every step has the caution of its own work, and the marks stay in sight above it", async () => {
  await openPlace(page, "Bend");
  const fits = { "Cut to": CUTTING, "1st bend": BENDING, "2nd bend": BENDING, "3rd bend": BENDING, "Check it before": "a little at a time", "Ream ": CUTTING, "Leave the fitting": "Ladders", "End ": "lock out", "Level,": "Ladders" };
  for (let step = 1, last = false; !last; step += 1) {
    const said = await words();
    const title = await page.locator(".step-title").innerText();
    for (const [begins, caution] of Object.entries(fits)) if (title.startsWith(begins)) assert.ok(said.includes(caution), `${title}: ${said}`);
    assert.equal(times(said, DECIDES), 1, title);
    const mark = page.locator(".big-mark");
    if (await mark.count()) {
      const box = await mark.boundingBox();
      assert.ok(box.y + box.height < PHONE.viewport.height / 2, `the mark's figure is in the upper half: ${JSON.stringify(box)}`);
    }
    last = (await page.getByRole("button", { name: "Done, all" }).count()) > 0;
    if (!last) await nextStep(page);
  }
});

test("Practice and the cut list have theirs", async () => {
  await openPlace(page, "Practice");
  await page.getByRole("button", { name: "Make the sheet" }).tap();
  await page.locator(".problem").first().waitFor();
  assert.ok((await words()).includes(BENDING));
  await openPlace(page, "Job");
  await page.getByRole("button", { name: "Cut list", exact: true }).tap();
  await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
  await page.locator(".left-out").waitFor();
  assert.ok((await words()).includes(CUTTING));
});

test("with the person's own figures the marks are no longer called taught", async () => {
  await openPlace(page, "See");
  await page.getByRole("link", { name: "Another tool for this run" }).tap();
  await page.getByText("This run is marked or begun, and stays on the tool that it was begun with.").waitFor();
  await openPlace(page, "Bend");
  const back = page.getByRole("button", { name: "Back", exact: true });
  while (await back.isEnabled()) await back.tap(); // looks, as far as the first step
  await page.getByRole("button", { name: "This is not done" }).tap();
  const all = page.getByRole("button", { name: "Take these ticks back" });
  await page.getByRole("button", { name: /^(Take these ticks back|Done, next)$/ }).waitFor();
  if (await all.count()) await all.tap();
  await page.getByRole("button", { name: "Done, next" }).waitFor();
  await openPlace(page, "See");
  await ownTool(page, { name: "pump house half", take_up: "5 1/16", gain: "2 9/16" });
  await page.getByText(/pump house half: take-up/).first().waitFor();
  const said = await words();
  assert.doesNotMatch(said, /taught figures/, said);
  assert.deepEqual(page.faults, []);
});
