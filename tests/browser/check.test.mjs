// Check on a phone: what was measured on the finished piece, what puts it right, new marks part way.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { afterAWhile, enterSaddle, fiveInSight, held, inEach, keyIn, newPage, nextStep, nothingForAxe, onTo, openPlace, PHONE, phoneWithSaddle, racewright, takeBack, tapAtOnce, until, wordsOf } from "./support.mjs";

let page, close;

before(async () => {
  ({ page, close } = await phoneWithSaddle());
});

after(() => close?.());

/** Check as it is before anything is entered. */
async function anew() {
  await openPlace(page, "Measure");
  await openPlace(page, "Check");
}

const words = () => wordsOf(page);
const heading = (begins) => `.step-title:text-matches("^${begins}")`;
const pick = (name) => page.getByRole("radio", { name, exact: true }).dispatchEvent("click");
async function ask() {
  const right = page.getByRole("radio", { name: "Yes", exact: true }); // asked where a rise alone was measured
  if (await right.count()) await right.dispatchEvent("click");
  await page.getByRole("button", { name: "What puts it right?" }).tap();
}

async function measured(label, text) {
  await page.getByRole("button", { name: label }).tap();
  await keyIn(page, text);
  await page.getByRole("button", { name: "Close the keypad" }).tap();
}

/** The moves that the command prints for the same run. */
function told(...reading) {
  const text = racewright("tweak", "examples/pump-house-saddle.yaml", ...reading);
  return [...text.matchAll(/^ +\d+\. (.*)$/gm)].map(([, move]) => move);
}

const moves = async () => (await page.locator(".answer .care").waitFor(), page.locator(".moves li").allTextContents());

test("an angle measured at a picked bend is put right at that bend, as by the command", async () => {
  await anew();
  await pick("Angle");
  await ask();
  await page.getByText("Enter this first.").waitFor(); // at which bend
  await page.getByText("Enter degrees as a number").waitFor();
  await nothingForAxe(page, "refused");
  assert.equal(await page.locator(".answer").count(), 0);
  await page.getByLabel("At which bend").selectOption({ index: 2 });
  await page.getByLabel("Degrees").fill("49");
  const late = await held(page, "tweak");
  await ask();
  await page.getByLabel("Degrees").fill("47");
  await late();
  assert.equal(await page.locator(".answer").count(), 0, "an answer to what was read before is none");
  await ask();
  const said = await moves();
  assert.deepEqual(said, told("--angle", "2=47"));
  assert.match(said.join(), /mark 2/);
  assert.match(await words(), /The far end moves .*Not included.*Eye protection/i);
});

test("of a piece that is said to be bent Check tells first which bends nobody ticked off, in the words of Bend", async () => {
  const setTo = async (status) => (await openPlace(page, "Job"), page.getByLabel("Status").selectOption(status));
  const left = page.getByText(/^Not ticked off: /);
  const before = await (await openPlace(page, "Job"), page.getByLabel("Status").inputValue());
  await setTo("bent");
  const told = [];
  for (const place of ["Bend", "Check"]) {
    await openPlace(page, place);
    await left.waitFor();
    told.push(await left.innerText());
  }
  assert.equal(told[1], told[0]);
  assert.match(told[1], /mark 1.*mark 2.*mark 3.*bend nothing more of it/);
  const [top, first] = [await left.boundingBox(), await page.getByRole("button", { name: "What puts it right?" }).boundingBox()];
  assert.ok(top.y < first.y, "before it is asked what puts it right");
  await nothingForAxe(page, "said to be bent");
  await setTo("measured");
  await setTo(before);
  await openPlace(page, "Check");
  await page.getByRole("button", { name: "What puts it right?" }).waitFor();
  assert.equal(await left.count(), 0);
});

test("a rise is taken under the saddle's middle without a bend picked, and the same under that bend picked", async () => {
  await anew();
  await measured(/^Rise measured/, "3 1/4");
  await ask();
  const said = await moves();
  assert.deepEqual(said, told("--rise", "3-1/4"));
  await page.getByLabel("At which bend").selectOption({ label: await page.getByRole("option", { name: /bend, mark 2:/ }).innerText() });
  assert.equal(await page.locator(".answer").count(), 0, "an answer to another question is gone");
  await ask();
  assert.deepEqual(await moves(), said);
});

