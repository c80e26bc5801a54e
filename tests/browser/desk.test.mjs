// The Job screen at a desk: the list of runs with the run beside it, what was done today, which job, by keys alone.
import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { atKey, DEMO, demoJob, DESK, keysShown, noFaults, rowOf, shot, words } from "./desk.mjs";
import { newPage, onTo, openPlace, ownTool, PHONE, quiet, racewright, ROOT, serve, settled } from "./support.mjs";

const at = demoJob();

test("the runs with area, status, who and when, what was found; looked for, sorted, counted; the run beside", async () => {
  const page = await at.desk();
  const row = rowOf(page, "PH-01");
  await row.getByText("Nothing found").waitFor();
  const [seen, least] = await page.locator(".run-grid").evaluate((grid) => [grid.clientWidth, parseFloat(getComputedStyle(grid.querySelector("table")).minWidth)]);
  assert.ok(least <= seen - 16, `the last column is in sight beside a scroll bar: ${least} of ${seen} px`);
  assert.match(await words(row), /^PH-01 Pump house, disconnect to pump 1 starter Pump house EMT 1\/2 In place Kim \d/);
  await page.locator(".totals summary").click();
  assert.match(await words(page.locator(".totals table")), /Packing shed 14 14 Whole job 37 1 1 1 40/);
  await page.locator(".totals summary").click();
  await page.getByRole("searchbox", { name: "Search" }).fill("tray scale");
  assert.deepEqual(await keysShown(page), ["PS-03"]);
  await page.getByText("1 of 40 runs").waitFor();
  await page.getByRole("button", { name: "Show all" }).click();
  await page.getByRole("search").getByLabel("Status").selectOption("wired");
  assert.deepEqual(await keysShown(page), ["PH-03"]);
  await page.getByRole("search").getByLabel("Status").selectOption("");
  await page.getByLabel("Person").selectOption("Kim");
  assert.deepEqual(await keysShown(page), ["PH-01", "PH-02", "PH-03"]);
  await page.getByLabel("Person").selectOption("");
  await page.getByRole("columnheader", { name: "Key" }).getByRole("button").click();
  assert.equal(await page.getByRole("columnheader", { name: "Key" }).getAttribute("aria-sort"), "descending");
  assert.equal((await keysShown(page))[0], "WS-14");
  await page.getByRole("columnheader", { name: "Status" }).getByRole("button").click();
  await page.getByRole("columnheader", { name: "Status" }).getByRole("button").click();
  assert.deepEqual((await keysShown(page)).slice(0, 3), ["PH-03", "PH-01", "PH-02"], "the furthest first");
  await rowOf(page, "PH-03").click();
  const beside = page.getByRole("region", { name: "Run PH-03" });
  await beside.getByRole("heading", { name: "Cut to" }).or(beside.locator(".cut-card")).first().waitFor();
  await beside.locator(".entry-lines li", { hasText: "wired" }).waitFor();
  assert.match(await words(beside.locator(".entry-lines")), /Kim wired .*Kim PH-03 measured: mark 1 has 88\.98°/);
  assert.equal(await page.locator(".run-grid tr.on").count(), 1, "the list stays");
  await settled(page);
  await shot(page, "desk-list");
  await noFaults(page);
});

test("by finding: nothing is said of runs that are not worked out, and all are on demand", async () => {
  const page = await at.desk();
  const asked = [];
  page.on("request", (request) => request.url().endsWith("ask/job_plan") && asked.push(JSON.parse(request.postData()).job.runs.length));
  await page.reload();
  await rowOf(page, "PH-01").getByText("Nothing found").waitFor();
  await quiet(page);
  const inView = asked.reduce((sum, n) => sum + n, 0);
  assert.ok(inView < 30 && Math.max(...asked) <= 4, `${inView} of 40 runs were asked for, ${Math.max(...asked)} at once`);
  await page.getByLabel("Found", { exact: true }).selectOption("caution");
  await page.getByText(/runs? (is|are) not worked out yet/).waitFor();
  const before = await page.locator(".run-grid tbody tr:not(.gap)").count();
  await page.context().setOffline(true); // no engine then: nothing is kept for use without the network
  await page.getByRole("button", { name: /^Work out all/ }).click();
  await page.getByText("The engine could not be started.").waitFor();
  await page.getByText("Engine not there").waitFor();
  await page.getByRole("button", { name: "Ask again" }).click();
  await page.getByText("The engine could not be started.").waitFor();
  await page.context().setOffline(false);
  await page.getByText("The engine could not be started.").waitFor({ state: "detached" });
  await page.getByRole("button", { name: /^Work out all/ }).click();
  await page.getByText(/not worked out yet/).waitFor({ state: "detached" });
  assert.ok((await page.locator(".run-grid tbody tr:not(.gap)").count()) >= before);
  for (const row of await page.locator(".run-grid tbody tr:not(.gap)").all()) assert.match(await row.innerText(), /Caution/);
  await noFaults(page);
});

