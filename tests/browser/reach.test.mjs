// Contrast, names, roles: axe finds nothing serious on any screen; every screen is reached by keyboard; cards print.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axeSource, enterSaddle, newPage, nothingForAxe, openBrowser, openPlace, PLACES, PHONE, serve, settled } from "./support.mjs";

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

for (const place of PLACES) {
  for (const scheme of ["light", "dark"]) {
    test(`axe on ${place}, ${scheme}`, async () => {
      await page.emulateMedia({ colorScheme: scheme });
      await openPlace(page, place);
      await page.evaluate(axeSource());
      const found = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"] }));
      const bad = found.violations.filter((v) => ["serious", "critical"].includes(v.impact));
      assert.deepEqual(bad.map((v) => `${v.id}: ${v.nodes[0].html}`), []);
    });
  }
}

for (const scheme of ["light", "dark"]) {
  test(`axe on what is worked out without a run, ${scheme}`, async () => {
    await page.emulateMedia({ colorScheme: scheme });
    for (const key of ["", "shape/stub", "pull"]) {
      await page.evaluate((to) => (location.hash = `#/figure/${to}`), key);
      await page.locator(key ? ".figure-form" : ".figure .kind-list").first().waitFor();
      if (key === "shape/stub" && !(await page.locator(".figure-answer").count())) {
        await page.getByRole("button", { name: /^Stub height/ }).tap();
        await page.getByRole("textbox", { name: "Stub height" }).fill("12");
        await page.getByRole("button", { name: "Close the keypad" }).tap();
        await page.getByRole("button", { name: "Work it out", exact: true }).tap();
        await page.locator(".figure-answer").waitFor();
      }
      await settled(page);
      await page.evaluate(axeSource());
      const found = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"] }));
      const bad = found.violations.filter((v) => ["serious", "critical"].includes(v.impact));
      assert.deepEqual(bad.map((v) => `${key} ${v.id}: ${v.nodes[0].html}`), []);
    }
  });
}

test("axe on a tool's form, and on what folds away on Job and Practice: notes, files, classes", async () => {
  await page.emulateMedia({ colorScheme: "light" });
  for (const place of ["", "Practice", "Job"]) {
    if (place) await openPlace(page, place);
    else await page.evaluate(() => (location.hash = "#/tools/new"));
    if (!place) await page.locator(".tool-form").waitFor();
    await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
    await nothingForAxe(page);
  }
});

test("the places are reached by keyboard", async () => {
  await page.emulateMedia({ colorScheme: "light" });
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
