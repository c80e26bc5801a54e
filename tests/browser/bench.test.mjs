// At the bench the page says what the card says: order and mark, the tool, the stock, what waits, how it is rotated.
import assert from "node:assert/strict";
import { test } from "node:test";
import { askServer, fiveInSight, inEach, newPage, nextStep, onTo, openPlace, PHONE, serverAndBrowser, settled } from "./support.mjs";

const end = (name) => ({ name, fitting: "set-screw" });
const run = (name, raceway, walk, more = {}) => ({
  racewright: 1,
  units: "in",
  run: { name, raceway, start: end("starter"), end: end("junction box"), walk, ...more },
});
const OFFSET = { leg: "52 1/4", from: "face", to: "back", features: [{ offset: { name: "purlin", rise: "3", starts_at: "16 1/2", angle: "22.5" } }] };
const corner = (leg) => [OFFSET, { turn: "left" }, { leg, from: "back", to: "face" }];
const KICK = [{ leg: "47", from: "face", to: "center", features: [{ kick: { rise: "3 3/4", toward: "left", starts_at: "23 1/2" } }] }, { turn: "away" }, { leg: "28 1/2", from: "center", to: "face" }];
const SOCKETS = { bend_radius: "7 1/2", start: { name: "meter", fitting: "socket" }, end: { name: "pump", fitting: "socket" } };
const TIGHT = [{ leg: "30", from: "face", to: "back" }, ...["12", "12", "12"].flatMap((leg) => [{ turn: "left" }, { leg }]), { turn: "left" }, { leg: "29", from: "back", to: "face" }];

const at = serverAndBrowser();

async function withRun(survey, phone = PHONE) {
  const { url } = await at.anew();
  const page = await newPage(await at.browser.newContext(phone));
  await page.goto(`${url}#/job`);
  const file = JSON.stringify({ format: "racewright job 1", runs: [{ survey, status: "measured" }] });
  await page.getByLabel("Job file to open").setInputFiles({ name: "job.json", mimeType: "application/json", buffer: Buffer.from(file) });
  const shown = page.locator(".run.on, .beside").filter({ hasText: survey.run.name }); // on a phone, at a desk; another run of the shop may stand there first
  await shown.locator(".cut-line, .cut-card").first().waitFor();
  return page;
}

const words = async (page) => (await settled(page), (await page.locator("main").innerText()).replace(/\s+/g, " "));
const title = async (page) => (await page.locator(".step-title").innerText()).split("\n")[0];
const planOf = (page, survey, pictures = []) => askServer(page, "plan", { survey, pictures });

/** Every step of Bend: its kind's title, with what `look` sees on it. */
async function steps(page, look) {
  await openPlace(page, "Bend");
  const out = [];
  for (;;) {
    await settled(page);
    out.push([await title(page), await look(page)]);
    const next = page.getByRole("button", { name: "Done, next" });
    if (!(await next.count())) return out;
    await nextStep(page);
  }
}

for (const [what, survey, how] of [
  ["heated PVC", run("Packing shed, PVC to the well pump", "PVC-40 1", corner("26"), SOCKETS), /Heat it from .* to .*, form it, and hold it until it is cool/],
  ["a machine", run("Packing shed, feeder", "EMT 2", corner("38"), { bend_radius: "9 1/2" }), /By machine or form, the bend from .* to /],
])
  test(`${what}: bend begins or ends, and neither shoe nor hook`, async () => {
    const page = await withRun(survey);
    await openPlace(page, "See");
    assert.doesNotMatch(await page.locator(".cut-card").allInnerTexts().then(String), /hook toward|arrow|star/i);
    const seen = await steps(page, async () => [await words(page), await page.locator(".tool, .sign-box, .hook-arrow").count()]);
    const bends = seen.filter(([name]) => / bend, mark /.test(name));
    assert.equal(bends.length, 3);
    for (const [name, [said, drawn]] of bends) {
      assert.match(said, /Bend (begins|ends) at mark \d/, name);
      assert.match(said, how, name);
      assert.doesNotMatch(said, /hook toward|arrow on/i, name);
      assert.equal(drawn, 0, `${name}: a hand shoe is drawn`);
    }
    assert.deepEqual(page.faults, []);
    await page.context().close();
  });

