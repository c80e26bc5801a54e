// The server on the network by https: a browser that trusts its authority pairs and works on without the server; one
// that does not is warned.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { enterSaddle, KEEPING, newPage, openBrowser, serve, waitUntilKept } from "./support.mjs";

/** A browser's home in which this authority is trusted for web sites, as a person would have it trusted. */
function homeThatTrusts(authority) {
  const home = mkdtempSync(join(tmpdir(), "home-"));
  const store = join(home, ".pki", "nssdb");
  mkdirSync(store, { recursive: true });
  for (const args of [["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "shop", "-i", authority]]) {
    const done = spawnSync("certutil", ["-d", `sql:${store}`, ...args], { encoding: "utf-8" });
    assert.equal(done.status, 0, done.stderr);
  }
  return home;
}

test("https", async () => {
  const server = await serve("--lan");
  const url = server.url.replace(/\/\/[\d.]+:/, "//127.0.0.1:");
  const home = homeThatTrusts(join(server.home, "https", "authority.pem"));
  const browser = await openBrowser({ HOME: home });
  const stranger = await openBrowser();
  try {
    const context = await browser.newContext(KEEPING);
    const page = await newPage(context);
    const code = /Pairing code: ([A-Z0-9]{4}-[A-Z0-9]{4})/.exec(server.said())[1];
    await page.goto(`${url}#code=${code}`);
    assert.equal(await page.evaluate(() => isSecureContext), true);
    await page.getByRole("textbox", { name: "Name of this device" }).fill("Ana's phone");
    await page.getByRole("button", { name: "Pair", exact: true }).tap();
    await page.getByText(/Ready/).first().waitFor();
    const [cookie] = await context.cookies();
    assert.deepEqual([cookie.secure, cookie.httpOnly, cookie.sameSite], [true, true, "Strict"]);
    assert.ok((await waitUntilKept(page)) > 10);
    await assert.rejects((await stranger.newPage()).goto(url), /ERR_CERT_AUTHORITY_INVALID/);
    await server.stop();
    await page.reload();
    await enterSaddle(page);
    await page.getByText("Marks are ready").first().waitFor();
    assert.deepEqual(page.faults, []);
  } finally {
    await stranger.close();
    await browser.close();
    await server.stop();
    rmSync(home, { recursive: true, force: true });
  }
});
