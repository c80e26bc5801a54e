// Practice: a piece is graded as the engine does it, kept for a name of the class list, and taken out as CSV.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { askServer, keyIn, newPage, nothingForAxe, openBrowser, openPlace, PHONE, serve, tapAtOnce, tapInARow } from "./support.mjs";

test("a lesson's piece is graded with its causes, kept for a name, and the class goes out as CSV", async () => {
  const server = await serve();
  const browser = await openBrowser();
  const page = await newPage(await browser.newContext(PHONE));
  await page.goto(server.url);
  await openPlace(page, "Practice");
  await page.getByLabel("Sheet number").fill("5");
  await page.getByText("Lessons, from a stub to a combined piece").tap();
  await page.getByRole("button", { name: "Practice it: A 90 with a stub" }).tap();
  await page.getByRole("button", { name: "I have bent it: grade it" }).first().tap();
  // the first name comes once the piece is open
  await page.locator("summary", { hasText: "Class list" }).tap();
  await page.getByLabel("Name", { exact: true }).fill("Learner A");
  await page.getByRole("button", { name: "Add to the class" }).tap();
  await page.getByRole("row", { name: /Learner A/ }).waitFor();
  await page.getByRole("button", { name: "Grade it", exact: true }).tap();
  await page.locator(".grade").getByText(/^Nothing is measured yet, so there is no grade\. Write at least one of: .*angle at mark 1/i).waitFor();
  const sheet = await askServer(page, "practice", { seed: 5, count: 3, kinds: ["stub"] });
  const wanted = Object.fromEntries((await askServer(page, "practice_grade", { survey: sheet.problems[0].survey })).checks.map((check) => [check.key, check.wanted]));
  await page.getByRole("button", { name: /^End A to the back of the 90 at mark 1, in/ }).tap();
  const pad = (name) => page.getByRole("dialog", { name: `Keypad: ${name}` });
  await pad("End A to the back of the 90 at mark 1, in").waitFor();
  await keyIn(page, wanted["length 1"].replace('"', ""));
  await page.getByRole("button", { name: "Next", exact: true }).tap();
  await pad("The back of the 90 at mark 1 to end B, in").waitFor();
  await keyIn(page, wanted["length 2"].replace('"', ""));
  await page.getByRole("button", { name: "Next", exact: true }).tap();
  await pad("End B off the flat floor (dog-leg), in").waitFor();
  await keyIn(page, "0");
  await page.getByRole("button", { name: "Next", exact: true }).tap();
  await page.locator(".keypad").waitFor({ state: "detached" });
  await page.getByLabel("Angle at mark 1, °").fill("933");
  await page.getByRole("button", { name: "Grade it", exact: true }).tap();
  await page.locator(".grade .wrong, .grade .notice.problem").first().waitFor();
  await nothingForAxe(page, "refused");
  await page.getByLabel("Angle at mark 1, °").fill("93");
  await page.getByRole("button", { name: "Grade it", exact: true }).tap();
  const graded = page.locator(".grade .answer");
  await graded.getByText("90 of 100 points: passed.").waitFor();
  await graded.getByText("Likely: mark 1 was bent").waitFor();
  const keep = page.getByRole("button", { name: "Keep it in the class list" });
  await page.getByLabel("Angle at mark 1, °").fill("90");
  await graded.waitFor({ state: "detached" }); // it was for what was read before
  assert.equal(await keep.count(), 0);
  await page.getByLabel("Angle at mark 1, °").fill("93");
  await page.getByRole("button", { name: "Grade it", exact: true }).tap();
  await graded.getByText("90 of 100 points: passed.").waitFor();
  await tapAtOnce(keep);
  const row = page.getByRole("row", { name: /Learner A/ });
  await row.getByText("90 of 100").waitFor();
  // other rules: what was graded by those of before is none by these, and in the list it says so
  const rules = page.locator(".rules-card");
  await rules.locator("summary").tap();
  await rules.getByLabel("Passed from").fill("95");
  await row.getByText("90, earlier rules").waitFor();
  await page.locator(".class-card").getByText(/^1 grade that is kept was given by other rules/).waitFor();
  assert.deepEqual([await graded.count(), await keep.count()], [0, 0]);
  await rules.getByLabel("Passed from").fill("");
  await row.getByText("90", { exact: true }).waitFor();
  const rule = page.locator(".class-card").getByText(/^Passed from 70 of 100 points on/);
  await page.locator(".sheet-head").getByText(/^Passed from 70/).waitFor();
  assert.equal(await rule.textContent(), await page.locator(".sheet-head").getByText(/^Passed from/).textContent());
  await page.evaluate(() => (document.documentElement.dataset.print = "class"));
  await page.emulateMedia({ media: "print" });
  assert.equal(await rule.isVisible(), true);
  await page.emulateMedia({ media: null });
  await page.evaluate(() => delete document.documentElement.dataset.print);
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save as CSV" }).tap()]);
  assert.equal(readFileSync(await download.path(), "utf-8"), "\ufeffname,\"5.1 stub, EMT 1/2, in\",sum,passed,tries,not all measured: no grade\r\nLearner A,90,90 of 100,1,1,\r\n");
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), PHONE.viewport.width);
  // a sheet that was kept before leans were asked for, read all but for them
  const old = await askServer(page, "practice", { seed: 5, count: 3, kinds: ["back to back"] });
  const { checks } = await askServer(page, "practice_grade", { survey: old.problems[0].survey });
  const read = Object.fromEntries(checks.filter((check) => check.kind !== "lean").map((check) => [check.key, check.wanted.replace(/["°]/, "")]));
  assert.ok(Object.keys(read).length < checks.length);
  await page.evaluate(
    (bench) =>
      new Promise((resolve, reject) => {
        const open = indexedDB.open("racewright");
        open.onerror = () => reject(open.error);
        open.onsuccess = () => {
          const writing = open.result.transaction("local", "readwrite");
          writing.objectStore("local").put(bench, "practice");
          writing.oncomplete = () => (open.result.close(), resolve());
        };
      }),
    { seed: 5, count: "3", kind: "back to back", units: "in", reads: { 1: read } },
  );
  await page.reload();
  await page.getByRole("button", { name: "I have bent it: grade it" }).first().waitFor();
  await tapInARow(page, "I have bent it: grade it", "Grade it");
  await page.locator(".grade .answer").getByText("100 of 100 points: passed. It was read before leans were asked for: graded without them.").waitFor();
  assert.deepEqual(page.faults.filter((fault) => !/status of 422/.test(fault)), []); // the refusal
  await browser.close();
  await server.stop();
});
