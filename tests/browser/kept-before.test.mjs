// What the page kept before there was a shop file is taken over.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { NAME, phonesAtOneShop, runsIn, shopOf } from "./phones.mjs";
import { newPage, openPlace, PHONE, ROOT, until } from "./support.mjs";

const { at } = phonesAtOneShop();

const idOf = (text) => createHash("sha256").update(text).digest("hex").slice(0, 32);

/** The stores of the page as it was before, written as it wrote them: tests/browser/kept_before.json comes from it. */
const BEFORE = JSON.parse(readFileSync(join(ROOT, "tests", "browser", "kept_before.json"), "utf-8"));
const writeBefore = (page, { kept, shoes }) =>
  page.evaluate(
    async ([values, own]) => {
      const db = await new Promise((done) => {
        const request = indexedDB.open("racewright-page", 1);
        request.onupgradeneeded = () => request.result.createObjectStore("kept");
        request.onsuccess = () => done(request.result);
      });
      const transaction = db.transaction("kept", "readwrite", { durability: "strict" });
      for (const [key, value] of Object.entries(values)) transaction.objectStore("kept").put(value, key);
      await new Promise((done) => (transaction.oncomplete = done));
      db.close();
      localStorage.setItem("racewright-shoes", own);
    },
    [kept, shoes],
  );

for (const [kind, jobName] of [["served", "Shared runs"], ["alone", /^Runs of /]])
  test(`what the page kept before is taken over: ${kind}`, async () => {
    const server = await at.anew();
    const context = await at.browser.newContext(PHONE);
    const page = await newPage(context);
    await page.goto(`${server.url}notices.txt`);
    await writeBefore(page, BEFORE[kind]);
    const olds = BEFORE[kind].kept.runs;
    const [one, other] = [await newPage(context), await newPage(context)]; // two windows open at once
    await Promise.all([one, other].map((window) => window.goto(`${server.url}#/job`)));
    await until(async () => (await one.locator(".run-list .run").count()) === 2, "both runs");
    await until(async () => (await runsIn(server)).length === 2, "both are in the shop");
    await one.getByText("All of this job is in the shop.").waitFor();
    const shop = await shopOf(server);
    assert.equal(shop("job").length, 1);
    assert.match(shop("job")[0].name, new RegExp(jobName));
    assert.deepEqual(shop("run").map((run) => run.id).sort(), olds.map((old) => idOf(`racewright run ${old.id}`)).sort());
    const status = Object.fromEntries(shop("entry").map((entry) => [entry.run, entry.what.status]));
    for (const old of olds) if (old.status !== "measured") assert.equal(status[idOf(`racewright run ${old.id}`)], old.status);
    await until(async () => (await shopOf(server))("tool")[0]?.profile.take_up === "5 1/8", "the own shoe is a tool of the shop");
    const own = (await shopOf(server))("tool")[0].id;
    await until(async () => (await runsIn(server)).every((run) => run.survey.run.raceway !== "EMT 1/2" || (run.tool?.id === own && run.tool.revision === 1)), "and what was shown for it is on it");
    await one.bringToFront(); // a window behind another is drawn once a second
    await one.getByRole("button", { name: new RegExp(`^${NAME}`) }).tap();
    await openPlace(one, "Bend");
    await one.locator(".progress .done").nth(2).waitFor();
    assert.equal(await one.locator(".progress .done").count(), 3, "the place at the bench");
    await openPlace(one, "See");
    await one.getByText(/emt-1\/2 [0-9a-f]{4}: take-up/).first().waitFor();
    const before = await one.evaluate(async () => (await indexedDB.databases()).map((db) => db.name).sort());
    assert.deepEqual(before, ["racewright", "racewright-page"], "what was there before is left alone");
    assert.deepEqual([...one.faults, ...other.faults], []);
  });