test("a bend is named by its order and its mark wherever it is named", async () => {
  const survey = run("Workshop, starter to drill press", "EMT 3/4", corner("33"));
  const page = await withRun(survey);
  const { plan, bench } = await planOf(page, survey);
  const inOrder = plan.pieces[0].bends.map((bend, i) => [bend, bench[0].bends[i]]).sort(([a], [b]) => a.order - b.order);
  assert.notDeepEqual(inOrder.map(([bend]) => bend.number), [1, 2, 3], "order and mark differ here");
  const named = inOrder.map(([bend]) => `${["1st", "2nd", "3rd"][bend.order - 1]} bend, mark ${bend.number}`);
  await openPlace(page, "Check");
  const options = async (label) => (await page.getByLabel(label).locator("option").allInnerTexts()).map((text) => text.replaceAll("\u00a0", " ")); // a reading is not broken
  const told = await options("At which bend");
  for (const [k, [bend, said]] of inOrder.entries())
    assert.ok(told.includes(`${named[k]}: ${said.leaves} at ${bend.mark_tape}`), told.join("; "));
  await page.getByLabel("Part way").check({ force: true }); // the radio lies unseen in its label
  const made = await options("Made so far");
  assert.deepEqual(made, inOrder.slice(0, -1).map(([bend], k) => `Up to ${named[k]}, at ${bend.mark_tape}`));
  await page.getByLabel("Made so far").selectOption({ index: 0 });
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator("table.choices").waitFor();
  assert.deepEqual(await page.locator("table.choices th[scope=row]").allInnerTexts(), named.slice(1));
  const seen = await steps(page, () => page.locator(".big-mark").count());
  assert.deepEqual(seen.filter(([, mark]) => mark).map(([name]) => name), named);
  await page.context().close();
});

test("a piece without a bending order is not offered to cut or bend, and it is said why", async () => {
  const page = await withRun(run("Packing shed, around the sorter", "EMT 1/2", TIGHT));
  assert.match(await page.locator(".cut-line").first().innerText(), /^Do not cut or bend it yet/);
  await openPlace(page, "See");
  const said = await words(page);
  assert.match(said, /Do not cut or bend it yet No bending order is known for it/);
  assert.ok(said.indexOf("no bending order") < said.indexOf("Do not cut"), "the problem stands above");
  assert.doesNotMatch(said, /Bend it, step by step|From end A/);
  const seen = await steps(page, () => page.getByRole("link", { name: "Enter what you measured" }).count());
  assert.deepEqual(seen[0], ["Do not cut or bend it yet", 0]);
  for (const [name] of seen) assert.doesNotMatch(name, /^Cut|^Take|^Mark it|bend, mark|^Ream/, name);
  await page.context().close();
});

test("cut after bending: the stock, and the cut line among the lines to draw", async () => {
  const survey = run("Workshop, kick into the trough", "EMT 1", KICK, { cut: "after" });
  const page = await withRun(survey);
  const { plan, bench } = await planOf(page, survey);
  const [piece, told] = [plan.pieces[0], bench[0]];
  assert.ok(told.length.mm > piece.cut_length_mm + 20 && told.take === "STOCK, at least");
  const heard = async (part) => (await page.locator(part).first().ariaSnapshot()).replaceAll(" and ", " ");
  assert.match(await page.locator(".cut-line").first().innerText(), /^STOCK, at least/);
  assert.ok((await heard(".cut-line")).includes(told.length.tape), told.length.tape);
  await openPlace(page, "See");
  assert.match(await words(page), new RegExp(`STOCK, at least .* Finished ${piece.cut_length_tape}", cut it on line B after bending`));
  assert.match((await page.locator("table.marks tr").last().innerText()).replace(/\s+/g, " "), /^B .* Cut line ?$/);
  assert.ok((await heard("table.marks")).includes(piece.cut_length_tape));
  const seen = await steps(page, async () => [await page.locator(".mark-list .number.end").allInnerTexts(), await page.locator(".strip .strip-cut").count()]);
  assert.match(seen[0][0], /^Take a stick of .* or more$/);
  assert.deepEqual(seen.find(([name]) => name === "Mark it")[1], [["B"], 1]);
  assert.ok(seen.some(([name]) => name === "Cut it on line B"));
  await page.context().close();
});

