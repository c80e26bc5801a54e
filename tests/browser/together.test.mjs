// Several people at one job: a piece at two benches, copies, removed runs brought back, what was typed and not sent yet.
import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { afterAWhile, fiveInSight, inEach, KEEPING, newPage, nextStep, nothingCutOff, nothingForAxe, onTo, openPlace, PHONE, racewright, ROOT, serverAndBrowser, until } from "./support.mjs";

const at = serverAndBrowser();

/** A shop with one job, and what commands say of it. */
async function shopWith(...add) {
  const server = await at.anew();
  const job = (...words) => racewright("job", ...words, "--shop", join(server.home, "jobs.rwshop"));
  job("new", "rooms", "--name", "Pump house rooms");
  job("add", join(ROOT, "examples", "pump-house-saddle.yaml"), "--key", "RM", ...add);
  job("plan");
  return { server, job };
}

async function phone(server, name, place = "#/job", kind = PHONE) {
  const page = await newPage(await at.browser.newContext(kind));
  await page.goto(`${server.url}#/job`);
  await page.getByText("Your name, another job").tap();
  await page.getByRole("textbox", { name: "Your name" }).fill(name);
  if (place !== "#/job") await openPlace(page, place);
  return page;
}

const untilBend = (page) => onTo(page, ".big-mark");

/** What puts the step in question is told below what the hands need of it; the only button that is live leads there. */
async function toChoice(page, name, card) {
  await page.getByRole("button", { name }).tap();
  await page.waitForFunction((of) => document.activeElement?.matches(of), card);
  assert.equal(await page.getByRole("button", { name: "Done, next" }).count(), 0);
  await nothingForAxe(page);
  await afterAWhile(page);
}

