/** What becomes of the kept memory of the browser's engine: made once for its files, put back, given up where it fails. */
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { finished, giveUp, keepMemory, keptMemory, memoryKey, type KeptWarm } from "../src/engine/memory";

const entries = new Map<string, Response>();
const faults = { open: false, put: false };
const store = {
  match: (url: string) => Promise.resolve(entries.get(url)?.clone()),
  delete: (url: string) => Promise.resolve(entries.delete(url)),
  put: async (url: string, response: Response) => {
    if (faults.put) throw new Error("no room");
    entries.set(url, response);
  },
};
const browser = {
  isSecureContext: true,
  self: { location: new URL("https://phone.example/assets/worker-a.js") },
  navigator: { userAgent: "A browser 1" },
  caches: { open: async () => (faults.open ? Promise.reject(new Error("no store")) : store) },
};
for (const [name, value] of Object.entries(browser)) Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });

const files = [Uint8Array.of(1, 2), Uint8Array.of(3)];
const memory = Uint8Array.of(9, 0, 8, 0, 0);

beforeEach(() => {
  entries.clear();
  Object.assign(faults, { open: false, put: false });
  browser.navigator.userAgent = "A browser 1";
  Object.assign(globalThis, { isSecureContext: true });
});

async function keyNow(of = files): Promise<string> {
  const key = await memoryKey(of, "314.0.7");
  assert.ok(key);
  return key;
}

async function keptOf(key: string): Promise<KeptWarm> {
  const kept = await keptMemory(key);
  assert.ok(typeof kept === "object");
  return kept;
}

test("a memory is made once, and put back without the zeros at its end", async () => {
  const key = await keyNow();
  assert.equal(await keptMemory(key), "make");
  await keepMemory(key, { memory, answer: "yes" });
  for (let starts = 0; starts < 5; starts += 1) {
    const kept = await keptOf(key);
    assert.deepEqual([kept.memory, kept.answer], [Uint8Array.of(9, 0, 8), "yes"]);
    await finished(key, kept);
  }
});

test("a memory of other files, of another interpreter or of another browser is made anew", async () => {
  const key = await keyNow();
  await keepMemory(key, { memory, answer: "yes" });
  assert.equal(await keptMemory(await keyNow([Uint8Array.of(1, 2), Uint8Array.of(4)])), "make");
  assert.notEqual(await memoryKey(files, "314.0.8"), key);
  browser.navigator.userAgent = "A browser 2";
  const other = await keyNow();
  assert.equal(await keptMemory(other), "make");
  await keepMemory(other, { memory: Uint8Array.of(7), answer: "no" });
  const kept = await keptOf(other);
  assert.deepEqual([kept.memory, kept.answer], [Uint8Array.of(7), "no"]);
  assert.equal(entries.size, 2, "nothing is left of the one before");
});

test("a memory of which one bit is another than when it was kept, or the end is gone, is not put back but made anew", async () => {
  const key = await keyNow();
  for (const changed of [Uint8Array.of(9, 0, 9), Uint8Array.of(9, 0), new Uint8Array()]) {
    await keepMemory(key, { memory, answer: "yes" });
    const address = [...entries.keys()].find((url) => url.includes("/memory?"));
    assert.ok(address);
    entries.set(address, new Response(changed));
    assert.equal(await keptMemory(key), "make");
  }
  await keepMemory(key, { memory, answer: "yes" });
  assert.deepEqual((await keptOf(key)).memory, Uint8Array.of(9, 0, 8));
});

test("three starts with it in a row that did not come to their end are the last", async () => {
  const key = await keyNow();
  await keepMemory(key, { memory, answer: "yes" });
  await keptOf(key);
  await finished(key, await keptOf(key));
  for (let starts = 0; starts < 3; starts += 1) await keptOf(key);
  assert.equal(await keptMemory(key), "leave");
});

test("one that failed is thrown away, and no other is made for these files", async () => {
  const key = await keyNow();
  await keepMemory(key, { memory, answer: "yes" });
  await giveUp(key);
  assert.equal(await keptMemory(key), "leave");
  assert.equal(entries.size, 1);
});

test("without a store, without room and on plain http the start is an ordinary one", async () => {
  const key = await keyNow();
  faults.put = true;
  await keepMemory(key, { memory, answer: "yes" });
  assert.equal(await keptMemory(key), "make");
  faults.open = true;
  assert.equal(await keptMemory(key), "leave");
  await giveUp(key);
  Object.assign(globalThis, { isSecureContext: false });
  assert.equal(await memoryKey(files, "314.0.7"), null);
  assert.equal(await keptMemory(null), "leave");
});
