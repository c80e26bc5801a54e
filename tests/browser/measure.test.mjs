// Measure by thumb: the keypad opens where one goes on, its field stays in view, few taps to the marks, nothing is lost by one.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, keyIn, newPage, nextStep, nothingForAxe, openPlace, PHONE, serverAndBrowser, settled, tapAtOnce } from "./support.mjs";

const at = serverAndBrowser();
const SIZES = [[360, 740, 100], [390, 844, 100], [360, 740, 200], [390, 844, 200], [740, 360, 100]];

/** A phone at an empty shop. */
async function phone([width, height, percent] = [390, 844, 100]) {
  const server = await at.anew();
  const context = await at.browser.newContext({ ...PHONE, viewport: { width, height }, bypassCSP: true });
  const page = await newPage(context);
  await page.goto(server.url);
  if (percent !== 100) await page.addStyleTag({ content: `html { font-size: ${0.17 * percent}px !important }` });
  return page;
}

const pad = (page) => page.getByRole("dialog", { name: /^Keypad/ });
const keyed = async (page) => (await pad(page).getAttribute("aria-label")).replace("Keypad: ", "");
const key = (page, name) => pad(page).getByRole("button", { name, exact: true }).tap();

/** Every key whole in the window, and the field that is keyed into whole above the keypad. */
async function inView(page, where) {
  await settled(page);
  const look = () => {
    const field = document.querySelector(".length.on .length-button").getBoundingClientRect();
    const keypad = document.querySelector(".keypad").getBoundingClientRect();
    const above = [...document.querySelectorAll(".top, .sketch-stage")].filter((el) => getComputedStyle(el).position === "sticky");
    const fixed = Math.max(0, ...above.map((el) => el.getBoundingClientRect().bottom));
    const cut = [...document.querySelectorAll(".keypad button, .keypad input")].filter((el) => {
      const box = el.getBoundingClientRect();
      return box.left < 0 || box.right > innerWidth + 0.5 || box.top < 0 || box.bottom > innerHeight + 0.5 || el.scrollWidth > el.clientWidth + 1;
    });
    return { top: field.top - fixed, bottom: keypad.top - field.bottom, cut: cut.map((el) => el.textContent || el.className), wide: document.documentElement.scrollWidth - innerWidth };
  };
  const inside = ({ top, bottom }) => top >= -1 && bottom >= -1;
  let seen = await page.evaluate(look);
  for (let frames = 0; frames < 30 && !inside(seen); frames += 1) { // brought into view in the next frames
    await settled(page);
    seen = await page.evaluate(look);
  }
  assert.ok(inside(seen), `${where}: the field is ${JSON.stringify(seen)}`);
  assert.deepEqual(seen.cut, [], where);
  assert.ok(seen.wide <= 0, `${where}: ${seen.wide} px too wide`);
}

for (const size of SIZES)
  test(`the keypad opens on what was just added and its field stays in view: ${size[0]} x ${size[1]}, text at ${size[2]} %`, async () => {
    const page = await phone(size);
    await page.getByRole("button", { name: "Start a run" }).tap();
    await pad(page).waitFor();
    assert.equal(await keyed(page), "Length");
    await inView(page, "a new run");
    await keyIn(page, "50");
    await key(page, "A turn, and on");
    await page.locator('.length.on [data-length="run.walk[2].leg"]').waitFor();
    await inView(page, "the leg after a turn");
    await keyIn(page, "47 3/4");
    for (const [kind, first] of [["Go over something", "To its middle"], ["Move over (offset)", "Move over by"], ["Box offset", "Tape at its start"], ["Kick before the turn", "Aside at the turn by"], ["Keep clear of", "To its middle"]]) {
      const close = page.getByRole("button", { name: "Close the keypad" });
      if (await close.count()) await close.tap();
      await page.getByRole("button", { name: /^Length/ }).last().tap();
      await key(page, "Something on this leg");
      await page.getByRole("button", { name: kind }).tap();
      await pad(page).waitFor();
      assert.equal(await keyed(page), first, kind);
      await inView(page, kind);
    }
  });

