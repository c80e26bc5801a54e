// The shop's tools on the page: asked of the engine before they are kept, and the same marks on two phones and in the command.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { test } from "node:test";
import { axeSource, enterSaddle, fillTool, held, keyIn, newPage, nextStep, nothingCutOff, nothingForAxe, openBrowser, openPlace, PHONE, ROOT, serve, settled, shows, tapAtOnce, until } from "./support.mjs";

const look = async (page, name) => process.env.PICTURES && page.screenshot({ path: join(process.env.PICTURES, `${name}.png`), fullPage: true });

const words = async (page) => (await page.locator("main").innerText()).replace(/\s+/g, " ");
const marksOn = (page) => page.locator("table.marks").first().ariaSnapshot();

test("a tool that is kept, calibrated, chosen and removed on a phone is that of every phone and of the command", async () => {
  const server = await serve();
  const browser = await openBrowser();
  const shop = async (kind) => {
    const { records } = await (await fetch(`${server.url}records?after=0`)).json();
    return records.filter((one) => one.kind === kind && one.data);
  };
  const pins = async () => (await shop("run")).map((run) => run.data.tool?.revision ?? 0).sort().join();
  try {
    const [one, other] = [await newPage(await browser.newContext(PHONE)), await newPage(await browser.newContext(PHONE))];
    await one.goto(server.url);
    await one.getByRole("button", { name: "Look at an example" }).tap();
    await openPlace(one, "Job");
    await enterSaddle(one);
    await openPlace(one, "See");
    const taught = await marksOn(one);
    // refused at its field, in the engine's words
    await one.getByRole("link", { name: "Enter your own bender" }).first().tap();
    await fillTool(one, { name: "shed half", take_up: "9", gain: "1/2" });
    await one.getByText(/is not more than the conduit's outside diameter/).first().waitFor();
    assert.ok(await one.locator(".length.bad [data-length=gain]").count(), "told at the gain");
    await look(one, "refused");
    await nothingForAxe(one, "refused");
    const late = await held(one, "bender", (asked) => asked.bender.gain === "4");
    await fillTool(one, { gain: "4" });
    await one.locator("[data-length=gain]").tap();
    await one.locator("#keypad-typed").fill("5");
    await late();
    assert.equal(await one.getByRole("button", { name: /^Keep it/ }).count(), 0, "figures that were changed since are not kept");
    await fillTool(one, {});
    await one.getByRole("rowheader", { name: /Take-up/ }).waitFor();
    await look(one, "asked");
    await tapAtOnce(one.getByRole("button", { name: /^Keep it, and put / }));
    await one.getByRole("button", { name: "Also for the other run of EMT 1/2 not begun" }).tap();
    await until(async () => (await pins()) === "1,1", "both runs are on the tool's first revision");
    assert.equal((await shop("tool")).length, 1, "kept by a double tap");
    await look(one, "tools");
    await one.evaluate(axeSource());
    const { violations } = await one.evaluate(() => window.axe.run());
    assert.deepEqual(violations.map((v) => [v.id, v.nodes.map((n) => n.html)]), []);
    await one.getByRole("link", { name: "Back to See" }).tap();
    await one.getByText(/shed half: take-up/).first().waitFor();
    // the same marks on another phone, and in the command
    await other.goto(`${server.url}#/see`);
    await other.getByText(/shed half: take-up/).first().waitFor();
    await openPlace(other, "Job");
    await other.locator(".run-head").nth(1).tap();
    await openPlace(other, "See");
    assert.equal(await marksOn(other), await marksOn(one), "the same lines on both");
    assert.notEqual(await marksOn(one), taught);
    const key = (await shop("run")).find((run) => run.data.survey.run.name.startsWith("Pump house, disconnect")).data.key;
    const python = process.env.RACEWRIGHT_PYTHON ?? "python3";
    const command = () =>
      spawnSync(python, ["-m", "racewright", "job", "show", key, "--shop", join(server.home, "jobs.rwshop")], { cwd: ROOT, env: { ...process.env, PYTHONPATH: join(ROOT, "src") }, encoding: "utf-8" }).stdout;
    const marks = await readMarks(one);
    const card = command();
    assert.ok(card.includes("shed half") && marks.length > 2, card.slice(0, 400));
    for (const mark of marks) assert.ok(shows(card, mark), `${mark} in ${card.slice(0, 1500)}`);
    // calibrated: the next revision, which no run is put on by itself
    await openPlace(one, "See");
    await one.getByRole("link", { name: "Look at the tool’s figures" }).last().tap();
    await one.getByRole("button", { name: "Calibrate from test bends" }).tap();
    for (const [reading, text] of [["cut", "39 3/8"], ["mark", "7"], ["stub", "12"], ["leg", "30"]]) {
      await one.locator(`[data-length="bend 1 ${reading}"]`).tap();
      await one.locator("#keypad-typed").fill(text);
    }
    await one.getByRole("button", { name: "Close the keypad" }).tap();
    const worked = await held(one, "calibrate");
    await one.getByRole("button", { name: "Work it out" }).tap();
    await one.getByLabel("Pointer while pulling").fill("93");
    await worked();
    assert.equal(await one.getByRole("button", { name: /^Keep it as the next revision/ }).count(), 0, "nor is what other readings gave");
    await one.getByRole("button", { name: "Work it out" }).tap();
    await one.getByText("4.471 in ± ").waitFor();
    await look(one, "calibrated");
    await nothingCutOff(one, "calibrated");
    await one.getByRole("button", { name: "Keep it as the next revision of shed half" }).tap();
    await until(async () => (await shop("tool"))[0].revision === 2, "the next revision");
    assert.equal(await pins(), "1,1", "nothing moved by itself");
    for (const place of ["Measure", "See", "Bend", "Check"]) {
      await openPlace(other, place);
      await other.getByText("was measured anew since this run was put on it").waitFor();
    }
    await other.getByRole("button", { name: "Take its figures as they are now" }).tap();
    await until(async () => (await pins()) === "1,2", "taken by one tap");
    // what is begun stays
    await openPlace(other, "Bend");
    await nextStep(other);
    await openPlace(one, "See");
    // another tool for the other run, with what changes said
    await openPlace(one, "Job");
    const before = await held(one, "plan", (asked) => asked.bender);
    await one.locator(".run-head").first().tap();
    await one.locator(".run.on").getByRole("link", { name: "Tools" }).tap();
    const traded = one.waitForResponse((response) => response.url().endsWith("ask/plan") && !response.request().postDataJSON().bender);
    await one.getByRole("combobox", { name: /^Tool for this run/ }).selectOption("trade");
    await (await traded).finished();
    await settled(one);
    assert.equal(await one.getByRole("table", { name: "What changes" }).count(), 0, "not before it is known what it changes");
    await before();
    await one.getByRole("table", { name: "What changes" }).waitFor();
    await look(one, "changes");
    await one.getByRole("button", { name: "Put the run on the trade’s hand shoe" }).tap();
    await until(async () => (await pins()) === "0,2", "put on the trade's shoe");
    // removed: who is on it is told, and it comes back
    await one.getByRole("button", { name: "Remove this tool" }).tap();
    assert.match(await words(one), /1 run is on it, and keeps its figures/);
    await one.getByRole("button", { name: "Remove it from the shop" }).tap();
    await until(async () => !(await shop("tool")).length, "removed");
    await one.getByRole("button", { name: "Undo" }).tap();
    await until(async () => (await shop("tool")).length === 1, "back");
    // what is measured on a finished piece is kept for the plan of its tool, and is found there
    await openPlace(other, "Check");
    await other.locator("[data-length]").first().tap();
    await keyIn(other, "3 1/4");
    await other.getByRole("button", { name: "Close the keypad" }).tap();
    await other.getByLabel("Yes").check({ force: true });
    await other.getByRole("button", { name: "What puts it right?" }).tap();
    await other.getByRole("button", { name: "Keep what I measured" }).tap();
    await until(async () => (await shop("entry")).some((entry) => entry.data.what.kind === "readings" && entry.data.pins.tool === "shed half"), "kept");
    await other.evaluate((id) => (location.hash = `#/tools/${id}`), (await shop("tool"))[0].id);
    await other.getByText("What goes wrong with it").tap();
    await other.getByText("1 reading of 1 finished piece of this job").waitFor();
    for (const page of [one, other]) assert.deepEqual(page.faults.filter((fault) => !/status of 422/.test(fault)), []); // the refusal
  } finally {
    await browser.close();
    await server.stop();
  }
});

/** The lines of the table of marks, as a tape shows them. */
const readMarks = (page) =>
  page.locator("table.marks tbody .tape .unseen").evaluateAll((all) => all.map((one) => one.textContent.replace(" and ", " ").replace(/ inches$/, "")));
