/** What takes over a second is told, the longest first; what is short is never told. */
import assert from "node:assert/strict";
import { mock, test } from "node:test";
import { during, onWork, toldWork } from "../src/app/kept/working";

function begun(what: "asking" | "sharing") {
  let end!: () => void;
  const over = during(what, new Promise<void>((done) => (end = done)));
  return () => (end(), over);
}

test("a work is told after a second, until it is over, and then the next one", async (at) => {
  at.mock.timers.enable({ apis: ["setTimeout"] });
  let now = 0;
  at.mock.method(performance, "now", () => now);
  const turned = mock.fn();
  onWork(turned);
  const pass = (ms: number) => {
    now += ms;
    at.mock.timers.tick(ms);
  };
  const endFirst = begun("asking");
  pass(600);
  const endSecond = begun("sharing");
  assert.equal(toldWork(), null);
  pass(500);
  assert.deepEqual(toldWork(), { what: "asking", since: 0 });
  assert.equal(turned.mock.callCount(), 1);
  await endFirst();
  assert.equal(turned.mock.callCount(), 2);
  assert.equal(toldWork(), null, "the second has gone on for half a second");
  pass(600);
  assert.deepEqual(toldWork(), { what: "sharing", since: 600 });
  await endSecond();
  assert.equal(toldWork(), null);
  const before = turned.mock.callCount();
  const endShort = begun("asking");
  pass(200);
  await endShort();
  pass(5000);
  assert.equal(turned.mock.callCount(), before, "a short one is not told");
});

test("a work that fails is over too, and its fault goes on", async () => {
  await assert.rejects(during("taking", Promise.reject(new Error("not there"))), /not there/);
  assert.equal(toldWork(), null);
});
