// At a desk: what is bought, cut and handed out, and what a person sets for it.
import assert from "node:assert/strict";
import { join } from "node:path";
import { test } from "node:test";
import { DEMO, demoJob, noFaults, shot, words } from "./desk.mjs";
import { inEach, racewright, serve } from "./support.mjs";

const at = demoJob();

test("bill, cut list, batch list, labels, kits: what is left out above the tables; the labels' sheets to print", async () => {
  const page = await at.desk();
  await page.getByRole("button", { name: "Buy, cut, hand out" }).click();
  const lists = page.locator(".lists");
  const said = {
    Bill: ["EMT 1/2, 10 ft", "set-screw connector"],
    "Cut list": ["WS-11-1", "Saw stop"],
    "Batch list": ["read after letting go", "Pieces"],
    Labels: ["PS-03", "to scale"],
    "Kit list": ["Kits: items", "Packing shed"],
  };
  for (const [name, parts] of Object.entries(said)) {
    await lists.getByRole("button", { name, exact: true }).click();
    await lists.getByRole("button", { name: "Work it out for 40 runs" }).click();
    await lists.locator(".left-out").waitFor();
    const text = await words(lists);
    const first = await lists.locator("table").first().boundingBox();
    assert.ok((await lists.locator(".left-out").boundingBox()).y < first.y, `${name}: what is left out stands above`);
    assert.match(text, /NOT INCLUDED (Wire|Runs|\S)/, name);
    for (const part of parts) assert.ok(text.includes(part), `${name}: ${part}`);
    await shot(page, `desk-${name.replace(/ /g, "")}`);
    if (name !== "Cut list") continue;
    const inLines = () =>
      lists.getByRole("cell", { name: "WS-11-1", exact: true }).first().evaluate((cell) => {
        const words = document.createRange();
        words.selectNodeContents(cell);
        return words.getClientRects().length;
      });
    const [[, broken]] = await inEach(page, [[1280, 800, 200], [1280, 800, 100]], inLines);
    assert.equal(broken, 1, "a key is not broken at its hyphens");
  }
  await lists.getByLabel("Area").selectOption("Workshop");
  await lists.getByRole("button", { name: "Work it out for 14 runs" }).click();
  await lists.locator("table").getByText("WS-01").first().waitFor();
  await lists.locator("td", { hasText: "Packing shed" }).first().waitFor({ state: "detached" });
  await lists.getByRole("button", { name: "Labels" }).click();
  await lists.getByRole("button", { name: /^Work it out/ }).click();
  await lists.getByRole("button", { name: /^Print \d sheet/ }).click();
  await page.getByRole("img", { name: "Labels, page 1" }).waitFor();
  await page.getByRole("button", { name: "Close" }).click();
  await lists.waitFor();
  await noFaults(page);
});

