/** What the list asks of the engine about its runs, and when it rests. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { inShop, keeping, runAt, runData } from "./kept-here";

let broken = true;
class Worker {
  onmessage: (event: { data: unknown }) => void = () => undefined;
  postMessage({ base, id }: { base?: string; id?: number }): void {
    const told = id ? { id, answer: '{"runs":[],"findings":[]}' } : base && broken ? { broken: "no memory" } : { ready: true };
    queueMicrotask(() => this.onmessage({ data: told }));
  }
  terminate(): void {}
}
Object.assign(globalThis, { Worker, addEventListener: () => undefined, location: { search: "?engine=browser", hash: "", pathname: "/" } });
const { engineHandle } = await import("../src/app/kept/ask");
const { factsOf, inView, silentOf, workOut } = await import("../src/app/parts/facts");

test("with an engine that cannot start the list rests, says why, and goes on once there is one", async () => {
  const ids = [1, 2, 3, 4, 5, 6].map((n) => n.toString(16).padStart(32, "0"));
  keeping(...ids.map((id) => inShop("run", runData(id))));
  const runs = ids.map(runAt);
  let asked = 0;
  const handle = engineHandle();
  const ask = handle.ask.bind(handle);
  handle.ask = (...args) => ((asked += 1), ask(...args));
  /** As the list does, each time that more is known. */
  const looked = async (times: number): Promise<void> => {
    for (let n = 0; n < times; n += 1) {
      inView(runs);
      await new Promise((next) => setTimeout(next, 5));
    }
  };
  await looked(10);
  const before = asked;
  assert.ok(before > 0);
  assert.match(silentOf(runs)[0]!.trouble.message, /could not be started/);
  await looked(10);
  assert.equal(asked, before, "it rests");
  workOut(runs);
  await looked(1);
  assert.ok(asked > before, "a person asks again");
  await looked(9);
  broken = false;
  handle.tryAgain();
  await looked(5);
  assert.deepEqual(silentOf(runs), []);
  assert.ok(runs.every((run) => factsOf(run)));
});