test("where a rise alone was measured, it is asked whether end B is right", async () => {
  await anew();
  await measured(/^Rise measured/, "3 3/8");
  await page.getByRole("button", { name: "What puts it right?" }).tap();
  await page.getByText("Enter this first.").waitFor();
  assert.equal(await page.locator(".answer").count(), 0);
  await pick("No: measure it");
  await page.getByRole("button", { name: /^Off by/ }).waitFor();
  assert.equal(await page.getByText("Is end B where it should be").count(), 0);
  await page.getByRole("button", { name: "Remove measurement 2" }).tap();
  await ask();
  await page.locator(".answer .care").waitFor();
  assert.match(await words(), /The far end was not measured: it is taken as right/);
  const [now, then] = await page.locator(".outline path").evaluateAll((paths) => paths.map((path) => path.getBBox().y));
  assert.ok(then - now > 8, `what was measured too high is drawn above what it will be: ${now}, ${then}`);
  assert.match(await page.locator(".legend").innerText(), /as measured.*after it.*times as large/s);
});

test("a reading that cannot be read is refused beside its own field, with what works, and nowhere else", async () => {
  await anew();
  await page.getByRole("button", { name: "Something else measured" }).tap();
  await measured(/^Rise measured/, "3 1/4");
  await page.getByRole("button", { name: /^Off by/ }).tap();
  await page.locator("#keypad-typed").fill("31/16");
  await page.getByRole("button", { name: "Close the keypad" }).tap();
  await ask();
  const off = page.locator(".length", { hasText: "Off by" });
  await off.getByText("did you mean").waitFor();
  assert.match(await off.innerText(), /Cannot take '31\/16' as a length/);
  assert.doesNotMatch(await off.innerText(), /measured\[/, "in a person's words");
  assert.equal(await page.locator(".bad").count(), 1);
  assert.equal(await page.locator(".notice.problem").count(), 0);
  await page.getByRole("button", { name: "Remove measurement 2" }).tap();
  await ask();
  assert.deepEqual(await moves(), told("--rise", "3-1/4"));
});

test("what no bend can put right is said to be so, with what would work", async () => {
  await anew();
  await measured(/^Rise measured/, "30");
  await ask();
  await page.locator(".notice.problem").waitFor();
  assert.match(await words(), /no change of the bends.*What works: .*measure again/i);
  assert.equal(await page.locator(".answer").count(), 0);
});

test("a correction says what it does to the far end and what it leaves off, beside the moves and not as one", async () => {
  await anew();
  await measured(/^Rise measured/, "3 1/4");
  await ask();
  await page.locator(".answer .care").waitFor();
  const said = await words();
  assert.match(said, /The far end (keeps its place|moves ).*last leg.*\. What you measured is then right within .*°\./);
  assert.doesNotMatch(await page.locator(".moves").innerText(), /far end|last leg|then right/i);
});

test("new marks that do not do are shown as a problem, in the words of the command", async () => {
  const command = racewright("remark", "examples/pump-house-saddle.yaml", "--made", "1: angle 50");
  const problem = /problem: [^:]*: ([^[]*) \[/.exec(command.replace(/\s+/g, " "))[1].toLowerCase();
  await anew();
  await pick("Part way");
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("50");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator(".notice.problem").first().waitFor();
  const said = await words();
  assert.ok(said.toLowerCase().includes(problem), `${problem}: ${said}`);
  assert.equal(await page.locator(".notice.good").count(), 0);
  assert.match(said, /is scrap.*Make a new piece as planned: cut/);
  assert.equal(await page.locator("table.choices").count(), 0); // no marks for what will not be
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("24");
  const late = await held(page, "remark");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("23");
  await late();
  assert.equal(await page.locator("table.choices").count(), 0, "new marks for what was read before are none");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator(".notice.good").waitFor();
  assert.equal(await page.locator(".notice.problem").count(), 0);
  const bare = (await words()).toLowerCase();
  for (const text of ["2nd bend, mark 2", "hook toward a", "bend to 45 1/2°, read after letting go", "do not rotate: line stays up", "rotate 180°: line down", "straps are not placed again with the new marks", "nobody near the conduit's far end"]) assert.ok(bare.includes(text), `${text}: ${bare}`);
});

test("conduit that is longer than planned can be said, and the new marks use it", async () => {
  await anew();
  await pick("Part way");
  const angle = page.getByLabel(/^Angle of 1st bend, mark /);
  await angle.fill("43");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator("table.choices").waitFor();
  const wanted = /bounds it: with ([^"]*") .*If it has that, say so/.exec(await words());
  assert.ok(wanted, await words());
  await measured(/^Conduit in hand/, "62");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator(".notice.good").waitFor();
  assert.match(await words(), /far end meets its fitting/);
});

test("where a bend stands and how far its plane is off are told as to the command", async () => {
  const place = async (text) => {
    await page.getByRole("button", { name: /^From end A/ }).tap();
    await page.locator("#keypad-typed").fill(text);
    await page.getByRole("button", { name: "Close the keypad" }).tap();
    await page.getByRole("button", { name: "New marks for the rest" }).tap();
  };
  await anew();
  await pick("Part way");
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("24");
  await page.getByText("Place and plane of 1st bend, mark 1").tap();
  await page.getByLabel("Its plane is off, degrees").fill("2");
  await pick("counterclockwise");
  await place("31/16");
  await page.locator(".length", { hasText: "From end A" }).getByText("did you mean").waitFor();
  assert.equal(await page.locator(".notice.problem").count(), 0, "it is told beside its own field alone");
  for (const [at, word, text] of [["the shoe’s mark", "mark", "19 15/16"], ["where the bend begins", "start", "17 1/4"]]) {
    await pick(at);
    await place(text);
    await page.locator(".differs").first().waitFor();
    const { marks } = JSON.parse(racewright("remark", "examples/pump-house-saddle.yaml", "--made", `1: angle 24, ${word} ${text}, roll -2`, "--json"));
    assert.deepEqual(await page.locator(".differs .unseen").allTextContents(), marks.map((mark) => `${mark.mark.tape.replace(" ", " and ")} inches`), word);
  }
  assert.match(await words(), /turn the whole piece 2° clockwise in its fitting at end A.*Keep these marks/);
});

// 422: what the engine refuses, as asked for above
test("nothing went wrong behind the screen", () => assert.deepEqual(page.faults.filter((said) => !said.includes("422")), []));

test("new marks part way are kept, and Bend then shows them in place of the planned ones", async () => {
  await anew();
  await pick("Part way");
  const picked = () => page.getByLabel("Made so far").evaluate((one) => one.clientHeight);
  const [[, high], [, wrapped]] = await inEach(page, [[1200, 844, 200], [360, 740, 200]], picked);
  assert.ok(wrapped > high + 30, `${wrapped} px: what is picked is told whole, in more than one line`);
  await inEach(page, [[390, 844, 100]], () => undefined);
  await page.getByText(/^Place and plane of/).first().tap();
  await page.getByLabel("Its plane is off, degrees").first().fill("190");
  await page.getByText(/^Enter how far the plane of 1st bend, mark \d is off, in degrees from 0 to 180\./).waitFor();
  await nothingForAxe(page, "refused");
  await page.getByLabel("Its plane is off, degrees").first().fill("");
  await page.getByLabel(/^Angle of/).fill("25");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByText("Bend still shows the planned marks").waitFor();
  const mark = await page.locator(".differs").first().innerText();
  await tapAtOnce(page.getByRole("button", { name: "Keep these marks" }));
  await openPlace(page, "Bend");
  await page.getByText("mark 1 made 25°").waitFor();
  await page.locator(".card .differs").first().waitFor();
  assert.equal(await page.locator(".card .differs").first().innerText(), mark);
  assert.equal(await page.locator(".mark-list").count(), 0, "the planned lines are not shown");
  await onTo(page, ".bend-step");
  const at = (name) => page.locator(name).first().innerText();
  assert.equal(await at(".big-mark .tape"), mark);
  assert.match(await at(".bend-step"), /^2nd bend, mark 2\s+By the new marks/);
  assert.equal(await at(".in-sight .before"), "First draw the new lines: the old ones do not count.");
  await fiveInSight(page);
  assert.equal(await page.locator(".shoe-stage .tool:not(.ghost)").count(), 1, "the shoe is drawn at the new mark");
});

test("a bend that is bent on first is a step of its own before the rest, and Check then has it as it is", async () => {
  await openPlace(page, "Check");
  await page.getByRole("option", { name: /^Up to 2nd bend, mark 2, at 26 13\/16/ }).waitFor({ state: "attached" }); // not as planned
  await pick("All bends made");
  await pick("Angle");
  await page.getByRole("option", { name: /^2nd bend, mark 2: .* at 26 13\/16/ }).waitFor({ state: "attached" });
  await pick("Part way");
  await page.getByRole("button", { name: "They do not hold: back to the planned marks" }).tap();
  await page.getByText("The new marks in place of the planned ones: removed.").waitFor();
  await pick("Part way");
  await page.getByText("Empty: 25°, as recorded").waitFor(); // what was told of it stays
  await page.getByLabel(/^Angle of/).fill("20");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByRole("button", { name: "Keep these marks" }).tap();
  for (const place of ["See", "Job", "Check"]) {
    await openPlace(page, place);
    await page.getByText(/the rest is bent by new marks, not by those of its card: mark 1 /).waitFor();
    await page.getByText(/'mark 1 has 25°' and 'mark 1 has 20°' cannot both be right\./).waitFor();
  }
  await openPlace(page, "Bend");
  await page.getByText("mark 1 made 20°").waitFor();
  const step = page.locator(".bend-step");
  await step.waitFor();
  const said = () => step.innerText().then((text) => text.replace(/\s+/g, " "));
  assert.match(await said(), /^Again, mark 1 By the new marks .*Bend it another 2 1\/2° leaves 22 1\/2° .*hook toward A/i);
  assert.match(await said(), /set the shoe on it as when it was bent, hook toward end A/);
  await openPlace(page, "Check");
  await pick("Part way");
  await page.getByText("Empty: 20°, as recorded").waitFor(); // not ticked off yet
  await openPlace(page, "Bend");
  await nextStep(page);
  assert.match(await said(), /^2nd bend, mark 2 By the new marks .*Ticked off already: mark 1 has 22.5° now/);
  await page.getByText("Done already, as recorded: mark 1.").waitFor();
  await until(async () => !/another 2 1\/2°/.test(await words()), "only what is left is asked for"); // what was told stays until it is told anew
  await openPlace(page, "Check");
  await pick("Part way");
  await page.getByText("Empty: 22 1/2°, by the new marks").waitFor();
  await page.getByText("A bend, a cut or a twist is made by these marks").waitFor();
  assert.equal(await page.getByRole("button", { name: "They do not hold" }).count(), 0);
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByText("The rest is bent as planned.").waitFor();
  assert.doesNotMatch((await words()).split("New marks for the rest").pop(), /another 2 1\/2°/, "nor is it asked for again");
  await openPlace(page, "Bend");
  await takeBack(page);
  await page.getByText("Again, mark 1").first().waitFor();
});

test("after a bend that was bent on another is made by its new mark, and new marks are asked for again", async () => {
  await onTo(page, heading("3rd bend, mark 3")); // on from "Again, mark 1"
  await openPlace(page, "Check");
  await pick("Part way");
  await page.getByText("Empty: 45°, by the new marks").waitFor();
  await page.getByLabel(/^Angle of 2nd bend, mark /).fill("47");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.locator(".differs").first().waitFor();
  const mark = await page.locator(".differs").first().innerText();
  await page.getByRole("button", { name: "Keep these marks" }).tap();
  await openPlace(page, "Bend");
  await page.getByText("mark 1 made 22.5°, mark 2 made 47°").waitFor();
  await openPlace(page, "Check");
  await pick("Part way");
  await page.getByRole("button", { name: "They do not hold: back to the new marks kept before" }).waitFor();
  await openPlace(page, "Bend");
  await page.locator(".bend-step").waitFor();
  assert.equal(await page.locator(".big-mark .tape").first().innerText(), mark);
});

test("a bend that is to be opened is a step of its own as well, to the end", async () => {
  await openPlace(page, "Check");
  await pick("Part way");
  await page.getByLabel(/^Angle of 1st bend, mark /).fill("26");
  await page.getByLabel(/^Angle of 2nd bend, mark /).fill("49");
  await page.getByRole("button", { name: "New marks for the rest" }).tap();
  await page.getByText("Open mark 1 by 3 1/2°.").waitFor();
  await page.getByText("Not kept yet: Bend still shows the new marks kept before.").waitFor();
  await page.getByRole("button", { name: "Keep these marks" }).tap();
  await openPlace(page, "Bend");
  await page.getByRole("heading", { name: /^Open mark 1 by 3 1\/2°/ }).waitFor();
  await onTo(page, heading("Open mark 2 by 4°"));
  await onTo(page, heading("3rd bend, mark 3"));
  await page.getByText("Ticked off already: mark 2 has 45° now.").waitFor();
  await onTo(page, heading("Level and strap it"));
  await page.locator(".left-out", { hasText: "Straps are not placed again with the new marks." }).waitFor();
  await onTo(page, "text=Done, all");
  await afterAWhile(page);
  await page.getByRole("button", { name: "Done, all" }).tap();
  await page.locator(".all-done").waitFor();
});

test("a cut and a twist are steps of their own that say how to see whether they are done, and the turn stands where the piece goes in", async () => {
  const other = await newPage(await page.context().browser().newContext(PHONE));
  await other.goto(new URL("/", page.url()).href);
  await enterSaddle(other);
  await other.getByText("Marks are ready").first().waitFor();
  await openPlace(other, "Check");
  await other.getByRole("radio", { name: "Part way", exact: true }).dispatchEvent("click");
  await other.getByLabel("Made so far").selectOption({ index: 1 });
  for (const [bend, off, place] of [["1st bend, mark 1", "2", "20 1/4"], ["2nd bend, mark 2", "5", "27 15/16"]]) {
    const read = other.locator("details", { hasText: `Place and plane of ${bend}` });
    await read.locator("summary").tap();
    await read.getByLabel("Its plane is off, degrees").fill(off);
    await read.getByRole("button", { name: /^From end A/ }).tap();
    await keyIn(other, place);
    await other.getByRole("button", { name: "Close the keypad" }).tap();
  }
  await other.getByRole("button", { name: /^Conduit in hand/ }).tap();
  await keyIn(other, "62");
  await other.getByRole("button", { name: "New marks for the rest" }).tap();
  await other.getByRole("button", { name: "Keep these marks" }).tap();
  await openPlace(other, "Bend");
  const at = (name) => other.locator(name).first().innerText();
  await other.getByRole("heading", { name: /^Cut 1/ }).waitFor();
  await openPlace(other, "Check");
  await other.getByRole("radio", { name: "Part way", exact: true }).dispatchEvent("click");
  await other.getByRole("button", { name: /^They do not hold: back to the planned marks/ }).tap();
  await other.getByText("These marks want the cut at end A and the twist at mark 2, and nobody ticked that off. Is it done?").waitFor();
  await other.getByRole("button", { name: /^It is not done: They do not hold: back to the planned marks/ }).waitFor();
  await other.getByRole("link", { name: "Bend it, step by step" }).tap();
  const steps = [
    [/^Cut 1\/2" more off at end A/, 'Measure first: mark 1 stands 20 1/4" from end A until it is cut, then 19 3/4".'],
    [/^Twist it at mark 2 by 3° counterclockwise, seen from A/, "Measure its plane first, from the line at end A: mark 2 lies 5° clockwise off the plan, seen from A, until it is twisted, then 2° clockwise."],
  ];
  for (const [name, look] of steps) {
    await other.getByRole("heading", { name }).waitFor();
    assert.equal(await at(".step .look-at"), look);
    assert.equal(await other.locator(".big-mark").count(), 0, "nothing is marked before it is done");
    await nextStep(other);
  }
  await other.locator(heading("3rd bend, mark 3")).waitFor();
  assert.equal(await at(".before"), "First draw the new lines, from end A as it is cut now: the old ones do not count.");
  assert.match(await at(".notice.caution"), /End A is cut already \(.*\)\.\s+Twisted already at mark 2 \(.*\)\.$/);
  await onTo(other, heading("End A into disconnect"));
  assert.equal(await at(".before"), "When it goes in, turn the whole piece 2° counterclockwise in its fitting at end A, seen from A.");
  const late = await held(other, "remark");
  await other.reload();
  await other.locator("text=The new marks are being worked out").waitFor();
  assert.match(await at(".step-title"), /^End A into disconnect/);
  assert.equal(await other.locator(".step-bar .strong").isDisabled(), true, "it does not go in before its turn is known");
  await late();
  await other.locator(".before").waitFor();
  await onTo(other, heading("Last: the set-screw fitting at end B"));
  assert.equal(await other.locator(".before").count(), 0, "it is in by then");
  assert.deepEqual(other.faults, []);
  await other.context().close();
});