test("Next goes to fields that can be seen alone, and a note at a field does not cover it", async () => {
  const page = await phone([360, 740, 100]);
  await tapAtOnce(page.getByRole("button", { name: "Start a run" }));
  await keyIn(page, "56");
  await key(page, "Something on this leg");
  await page.getByRole("button", { name: /^Go over something/ }).tap();
  const through = [await keyed(page)];
  await keyIn(page, "26");
  for (; await pad(page).getByRole("button", { name: "Next", exact: true }).count(); through.push(await keyed(page))) await key(page, "Next");
  assert.deepEqual(through, ["To its middle", "Its top off the wall"]);
  await keyIn(page, "3");
  await page.getByRole("button", { name: /^To its middle/ }).tap();
  await page.locator("#keypad-typed").fill("261/4");
  await page.locator(".length.on.bad").waitFor();
  await inView(page, "a reading that cannot be taken");
  await nothingForAxe(page, "a reading that cannot be taken");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  assert.equal(await pad(page).count(), 0);
  await page.locator(".feature summary").tap();
  await page.getByRole("button", { name: /^Its top off the wall/ }).tap();
  await key(page, "Next");
  assert.equal(await keyed(page), "Its underside off the wall", "unfolded, it is gone to");
  await openPlace(page, "Job");
  assert.equal(await page.locator(".run-list .run").count(), 1, "begun by a double tap");
});

test("the simplest saddle takes at most 12 taps from a new run to its marks", async () => {
  const page = await phone();
  await page.evaluate(() => {
    window.taps = 0;
    addEventListener("click", () => (window.taps += 1), true);
  });
  await page.getByRole("button", { name: "Start a run" }).tap();
  await keyIn(page, "56 1/4");
  await key(page, "Something on this leg");
  await page.getByRole("button", { name: /^Go over something/ }).tap();
  await keyIn(page, "26");
  await key(page, "Next");
  await keyIn(page, "3");
  await key(page, "See the marks");
  await page.locator("table.marks tbody tr").first().waitFor();
  assert.equal(await page.locator("table.marks tbody tr").count(), 3);
  const taps = await page.evaluate(() => window.taps);
  assert.ok(taps <= 12 && taps >= 8, `${taps} taps`);
});

test("what is taken away comes back by one tap, as long as one is on the screen", async () => {
  const page = await phone([360, 740, 100]);
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
  const undo = page.getByRole("button", { name: "Undo", exact: true }).last();
  const whole = async () => {
    const box = await undo.boundingBox();
    const over = await undo.evaluate((el) => {
      const { left, top, width, height } = el.getBoundingClientRect();
      return el.contains(document.elementFromPoint(left + width / 2, top + height / 2));
    });
    assert.ok(box.y >= 0 && box.y + box.height <= 740 && over, "in view, and nothing over it");
  };
  const readings = () => page.locator(".measure .length").allInnerTexts();
  const before = await readings();

  await page.getByRole("button", { name: /^Its top off the wall/ }).tap(); // a reading cleared
  await key(page, "Clear");
  await whole();
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.waitForTimeout(1500); // it stays
  await whole();
  assert.match(await page.locator(".undo-bar").innerText(), /Its top off the wall 2 7\/8: removed/);
  await undo.tap();
  await page.getByText("Marks are ready").first().waitFor();
  assert.deepEqual(await readings(), before);

  await page.getByRole("button", { name: "Remove suction pipe" }).tap(); // a thing on a leg, then a turn with its leg
  assert.equal(await page.locator(".feature").count(), 0);
  await page.locator(".measure > .wide-button").tap();
  await keyIn(page, "31 1/8");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByRole("button", { name: /^Remove turn 1/ }).tap();
  assert.equal(await page.locator(".turn-card").count(), 0);
  await whole();
  await undo.tap();
  assert.equal(await page.locator(".turn-card").count(), 1);
  assert.match((await page.locator(`[data-length="run.walk[2].leg"]`).innerText()).replace(/\s+/g, " "), /31 and 1\/8/);
  await undo.tap(); // the last goes first
  assert.equal(await page.getByRole("region", { name: "suction pipe" }).count(), 1);
  assert.equal(await page.locator(".undo-bar").count(), 0);
  await page.getByRole("button", { name: /^Remove turn 1/ }).tap();
  await page.getByText("Marks are ready").first().waitFor();
  assert.deepEqual(await readings(), before, "as it was, its end too");

  await page.getByRole("button", { name: "Remove suction pipe" }).tap();
  await openPlace(page, "See");
  await openPlace(page, "Measure");
  assert.equal(await page.locator(".undo-bar").count(), 0, "on another screen it is settled");
});

