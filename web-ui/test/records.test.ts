/** Records on a phone and in the shop: what becomes of them when they are written here, there, or in both places. */
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";
import { exchange, jobsThere, staysHere, toOffer } from "../src/app/kept/exchange";
import { fresh, going, heard, met, NEVER, offered, rests, same, settled, written, type Data, type Rec } from "../src/app/kept/record";
import { sha256 } from "../src/app/kept/sha256";
import { inOrder } from "../src/app/kept/view";
import type { Changed } from "../src/engine/types";
import { JOB, RUN, WET, shoe, run, sync, reopen, withJob, add, edit, two } from "./records-here";
import { Device, Shop } from "./shop";

const toldAs = (digest: string, stock: Data[]): Changed => ({ ...NEVER, kind: "job", id: JOB, job: JOB, revision: 4, base: 3, change: 9, came: 1, by: "Kim", at: "2026-05-04T08:00:00Z", digest, data: { name: "Orchard", stock }, past: [] });

test("a version that is told with prices, and was told without, is the same one: it is taken over once nothing is written here", () => {
  const [bare, whole] = [toldAs("abc.no-prices", [{ raceway: "EMT 1/2", length: "10 ft" }]), toldAs("abc", [{ raceway: "EMT 1/2", length: "10 ft", price: "7" }])];
  const rec = heard(undefined, bare, 1)!;
  const now = heard(rec, whole, 1)!;
  assert.deepEqual([now.data, now.open, !!now.clash, now.agreed.digest], [whole.data, false, false, "abc"]);
  for (const open of [written(rec, { ...rec.data, note: "wet" })!, going(written(rec, { ...rec.data, note: "wet" })!)]) {
    const still = heard(open, whole, 1)!;
    assert.deepEqual([still.data, still.open, !!still.clash, offered(still).base_digest], [open.data, true, false, "abc.no-prices"], "it goes out as made from what was told");
  }
  assert.equal(heard(rec, toldAs("def", []), 1)!.clash, true, "of another history");
});

test("what is written on one phone is on the other", async () => {
  const [one, other, shop] = await two();
  assert.deepEqual(other.says(RUN), run(RUN, "56 1/4"));
  edit(other, RUN, run(RUN, "57"));
  await sync(other, shop);
  await sync(one, shop);
  assert.deepEqual(one.says(RUN), run(RUN, "57"));
  assert.equal(one.get(RUN)!.open, false);
});

test("two that wrote the same thing differently choose, and nothing is lost", async () => {
  for (const choice of ["theirs", "mine"] as const) {
    const [one, other, shop] = await two();
    edit(one, RUN, run(RUN, "57"));
    edit(other, RUN, run(RUN, "58"));
    await sync(one, shop);
    await sync(other, shop);
    const clash = other.get(RUN)!;
    assert.equal(clash.clash, true);
    assert.deepEqual([clash.data, clash.there!.data], [run(RUN, "58"), run(RUN, "57")]);
    assert.deepEqual(shop.refused.map((kept) => kept.data), [run(RUN, "58")], "the shop keeps it too");
    const asked: string[] = [];
    const server = other.server(shop);
    await exchange(other, { since: (number, mark) => (asked.push(`since ${number}`), server.since(number, mark)), offer: (job, records) => (asked.push("offer"), server.offer(job, records)) });
    assert.deepEqual([asked, other.get(RUN)], [[`since ${other.at.number}`], clash], "nothing is asked anew or offered before a person chose");
    assert.equal(shop.refused.length, 1, "it is not offered again before a person chose");
    other.write(RUN, settled(clash, choice));
    await sync(other, shop);
    await sync(one, shop);
    const stands = run(RUN, choice === "mine" ? "58" : "57");
    assert.deepEqual([one.says(RUN), other.says(RUN), shop.now(RUN)], [stands, stands, stands]);
    assert.deepEqual([one.get(RUN)!.open, other.get(RUN)!.open, other.get(RUN)!.clash], [false, false, undefined]);
  }
});

test("one removed what the other wrote on: both are shown, either way", async () => {
  for (const [removes, choice] of [["one", "mine"], ["one", "theirs"], ["other", "mine"], ["other", "theirs"]] as const) {
    const [one, other, shop] = await two();
    edit(one, RUN, removes === "one" ? null : run(RUN, "57"));
    edit(other, RUN, removes === "other" ? null : run(RUN, "58"));
    await sync(one, shop);
    await sync(other, shop);
    const clash = other.get(RUN)!;
    assert.equal(clash.clash, true, `${removes} ${choice}`);
    other.write(RUN, settled(clash, choice));
    await sync(other, shop);
    await sync(one, shop);
    const stands = choice === "mine" ? clash.data : clash.there!.data;
    assert.deepEqual([one.says(RUN), other.says(RUN), shop.now(RUN)], [stands, stands, stands]);
  }
});