test("a whole stick is taken, not cut", async () => {
  const page = await withRun(run("Packing shed, along the ridge", "EMT 3/4", [{ leg: "26 ft", from: "face", to: "face" }]));
  assert.match(await page.locator(".cut-line").first().innerText(), /^TAKE, piece 1/);
  await openPlace(page, "See");
  assert.match(await page.locator(".cut-card").first().innerText(), /^TAKE, piece 1\s/);
  await openPlace(page, "Bend");
  assert.match(await title(page), /^Take a whole length, 120" \(piece 1\)/);
  await page.context().close();
});

for (const [what, phone, windows] of [
  ["a phone", { hasTouch: true, isMobile: true }, [[360, 740, 100], [390, 844, 100], [360, 740, 200], [390, 844, 200]]],
  ["a desk", { hasTouch: true }, [[1280, 800, 100], [1280, 800, 200]]],
])
  test(`how to rotate is never under the buttons: ${what}`, async () => {
    const page = await withRun(run("Packing shed, column and corner", "EMT 1/2", [...corner("34").slice(0, 2), { leg: "36" }, { turn: "away" }, { leg: "24", from: "back", to: "face" }]), { ...phone, viewport: { width: windows[0][0], height: windows[0][1] } });
    const look = () =>
      page.evaluate(() => {
        const [line, bar] = [document.querySelector(".rotate b"), document.querySelector(".step-bar")];
        window.scrollTo(0, 0);
        return line && { line: line.getBoundingClientRect().bottom, bar: bar.getBoundingClientRect().top, wide: document.documentElement.scrollWidth - innerWidth };
      });
    const bends = (await steps(page, async () => (await page.locator(".rotate b").count()) && (await inEach(page, windows, look)))).filter(([, seen]) => seen);
    assert.equal(bends.length, 4);
    for (const [name, seen] of bends)
      for (const [size, at] of seen) {
        assert.ok(at.line <= at.bar, `${name}, ${size}: ${JSON.stringify(at)}`);
        assert.ok(at.wide <= 0, `${name}, ${size}: ${at.wide} px too wide`);
      }
    await page.context().close();
  });

/** The sheets of the run at hand are shown: the first one's words as the page got them, how many there are, and how many the
 * printer makes of them. */
async function sheetOf(page, name) {
  const [reply] = await Promise.all([page.waitForResponse(/\/ask\/card$/), page.getByRole("button", { name }).tap()]);
  const sheets = (await reply.json()).pages;
  await page.getByRole("img", { name: `${name}, page ${sheets.length}` }).waitFor();
  return { sheets: sheets.length, words: [...sheets[0].matchAll(/<text[^>]*>([^<]*)/g)].map(([, text]) => text).join(" "), pages: await printedPages(page) };
}

async function printedPages(page) {
  await settled(page);
  const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
  return pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g).length;
}

