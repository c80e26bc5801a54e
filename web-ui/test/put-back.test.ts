/** A start of the browser's engine whose kept memory does not come back in time is made anew without it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { WorkerEngine } from "../src/engine/in_browser";

/** A worker that says what the test lets it say. */
class Silent {
  static readonly made: Silent[] = [];
  onmessage: ((event: { data: object }) => void) | null = null;
  anew: boolean | undefined;
  ended = false;
  constructor() {
    Silent.made.push(this);
  }
  postMessage(message: { anew?: boolean }): void {
    this.anew = message.anew;
  }
  terminate(): void {
    this.ended = true;
  }
  say(data: object): void {
    this.onmessage?.({ data });
  }
}
Object.assign(globalThis, { Worker: Silent, document: { baseURI: "https://phone.example/" } });

test("a memory that is not put back after 10 s is left; one that is, or an ordinary start however slow, is waited for", async (t) => {
  t.mock.timers.enable({ apis: ["setTimeout"] });
  const engine = new WorkerEngine();
  const started = engine.start(() => undefined);
  const [first] = Silent.made;
  assert.ok(first);
  t.mock.timers.tick(60_000); // the files are read
  assert.deepEqual([first.anew, first.ended], [false, false]);
  first.say({ puttingBack: true });
  t.mock.timers.tick(9_999);
  assert.equal(first.ended, false);
  t.mock.timers.tick(1);
  await new Promise(setImmediate);
  const second = Silent.made[1];
  assert.ok(second);
  assert.deepEqual([first.ended, second.anew, second.ended], [true, true, false]);
  t.mock.timers.tick(60_000);
  second.say({ ready: true });
  await started;
  assert.equal(Silent.made.length, 2);

  const soon = new WorkerEngine().start(() => undefined);
  const third = Silent.made[2];
  assert.ok(third);
  third.say({ puttingBack: true });
  third.say({ ready: true });
  await soon;
  t.mock.timers.tick(60_000);
  assert.deepEqual([third.ended, Silent.made.length], [false, 3]);
});
