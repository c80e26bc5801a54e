/** Memory and disk: what is written goes out at once, whatever the disk still has to do; a full disk; another tab. */
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { indexed, type Databases } from "./indexed";
import { flush, getRec, local, onKept, put, putLocal, putOne, readKept } from "../src/app/kept/kept";
import { fresh, written, type Rec } from "../src/app/kept/record";
import { lasting } from "../src/app/kept/store";

/** The disk: how often it was written, whether it is full; `later`: the page is told late, once it is told at all. */
const databases: Databases = {};
const disk = { saves: 0, full: false, later: null as (() => void)[] | null, meanwhile: (): void => undefined };
const ending = {
  save: (): void => {
    if (disk.full) throw new DOMException("", "QuotaExceededError");
    disk.saves += 1;
    disk.meanwhile();
  },
  tell: (over: () => void): void => void (disk.later ? disk.later.push(over) : over()),
};
Object.assign(globalThis, { indexedDB: indexed(databases, ending), IDBKeyRange: { lowerBound: (key: string) => ({ key }) } });

const rows = (store = "records"): Record<string, unknown> => databases["racewright"]![store]!.rows;
const onDisk = (id: string): unknown => (rows()[id] as Rec | undefined)?.data?.["note"];
/** All that the disk has to do is done; the page has not been told of it where that is to come later. */
const turn = (): Promise<void> => new Promise((next) => setTimeout(next, 5));
const tellAll = (): void => {
  const waiting = disk.later ?? [];
  disk.later = null;
  for (const over of waiting) over();
};

let count = 0;
const note = (words: string): Rec => fresh("entry", `n${(count += 1)}`, "j", { run: "r", note: words }, count);
const says = (rec: Rec, words: string): Rec => written(rec, { ...rec.data, note: words })!;
const at = (id: string): Rec => getRec(id)!;

beforeEach(async () => {
  tellAll();
  await readKept();
  Object.assign(disk, { saves: 0, full: false, meanwhile: () => undefined });
});

test("what is written while the disk has not said that the last is there goes out at once", async () => {
  const [first, second] = [note("cut"), note("bent")];
  disk.later = [];
  void putOne(first.id, first);
  await turn();
  void put(new Map([[second.id, second]]), { "bench:r": { at: 2 } });
  await turn();
  void putOne(second.id, says(second, "bent and level"));
  await turn();
  assert.deepEqual([onDisk(first.id), onDisk(second.id), rows("local")["bench:r"]], ["cut", "bent and level", { at: 2 }], "the page may be closed here");
  tellAll();
  await flush();
  assert.deepEqual([at(second.id).clash, disk.saves], [undefined, 3]);
});

test("what one tap writes is there whole or not at all, by whatever calls it was written", async () => {
  const [one, other] = [note("one"), note("other")];
  void putOne(one.id, one);
  void putOne(other.id, other);
  void putLocal("run", "r");
  await flush();
  assert.deepEqual([onDisk(one.id), onDisk(other.id), rows("local")["run"], disk.saves], ["one", "other", "r", 1]);
});

test("a full disk is told; what it did not take stays at hand, is tried again, and is no version of somebody else", async () => {
  const [kept, large] = [note("before"), note("large")];
  await putOne(kept.id, kept);
  let told = 0;
  onKept(() => void (told += lasting ? 0 : 1));
  disk.full = true;
  void put(new Map([[kept.id, says(kept, "in the meantime")], [large.id, large]]), { "bench:r": { at: 3 } });
  await turn();
  void putOne(kept.id, says(at(kept.id), "after"));
  await flush();
  assert.ok(told > 0, "it is told");
  assert.deepEqual([onDisk(kept.id), onDisk(large.id), at(kept.id).data!["note"]], ["before", undefined, "after"]);
  disk.full = false;
  await putLocal("light", "dark");
  assert.deepEqual([onDisk(kept.id), onDisk(large.id), rows("local")["bench:r"]], ["after", "large", { at: 3 }]);
  assert.deepEqual([at(kept.id).clash, lasting], [undefined, true]);
  onKept(() => undefined);
});

test("what is too large for the disk does not keep out what comes after it", async () => {
  const [large, small] = [note("large"), note("small")];
  disk.meanwhile = () => {
    if (onDisk(large.id)) throw new DOMException("", "QuotaExceededError");
  };
  await putOne(large.id, large);
  await putOne(small.id, small);
  assert.deepEqual([onDisk(large.id), onDisk(small.id), lasting], [undefined, "small", false]);
  disk.meanwhile = () => undefined;
  await flush();
  assert.deepEqual([onDisk(large.id), lasting], ["large", true], "tried again when the page is left");
});

test("another tab that wrote between two writings is met, and neither of its own is taken for one", async () => {
  const rec = note("agreed");
  await putOne(rec.id, rec);
  disk.later = [];
  disk.meanwhile = () => {
    disk.meanwhile = () => undefined;
    rows()[rec.id] = says(rec, "by the other tab");
  };
  void putOne(rec.id, says(rec, "mine"));
  await turn();
  void putOne(rec.id, says(at(rec.id), "mine, and more"));
  await turn();
  tellAll();
  await flush();
  const now = at(rec.id);
  assert.deepEqual([now.data!["note"], now.clash, now.there?.data?.["note"]], ["mine, and more", true, "by the other tab"]);
  assert.deepEqual((rows()[rec.id] as Rec).there, now.there, "on the disk too");
  assert.equal(local.get("run"), "r");
});