test("a run that was removed is brought back from any phone that had it, as its next revision, after a restart too", async () => {
  const [one, other, shop] = await two();
  one.write(WET, fresh("entry", WET, JOB, { id: WET, run: RUN, what: { kind: "note", note: "wet wall" } }, one.nextMade()));
  await sync(one, shop);
  edit(one, RUN, null);
  await sync(one, shop);
  await sync(other, shop);
  assert.equal(shop.now(RUN), null);
  for (const phone of [one, other]) {
    await sync(phone, shop);
    phone.reopened();
    const kept = phone.get(RUN)!;
    assert.deepEqual([kept.data, kept.was, kept.open, kept.agreed.by], [null, run(RUN, "56 1/4"), false, "one"], "who removed it is known");
  }
  edit(other, RUN, other.get(RUN)!.was!);
  await sync(other, shop);
  await sync(one, shop);
  assert.deepEqual([shop.standing(RUN)!.revision, one.says(RUN), other.says(RUN), shop.refused], [3, run(RUN, "56 1/4"), run(RUN, "56 1/4"), []]);
  assert.equal(one.get(RUN)!.was, undefined);
});

test("a device that joins after a run was removed can bring it back too, as it was last", async () => {
  const [one, other, shop] = await two();
  edit(one, RUN, run(RUN, "57"));
  await sync(one, shop);
  edit(one, RUN, null);
  await sync(one, shop);
  await sync(other, shop); // it knew 56 1/4
  const late = new Device("late");
  await sync(late, shop);
  for (const device of [other, late]) assert.deepEqual([device.get(RUN)!.data, device.get(RUN)!.was], [null, run(RUN, "57")]);
  edit(late, RUN, late.get(RUN)!.was!);
  await sync(late, shop);
  await sync(one, shop);
  assert.deepEqual(one.says(RUN), run(RUN, "57"));
});

test("entries stand in one order on a device that joins after one was taken out and came back, and on the others", async () => {
  const [one, other, shop] = await two();
  const notes = ["1", "2", "3"].map((n) => n.repeat(32));
  for (const id of notes) one.write(id, fresh("entry", id, JOB, { id, run: RUN, what: { kind: "note", note: id } }, one.nextMade()));
  await sync(one, shop);
  await sync(other, shop);
  const [first] = notes as [string];
  const data = one.says(first)!;
  for (const says of [null, data]) {
    one.write(first, written(one.get(first) ?? { ...fresh("entry", first, JOB, data, one.nextMade()), data: null, agreed: { ...NEVER, revision: shop.standing(first)!.revision, digest: shop.standing(first)!.digest } }, says));
    await sync(one, shop);
    if (!says) await sync(other, shop);
  }
  const late = new Device("late");
  for (const device of [other, late]) await sync(device, shop);
  const seen = [one, other, late].map((device) => inOrder(device.all().filter(({ kind }) => kind === "entry")).map(({ id }) => id));
  assert.deepEqual(seen, [notes, notes, notes]);
});

const lines = (items: Record<string, number>, called: string): Data[] => Object.entries(items).map(([item, n]) => ({ item, [called]: called === "price" ? `${n}` : n }));
const head = (items: Record<string, number>, more: Data = {}): Data => ({ name: "Orchard", ...more, items: lines(items, "count") });

