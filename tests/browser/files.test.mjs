// Files of a job and of a run from the page: those of the command, by a server; without one, those that need none.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { newPage, openBrowser, openPlace, PHONE, racewright, serve } from "./support.mjs";

const look = async (page, name) => process.env.PICTURES && page.screenshot({ path: join(process.env.PICTURES, `${name}.png`), fullPage: true });

test("the bill, the pack and the model that a phone saves are the command's; without a server it gives what needs none", async () => {
  const server = await serve();
  const browser = await openBrowser();
  const folder = mkdtempSync(join(tmpdir(), "files-"));
  try {
    const page = await newPage(await browser.newContext(PHONE));
    await page.goto(server.url);
    await page.getByRole("button", { name: "Look at an example" }).tap();
    const open = async () => {
      await openPlace(page, "Job");
      await page.getByText("Lists, pack and models of this job").tap();
      await page.getByText(/^Files of /).tap();
    };
    const saved = async (name) => {
      const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name, exact: true }).tap()]);
      return { name: download.suggestedFilename(), data: readFileSync(await download.path()) };
    };
    await open();
    await page.getByText("All of this job is in the shop.").waitFor();
    const csv = await saved("Bill as CSV");
    assert.match(csv.name, /-bill\.csv$/);
    const xlsx = await saved("Bill as XLSX");
    for (const [made, ending] of [[csv, "csv"], [xlsx, "xlsx"]]) {
      const file = join(folder, `bill.${ending}`);
      racewright("job", "bill", "--shop", join(server.home, "jobs.rwshop"), "--out", file);
      assert.ok(readFileSync(file).equals(made.data), `${ending}: byte for byte the command's`);
    }
    assert.match((await saved("Hand-over pack as PDF")).data.toString("latin1", 0, 5), /%PDF-/);
    const model = await saved("Model as DXF");
    assert.match(model.name, /\.dxf$/);
    assert.match(model.data.toString("latin1"), /^\s*0\r?\nSECTION/);
    await look(page, "files");
    // without a server
    let letGo;
    const held = new Promise((go) => (letGo = go));
    await page.route("**/engine/**", (route) => held.then(() => route.continue()));
    await page.goto(`${server.url}?engine=browser#/job`);
    await open();
    const early = page.waitForEvent("download");
    await page.getByRole("button", { name: "Bill as CSV", exact: true }).tap();
    await page.getByText("Bill as CSV is made as soon as the engine is ready").waitFor();
    letGo();
    assert.ok(readFileSync(await (await early).path()).equals(csv.data), "asked for before the engine was there");
    await page.getByText("are made by the shop’s server").waitFor();
    assert.ok(await page.getByRole("button", { name: "Bill as XLSX" }).isDisabled());
    assert.ok(await page.getByRole("button", { name: "Hand-over pack as PDF" }).isDisabled());
    assert.ok((await saved("Bill as CSV")).data.equals(csv.data), "the browser's own engine writes the same file");
    assert.match((await saved("Bend card as SVG")).data.toString(), /^<svg/);
    await look(page, "files-alone");
    assert.deepEqual(page.faults, []);
  } finally {
    rmSync(folder, { recursive: true, force: true });
    await browser.close();
    await server.stop();
  }
});
