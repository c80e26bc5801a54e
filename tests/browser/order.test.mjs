// What all runs together need, from the job screen: bill and cut list, by either engine.
import assert from "node:assert/strict";
import { test } from "node:test";
import { newPage, openPlace, PHONE, serverAndBrowser } from "./support.mjs";

const at = serverAndBrowser();

for (const engine of ["server", "browser"]) {
  test(`bill and cut list by the ${engine}, of all that the record says`, async () => {
    const { url } = await at.anew();
    const context = await at.browser.newContext(PHONE);
    try {
      const page = await newPage(context);
      await page.goto(engine === "server" ? url : `${url}?engine=browser`);
      const walk = [{ leg: "56 1/4", features: [{ saddle: { centre: "26 1/8", height: "2 7/8" } }] }];
      const survey = { racewright: 1, units: "in", run: { name: "Pump house, to the starter", raceway: "EMT 1/2", clearance: "1/4", walk } };
      const run = { id: "1".repeat(32), key: "PH-1", survey, wires: [{ size: "12", count: 3 }], items: [{ item: "4 in square box", count: 2 }] };
      const job = { racewright_job: 4, head: { name: "Orchard" }, runs: [run] };
      await page.getByLabel("Job file to open").setInputFiles({ name: "job.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(job)) });
      await openPlace(page, "Job");
      await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
      const lists = page.getByRole("region", { name: "Buy, cut, hand out" });
      await lists.locator(".left-out").waitFor();
      const text = (await lists.innerText()).replace(/\s+/g, " ");
      assert.ok(text.indexOf("NOT INCLUDED") < text.indexOf("EMT 1/2, 10 ft"), "what is left out stands above what is bought");
      assert.match(text, /pull boxes.*anchors, screws/);
      assert.doesNotMatch(text, /no run names its wires|has changed since/);
      for (const said of ["EMT 1/2, 10 ft", "set-screw connector", "4 in square box", "12 THWN-2"]) assert.ok(text.includes(said), `${said}: ${text}`);
      await lists.getByRole("button", { name: "Cut list" }).tap();
      await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
      await lists.getByText("58 7/8").first().waitFor();
      assert.match(await lists.innerText(), /PH-1/);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `the page scrolls sideways by ${wide}`);
      if (process.env.PICTURE) await page.screenshot({ path: process.env.PICTURE, fullPage: true });
      assert.deepEqual(page.faults, []);
    } finally {
      await context.close();
    }
  });
}

test("runs that are left out stand above the tables as their rows call them, each once, with what to do", async () => {
  const survey = (name, walk) => ({ racewright: 1, units: "in", run: { name, raceway: "EMT 1/2", walk } });
  const runs = [
    { survey: survey("Pump house, to the float switch", [{ leg: "41" }]), status: "measured" },
    { survey: survey("Pump house, round the tank", [{ leg: "3" }, { turn: "left" }, { leg: "40" }]), status: "measured" },
    { survey: survey("Pump house, to the lamp", [{ leg: "52" }]), status: "bent" },
    { survey: survey("Pump house, to the valve", [{ leg: "" }]), status: "measured" },
  ];
  const { url } = await at.anew();
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(`${url}?engine=browser`);
    const file = { name: "job.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify({ format: "racewright job 1", runs })) };
    await page.getByLabel("Job file to open").setInputFiles(file);
    await openPlace(page, "Job");
    await page.getByRole("button", { name: "Cut list" }).tap();
    await page.getByRole("button", { name: "Work it out for 4 runs" }).tap();
    const block = page.locator(".left-out");
    await block.waitFor();
    const key = async (name) => (await page.locator(".run-head", { hasText: name }).innerText()).match(/R-[0-9A-F]{4}/)[0];
    const [valve, tank, lamp] = [await key("to the valve"), await key("round the tank"), await key("to the lamp")];
    const lines = (await block.locator("li").allInnerTexts()).join("\n");
    assert.ok(lines.includes(`${valve}: no plan, so left out: still to be measured: length of leg 1.`), lines);
    assert.ok(lines.includes(`${tank}: no plan, so left out: `), lines);
    assert.ok(lines.includes(`Cut already, so not on the cut list: ${lamp} (bent).`), lines);
    const card = (await page.locator(".card", { has: block }).innerText()).replace(/\s+/g, " ");
    assert.equal(card.split("no plan, so left out").length - 1, 2, card);
    assert.ok(card.indexOf("NOT INCLUDED") < card.indexOf("raceway stick"), card);
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
  const { url } = await at.anew();
  const context = await at.browser.newContext(PHONE);
  try {
    const page = await newPage(context);
    await page.goto(`${url}?engine=browser`);
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
