// The engine in the browser: Python in this worker. Every file comes from the page's own host.
import { startPython, type Started } from "./python";

/** The first message says where the engine's files are; all others are questions. */
type FromPage = { base: string } | { id: number; operation: string; request: string };

let started: Started | null = null;

const wordsOf = (fault: unknown): string => (fault instanceof Error ? (fault.message.split("\n")[0] ?? "") : "unknown");

async function start(base: URL): Promise<void> {
  const made = await startPython(base, (done) => self.postMessage({ progress: done }));
  started = made;
  self.postMessage({ ready: true });
  await made.keep();
}

self.onmessage = (event: MessageEvent<FromPage>) => {
  if ("base" in event.data) {
    start(new URL(event.data.base)).catch((fault: unknown) => {
      self.postMessage({ broken: wordsOf(fault) });
    });
    return;
  }
  const { id, operation, request } = event.data;
  try {
    if (started === null) throw new Error("not started");
    self.postMessage({ id, answer: started.engine.ask_json(operation, request) });
  } catch (fault) {
    started?.distrust();
    self.postMessage({ id, failed: wordsOf(fault) });
  }
};
