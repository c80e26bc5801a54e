// Job files go in and out of the page without a difference; what was measured at the bench is kept with its run.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, test } from "node:test";
import { enterSaddle, keyIn, newPage, nextStep, openPlace, PHONE, racewright, ROOT, serverAndBrowser, tapAtOnce, until } from "./support.mjs";

const at = serverAndBrowser();
const folder = mkdtempSync(join(tmpdir(), "files-"));
after(() => rmSync(folder, { recursive: true, force: true }));

/** A job file as the command gives it out again, without the ids that each keeper gives. */
function asTheCommandHasIt(path, key) {
  const shop = join(folder, `${key}.rwshop`);
  racewright("job", "import", path, "--key", key, "--shop", shop);
  racewright("job", "export", join(folder, `${key}.json`), "--job", key, "--shop", shop);
  const job = JSON.parse(readFileSync(join(folder, `${key}.json`), "utf-8"));
  const keys = Object.fromEntries(job.runs.map((run) => [run.id, run.key]));
  for (const run of job.runs) delete run.id;
  for (const entry of job.entries ?? []) {
    delete entry.id;
    delete entry.at; // where the file does not say it, when it was taken in
    entry.run = keys[entry.run];
  }
  delete job.id;
  const told = (entry) => JSON.stringify(entry);
  job.entries?.sort((a, b) => (told(a) < told(b) ? -1 : 1));
  return job;
}

async function savedFile(page, name) {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save as file" }).tap()]);
  const path = join(folder, name);
  await download.saveAs(path);
  return path;
}

