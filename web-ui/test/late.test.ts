/** A server that is there and takes too long for a question. */
import assert from "node:assert/strict";
import { test } from "node:test";

/** What came to the server, and what it never answers. */
const asked: string[] = [];
let there = true;
const never = (signal: AbortSignal): Promise<Response> => new Promise((_, refuse) => signal.addEventListener("abort", () => refuse(signal.reason as Error)));
const fetched = (url: URL, { body, signal }: { body?: string; signal: AbortSignal }): Promise<Response> => {
  const name = url.pathname.split("/").at(-1)!;
  if (!there) return never(signal);
  if (name === "server.json") return Promise.resolve(Response.json({ server: true }));
  asked.push(`${name} ${body!.length}`);
  return body!.length > 100 ? never(signal) : Promise.resolve(Response.json({ open: ["by the server"] }));
};
class Worker {
  onmessage: (event: { data: unknown }) => void = () => undefined;
  postMessage({ id }: { id?: number }): void {
    queueMicrotask(() => this.onmessage({ data: id ? { id, answer: '{"open":["by the browser"]}' } : { ready: true } }));
  }
  terminate(): void {}
}
AbortSignal.timeout = (ms) => {
  const ends = new AbortController();
  setTimeout(() => ends.abort(new DOMException("", "TimeoutError")), ms / 500);
  return ends.signal;
};
Object.assign(globalThis, { fetch: fetched, Worker, BroadcastChannel: undefined, addEventListener: () => undefined, location: { search: "", hash: "", pathname: "/" }, document: { baseURI: "http://127.0.0.1/" } });
const { startEngine } = await import("../src/engine/start");

const pause = (ms: number): Promise<void> => new Promise((next) => setTimeout(next, ms));

test("what took the server too long the browser works out at once from then on; all else the server does", async () => {
  const engine = startEngine();
  const by = async (size: number): Promise<readonly string[]> => {
    const reply = await engine.ask("sketch", { survey: { text: "x".repeat(size) } as never });
    assert.ok(reply.ok);
    return reply.answer.open;
  };
  /** As it does when the shop is heard again. */
  const backToServer = async (): Promise<void> => {
    await pause(10);
    engine.tryAgain();
    await pause(10);
    assert.equal(engine.state().kind, "server");
  };
  assert.deepEqual(await by(1), ["by the server"]);
  assert.deepEqual(await by(200), ["by the browser"]);
  await backToServer();
  const before = asked.length;
  assert.deepEqual(await by(200), ["by the browser"]);
  assert.equal(asked.length, before, "it is not asked that again");
  await backToServer();
  assert.deepEqual(await by(1), ["by the server"]);
  there = false;
  assert.deepEqual(await by(2), ["by the browser"]);
  there = true;
  await backToServer();
  assert.deepEqual(await by(2), ["by the server"], "nothing is said of what was asked where no server was");
});