test("lines of a job's head and of prices that two phones write apart all stay; the same line in both is a choice", async () => {
  const LIST = "11".repeat(16);
  const prices = (items: Record<string, number>, more: Data = {}): Data => ({ id: LIST, of: JOB, ...more, items: lines(items, "price") });
  for (const lost of [false, true]) {
    const [one, other, shop] = await two();
    edit(one, JOB, head({ bushing: 3, box: 1 }, { cutting: { kerf: "1/16 in", keep: "24 in" } }));
    one.write(LIST, fresh("prices", LIST, shop.id, prices({ tape: 2, box: 9 }), one.nextMade()));
    for (const device of [one, one, other]) await sync(device, shop);
    if (lost) {
      edit(other, JOB, head({ bushing: 3, box: 1, strap: 1 }, { cutting: { kerf: "1/16 in", keep: "24 in" } }));
      other.way = (step) => step === "answer" || other.get(JOB)!.sent === undefined; // it went out, and never arrived
      await sync(other, shop);
      other.way = () => true;
    }
    edit(one, JOB, head({ bushing: 5, box: 1, cover: 2 }, { wire_slack: "18 in", cutting: { kerf: "1/8 in", keep: "24 in" } }));
    edit(one, LIST, prices({ tape: 3, box: 9 }));
    edit(other, JOB, head({ bushing: 3, strap: 40 }, { cutting: { kerf: "1/16 in", keep: "30 in" } }));
    edit(other, LIST, prices({ tape: 2, box: 9, lug: 1 }));
    await sync(one, shop);
    for (const device of [other, other, one]) await sync(device, shop);
    assert.deepEqual([one, other].flatMap((device) => device.all()).filter((rec) => rec.open || rec.clash), []);
    for (const device of [one, other]) {
      assert.deepEqual(device.says(JOB), head({ bushing: 5, cover: 2, strap: 40 }, { wire_slack: "18 in", cutting: { kerf: "1/8 in", keep: "30 in" } }));
      assert.deepEqual(device.says(LIST), prices({ tape: 3, box: 9, lug: 1 }));
    }
    const clashes = async (mine: Data, theirs: Data): Promise<boolean> => {
      edit(one, LIST, mine);
      edit(other, LIST, theirs);
      for (const device of [one, other]) await sync(device, shop);
      const { clash } = other.get(LIST)!;
      other.write(LIST, settled(other.get(LIST)!, "mine"));
      for (const device of [other, one]) await sync(device, shop);
      return !!clash;
    };
    assert.ok(await clashes(prices({ tape: 4 }), prices({ tape: 5, box: 9, lug: 1 })));
    assert.ok(await clashes(prices({ tape: 5, lug: 1 }, { currency: "USD" }), prices({ tape: 5, box: 9, lug: 1, nut: 1 })), "in another money");
  }
});

test("a run that never left the phone is brought back with what was noted on it; until then nothing of it goes out", async () => {
  const [one, shop] = [withJob(new Device("one")), new Shop()];
  add(one, RUN, "56 1/4");
  one.write(WET, fresh("entry", WET, JOB, { id: WET, run: RUN, what: { kind: "note", note: "wet wall" } }, one.nextMade()));
  edit(one, RUN, null);
  await sync(one, shop);
  assert.deepEqual(shop.rows.map(({ kind }) => kind), ["job"]);
  assert.equal(rests(one.get(WET)!, one.get), true);
  edit(one, RUN, one.get(RUN)!.was!);
  await sync(one, shop);
  assert.deepEqual(shop.rows.map(({ kind }) => kind), ["job", "run", "entry"]);
});

test("what is written again or taken back here: gone only where nobody else may have it, and never over what the shop said meanwhile", () => {
  const [was, mine, theirs] = ["56", "57", "58"].map((leg) => run(RUN, leg));
  const [stands, there] = [was!, theirs!].map((data, i) => ({ revision: i + 1, digest: `d${i}`, data, by: "", at: "" }));
  const note = fresh("entry", WET, JOB, { run: RUN, what: { kind: "note", note: "wet" } }, 1);
  assert.equal(written(note, null), null);
  const gone = (more: Partial<Rec>): unknown[] => [written({ ...note, ...more }, null)].map((rec) => rec && [rec.data, rec.open, !!rec.there]);
  assert.deepEqual(gone({ sent: { data: note.data } }), [[null, true, false]], "the shop may have it all the same");
  assert.deepEqual(gone({ there: there! }), [[null, true, true]], "the shop has another");
  assert.deepEqual(gone({ acked: true }), [[null, false, false]], "whether the shop has it is not told yet");
  const rec: Rec = { ...fresh("run", RUN, JOB, mine!, 1), agreed: stands!, there: there! };
  const now = (more: Partial<Rec>, data: Data): unknown[] => [written({ ...rec, ...more }, data)!].map((one) => [one.data, one.open, one.there?.revision, one.agreed.revision]);
  assert.deepEqual(now({}, was!), [[theirs, false, undefined, 2]], "what was written here was taken back");
  assert.deepEqual(now({ clash: true }, was!), [[was, false, 2, 1]], "a person is still to choose");
  assert.deepEqual(now({}, run(RUN, "59")), [[run(RUN, "59"), true, 2, 1]]);
});

