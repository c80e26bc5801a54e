/** What a question that is stopped, or replaced by a newer one, does to the others. */
import assert from "node:assert/strict";
import { test } from "node:test";

interface Message {
  base?: string;
  id?: number;
}
const asked: { worker: number; id: number }[] = [];
let workers = 0;
/** A worker that starts at once and answers nothing by itself. */
class Worker {
  onmessage: (event: { data: unknown }) => void = () => undefined;
  private readonly number = (workers += 1);
  postMessage({ base, id }: Message): void {
    if (base) queueMicrotask(() => this.onmessage({ data: { ready: true } }));
    else if (id) asked.push({ worker: this.number, id });
    if (id && this.number === 2) queueMicrotask(() => this.onmessage({ data: { id, answer: '{"open":[]}' } }));
  }
  terminate(): void {}
}
Object.assign(globalThis, { Worker, BroadcastChannel: undefined, addEventListener: () => undefined, location: { search: "?engine=browser", hash: "", pathname: "/" }, document: { baseURI: "http://127.0.0.1/" } });
const { startEngine } = await import("../src/engine/start");

test("a question that a newer one replaces is over, and what is stopped is the newer one", async () => {
  const engine = startEngine();
  const survey = {} as never;
  const replaced = new AbortController();
  const older = engine.ask("sketch", { survey }, replaced.signal);
  const newer = engine.ask("sketch", { survey });
  const behind = engine.ask("sketch", { survey });
  await new Promise((turn) => setTimeout(turn, 5));
  assert.equal(asked.length, 3);
  replaced.abort();
  const first = await older;
  assert.ok(!first.ok);
  assert.match(first.error.message, /newer question/);
  engine.halt();
  const second = await newer;
  assert.ok(!second.ok);
  assert.match(second.error.message, /stopped/);
  assert.ok((await behind).ok, "asked of the next engine");
  assert.deepEqual(asked.slice(3).map((one) => one.worker), [2]);
});