test("by keys alone: / to search, down into the list, arrows, end, enter; sort by a head", async () => {
  const page = await at.desk();
  await page.keyboard.press("/");
  assert.equal(await page.evaluate(() => document.activeElement.id), "desk-search");
  await page.keyboard.type("workshop");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("role")), "grid");
  assert.equal(await atKey(page), "WS-01");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowDown");
  assert.equal(await atKey(page), "WS-03");
  const active = await page.getByRole("grid").getAttribute("aria-activedescendant");
  assert.equal(await page.locator(`[id="${active}"] .col-key`).innerText(), "WS-03");
  await page.keyboard.press("Enter");
  await page.getByRole("region", { name: "Run WS-03" }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("role")), "grid", "the list keeps the keys");
  await page.keyboard.press("End");
  assert.equal(await atKey(page), "WS-14");
  const [head, row] = await Promise.all([page.locator(".run-grid thead").boundingBox(), page.locator(".run-grid tr.at").boundingBox()]);
  const box = await page.locator(".run-grid").boundingBox();
  assert.ok(row.y >= head.y + head.height - 1 && row.y + row.height <= box.y + box.height + 1, "it stands whole in view");
  await page.keyboard.press("Home");
  assert.equal(await atKey(page), "WS-01");
  await page.keyboard.press("/");
  await page.keyboard.press("Escape");
  await page.getByText("40 runs").first().waitFor();
  await noFaults(page);
});

test("what was done today, by person; a run made with another plan, and a bend far from its angle, are warned of in list and run", async () => {
  const page = await at.desk({ hasTouch: true });
  const today = new Date().toISOString();
  const { records } = await (await fetch(`${at.server.url}records?after=0`)).json();
  const run = records.find((record) => record.kind === "run" && record.data?.key === "PH-05");
  const entry = (n, what, by) => ({ kind: "entry", id: n.toString(16).padStart(32, "7"), base: 0, base_digest: "", format: 1,
    data: { id: n.toString(16).padStart(32, "7"), run: run.id, piece: 1, by, at: today, what, pins: { run: 1, marks: "4K7WQX", tool: "blue half" } } });
  const told = [entry(1, { kind: "made", bends: [{ number: 1, angle_rad: 0.7854 }] }, "Bo"), entry(2, { kind: "note", note: "strap moved" }, "Ana")];
  const { answers } = await page.evaluate(
    async ([job, list]) => (await fetch("records", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ job, records: list }) })).json(),
    [run.job, told],
  );
  assert.deepEqual(answers.map((answer) => answer.outcome), ["saved", "saved"], JSON.stringify(answers));
  await page.reload();
  const watch = rowOf(page, "PH-05").locator(".worst.caution", { hasText: "Other plan" });
  await watch.waitFor();
  const cut = await watch.evaluate((mark) => {
    mark.textContent = "Other marks"; // the longest that stands there
    const cell = mark.closest("td");
    return mark.getBoundingClientRect().right - cell.getBoundingClientRect().right + parseFloat(getComputedStyle(cell).paddingRight);
  });
  assert.ok(cut <= 0.5, `its column shows all of it: ${cut} px are cut off`);
  await page.getByRole("button", { name: "What was done" }).click();
  const bo = page.locator(".done .card", { hasText: "Bo: 1 entry" });
  await bo.getByText("mark 1 bent to 45°").waitFor();
  assert.match(await words(bo), /PH-05: Pump house, control cabinet to float switch PH-05 made: mark 1 bent to 45° with revision 1, plan 4K7WQX, blue half/);
  await page.locator(".done .card", { hasText: "Ana: 1 entry" }).getByText("strap moved").waitFor();
  await bo.getByRole("button", { name: /^PH-05/ }).click();
  const beside = page.getByRole("region", { name: "Run PH-05" });
  await beside.getByText("Made with another plan").waitFor();
  assert.match(await words(beside), /PH-05(-1)?: begun for plan 4K7WQX; the plan is now [0-9A-Z]{6}/);
  const [, now] = /the plan is now ([0-9A-Z]{6})/.exec(await words(beside));
  const far = entry(3, { kind: "made", bends: [{ number: 1, angle_rad: 1.5708 }] }, "Bo");
  far.data.pins.marks = now;
  const [answer] = (await page.evaluate(
    async ([job, list]) => (await fetch("records", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ job, records: list }) })).json(),
    [run.job, [far]],
  )).answers;
  assert.equal(answer.outcome, "saved", JSON.stringify(answer));
  await page.reload();
  await page.getByRole("button", { name: "Runs", exact: true }).click();
  await rowOf(page, "PH-05").getByText("Far off").waitFor();
  await rowOf(page, "PH-05").click();
  await beside.getByText("A bend is far from where it belongs").waitFor();
  assert.match(await words(beside), /PH-05(-1)?: mark 1 is recorded at 90°, and .* belongs there/);
  assert.equal(await page.getByText(/mark 1 is recorded at 90°/).count(), 1, "told once");
  await page.getByRole("button", { name: "What was done" }).click();
  await shot(page, "desk-done");
  await page.getByLabel("Day").fill("2020-02-02");
  await page.getByText("Nothing was written down on this day.").waitFor();
  for (const place of ["Bend", "Check", "See"]) {
    await openPlace(page, place);
    await page.getByText(/mark 1 is recorded at 90°, and .* belongs there/).waitFor();
  }
  await noFaults(page);
});

