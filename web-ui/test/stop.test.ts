/** What a question that is stopped, or replaced by a newer one, does to the others. */
import assert from "node:assert/strict";
import { test } from "node:test";

interface Message {
  base?: string;
  id?: number;
  anew?: boolean;
}
const asked: { worker: number; id: number }[] = [];
let workers = 0;
/** Of each worker, whether it was started without the kept memory. */
const without: boolean[] = [];
const GOOD = { answer: '{"open":[]}' };
const OWN_FAULT = { answer: '{"error":{"kind":"engine","message":"a slip in it","hint":""}}' };
/** What each worker answers to every question. */
const answers: Record<number, object> = { 2: GOOD };
/** What starts each worker, where that is held up. */
let held: (() => void)[] | null = null;
/** A worker that starts at once and answers nothing by itself. */
class Worker {
  onmessage: (event: { data: unknown }) => void = () => undefined;
  private readonly number = (workers += 1);
  postMessage({ base, id, anew }: Message): void {
    if (base) without.push(anew!);
    const start = (): void => this.onmessage({ data: { ready: true } });
    if (base && held) held.push(start);
    else if (base) queueMicrotask(start);
    else if (id) asked.push({ worker: this.number, id });
    const answer = id && answers[this.number];
    if (answer) queueMicrotask(() => this.onmessage({ data: { id, ...answer } }));
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

test("an engine that failed at a question is not asked again: a fresh one is, without the kept memory, and it is said once", async () => {
  const survey = {} as never;
  for (const fault of [OWN_FAULT, { failed: "unreachable" }]) {
    const engine = startEngine();
    const first = workers + 1;
    Object.assign(answers, { [first]: fault, [first + 1]: fault, [first + 2]: GOOD });
    const [failed, behind] = await Promise.all([engine.ask("sketch", { survey }), engine.ask("sketch", { survey })]);
    assert.ok(!failed.ok && !behind.ok);
    assert.match(failed.error.hint, /started anew/);
    assert.deepEqual([workers, without.slice(first - 1), engine.state().anew], [first + 1, [false, true], true]);
    const again = await engine.ask("sketch", { survey });
    assert.ok(!again.ok);
    assert.doesNotMatch(again.error.hint, /started anew/);
    assert.equal(workers, first + 1, "the question is at fault, so no third one is started");
    answers[first + 1] = GOOD;
    assert.ok((await engine.ask("sketch", { survey })).ok);
    answers[first + 1] = fault;
    assert.ok(!(await engine.ask("sketch", { survey })).ok);
    assert.ok((await engine.ask("sketch", { survey })).ok, "it had been sound, so another one took its place");
    assert.equal(workers, first + 2);
  }
});

const turn = (): Promise<void> => new Promise((next) => setTimeout(next, 5));

test("an engine that is ready once the code is asked for does not take the form away", async () => {
  held = [];
  const engine = startEngine();
  await turn();
  engine.wantsCode(true);
  assert.equal(held.length, 1);
  held[0]!();
  await turn();
  assert.equal(engine.state().phase, "code wanted");
  held = null;
  engine.goOnAlone();
  await turn();
  assert.deepEqual([engine.state().kind, engine.state().phase], ["browser", "ready"]);
});

test("a server that comes back is asked again, what was asked meanwhile is answered, and the engine in the browser waits for the next time", async () => {
  const kept = { fetch: globalThis.fetch, search: location.search };
  let card: object | null = null;
  globalThis.fetch = (address) => (card ? Promise.resolve(Response.json((address as URL).href.endsWith("server.json") ? card : { open: ["by the server"] })) : Promise.reject(new Error("nothing there")));
  location.search = "";
  try {
    const engine = startEngine();
    const survey = {} as never;
    await turn();
    assert.deepEqual([engine.state().kind, engine.state().phase], ["browser", "ready"]);
    const [number, before] = [workers, asked.length];
    const meanwhile = engine.ask("sketch", { survey });
    await turn();
    for (const other of [{ server: true, code_wanted: true }, { server: true, revoked: true }, { server: false }]) {
      card = other;
      engine.tryAgain();
      await turn();
      assert.equal(engine.state().kind, "browser");
    }
    card = { server: true };
    const seen: string[] = [];
    engine.watch(({ kind, phase }) => seen.push(`${kind} ${phase}`));
    engine.tryAgain();
    await turn();
    assert.deepEqual(seen, ["browser ready", "server ready"], "no screen is told that it has to wait");
    const now = await engine.ask("sketch", { survey });
    assert.deepEqual(now.ok && now.answer.open, ["by the server"]);
    engine.halt(); // of the oldest: the one that was asked meanwhile
    assert.ok(!(await meanwhile).ok);
    assert.deepEqual([engine.state().kind, asked.length], ["server", before + 1]);
    card = null;
    answers[number + 1] = GOOD;
    assert.ok((await engine.ask("sketch", { survey })).ok, "by a new one, as that was stopped");
    card = { server: true };
    engine.tryAgain();
    await turn();
    card = null;
    assert.ok((await engine.ask("sketch", { survey })).ok);
    assert.deepEqual([engine.state().kind, workers], ["browser", number + 1], "by the one that waited");
  } finally {
    globalThis.fetch = kept.fetch;
    location.search = kept.search;
  }
});