test("the bench page is printed by itself, and says where new marks hold", async () => {
  const survey = run("Workshop, starter to band saw", "EMT 3/4", corner("33"));
  const page = await withRun(survey);
  const sheets = page.locator(".print-sheets");
  const planned = await sheetOf(page, "Bench page");
  assert.equal(await sheets.getByRole("img", { name: /^Bench page, page/ }).count(), 1);
  assert.deepEqual([planned.sheets, planned.pages], [1, 1]);
  assert.doesNotMatch(planned.words, /NEW MARKS/);
  await openPlace(page, "Check");
  await page.getByLabel("Part way").check({ force: true }); // the radio lies unseen in its label
  await page.getByLabel("Made so far").selectOption({ index: 0 });
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("24");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByRole("button", { name: "Keep these marks" }).tap();
  await openPlace(page, "Job");
  const notice = page.locator("main > .notice", { hasText: "the rest is bent by new marks, not by those of its card" });
  await notice.waitFor();
  for (const name of ["Bench page", "Strip 1:1"]) {
    const { words, ...told } = await sheetOf(page, name);
    assert.equal(told.pages, told.sheets, name);
    assert.match(words, /NEW MARKS .*the rest is bent by new marks, not by those of its card: (1\. M|m)ark \d/, name);
    await page.getByRole("button", { name: "Close" }).tap();
    await sheets.waitFor({ state: "detached" });
  }
  await page.getByRole("button", { name: "Labels", exact: true }).tap();
  await page.getByRole("button", { name: "Work it out for 1 run" }).tap();
  await page.getByRole("button", { name: "Print 1 sheet" }).tap();
  await sheets.getByRole("img", { name: "Labels, page 1" }).waitFor();
  await notice.waitFor();
  assert.equal(await printedPages(page), 1);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("an angle that is no usual one is told as the card tells it", async () => {
  const survey = run("Workshop, kick into the panel", "EMT 1", KICK);
  const page = await withRun(survey);
  const { text } = await planOf(page, survey, ["text"]);
  const card = [...text.matchAll(/bend to ([^,:]+°), read/g)].map(([, angle]) => angle);
  assert.equal(card.length, 2);
  const seen = await steps(page, async () => ((await page.locator(".huge-angle").count()) ? page.locator(".huge-angle").innerText() : ""));
  assert.deepEqual(seen.map(([, angle]) => angle).filter(Boolean), card);
  await page.context().close();
});

const RIGID = run("Workshop, rigid to the press", "RMC 3/4", corner("33"), { start: { name: "hub", fitting: "hub" }, end: { name: "press", fitting: "threaded" } });
const LONG = run("Packing shed, under the ridge", "EMT 3/4", [{ leg: "26 ft", from: "face", to: "face" }]);

for (const [what, survey] of [["a kick cut after bending", run("Workshop, kick into the wireway", "EMT 1", KICK, { cut: "after" })], ["rigid", RIGID], ["heated PVC", run("Packing shed, PVC along the wall", "PVC-40 1", corner("26"), SOCKETS)], ["several pieces", LONG]])
  test(`every step has its picture and the caution that belongs to it: ${what}`, async () => {
    const page = await withRun(survey, { ...PHONE, viewport: { width: 360, height: 740 } });
    const answer = await planOf(page, survey);
    const seen = await steps(page, () =>
      page.evaluate(() => {
        const [picture, care] = [document.querySelector(".step svg[role=img]"), [...document.querySelectorAll(".care li:not(.print-only)")].map((li) => li.textContent)];
        const box = picture?.getBoundingClientRect();
        return { said: picture?.getAttribute("aria-label"), parts: picture?.querySelectorAll("path, rect").length, wide: box && box.left >= 0 && box.right <= innerWidth && box.height > 40, care };
      }),
    );
    assert.equal(seen.length, answer.plan.steps.length);
    for (const [i, [name, look]] of seen.entries()) {
      assert.ok(look.wide && look.parts > 0 && look.said, `${name}: ${JSON.stringify(look)}`);
      for (const caution of answer.step_cautions[i].filter((line) => !/authority having jurisdiction/.test(line))) assert.ok(look.care.includes(caution), `${name}: ${caution}`);
    }
    await page.context().close();
  });

test("mark, angle, rotation, hook and tool are in sight at once, upright, sideways and with large text, the buttons at hand, whatever goes on", async () => {
  const page = await withRun(run("Workshop, starter to grinder", "EMT 3/4", corner("33")));
  await openPlace(page, "Bend");
  await onTo(page, ".bend-step");
  const header = () => inEach(page, [[740, 360, 200], [360, 740, 200]], () => page.locator(".top").evaluate((top) => top.offsetHeight));
  const before = await header();
  await page.route("**/records?*", () => undefined); // the shop does not answer
  await page.evaluate(() => document.dispatchEvent(new Event("visibilitychange")));
  await page.getByText(/^Sharing, \d+ s$/).waitFor();
  assert.deepEqual(await header(), before);
  const bends = (await steps(page, async () => (await page.locator(".shoe-stage").count()) && (await fiveInSight(page)))).filter(([, seen]) => seen);
  assert.equal(bends.length, 3);
  assert.equal(await page.getByText(/^Sharing, \d+ s$/).count(), 1);
  for (const [, tool] of bends) assert.equal(tool, "emt-3/4, taught figures: calibrate yours");
  await page.context().close();
});

test("a tap right after another is not taken for the next step", async () => {
  const page = await withRun(run("Workshop, starter to lathe", "EMT 3/4", corner("33")));
  await openPlace(page, "Bend");
  const next = page.getByRole("button", { name: "Done, next" });
  const began = await page.evaluate(() => performance.now());
  const tapAt = (later) =>
    next.evaluate((button, timeStamp) => {
      const tap = new MouseEvent("click", { bubbles: true });
      button.dispatchEvent(Object.defineProperty(tap, "timeStamp", { value: timeStamp }));
      return new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn(document.querySelector(".progress").ariaLabel))));
    }, began + later);
  assert.match(await tapAt(0), /^Step 2 of/);
  assert.match(await tapAt(200), /^Step 2 of/);
  assert.match(await tapAt(900), /^Step 3 of/);
  await page.context().close();
});

test("what is ticked off while the browser has not said that the last is kept is there when the page is closed at once", async () => {
  const page = await withRun(run("Workshop, starter to bench saw", "EMT 3/4", corner("33")));
  await openPlace(page, "Bend");
  await page.locator(".progress").waitFor();
  await page.evaluate(() => Object.defineProperty(IDBTransaction.prototype, "oncomplete", { set: () => undefined })); // it never says so
  await nextStep(page);
  await nextStep(page);
  await nextStep(page);
  const context = page.context();
  await page.close();
  const again = await newPage(context);
  await again.goto(new URL("/#/bend", page.url()).href);
  await again.locator(".progress").waitFor();
  assert.match(await again.locator(".progress").getAttribute("aria-label"), /^Step 4 of/);
  await context.close();
});