test("bends ticked off on the own shoe are of the plan that the list knows: no other plan is told of", async () => {
  const own = await serve();
  at.others.push(own);
  const page = await newPage(await at.browser.newContext({ ...DESK, hasTouch: true }));
  await page.goto(own.url);
  await page.getByRole("button", { name: "Look at an example" }).click();
  await ownTool(page, { name: "desk half", take_up: "5 3/8", gain: "2 3/4" });
  await openPlace(page, "Bend");
  await onTo(page, ".progress .is-bend.done >> nth=1");
  const row = page.locator(".run-grid tbody tr").first();
  await page.route("**/ask/job_said", async (route) => {
    await row.getByText(/Nothing found|Caution/).waitFor(); // by then the list knows of how many pieces the run is
    await route.continue();
  });
  await openPlace(page, "Job");
  await page.locator(".entry-lines li", { hasText: "mark 1 bent" }).waitFor();
  await row.getByText(/Nothing found|Caution/).waitFor();
  assert.ok(!(await words(row)).includes("Other plan"), await words(row));
  await noFaults(page);
});

test("several jobs and none at hand: which one comes first, with its runs and when it was touched", async () => {
  const other = join(at.folder, "two.rwshop");
  racewright("job", "import", DEMO, "--shop", other);
  racewright("job", "new", "barn", "--name", "Barn", "--shop", other);
  racewright("job", "add", join(ROOT, "examples", "pump-house-saddle.yaml"), "--times", "20", "--shop", other);
  const two = await serve("--shop", other);
  at.others.push(two);
  const page = await newPage(await at.browser.newContext(DESK));
  await page.goto(two.url);
  const jobs = page.locator("table.jobs");
  await jobs.waitFor();
  assert.match(await words(jobs), /Orchard cooperative 40 \d.* Barn 20 \d/);
  const [list, start] = await Promise.all([jobs.boundingBox(), page.getByRole("button", { name: "Start a run" }).boundingBox()]);
  assert.ok(list.y < start.y, "it stands above what begins a run");
  await shot(page, "desk-jobs");
  await page.setViewportSize({ width: 360, height: 740 });
  await page.evaluate(() => document.documentElement.style.setProperty("font-size", "34px", "important"));
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 360, "as wide as a phone, with text twice as large too");
  await page.evaluate(() => document.documentElement.style.removeProperty("font-size"));
  await page.setViewportSize(DESK.viewport);
  await jobs.getByRole("button", { name: "Open Barn" }).click();
  const row = page.locator(".run-grid tbody tr").first();
  await row.getByText("20 alike").waitFor();
  assert.equal(await jobs.count(), 0);
  await noFaults(page);
});

test("text at 200 %, and a window of 900 px: all is there, nothing scrolls sideways but the list in itself", async () => {
  for (const [width, percent] of [[1280, 200], [900, 100]]) {
    const page = await at.desk({ viewport: { width, height: 800 } });
    await page.addStyleTag({ content: `html { font-size: ${(17 * percent) / 100}px !important }` });
    await settled(page);
    assert.ok((await page.locator(".desk-main").boundingBox()).width > 400);
    await page.getByRole("grid").focus();
    await page.keyboard.press("End");
    assert.equal(await atKey(page), "WS-14");
    await page.keyboard.press("Enter");
    await page.getByRole("region", { name: "Run WS-14" }).waitFor();
    await shot(page, `desk-${width}-${percent}`);
    await noFaults(page);
  }
});

test("on a phone the Job screen is as it was", async () => {
  const page = await newPage(await at.browser.newContext(PHONE));
  await page.goto(at.server.url);
  await page.getByRole("button", { name: /^Pump house/ }).first().waitFor();
  assert.equal(await page.locator(".desk").count(), 0);
  assert.equal(await page.locator(".run-list .run").count(), 40);
  await noFaults(page);
});