test("what both wrote alike, and what was lost on the way, is no clash", async () => {
  const [one, other, shop] = await two();
  edit(one, RUN, run(RUN, "57"));
  edit(other, RUN, run(RUN, "57"));
  await sync(one, shop);
  await sync(other, shop);
  assert.equal(other.get(RUN)!.open, false);
  edit(one, RUN, run(RUN, "58"));
  let steps = 0;
  one.way = (step) => step === "question" || (steps += 1) !== 2; // the answer to the offer is lost
  await sync(one, shop);
  assert.deepEqual(shop.now(RUN), run(RUN, "58"));
  edit(one, RUN, run(RUN, "59")); // and written on before the next time
  one.reopened();
  await sync(other, shop);
  edit(other, RUN, { ...run(RUN, "58"), note: "seen" });
  await sync(other, shop);
  one.way = () => true;
  await sync(one, shop);
  const now = one.get(RUN)!;
  assert.deepEqual([now.clash, now.data, now.there?.data], [true, run(RUN, "59"), { ...run(RUN, "58"), note: "seen" }]);
  assert.deepEqual(shop.refused.map((kept) => kept.data), [run(RUN, "59")], "58 was saved once, by its first offer");
});

test("a lost answer and a change back: no clash with oneself", async () => {
  const [one, , shop] = await two();
  edit(one, RUN, run(RUN, "57"));
  let steps = 0;
  one.way = (step) => step === "question" || (steps += 1) !== 2;
  await sync(one, shop);
  edit(one, RUN, run(RUN, "56 1/4")); // as it was agreed before
  one.way = () => true;
  await sync(one, shop);
  assert.deepEqual([shop.now(RUN), one.get(RUN)!.open, shop.refused], [run(RUN, "56 1/4"), false, []]);
  assert.equal(shop.standing(RUN)!.revision, 3);
});

test("a phone's own job waits at a shop that has jobs, until a person says where", async () => {
  const [, , shop] = await two();
  const own = "c".repeat(32);
  const phone = withJob(new Device("third"), own);
  phone.write("d".repeat(32), fresh("run", "d".repeat(32), own, run("d".repeat(32), "12"), 2));
  await sync(phone, shop);
  assert.equal(jobsThere(phone), true);
  assert.deepEqual([...shop.jobs], [JOB]);
  assert.equal(phone.get("d".repeat(32))!.open, true);
  phone.write(own, { ...phone.get(own)!, go: true });
  await sync(phone, shop);
  assert.deepEqual([...shop.jobs], [JOB, own]);
  assert.equal(phone.get("d".repeat(32))!.open, false);
});

test("what a server cannot read stays here, with why, and holds up nothing else", async () => {
  const [one, other, shop] = await two();
  const own = "c".repeat(32);
  shop.spoilt = (record) => JSON.stringify(record.data).includes("spoilt");
  edit(one, RUN, run(RUN, "57"));
  const ids = Array.from("123456789", (digit) => digit.repeat(32));
  for (const id of ids) add(one, id, id === ids[3] ? "spoilt" : "12");
  withJob(one, own);
  one.write(own, { ...one.get(own)!, go: true });
  assert.equal((await sync(one, shop)).state, "done");
  assert.equal(one.get(ids[3]!)!.refusal!.words, "it cannot be read.");
  assert.deepEqual(one.all().filter((rec) => rec.open).map((rec) => rec.id), [ids[3]]);
  await sync(other, shop);
  assert.deepEqual([other.says(RUN), other.says(ids[8]!), other.says(own)], [run(RUN, "57"), run(ids[8]!, "12"), { name: "Orchard" }]);
  edit(one, ids[3]!, run(ids[3]!, "13"));
  await sync(one, shop);
  assert.deepEqual([one.get(ids[3]!)!.open, shop.now(ids[3]!)], [false, run(ids[3]!, "13")]);
});

test("the runs of a job that is refused wait for it, and go in when it is mended", async () => {
  const [one, shop] = [withJob(new Device("one")), new Shop()];
  add(one, RUN, "12");
  shop.spoilt = (record) => record.kind === "job" && (record.data as Data)["name"] === "Orchard";
  await sync(one, shop);
  assert.equal(one.get(JOB)!.refusal!.words, "it cannot be read.");
  assert.deepEqual([one.get(RUN)!.open, one.get(RUN)!.refusal, shop.now(RUN)], [true, undefined, null]);
  edit(one, JOB, { name: "Orchard cooperative" });
  await sync(one, shop);
  assert.deepEqual([one.all().filter((rec) => rec.open), shop.now(RUN)], [[], run(RUN, "12")]);
});

