// What all runs together need, from the job screen: bill and cut list, by either engine.
import assert from "node:assert/strict";
import { test } from "node:test";
import { enterSaddle, newPage, openPlace, PHONE, serverAndBrowser } from "./support.mjs";

const at = serverAndBrowser();

for (const engine of ["server", "browser"]) {
  test(`bill and cut list by the ${engine}`, async () => {
    const context = await at.browser.newContext(PHONE);
    try {
      const page = await newPage(context);
      await page.goto(engine === "server" ? at.server.url : `${at.server.url}?engine=browser`);
      await enterSaddle(page);
      await page.getByText("Marks are ready").first().waitFor();
      await page.evaluate(() => {
        location.hash = "#/job";
      });
      await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
      await page.getByText("no plan can do with fewer").first().waitFor();
      const text = (await page.locator("main").innerText()).replace(/\s+/g, " ");
      const [left, first] = ["NOT INCLUDED", "no plan can do with fewer"].map((words) => text.indexOf(words));
      assert.ok(left > 0 && left < first, "what is left out stands above what is bought");
      assert.match(text.slice(left, first), /Wire: none, because no run names its wires\..*pull boxes.*anchors, screws/);
      for (const said of ["EMT 1/2, 10 ft", "set-screw connector", "58 7/8"]) assert.ok(text.includes(said), said);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `the page scrolls sideways by ${wide}`);
      if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE, fullPage: true });
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
    }
  });
}

test("runs that are left out stand above the tables by their names, each once, with what to do", async () => {
  const survey = (name, walk) => ({ racewright: 1, units: "in", run: { name, raceway: "EMT 1/2", walk } });
  const runs = [
    { survey: survey("Pump house, to the float switch", [{ leg: "41" }]), status: "measured" },
    { survey: survey("Pump house, round the tank", [{ leg: "3" }, { turn: "left" }, { leg: "40" }]), status: "measured" },
    { survey: survey("Pump house, to the lamp", [{ leg: "52" }]), status: "bent" },
    { survey: survey("Pump house, to the valve", [{ leg: "" }]), status: "measured" },
  ];
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(`${at.server.url}?engine=browser`);
    const file = { name: "job.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify({ format: "racewright job 1", runs })) };
    await page.getByLabel("Job file to open").setInputFiles(file);
    await openPlace(page, "Job");
    await page.getByRole("button", { name: "Work it out for 4 runs" }).tap();
    const block = page.locator(".left-out");
    await block.waitFor();
    const lines = (await block.locator("li").allInnerTexts()).join("\n");
    assert.match(lines, /Pump house, to the valve: no plan, so left out: still to be measured: leg 1\./);
    assert.match(lines, /Pump house, round the tank: no plan, so left out: .* hint: /);
    assert.match(lines, /Cut already, so not on the cut list: Pump house, to the lamp \(bent\)\./);
    const card = (await page.locator(".card", { has: block }).innerText()).replace(/\s+/g, " ");
    assert.equal(card.split("no plan, so left out").length - 1, 2, card);
    assert.ok(card.indexOf("NOT INCLUDED") < card.indexOf("What to buy"), card);
    if (process.env.PICTURE) await page.locator(".card", { has: block }).screenshot({ path: process.env.PICTURE.replace(".png", "-left-out.png") });
    assert.deepEqual(page.faults, []);
  } finally {
    await context.close();
  }
});

test("a job file that writes center is read like one that writes centre", async () => {
  const saddle = (word) => ({ saddle: { [word]: "29 3/8", height: "2 5/8" } });
  const walk = (word) => [{ leg: "61 1/4", from: "face", to: word, features: [saddle(word)] }, { turn: "left" }, { leg: "30 5/8", from: word, to: "face" }];
  const survey = (word) => ({ racewright: 1, units: "in", run: { name: `Packing shed, ${word}`, raceway: "EMT 1/2", walk: walk(word) } });
  const file = JSON.stringify({ format: "racewright job 1", runs: ["center", "centre"].map((word) => ({ survey: survey(word), status: "measured" })) });
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(`${at.server.url}?engine=browser`);
    await page.getByLabel("Job file to open").setInputFiles({ name: "job.json", mimeType: "application/json", buffer: Buffer.from(file) });
    const heard = [];
    for (const word of ["center", "centre"]) {
      await openPlace(page, "Job");
      const run = page.getByRole("button", { name: new RegExp(`Packing shed, ${word}`) });
      if ((await run.getAttribute("aria-pressed")) !== "true") await run.tap();
      await openPlace(page, "See");
      await page.getByText("Bend it, step by step").waitFor();
      heard.push((await page.locator(".cut-card").innerText()).replace(/\s+/g, " "));
      await openPlace(page, "Measure");
      assert.match(await page.locator("main").innerText(), /To its middle\s+29/);
    }
    assert.equal(heard[0], heard[1]);
  } finally {
    await context.close();
  }
});
