// What stands on a phone's screen: the bender's figures whole in a narrow window, what was meant by a slip of the pen,
// another angle taken, a straight run.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, keyIn, newPage, nextStep, openPlace, PHONE, serverAndBrowser, settled, shows } from "./support.mjs";

const at = serverAndBrowser();

async function withSaddle(phone = PHONE, style = "") {
  const { url } = await at.anew();
  const page = await newPage(await at.browser.newContext({ ...phone, bypassCSP: true }));
  await page.goto(url);
  if (style) await page.addStyleTag({ content: style });
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
  return page;
}

const words = async (page) => (await settled(page), (await page.locator("main").innerText()).replace(/\s+/g, " "));

for (const percent of [100, 200]) {
  test(`mark and angle stand whole in a window of 360 px, text at ${percent} %`, async () => {
    const narrow = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };
    const page = await withSaddle(narrow, `html { font-size: ${(17 * percent) / 100}px !important }`);
    await openPlace(page, "See");
    await page.locator(".chance").waitFor();
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360, "See is as wide as the window");
    await openPlace(page, "Bend"); // by a tap, which a page wider than its window would not get
    for (let seen = 0; seen < 3; ) {
      if (await page.locator(".big-mark").count()) {
        seen += 1;
        await settled(page);
        for (const part of [".sign-box", ".big-mark .tape", ".huge-angle", ".big-mark-words >> nth=0", ".big-mark-words >> nth=1"]) {
          const box = await page.locator(part).first().evaluate((node) => {
            const range = document.createRange();
            range.selectNodeContents(node.querySelector(".tape-shown") ?? node);
            const { left, right } = node.matches("svg") ? node.getBoundingClientRect() : range.getBoundingClientRect();
            return { left, right };
          });
          assert.ok(box.left >= 0 && box.right <= 360, `${part} from ${box.left} to ${box.right}`);
        }
        assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360);
      }
      await nextStep(page);
    }
    await page.context().close();
  });
}

test("a forgotten space is asked back, and the keys add to what was typed", async () => {
  const page = await withSaddle();
  await page.getByRole("button", { name: /^Length/ }).tap();
  const typed = page.locator("#keypad-typed");
  await typed.fill("571/4");
  await page.locator("#keypad-note", { hasText: "cannot take '571/4' as a length: 571/4 is a fraction of 1 or more; did you mean 57 1/4?" }).waitFor();
  assert.equal(await page.locator(".keypad-show .fraction").count(), 0, "571/4 is not drawn as a fraction");
  assert.match(await page.locator(".state-line").innerText(), /^Not like this/);
  await page.getByRole("button", { name: "1/2 inch", exact: true }).tap();
  assert.equal(await typed.inputValue(), "571/4");
  await typed.fill("57 5/32");
  await page.getByRole("button", { name: "1/4 inch", exact: true }).tap();
  assert.equal(await typed.inputValue(), "57 13/32");
  await typed.fill("571/4");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await openPlace(page, "See");
  await page.locator("main", { hasText: "did you mean 57 1/4?" }).waitFor(); // See says why there is no plan
  await page.context().close();
});