test("two phones at one copy are told of it before the next step, and one takes the next free copy by one tap", async () => {
  const { server, job } = await shopWith("--times", "3");
  const [kim, lee] = [await phone(server, "Kim", "Bend"), await phone(server, "Lee", "Bend", KEEPING)];
  for (const page of [kim, lee]) await page.locator(".step-count", { hasText: "copy 1 of 3" }).waitFor();
  await lee.context().setOffline(true);
  await nextStep(lee);
  await nextStep(kim);
  await until(() => /RM#1 made: cut to length/.test(job("log", "RM")), "copy 1 is cut");
  await lee.context().setOffline(false);
  const [his, hers] = [lee.getByRole("alert"), kim.getByRole("alert")];
  await his.getByText(/^Kim ticked off “Cut to .+” before you, /).waitFor(); // both cut it: it is asked before anything is bent
  await hers.getByText(/^Lee ticked off “Cut to .+” after you, /).waitFor();
  await lee.context().setOffline(true);
  for (const page of [kim, lee]) {
    await afterAWhile(page);
    await page.getByRole("button", { name: "Go on with copy 1" }).tap();
    await untilBend(page);
    await nextStep(page);
  }
  await until(() => /RM#1 made: mark/.test(job("log", "RM")), "the bend of copy 1 is in the shop");
  await lee.context().setOffline(false);
  await his.getByText("Two are at copy 1 of 3.").waitFor();
  await his.getByText(/^Kim ticked off 1st bend, mark \d before you, /).waitFor();
  await hers.getByText(/^Lee ticked off 1st bend, mark \d after you, /).waitFor();
  await fiveInSight(lee);
  await toChoice(lee, "Two are at copy 1 of 3: choose", ".two-benches");
  await his.getByRole("button", { name: "Mine is copy 2" }).tap();
  await lee.locator(".step-count", { hasText: "copy 2 of 3" }).waitFor();
  await lee.getByRole("button", { name: "Done, next" }).waitFor();
  await hers.waitFor({ state: "detached" }); // his ticks are of copy 2 there too
  await lee.locator(".progress .is-bend.done").waitFor();
  await until(() => /RM#2 made: mark/.test(job("log", "RM")), "the bend of copy 2 is in the shop");
  const third = await phone(server, "Ana", "Bend");
  await third.locator(".step-count", { hasText: "copy 3 of 3" }).waitFor(); // the others are begun
  for (const page of [kim, lee, third]) {
    assert.deepEqual(page.faults, []);
    await page.context().close();
  }
});

test("where another phone only goes on with a piece the bench goes on with it, says so, and asks nothing", async () => {
  const { server, job } = await shopWith();
  const kim = await phone(server, "Kim", "Bend");
  await untilBend(kim);
  await until(() => /RM made: lines drawn/.test(job("log", "RM")), "the steps before the bends are in the shop");
  const bo = await phone(server, "Bo", "Bend");
  await bo.getByRole("heading", { name: /^1st bend, mark 1/ }).waitFor(); // it is cut, and marked
  await bo.getByText(/^Done already: Cut to .+ \(Kim, .+\), Mark it \(Kim, /).waitFor();
  await fiveInSight(bo);
  await nextStep(kim);
  await until(() => /RM made: mark/.test(job("log", "RM")), "the first bend is in the shop");
  await bo.getByRole("status").getByText(/^Done: 1st bend, mark 1 \(Kim, .+\)$/).waitFor();
  await bo.getByRole("heading", { name: /^2nd bend, mark 2/ }).waitFor();
  assert.deepEqual([await bo.getByRole("alert").count(), await bo.getByRole("button", { name: "Done, next" }).count()], [0, 0], "a tap that was meant for the first bend ticks off nothing");
  await nothingForAxe(bo);
  await fiveInSight(bo);
  await afterAWhile(bo);
  await bo.getByRole("button", { name: "Go on with 2nd bend, mark 2" }).tap();
  await bo.getByText(/^Done: /).waitFor({ state: "detached" });
  await nextStep(bo);
  await kim.getByRole("button", { name: "Go on with 3rd bend, mark 3" }).waitFor();
  const ana = await phone(server, "Ana", "Bend");
  await ana.getByRole("heading", { name: /^3rd bend, mark 3/ }).waitFor(); // where nothing is begun, past the cut
  await fiveInSight(ana);
  job("set", "bent", "RM");
  await ana.evaluate(() => dispatchEvent(new Event("online"))); // it asks the shop now
  await toChoice(ana, /^Bent \(root, .+\): choose$/, ".said-bent");
  await ana.locator(".said-bent").getByText("Not ticked off: 3rd bend, mark 3.").waitFor();
  await fiveInSight(ana);
  await ana.getByRole("button", { name: "It is bent", exact: true }).tap();
  await ana.getByRole("heading", { name: /^Check it before it goes up/ }).waitFor();
  await nextStep(ana);
  await ana.getByRole("heading", { name: /^Ream both ends/ }).waitFor();
  await until(() => /RM made: checked/.test(job("log", "RM")), "the check is in the shop");
  assert.ok(!/made: mark 3/.test(job("log", "RM")), "nobody has ticked off the bend");
  for (const before of [/^Check it/, /^3rd bend, mark 3/]) {
    await ana.getByRole("button", { name: "Back", exact: true }).tap();
    await ana.getByRole("heading", { name: before }).waitFor();
  }
  await nothingForAxe(ana);
  await ana.getByRole("button", { name: "This is not done" }).tap();
  await ana.getByRole("button", { name: "Done, next" }).waitFor();
  await ana.getByRole("heading", { name: /^3rd bend, mark 3/ }).waitFor();
  for (const page of [kim, bo, ana]) {
    assert.deepEqual(page.faults, []);
    await page.context().close();
  }
});

test("a bend made by the planned mark without network, while new marks are kept elsewhere, is told on both phones", async () => {
  const { server, job } = await shopWith();
  const [kim, lee] = [await phone(server, "Kim", "Check"), await phone(server, "Lee", "Bend")];
  await untilBend(lee);
  await nextStep(lee);
  await until(() => /RM made: mark/.test(job("log", "RM")), "the first bend is in the shop");
  await lee.context().setOffline(true);
  const newMarks = async (angles) => {
    await kim.getByRole("radio", { name: "Part way", exact: true }).dispatchEvent("click");
    for (const [mark, angle] of angles) await kim.getByLabel(new RegExp(`^Angle of .*mark ${mark}\\b`)).fill(angle);
    await kim.getByRole("button", { name: "New marks for the rest" }).tap();
    await kim.getByRole("button", { name: "Keep these marks" }).tap();
  };
  await newMarks([[1, "25"]]);
  await until(() => /new marks for the rest/.test(job("show", "RM")), "the new marks are in the shop");
  await openPlace(kim, "Bend");
  await kim.getByRole("heading", { name: /^2nd bend, mark 2/ }).waitFor(); // it is cut, and bent once
  await until(() => kim.getByRole("button", { name: "Done, next" }).isEnabled(), "at the first bend that is left");
  await openPlace(kim, "Check");
  assert.match(await lee.locator(".bend-step").innerText(), /^2nd bend, mark 2/);
  await nextStep(lee);
  await lee.context().setOffline(false);
  const said = "mark 2 was bent by the plan's mark, 27 7/16\" to 45°, and the new marks kept last have it at 26 13/16\" to 44°.";
  for (const page of [kim, lee]) await page.getByText(said).first().waitFor();
  const turned = lee.locator(".turned", { hasText: "Kim" });
  await turned.getByText(/new marks are kept/).waitFor(); // in the place of the step's button
  assert.equal(await lee.getByRole("button", { name: "Done, next" }).count(), 0);
  await afterAWhile(lee);
  await lee.getByRole("button", { name: "I have seen that" }).tap();
  await turned.waitFor({ state: "detached" });
  await lee.getByRole("button", { name: "Back", exact: true }).tap();
  await lee.getByText("The marks do not hold: no tick is taken back here.").waitFor();
  assert.equal(await lee.getByRole("button", { name: "This is not done" }).count(), 0);
  await lee.getByRole("button", { name: "To the step at hand" }).tap();
  assert.ok(job("show", "RM").replace(/\s+/g, " ").includes(said));
  const anew = lee.waitForRequest(/ask\/job_plan/);
  job("wire", "--slack", "9 in"); // what counts for every run of the job
  await (await anew).response();
  assert.ok(await lee.getByText(said).first().isVisible(), "what was told stays while it is worked out anew");
  await lee.getByText("measure the bends that are made, and ask for new marks").first().waitFor();
  await until(() => lee.getByRole("button", { name: "Done, next" }).isDisabled(), "nothing more is bent by them");
  assert.equal(await lee.locator(".big-mark").count(), 0);
  job("record", "RM", "--made", "2=44"); // by the new marks
  for (const page of [kim, lee]) {
    await page.evaluate(() => dispatchEvent(new Event("online"))); // it asks the shop now
    await page.getByText(/mark 2 is ticked off twice/i).first().waitFor();
  }
  const twice = lee.getByRole("region", { name: /^Mark 2 is ticked off twice/ });
  await twice.waitFor();
  await nothingForAxe(lee);
  await nothingCutOff(lee);
  await twice.getByRole("button", { name: /^Once, by the new mark kept by Kim/ }).tap();
  await lee.getByRole("heading", { name: /^3rd bend, mark 3/ }).waitFor();
  await until(() => /mark 2 is bent once, by the new mark kept by Kim.*Tick of Lee.*taken back/s.test(job("show", "RM")), "why is noted");
  await lee.getByRole("button", { name: "Undo" }).tap();
  await twice.getByRole("button", { name: /^Once, by the planned mark \(Lee/ }).tap();
  await twice.waitFor({ state: "detached" });
  await until(() => /Tick of root.*taken back/s.test(job("show", "RM")), "the other is taken back");
  await kim.evaluate(() => dispatchEvent(new Event("online"))); // it asks the shop now
  for (const page of [kim, lee]) await page.getByText(said).first().waitFor();
  await newMarks([[1, "25"], [2, "45"]]);
  for (const page of [kim, lee]) await page.getByText(said).waitFor({ state: "detached" });
  await lee.getByText("mark 1 made 25°, mark 2 made 45°").waitFor();
  await lee.getByRole("heading", { name: /^Open mark 1 by 2 1\/2°/ }).waitFor();
  await afterAWhile(lee);
  await lee.getByRole("button", { name: "Go on with mark 1: open it" }).tap(); // by Kim's newer marks
  const next = lee.getByRole("button", { name: "Done, next" });
  await until(() => next.isEnabled(), "it goes on by the marks kept last");
  await lee.context().setOffline(true);
  await nextStep(lee); // by the new marks, while these are taken back elsewhere
  for (const back of ["new marks kept before", "planned marks"]) await kim.getByRole("button", { name: `They do not hold: back to the ${back}` }).tap();
  await until(() => !/new marks for the rest/.test(job("show", "RM")), "the planned marks hold");
  await lee.context().setOffline(false);
  const stop = lee.locator(".bench .step .notice.problem", { hasText: "mark 1 was bent by new marks that are not kept any more" });
  await stop.waitFor();
  await lee.getByText(/the new marks are taken back, and the planned ones hold again/).waitFor();
  await lee.getByRole("button", { name: "I have seen that" }).waitFor();
  await afterAWhile(lee);
  await lee.getByRole("button", { name: "I have seen that" }).tap();
  await openPlace(kim, "Bend");
  await kim.locator(".step .notice.problem", { hasText: "not kept any more" }).waitFor();
  await lee.getByRole("button", { name: "Ticked off twice: choose" }).waitFor(); // mark 1, by the plan's mark and by the new one that is gone
  assert.deepEqual([await lee.locator(".big-mark").count(), await next.count()], [0, 0], "the plan's next bend is not shown");
  const [bar, places, top] = [".step-bar", ".places", ".top"].map((name) => lee.locator(name));
  const boxes = () => Promise.all([stop, bar, places, top].map((one) => one.boundingBox()));
  for (const [size, [told, ...frame]] of await inEach(lee, [[360, 740, 100], [360, 740, 200], [740, 360, 100], [740, 360, 200]], boxes)) {
    const [under] = frame.splice(2);
    assert.ok(told.y >= under.y + under.height && frame.every((one) => told.y + told.height <= one.y), `${size}: ${JSON.stringify([told, under, frame])}`);
  }
  for (const page of [kim, lee]) {
    assert.deepEqual(page.faults.filter((fault) => !fault.includes("422")), []);
    await page.context().close();
  }
});

test("a bend that two phones tick off as bent on by the same new marks stops the rest, until one tap says which tick is right", async () => {
  const { server, job } = await shopWith();
  const lee = await phone(server, "Lee", "Bend");
  await untilBend(lee);
  await nextStep(lee);
  await until(() => /RM made/.test(job("log", "RM")), "the first bend is in the shop");
  job("record", "RM", "--made", "1=20", "--new-marks", "--have", "62");
  await lee.evaluate(() => dispatchEvent(new Event("online"))); // it asks the shop now
  await lee.getByRole("heading", { name: /^Again, mark 1/ }).waitFor();
  await fiveInSight(lee);
  await toChoice(lee, "Changed on another device: choose", ".turned");
  await lee.getByRole("button", { name: "Go on with Mark 1 again" }).tap();
  const kim = await phone(server, "Kim", "Bend");
  for (const page of [kim, lee]) await until(() => page.getByRole("button", { name: "Done, next" }).isEnabled(), "at the bend that is bent on");
  await lee.context().setOffline(true);
  await nextStep(lee);
  await nextStep(kim);
  await until(() => /Kim.* RM made/.test(job("log", "RM")), "the tick of one is in the shop");
  await lee.context().setOffline(false);
  await toChoice(lee, "Two are at this piece: choose", ".two-benches"); // it is begun there
  await lee.getByRole("button", { name: "Go on with it" }).tap();
  for (const page of [kim, lee]) await toChoice(page, "Ticked off twice: choose", ".ticked-twice");
  await lee.getByText("The marks do not hold", { exact: true }).waitFor();
  await nothingCutOff(lee);
  assert.equal(await lee.locator(".big-mark").count(), 0);
  await lee.getByRole("region", { name: "Mark 1 is ticked off twice as bent on or opened" }).getByRole("button", { name: /^Once: Kim, / }).tap();
  for (const page of [kim, lee]) {
    await page.getByRole("heading", { name: /^2nd bend, mark 2/ }).waitFor();
    await page.locator(".big-mark").waitFor();
    await page.locator(".ticked-twice").waitFor({ state: "detached" });
  }
  for (const step of [/^3rd bend, mark 3/, /^Check it before it goes up/, /^Cut 3 1\/8" off at end B, then ream both ends/]) {
    await nextStep(lee);
    await lee.getByRole("heading", { name: step }).waitFor();
    await until(() => lee.getByRole("button", { name: "Done, next" }).isEnabled(), "it is shown");
  }
  const toCut = [lee.getByRole("heading", { name: /^Cut 3 1\/8"/ }), lee.locator(".notice", { hasText: "not by those of its card" })];
  const [figure, ofRun] = await Promise.all(toCut.map((one) => one.boundingBox()));
  assert.ok(figure.y < ofRun.y, "what is told of the run stands below what is cut");
  assert.match(job("show", "RM").replace(/\s+/g, " "), /mark 1 is bent on or opened once, for the new marks kept by root, .+ \(Kim, .+\)\. Tick of Lee, .+: taken back/);
  for (const page of [kim, lee]) {
    assert.deepEqual(page.faults.filter((fault) => !fault.includes("422")), []);
    await page.context().close();
  }
});

test("a removed run comes back by Undo, and from the list after a restart; a note that is not sent yet stays", async () => {
  const { server, job } = await shopWith();
  const [page, bench] = [await phone(server, "Kim"), await phone(server, "Lee", "Bend")];
  await bench.locator(".bench").waitFor();
  const note = page.getByRole("textbox", { name: "A note on this run" });
  await note.fill("wall is wet");
  await openPlace(page, "See");
  await page.reload();
  await openPlace(page, "Job");
  assert.equal(await note.inputValue(), "wall is wet");
  const remove = async () => {
    await page.getByRole("button", { name: "Remove this run" }).tap();
    await page.getByRole("button", { name: "Remove it for everybody" }).tap();
    await page.locator(".removed").waitFor();
  };
  const stands = (runs) => until(() => job("status").includes(runs), runs);
  await remove();
  await stands("0 runs");
  await page.getByRole("button", { name: "Undo" }).tap();
  await page.locator(".run-list .run").waitFor();
  await stands("RM");
  await remove();
  await stands("0 runs");
  await bench.getByRole("alert").getByText("Pump house, disconnect to pump 2 starter was removed from the job").waitFor();
  await bench.getByText(/^Removed by /).waitFor();
  await nothingForAxe(bench);
  await page.reload();
  await page.getByText("1 run removed").tap();
  await page.getByText(/^Removed by /).waitFor();
  await nothingForAxe(page);
  await page.getByRole("button", { name: /^Bring it back: Pump house/ }).tap();
  await page.locator(".run-list .run").waitFor();
  await stands("RM");
  await bench.locator(".bench").waitFor();
  await untilBend(bench);
  await nextStep(bench);
  await until(() => /RM made: mark/.test(job("log", "RM")), "the first bend is in the shop");
  await until(() => page.locator(".status.planned").count(), "and on the other phone");
  await page.getByRole("button", { name: "Remove this run" }).tap();
  await page.getByText("1 bend is made (Lee).").waitFor();
  await page.getByRole("button", { name: "Leave it" }).tap();
  for (const one of [page, bench]) {
    assert.deepEqual(one.faults, []);
    await one.context().close();
  }
});

test("an engine that was not there is there as soon as the network is back", async () => {
  const page = await newPage(await at.browser.newContext(PHONE)); // nothing is kept for use without it
  await page.goto(`${at.server.url}#/practice`);
  await page.locator(".engine.ready").waitFor();
  await page.context().setOffline(true);
  await page.getByRole("button", { name: "Make the sheet" }).tap();
  await page.getByText("Engine not there").waitFor();
  await page.context().setOffline(false);
  await page.locator(".engine.ready").waitFor();
  await page.getByRole("button", { name: "Make the sheet" }).tap();
  await page.locator(".problem").first().waitFor();
  await page.context().close();
});

test("of several jobs a phone lists how many runs each has, and how many are not in place", async () => {
  const { server, job } = await shopWith("--times", "3");
  job("set", "in", "RM", "--copy", "2");
  job("new", "shed", "--name", "Packing shed");
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(server.url);
  await page.getByRole("row", { name: /^Open Pump house rooms 3 2 \d/ }).waitFor();
  await page.getByRole("row", { name: /^Open Packing shed 0 0 / }).waitFor();
  await nothingForAxe(page);
  await nothingCutOff(page);
  await page.getByRole("button", { name: "Open Pump house rooms" }).tap();
  await page.locator(".run-list .run").waitFor();
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
