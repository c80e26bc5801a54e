// The engine in the browser: Python in this worker. Every file comes from the page's own host.
import { startPython, type Started } from "./python";
import type { Refused } from "./types";

/** The first message says where the engine's files are, and whether its kept memory is to be left; all others are questions. */
type FromPage = { base: string; anew: boolean } | { id: number; operation: string; request: string };

let started: Started | null = null;

const wordsOf = (fault: unknown): string => (fault instanceof Error ? (fault.message.split("\n")[0] ?? "") : "unknown");

/** Whether the engine says of itself that it failed, as no question should make it. */
const ownFault = (answer: string): boolean =>
  answer.startsWith('{"error":') && (JSON.parse(answer) as Refused).error.kind === "engine";

async function start(base: URL, anew: boolean): Promise<void> {
  const told = {
    progress: (done: number) => self.postMessage({ progress: done }),
    puttingBack: () => self.postMessage({ puttingBack: true }),
  };
  const made = await startPython(base, told, anew);
  started = made;
  self.postMessage({ ready: true });
  await made.keep();
}

self.onmessage = (event: MessageEvent<FromPage>) => {
  if ("base" in event.data) {
    start(new URL(event.data.base), event.data.anew).catch((fault: unknown) => {
      self.postMessage({ broken: wordsOf(fault) });
    });
    return;
  }
  const { id, operation, request } = event.data;
  try {
    if (started === null) throw new Error("not started");
    const answer = started.engine.ask_json(operation, request);
    if (ownFault(answer)) started.distrust();
    self.postMessage({ id, answer });
  } catch (fault) {
    started?.distrust();
    self.postMessage({ id, failed: wordsOf(fault) });
  }
};