test("prices, sticks, wire, items, people are set on the page as by the commands, and the lists follow", async () => {
  const own = join(at.folder, "own.rwshop");
  racewright("job", "import", DEMO, "--shop", own);
  at.others.push(await serve("--shop", own));
  const page = await at.desk({}, at.others.at(-1).url);
  const card = (title) => page.locator(".set-list", { has: page.getByRole("heading", { name: title, exact: true }) });
  const form = page.locator(".change-form");
  const keep = async () => {
    await form.getByRole("button", { name: "Keep" }).click();
    await form.waitFor({ state: "detached" });
  };
  await page.getByRole("button", { name: "Buy, cut, hand out" }).click();
  const lists = page.locator(".lists");
  await lists.getByRole("button", { name: "Work it out for 40 runs" }).click();
  await lists.getByText(/lines have no price/).click();
  const way = lists.getByRole("link", { name: /^Set the price of EMT 1\/2 strap/ }).first();
  const item = (await way.innerText()).replace("Set the price of ", "").replace(/\s+/g, " ");
  await way.click();
  await form.getByLabel("Price", { exact: true }).fill("much");
  await form.getByRole("button", { name: "Keep" }).click();
  await form.getByText(/Cannot take 'much' as an amount/).waitFor();
  await form.getByLabel("Price", { exact: true }).fill("0.42");
  await form.getByLabel("Hours", { exact: true }).fill("0.1");
  await keep();
  await card("Prices").getByRole("button", { name: `Change ${item}` }).waitFor();
  await card("On the bill, without a price").getByRole("button", { name: `Set ${item}` }).waitFor({ state: "detached" });
  await card("On the bill, without a price").getByRole("button", { name: /^Set wire / }).first().click();
  assert.equal(await form.getByLabel("Price and hours are for", { exact: true }).inputValue(), "ft", "as the bill measures wire");
  await form.getByRole("button", { name: "Leave as it is" }).click();
  await page.getByRole("button", { name: "Another price" }).click();
  await form.getByLabel("Item", { exact: true }).fill("EMT 1/2 strapp");
  await form.getByLabel("Price", { exact: true }).fill("1");
  await keep();
  const slip = card("Prices").locator("li", { hasText: "EMT 1/2 strapp" });
  await slip.getByText(/nothing in this job's bill is called so, .* The nearest: EMT 1\/2 strap/).waitFor();
  const [left, right] = await Promise.all([0, 1].map((n) => card("Prices").locator("li").nth(n).boundingBox()));
  assert.ok(right.x > left.x + 300 && Math.abs(right.y - left.y) < 2, "rows beside each other");
  await slip.getByRole("button", { name: /^Remove/ }).click();
  await page.getByRole("button", { name: "Another price" }).click();
  await form.getByLabel("Item", { exact: true }).fill("EMT 1/2, 10 ft");
  await form.getByLabel("Price", { exact: true }).fill("7.40");
  await keep();
  const twice = page.getByText("EMT 1/2, 10 ft: 7.10 in the job's stock, 7.40 in its prices, which count: take one out.");
  await twice.waitFor();
  await page.getByRole("link", { name: "Sticks" }).click();
  await twice.waitFor();
  await card("Sticks").getByRole("button", { name: "Change EMT 1/2, 10 ft" }).click();
  await form.getByLabel("Price", { exact: true }).fill("7.40");
  await keep();
  await twice.waitFor({ state: "detached" });
  await page.getByRole("button", { name: "Add sticks" }).click();
  await form.getByLabel("Raceway", { exact: true }).selectOption("EMT 1/2");
  await form.getByLabel("Length", { exact: true }).fill("62");
  await form.getByRole("radio", { name: "offcuts" }).check();
  await form.getByRole("button", { name: "Keep" }).click();
  await form.getByText(/how many is missing/).waitFor();
  await form.getByLabel("How many", { exact: true }).fill("3");
  await keep();
  await card("Sticks").getByRole("button", { name: "Remove RMC 1, 10 ft" }).click();
  await card("Sticks").getByRole("button", { name: "Remove RMC 1, 10 ft" }).waitFor({ state: "detached" });
  await page.getByRole("button", { name: "Undo" }).click();
  await card("Sticks").getByRole("button", { name: "Remove RMC 1, 10 ft" }).waitFor();
  await page.getByRole("link", { name: "Items" }).click();
  await page.getByRole("button", { name: "Add an item" }).click();
  await form.getByLabel("Item", { exact: true }).fill("pull string");
  await form.getByLabel("How many", { exact: true }).fill("4");
  await keep();
  // the last of what is set in the head: a change before the newest of a record is not undone
  await page.getByRole("link", { name: "Wire" }).click();
  await card("Wire").getByRole("button", { name: /^Change/ }).click();
  await form.getByLabel("Waste, %", { exact: true }).fill("800");
  await form.getByRole("button", { name: "Keep" }).click();
  await form.getByText(/800 % of the wire is no waste; the most is 100 %/).waitFor();
  await form.getByLabel("Waste, %", { exact: true }).fill("9");
  await keep();
  await page.getByRole("link", { name: "People" }).click();
  await page.getByRole("button", { name: "Add somebody" }).click();
  await form.getByLabel("Name", { exact: true }).fill("Ana");
  await form.getByLabel("Mark", { exact: true }).fill("1/32");
  await keep();
  await page.getByRole("link", { name: "Changes" }).click();
  const change = page.locator(".log li", { hasText: "person Ana" });
  await change.getByRole("button", { name: /^Undo/ }).click();
  await change.getByText("person Ana: not there any more").waitFor();
  await change.getByRole("button", { name: "Undo it" }).click();
  await page.locator(".log li", { hasText: "person Ana taken out" }).waitFor();
  const slack = page.locator(".log li", { hasText: "wire waste: '9', was '5'" });
  await slack.getByRole("button", { name: /^Undo/ }).click();
  await slack.getByRole("button", { name: "Undo it" }).click();
  const undone = page.locator(".log li", { hasText: /^undo: brought in: .*wire waste: '5', was '9'/ });
  await undone.getByRole("button", { name: /^Undo/ }).click();
  await undone.getByRole("button", { name: "Undo it" }).click();
  await page.locator(".log li", { hasText: /^redo: undo: brought in: / }).waitFor();
  await page.getByRole("link", { name: "Back to Job" }).click(); // to the list that it was
  const { head, prices, people } = JSON.parse(racewright("job", "export", "-", "--shop", own));
  const of = (list, is) => list.find(is);
  assert.deepEqual(of(prices.items, (one) => one.item === item), { item, price: "0.42", labour_h: "0.1" });
  assert.deepEqual(of(head.stock, (one) => one.length === "62"), { raceway: "EMT 1/2", length: "62", count: 3, offcut: true });
  assert.ok(of(head.stock, (one) => one.raceway === "RMC 1"));
  assert.deepEqual([head.wire_waste, of(head.items, (one) => one.item === "pull string")?.count], [9, 4]);
  assert.equal(of(people, (one) => one.name === "Ana"), undefined, "undone");
  const bill = JSON.parse(racewright("job", "bill", "--json", "--shop", own)).bill.job;
  await lists.getByRole("button", { name: "Work it out for 40 runs" }).click();
  const line = (name) => lists.locator("table").first().locator("tr", { hasText: name });
  await line(item).first().waitFor();
  assert.match(await words(line(item).first()), /0\.42/);
  assert.match(await words(line("pull string")), /pull string 4/);
  assert.ok((await words(lists.locator("table").first())).includes(String(bill.material)), `the sum of the command: ${bill.material}`);
  await lists.getByRole("button", { name: "Cut list" }).click();
  await lists.getByRole("button", { name: "Work it out for 40 runs" }).click();
  await lists.locator("table").first().getByText("62", { exact: true }).first().waitFor();
  assert.equal(page.faults.filter((fault) => / 422 /.test(fault)).length, 3, "what was refused");
  page.faults = page.faults.filter((fault) => !/ 422 /.test(fault));
  await noFaults(page);
});