test("another angle is taken by one tap, on the thing that it was shown for", async () => {
  const page = await withSaddle();
  await openPlace(page, "See");
  const table = page.getByRole("region", { name: "suction pipe" });
  await table.locator("tr.on", { hasText: "22 1/2°" }).waitFor();
  const said = await words(page);
  assert.match(said, /37 % chance that it fits uncorrected .* Watch most The angle at mark 1 \(35 % of the scatter\)/);
  assert.match(said, /As planned: marks 1, then 2, then 3, 3.7 points of effort .* Or: marks 3, then 2, then 1, 3.8 points/);
  assert.match(said, /Straight at the hook, to be held by hand 8" or more; here 6 3\/8", mark 2 caution/);
  assert.match(said, /The whole run between pull points stands before wire goes in. NFPA 70-2023 300.18\(A\)/, "notes in the open");
  await table.getByRole("button", { name: "Take 30°" }).tap();
  await table.locator("tr.on", { hasText: "30°" }).waitFor();
  await settled(page);
  assert.match(await page.locator("table.marks").innerText(), /60°/);
  assert.match(await table.locator("tr", { hasText: "45°" }).innerText(), /four bends, not three/);
  await openPlace(page, "Bend");
  await nextStep(page);
  await openPlace(page, "See");
  await table.getByRole("button", { name: "Take 22 1/2°" }).tap();
  const asked = page.getByRole("alert").filter({ hasText: "1 other step is done" });
  await asked.getByRole("button", { name: "Leave it" }).tap();
  assert.equal(await table.locator("tr.on", { hasText: "30°" }).count(), 1);
  await table.getByRole("button", { name: "Take 22 1/2°" }).tap();
  await asked.getByRole("button", { name: "Take 22 1/2° all the same" }).tap();
  await table.locator("tr.on", { hasText: "22 1/2°" }).waitFor();
  await page.evaluate(() => (HTMLCanvasElement.prototype.getContext = () => null)); // a browser without WebGL
  await page.getByRole("button", { name: "3D" }).tap();
  await page.getByText("Seen from corner 1 of 4").waitFor();
  await page.getByRole("button", { name: "Turn left" }).tap();
  await page.getByText("Seen from corner 4 of 4").waitFor();
  const drawn = page.getByRole("img", { name: /seen from corner 4 of 4/ });
  assert.ok((await drawn.evaluate((image) => (image.decode(), image.naturalWidth))) > 0);
  assert.equal(await page.locator("canvas").isVisible(), false);
  await page.context().close();
});

test("the hook reach that is taken for a shoe is that shoe's own", async () => {
  const page = await withSaddle();
  for (const [raceway, reach] of [["EMT 1/2", "1 1/2"], ["EMT 1", "2"], ["EMT 1-1/4", "3"]]) {
    await openPlace(page, "Measure");
    await page.getByLabel("Raceway").selectOption(raceway);
    await openPlace(page, "Job");
    await openPlace(page, "Measure");
    await page.getByText("Marks are ready").or(page.getByText("Not like this")).first().waitFor();
    if (await page.getByText("Not like this").count()) {
      assert.fail(`${raceway}: ${await words(page)}`);
    }
    await openPlace(page, "See");
    await page.getByRole("link", { name: "Enter your own bender" }).first().tap();
    await page.getByText(`Taught: ${reach} in.`).first().waitFor();
  }
  await page.context().close();
});

test("a straight run has no table of marks and nothing to bend", async () => {
  const { url } = await at.anew();
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(url);
  await page.getByRole("button", { name: "Start a run" }).tap();
  await page.getByRole("textbox", { name: "Where it goes" }).fill("Packing shed, panel to junction box");
  await keyIn(page, "71 1/4");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByText("Marks are ready").first().waitFor();
  await openPlace(page, "See");
  await page.getByRole("link", { name: "Cut and install it, step by step" }).waitFor();
  assert.equal(await page.locator("table.marks").count(), 0);
  assert.ok(!(await words(page)).includes("Bend it"));
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("Job says what is still to be measured and how far a run is bent; a length to cut to stands large", async () => {
  const page = await withSaddle();
  await openPlace(page, "Bend");
  const step = page.locator(".step");
  assert.equal(await step.getByRole("heading").innerText(), 'Cut to 58 7/8"');
  assert.ok(shows((await step.locator(".big-cut").innerText()).replace(/\s+/g, " "), "58 7/8"));
  await nextStep(page);
  await openPlace(page, "Job");
  const chips = page.locator(".run.on .status");
  await chips.getByText("Being bent").waitFor();
  const [status, begun, where, ...others] = await chips.allInnerTexts();
  assert.deepEqual([status, begun, others], ["Planned", "Being bent", []]);
  assert.match(where, /^kept on this device, not yet in the shop$|^in the shop$/);
  await page.getByRole("button", { name: "Another run" }).tap();
  await page.getByText("1 reading still to take.").waitFor();
  await page.getByRole("dialog").getByRole("button", { name: "Something on this leg" }).tap();
  await page.getByRole("button", { name: /^Go over something/ }).tap();
  await page.getByText("3 readings still to take.").waitFor();
  assert.equal(await page.getByText("Still to measure.").count(), 3, "each at its own field");
  await openPlace(page, "Job");
  await chips.getByText("3 open").waitFor();
  await page.getByRole("button", { name: "Cut list", exact: true }).tap();
  await page.getByRole("button", { name: "Work it out for 2 runs" }).tap();
  await page.getByText("no plan, so left out: still to be measured").waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
