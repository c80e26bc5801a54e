// Contrast, names, roles: axe finds nothing serious on any screen; every screen is reached by keyboard; cards print.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { enterSaddle, inEach, newPage, nothingCutOff, nothingForAxe, openBrowser, openPlace, PLACES, PHONE, serve, settled } from "./support.mjs";

let server, browser, page;

before(async () => {
  server = await serve();
  browser = await openBrowser();
  page = await newPage(await browser.newContext({ ...PHONE, bypassCSP: true }));
  await page.goto(server.url);
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
});

after(async () => {
  await browser?.close();
  await server?.stop();
});

test("the bar has the places that the tests look at", async () => {
  const links = await page.getByRole("navigation").getByRole("link").allInnerTexts();
  assert.deepEqual(links.map((text) => text.trim()), PLACES);
});

test("with large text the words of the bar stand in their places, in every window", async () => {
  const outside = () =>
    page.evaluate(() =>
      [...document.querySelectorAll(".places span")]
        .filter((one) => getComputedStyle(one).position !== "absolute") // in a low window the picture stands alone
        .filter((one) => ((word, place) => word.left < place.left || word.right > place.right)(one.getBoundingClientRect(), one.closest("a").getBoundingClientRect()))
        .map((one) => one.textContent),
    );
  for (const [to, then] of [["#/measure", ".measure"], ["#/setup/wire", ".set-list"]]) {
    await at(to, then)();
    for (const [size, found] of await inEach(page, [[360, 740], [600, 800], [900, 800], [1280, 800]].map((one) => [...one, 200]), outside)) assert.deepEqual(found, [], `${to}, ${size}`);
  }
  await inEach(page, [[390, 844, 100]], () => undefined);
});

test("the places are reached by keyboard", async () => {
  const names = [];
  for (let k = 0; k < 150 && names.length < 6; k += 1) {
    await page.keyboard.press("Tab");
    const name = await page.evaluate(() => (document.activeElement?.closest("nav") ? document.activeElement.textContent.trim() : ""));
    if (name && !names.includes(name)) names.push(name);
  }
  assert.equal(names.length, 6, names.join(", "));
});

test("the card prints", async () => {
  await page.getByRole("navigation").getByRole("link", { name: "Job" }).tap();
  await page.evaluate(() => (window.print = () => (window.printed = true)));
  await page.getByRole("button", { name: "Bend card" }).first().tap();
  await page.getByText(/^\d+ pages?\./).waitFor();
  await settled(page);
  const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
  const text = pdf.toString("latin1");
  const pages = (text.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
  assert.ok(pages >= 1 && pages <= 6, `${pages} pages`);
  assert.ok(pdf.length > 15_000, `${pdf.length} bytes: an empty page?`);
});

const at = (hash, then) => async () => {
  await page.evaluate((to) => (location.hash = to), hash);
  await page.locator(then).first().waitFor();
};
const unfolded = () => page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
/** The page's screens, and what stands there by what is done. */
const SCREENS = [
  ...PLACES.map((place) => [place, () => openPlace(page, place)]),
  ["what is worked out without a run", at("#/figure/", ".figure .kind-list")],
  ["wire pull", at("#/figure/pull", ".figure-form")],
  ["what costs what", at("#/setup/prices", ".set-list li")],
  ...[["sticks", "Add sticks"], ["items", "Add an item"], ["people", "Add somebody"]].map(([part, add]) => [
    `what is set: ${part}`,
    async () => {
      await at(`#/setup/${part === "sticks" ? "stock" : part}`, `.set-list button:text("${add}")`)();
      await page.getByRole("button", { name: add }).tap();
      await page.locator(".change-form").waitFor();
    },
  ]),
  ["what was changed", at("#/setup/changes", ".log li")],
  ["wire's slack", at("#/setup/wire", ".set-list li")],
  ["a stub's height keyed in, refused and answered", async () => {
    await at("#/figure/shape/stub", ".figure-form")();
    await page.getByRole("button", { name: /^Stub height/ }).tap();
    const work = async (height, then) => {
      await page.getByRole("textbox", { name: "Stub height" }).fill(height);
      if (then === ".keypad") return;
      await page.getByRole("button", { name: "Close the keypad" }).tap();
      await page.getByRole("button", { name: "Work it out", exact: true }).tap();
      await page.locator(then).first().waitFor();
      await nothingForAxe(page, then);
      await page.getByRole("button", { name: /^Stub height/ }).tap();
    };
    await work("1/8", ".figure .notice.problem, .figure .bad");
    await work("12", ".figure-answer");
    await work("12 1/", ".keypad");
  }],
  ["a tool's form", at("#/tools/new", ".tool-form")],
  ["the tools", at("#/tools", ".tools")],
  ["a graded piece and the class list", async () => {
    await openPlace(page, "Practice");
    await unfolded();
    await page.getByLabel("Name", { exact: true }).fill("Learner A");
    await page.getByRole("button", { name: "Add to the class" }).tap();
    await page.getByLabel("Sheet number").fill("5");
    await page.getByRole("button", { name: "Practice it: A 90 with a stub" }).tap();
    await page.getByRole("button", { name: "I have bent it: grade it" }).first().tap();
    await page.getByLabel("Angle at mark 1, °").fill("97");
    await page.getByRole("button", { name: "Grade it", exact: true }).tap();
    await page.locator(".grade .answer").waitFor();
    await page.getByRole("row", { name: /Learner A/ }).waitFor();
  }],
  ["Job, its lists, files and notes unfolded", async () => {
    await openPlace(page, "Job");
    await unfolded();
    await page.getByRole("button", { name: "Labels", exact: true }).tap();
  }],
  ["what is called by one long word, on See", async () => {
    await openPlace(page, "Measure");
    const called = page.getByRole("textbox", { name: "Called" });
    for (let i = 0; i < (await called.count()); i += 1) await called.nth(i).fill("x".repeat(80));
    await openPlace(page, "See");
    await page.locator("main", { hasText: "x".repeat(80) }).waitFor();
  }],
  ["a run that is refused, on See", async () => {
    await openPlace(page, "Measure");
    await page.getByRole("button", { name: /^Length/ }).tap();
    await page.locator("#keypad-typed").fill("571/4");
    await page.getByRole("button", { name: "Close the keypad" }).tap();
    await openPlace(page, "See");
    await page.locator("main", { hasText: "did you mean 57 1/4?" }).waitFor();
  }],
];

for (const [name, go] of SCREENS)
  test(`axe on ${name}, light and dark, and nothing of it cut off with large text`, async () => {
    await go();
    await nothingForAxe(page, name);
    await nothingCutOff(page, name);
  });