test("what the shop refused, entries too, goes in at the next opening where it lets this device by then; the rest is refused as before", async () => {
  const [one, , shop] = await two();
  const [entry, prices] = ["d".repeat(32), "e".repeat(32)];
  shop.knows = ["job", "run"];
  one.write(entry, fresh("entry", entry, JOB, { id: entry, run: RUN, what: { kind: "note", note: "wet wall" } }, one.nextMade()));
  one.write(prices, fresh("prices", prices, "", { id: prices, of: JOB }, one.nextMade()));
  await sync(one, shop);
  shop.knows.push("entry");
  await sync(one, shop);
  assert.deepEqual([entry, prices].map((id) => one.get(id)!.refusal?.outcome), ["newer", "newer"], "it is not offered again and again");
  one.way = () => false; // opened where no shop is in reach
  await reopen(one, shop);
  assert.equal(one.get(entry)!.refusal?.outcome, "newer");
  one.way = () => true;
  await reopen(one, shop);
  assert.deepEqual([one.get(entry)!.open, one.get(entry)!.refusal, shop.now(entry)], [false, undefined, one.says(entry)]);
  assert.deepEqual([one.get(prices)!.open, one.get(prices)!.refusal?.words], [true, "of a kind that is not known"]);
});

test("a kind that the shop does not know stays here, with why, and goes when it does", async () => {
  for (const kind of ["tool", "person", "prices"]) {
    const [one, , shop] = await two();
    const id = "e".repeat(32);
    shop.knows = ["job", "run", "entry"];
    one.write(id, fresh(kind, id, "", { id, ...(kind === "prices" ? { of: JOB } : { name: "own" }), ...(kind === "tool" ? { profile: shoe("5") } : {}) }, one.nextMade()));
    await sync(one, shop);
    assert.equal(one.get(id)!.refusal!.outcome, "newer");
    shop.knows.push(kind);
    await reopen(one, shop);
    assert.deepEqual([one.get(id)!.open, one.get(id)!.job], [false, shop.id]);
  }
});

test("what has no room today goes in by itself when the day is over", async (context) => {
  context.mock.timers.enable({ apis: ["Date"], now: 1_000_000 });
  const [one, , shop] = await two();
  const [first, second] = ["d".repeat(32), "e".repeat(32)];
  add(one, first, "12");
  shop.full = true;
  let offers = 0;
  one.way = (step) => ((offers += step === "question" ? 1 : 0), true);
  await sync(one, shop);
  assert.deepEqual([one.get(first)!.refusal!.outcome, one.get(first)!.open, shop.now(first)], ["later", true, null]);
  const asked = offers;
  await sync(one, shop);
  assert.equal(offers, asked + 1, "it only asks what is new");
  context.mock.timers.tick(3_599_000);
  await sync(one, shop);
  assert.equal(offers, asked + 2);
  context.mock.timers.tick(1_000);
  await sync(one, shop); // and the shop still has no room
  assert.deepEqual([one.get(first)!.refusal!.at, shop.now(first)], [4_600_000, null]);
  shop.full = false;
  context.mock.timers.setTime(900_000); // a clock that was set right does not hold it up for long
  await sync(one, shop);
  assert.deepEqual([shop.now(first), one.get(first)!.refusal, one.get(first)!.open], [run(first, "12"), undefined, false]);
  shop.full = true;
  add(one, second, "13");
  await sync(one, shop);
  shop.full = false;
  edit(one, second, run(second, "14")); // what says something else is offered at once
  await sync(one, shop);
  assert.deepEqual(shop.now(second), run(second, "14"));
});

test("a version that came too late, and that the shop has no room to keep, stays here until it has", async (context) => {
  context.mock.timers.enable({ apis: ["Date"], now: 1_000_000 });
  for (const anHourLater of [true, false]) {
    const [one, other, shop] = await two();
    const id = "d".repeat(32);
    add(one, id, "12");
    await sync(one, shop);
    await sync(other, shop);
    edit(other, id, run(id, "13"));
    await sync(other, shop);
    edit(one, id, run(id, "14"));
    shop.full = true;
    await sync(one, shop);
    assert.deepEqual([one.get(id)!.data, one.get(id)!.refusal!.outcome, !!one.get(id)!.clash, shop.refused.length], [run(id, "14"), "later", false, 0]);
    shop.full = false;
    if (anHourLater) context.mock.timers.tick(3_600_000);
    await (anHourLater ? sync(one, shop) : reopen(one, shop));
    assert.deepEqual([one.get(id)!.data, one.get(id)!.refusal, one.get(id)!.clash], [run(id, "14"), undefined, true]);
    assert.deepEqual(shop.refused.map(({ data }) => data), [run(id, "14")]);
    one.write(id, settled(one.get(id)!, "theirs"));
    await sync(one, shop);
    assert.deepEqual([one.get(id)!.data, shop.now(id)], [run(id, "13"), run(id, "13")]);
  }
});

