// Takes the pictures below docs/pictures anew: the page as a phone shows it, and the first page of the bend card.
//
//   node web-ui/scripts/pictures.mjs [FOLDER]
//
// WIDTH, HEIGHT, SCALE and TEXT (percent) in the environment: another phone, for a look at the page only.
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { enterSaddle, keyIn, newPage, nextStep, openBrowser, openPlace, racewright, ROOT, serve, settled } from "../../tests/browser/support.mjs";

const FOLDER = process.argv[2] ?? join(ROOT, "docs", "pictures");
const { WIDTH = "390", HEIGHT = "844", SCALE = "1.5", TEXT = "100" } = process.env;
const PHONE = { viewport: { width: +WIDTH, height: +HEIGHT }, deviceScaleFactor: +SCALE, hasTouch: true, isMobile: true, bypassCSP: true };

const shot = async (page, name, scheme = "light") => {
  await page.emulateMedia({ colorScheme: scheme });
  await page.evaluate(() => document.activeElement?.blur());
  await settled(page);
  await page.screenshot({ path: join(FOLDER, `page-${name}-${scheme}.png`) });
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (wide > 0) console.log(`page-${name}-${scheme}: scrolls sideways by ${wide} px`);
};

async function phone(browser, url) {
  const page = await newPage(await browser.newContext(PHONE));
  await page.goto(url);
  const size = (17 * +TEXT) / 100;
  await page.addStyleTag({ content: `html { font-size: ${size}px !important } * { -webkit-tap-highlight-color: transparent }` });
  return page;
}

async function measuring(page) {
  await enterSaddle(page);
  await page.getByRole("button", { name: /^To its middle/ }).tap();
  await page.getByText("Marks are ready").first().waitFor();
  await shot(page, "measure");
  await shot(page, "measure", "dark");
  const pad = page.getByRole("dialog", { name: /^Keypad/ });
  await pad.getByRole("button", { name: "Clear" }).tap();
  await keyIn(page, "93 1/2");
  await page.locator("#keypad-note", { hasText: "suction pipe reaches past it" }).waitFor();
  await shot(page, "measure-wrong");
  await pad.getByRole("button", { name: "Clear" }).tap();
}

async function seeing(page) {
  await openPlace(page, "See");
  await page.getByText("Bend it, step by step").waitFor();
  await shot(page, "see");
  await shot(page, "see", "dark");
  await page.getByRole("button", { name: "suction pipe" }).tap();
  await shot(page, "see-close");
  await page.getByRole("button", { name: "3D" }).tap();
  await page.locator("canvas").waitFor();
  await page.getByText("Opening the room").waitFor({ state: "detached" });
  await shot(page, "see-room");
  await page.emulateMedia({ colorScheme: "dark" });
  await page.getByText("Opening the room").waitFor({ state: "detached" });
  await shot(page, "see-room", "dark");
}

async function bending(page) {
  await openPlace(page, "Bend");
  for (let bend = 1; bend <= 2; bend += 1) {
    while (!(await page.locator(".step-title", { hasText: `mark ${bend}` }).count())) await nextStep(page);
    await shot(page, `bend-${bend}`);
    if (bend === 2) await shot(page, `bend-${bend}`, "dark");
  }
}

async function checking(page) {
  await openPlace(page, "Check");
  await page.getByRole("radio", { name: "All bends made", exact: true }).dispatchEvent("click"); // a begun piece opens on Part way
  await page.getByRole("button", { name: /^Rise measured/ }).tap();
  await keyIn(page, "3 3/8");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  const right = page.getByRole("radio", { name: "Yes", exact: true }); // asked where a rise alone was measured
  if (await right.count()) await right.dispatchEvent("click");
  await page.getByRole("button", { name: "What puts it right?" }).tap();
  await page.locator(".answer").waitFor();
  await page.locator(".answer").evaluate((box) => scrollTo(0, box.offsetTop - 80));
  await shot(page, "check");
}

async function practicing(page) {
  await openPlace(page, "Practice");
  await page.getByLabel("Sheet number").fill("7");
  await page.getByRole("button", { name: "Make the sheet" }).tap();
  await page.locator(".problem").first().waitFor();
  await page.locator(".problem").first().evaluate((box) => scrollTo(0, box.offsetTop - 80));
  await shot(page, "practice");
}

const field = (on) => on.getByRole("textbox", { name: "Called" });

/** The same run changed on two phones, each before it saw the other's. */
async function clashing(browser, url, page) {
  const other = await phone(browser, url);
  const open = async (on) => (await openPlace(on, "Measure"), await field(on).first().waitFor());
  await other.getByRole("button", { name: /^Pump house/ }).waitFor();
  await open(other);
  await open(page);
  await page.context().setOffline(true);
  await field(page).first().fill("west wall");
  await field(other).first().fill("east wall");
  await other.waitForResponse((reply) => reply.url().endsWith("/records") && reply.request().method() === "POST" && reply.ok());
  await page.context().setOffline(false);
  await openPlace(page, "Job");
  await page.getByRole("heading", { name: "Changed here and there: choose" }).waitFor();
  await shot(page, "two-versions");
}

async function card() {
  const folder = mkdtempSync(join(tmpdir(), "card-"));
  const browser = await openBrowser();
  try {
    racewright("plan", "examples/pump-house-saddle.yaml", "--bench", "--svg", join(folder, "card.svg"));
    const page = await browser.newPage({ viewport: { width: 850, height: 1100 } });
    const svg = readFileSync(join(folder, "card.svg")).toString("base64");
    await page.setContent(`<style>body { margin: 0 } img { width: 850px; display: block }</style><img src="data:image/svg+xml;base64,${svg}">`);
    await page.locator("img").evaluate((image) => image.decode());
    await page.screenshot({ path: join(FOLDER, "card.png") });
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

mkdirSync(FOLDER, { recursive: true });
const [first, server] = [await serve(), await serve()];
const browser = await openBrowser();
try {
  await measuring(await phone(browser, first.url));
  const again = await phone(browser, server.url);
  await enterSaddle(again);
  await again.getByText("Marks are ready").first().waitFor();
  await openPlace(again, "Job");
  await again.getByText("1 run").first().waitFor();
  await shot(again, "job");
  await seeing(again);
  await bending(again);
  await checking(again);
  await practicing(again);
  await clashing(browser, server.url, again);
  await card();
} finally {
  await browser.close();
  await first.stop();
  await server.stop();
}