test("typed fractions and a decimal comma are read, by the engine and by the keys", async () => {
  const page = await phone();
  await page.getByRole("button", { name: "Start a run" }).tap();
  for (const [text, worth] of [["56½", "56 1/2"], ["56,5", "56 1/2"], ["4' 8½\"", "56 1/2"]]) {
    await page.locator("#keypad-typed").fill(text);
    await page.getByText("Marks are ready").first().waitFor();
    await page.getByRole("button", { name: "1/8 inch", exact: true }).tap();
    assert.equal(await page.locator("#keypad-typed").inputValue(), worth.replace("1/2", "5/8"), text);
  }
  await page.locator("#keypad-typed").fill("1,250");
  await page.locator("#keypad-note", { hasText: "did you mean 1.250 or 1250?" }).waitFor();
});

for (const place of ["See", "Bend"])
  test(`no reading breaks over two lines on ${place}, text at 100 and 200 %`, async () => {
    for (const percent of [100, 200]) {
      const page = await phone([360, 740, percent]);
      await enterSaddle(page);
      await page.getByText("Marks are ready").first().waitFor();
      await openPlace(page, place);
      if (place === "Bend") await nextStep(page);
      await settled(page);
      const broken = await page.evaluate(() => {
        const out = [];
        const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
        for (let node = walker.nextNode(); node; node = walker.nextNode()) {
          if (node.parentElement.closest("svg, .unseen, option, details:not([open])")) continue;
          for (const { 0: reading, index } of node.data.matchAll(/\d+ \d+\/\d+["°]?/g)) {
            const range = document.createRange();
            range.setStart(node, index);
            range.setEnd(node, index + reading.length);
            if (new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size > 1) out.push(reading);
          }
        }
        return out;
      });
      assert.deepEqual(broken, [], `${percent} %`);
    }
  });

test("a raceway that no shoe bends is planned by a bend radius, which the refusal names as its field is called", async () => {
  const page = await phone();
  await page.getByRole("button", { name: "Start a run" }).tap();
  await keyIn(page, "40");
  await key(page, "A turn, and on");
  await page.locator('.length.on [data-length="run.walk[2].leg"]').waitFor();
  await keyIn(page, "30");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  assert.equal(await page.locator('[data-length="run.bend_radius"]').count(), 0, "a shoe bends EMT 1/2");
  await page.getByLabel("Raceway").selectOption("PVC-40 1");
  for (const end of await page.getByLabel("Fitting").all()) await end.selectOption("socket");
  const told = page.locator(".notice.problem");
  await told.getByText(/in place of a bender: bend radius \d+ in or more/).waitFor();
  assert.doesNotMatch(await told.innerText(), /[`_]/);
  await nothingForAxe(page, "a raceway that no shoe bends");
  await page.getByRole("button", { name: /^Bend radius, without a shoe/ }).tap();
  await pad(page).waitFor();
  await inView(page, "the bend radius");
  await keyIn(page, "8");
  await page.getByText("Marks are ready.").waitFor();
});