test("what the shop does not tell this device stays here, unrefused, until it may go in", async () => {
  const [one, , shop] = await two();
  shop.withheld = ["person", "prices"];
  const [list, own] = ["d".repeat(32), "e".repeat(32)];
  one.write(list, fresh("prices", list, "", { id: list, of: JOB, labour_rate: "52" }, one.nextMade()));
  add(one, own, "12");
  await sync(one, shop);
  assert.deepEqual([shop.now(list), one.get(list)!.refusal, one.get(list)!.open], [null, undefined, true]);
  assert.deepEqual([shop.now(own), staysHere(one.get(list)!, one.place()), staysHere(one.get(own)!, one.place())], [run(own, "12"), true, false]);
  assert.equal([...toOffer(one)].length, 0);
  shop.withheld = [];
  add(one, "f".repeat(32), "13"); // the file's mark changes as well where a device may read more
  await sync(one, shop);
  assert.deepEqual([shop.now(list), one.get(list)!.open], [{ id: list, of: JOB, labour_rate: "52" }, false]);
});

test("another shop gets nothing unasked", async () => {
  const [one] = await two();
  const elsewhere = new Shop("6".repeat(32));
  const there = withJob(new Device("there"), "9".repeat(32));
  await sync(there, elsewhere);
  await sync(one, elsewhere);
  assert.deepEqual([...elsewhere.jobs], ["9".repeat(32)]);
  assert.deepEqual(one.says(RUN), run(RUN, "56 1/4"));
  assert.equal(one.get(RUN)!.open, true);
});

test("many records go out and come in by parts", async () => {
  const [one, other, shop] = await two();
  shop.most = 100;
  for (let k = 0; k < 1_300; k += 1) add(one, k.toString(16).padStart(32, "0"), String(k));
  await sync(one, shop);
  await sync(other, shop);
  assert.equal(other.kept.size, 1_302);
  assert.equal(other.all().filter((rec) => rec.open).length, 0);
});

test("two tabs of one browser: what only one wrote is taken, what both wrote is a clash", () => {
  const before = fresh("run", RUN, JOB, run(RUN, "1"), 1);
  const [mine, theirs] = [written(before, run(RUN, "2"))!, written(before, run(RUN, "3"))!];
  assert.deepEqual(met(before, mine, before)!.data, run(RUN, "2"));
  assert.deepEqual(met(before, before, theirs)!.data, run(RUN, "3"));
  const both = met(before, mine, theirs)!;
  assert.deepEqual([both.clash, both.data, both.there!.data], [true, run(RUN, "2"), run(RUN, "3")]);
  assert.deepEqual([settled(both, "theirs")!.data, settled(both, "theirs")!.open], [run(RUN, "3"), true]);
  assert.deepEqual([settled(both, "mine")!.data, settled(both, "mine")!.clash], [run(RUN, "2"), undefined]);
  const agreed: Rec = { ...before, agreed: { revision: 1, digest: "x", data: before.data, by: "", at: "" }, open: false };
  assert.deepEqual([met(before, mine, agreed)!.agreed.revision, met(before, mine, agreed)!.open], [1, true], "the shop's answer came in the other tab");
  assert.deepEqual(met(before, null, theirs)!.data, run(RUN, "3"), "removed in one, written on in the other");
});

test("what says nothing is no difference, and a number is its text", () => {
  assert.ok(same({ a: 1, b: "", c: null, d: [], e: { f: null } }, { a: "1" }));
  assert.ok(!same({ a: ["", "x"] }, { a: ["x", ""] }));
  assert.ok(!same({ a: "0" }, {}));
});

test("ids of what was kept before are digests as everybody makes them", () => {
  for (const text of ["", "racewright run east-wall", "é".repeat(63), "x".repeat(119), "long ".repeat(500)])
    assert.equal(sha256(text), createHash("sha256").update(text).digest("hex"));
});