test("the demo job goes into the page and out of it without a difference", async () => {
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(`${at.server.url}?engine=browser#/job`);
  const demo = join(ROOT, "examples", "orchard-job.json");
  await page.getByLabel("Job file to open").setInputFiles(demo);
  await page.getByRole("button", { name: /^Pump house/ }).first().waitFor();
  const { runs } = JSON.parse(readFileSync(demo, "utf-8"));
  assert.equal(await page.locator(".run-list .run").count(), runs.length);
  const [given, back] = [asTheCommandHasIt(demo, "given"), asTheCommandHasIt(await savedFile(page, "back.json"), "back")];
  assert.deepEqual(back, given);
  await page.getByLabel("Job file to open").setInputFiles(demo); // and once more
  await page.getByText("It says nothing that is not here.").waitFor();
  if (process.env.PICTURES) await page.screenshot({ path: join(process.env.PICTURES, "meets.png") });
  await page.getByRole("button", { name: "A second job of its own" }).tap();
  await page.getByLabel("Job", { exact: true }).waitFor();
  assert.equal(await page.getByLabel("Job", { exact: true }).locator("option").count(), 2);
  await page.reload();
  await page.getByRole("button", { name: /^Pump house/ }).first().waitFor();
  assert.equal(await page.locator(".run-list .run").count(), runs.length);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("readings, two that disagree told, and the correction that was made are kept with their plan, and go out with the file", async () => {
  const server = await at.anew();
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(server.url);
  await enterSaddle(page);
  await page.getByText("Marks are ready").first().waitFor();
  await openPlace(page, "Job");
  await page.getByText("Your name, another job").tap();
  await page.getByRole("textbox", { name: "Your name" }).fill("Kim");
  await openPlace(page, "Check");
  await page.getByRole("button", { name: /^Rise measured/ }).tap();
  await keyIn(page, "3 1/16");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByRole("radio", { name: "Yes", exact: true }).dispatchEvent("click"); // end B is right
  await page.getByRole("button", { name: "What puts it right?" }).tap();
  await tapAtOnce(page.getByRole("button", { name: "Keep what I measured" }));
  await page.getByText("Kept with the run.").first().waitFor();
  assert.equal(await page.getByText("cannot both be right").count(), 0);
  await page.getByRole("button", { name: /^Rise measured/ }).tap();
  await page.locator("#keypad-typed").fill("3 1/4");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await page.getByRole("button", { name: "What puts it right?" }).tap();
  await page.getByRole("button", { name: "Keep what I measured" }).tap();
  await page.getByText(/: 3 1\/16"' and '.*: 3 1\/4"' cannot both be right/).waitFor();
  await tapAtOnce(page.getByRole("button", { name: "I have made this correction: keep it" }));
  await openPlace(page, "Job");
  await page.locator(".run-notes li").nth(2).waitFor();
  assert.equal(await page.locator(".run-notes li").count(), 3, "each is kept once");
  assert.match(await page.locator(".run-notes").innerText(), /1 reading of R-[0-9A-F]{4}(-1)? Kim\s+2 corrections made on R-[0-9A-F]{4}(-1)? Kim/); // the piece has its number until it is known to be the only one
  await page.locator(".run-head .status.bent").waitFor();
  const [told, row] = await Promise.all([".run-head .status.bent", ".run-head"].map((part) => page.locator(part).first().boundingBox()));
  assert.ok(told.width < row.width / 2, "as wide as its word, not as the row");
  await page.locator(".run-head .status", { hasText: "in the shop" }).waitFor();
  const { entries } = asTheCommandHasIt(await savedFile(page, "bench.json"), "bench");
  const [readings, corrected, status] = ["readings", "corrected", "status"].map((kind) => entries.find((entry) => entry.what.kind === kind));
  const rises = entries.flatMap(({ what }) => (what.measured ?? []).map((one) => Math.round(one.rise_mm * 1e6) / 1e6));
  assert.deepEqual(rises.sort((a, b) => a - b), [77.7875, 82.55]);
  assert.equal(corrected.what.moves.length, 2);
  assert.equal(status.what.status, "bent");
  for (const entry of [readings, corrected]) {
    assert.match(entry.pins.marks, /^[0-9A-Z]{6}$/);
    assert.ok(entry.pins.tool && entry.pins.engine);
    assert.deepEqual([entry.by, entry.piece], ["Kim", 1]);
  }
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("a run that the shop has put on a tool has the marks of the card, and names the tool, on a phone that joins late too", async () => {
  const server = await at.anew();
  const shop = join(server.home, "jobs.rwshop");
  const command = (...args) => racewright(...args, "--shop", shop);
  const plan = () => /\bplan ([0-9A-Z]{6})\b/i.exec(command("job", "show", "pump-house-saddle"))[1];
  const survey = join(folder, "pump-house-saddle.yaml");
  const text = readFileSync(join(ROOT, "examples", "pump-house-saddle.yaml"), "utf-8");
  writeFileSync(survey, text.replace(/^( +)raceway:.*$/m, "$&\n$1bender: blue half"));
  command("job", "new", "orchard", "--name", "Orchard");
  command("bender", "add", "blue half", "--raceway", "EMT", "--size", "1/2", "--take-up", "5 3/8", "--gain", "2 3/4");
  command("job", "add", survey);
  const phones = [];
  const phone = async () => {
    const page = await newPage(await at.browser.newContext(PHONE));
    await page.goto(`${server.url}#/bend`);
    phones.push(page);
    return page;
  };
  const one = await phone();
  await one.getByRole("button", { name: "Done, next" }).waitFor();
  const made = async () => {
    const { records } = await (await fetch(`${server.url}records?after=0`)).json();
    return records.filter((record) => record.data?.what?.kind === "made" && record.data.what.bends.length).map((record) => record.data.pins);
  };
  const big = async (page) => (await page.locator(".big-mark, .big-cut").allInnerTexts()).join(" ");
  const cut = await big(one);
  for (let step = 0; step < 3; step += 1) await nextStep(one);
  const marks = [cut, await big(one)];
  assert.match(marks.join(), /CUT.*mark 2.*Bend to/s);
  await until(async () => (await made()).length, "a bend is made");
  assert.deepEqual((await made()).map((pins) => [pins.marks, pins.tool]), [[plan(), "blue half"]]);
  const before = plan();
  command("bender", "add", "blue half", "--raceway", "EMT", "--size", "1/2", "--take-up", "6", "--gain", "3", "--replace");
  assert.equal(plan(), before, "measured anew, and the run stays on what it was put on");
  await one.reload();
  await one.locator(".progress .is-bend.done").first().waitFor(); // of that same plan
  command("bender", "remove", "blue half", "--anyway");
  const late = await phone(); // hears of the tool only now, when it is no more
  await late.getByRole("button", { name: "Done, next" }).waitFor();
  await late.locator(".progress .is-bend.done").first().waitFor(); // that is the plan of which the first has made a bend
  assert.equal(await big(late), marks[1], "it opens after the bend that is made");
  for (const page of phones) {
    assert.deepEqual(page.faults, []);
    await page.context().close();
  }
});
