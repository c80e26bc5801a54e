import { engineTrouble, type Engine, type Reply } from "./engine";
import type { OperationName, Operations, Refused } from "./types";

type FromWorker =
  | { progress: number }
  | { ready: true }
  | { broken: string }
  | { id: number; answer: string }
  | { id: number; failed: string };

/** The same Python engine in a web worker. */
export class WorkerEngine implements Engine {
  readonly kind = "browser";
  private worker: Worker | null = null;
  private next = 1;
  private readonly waiting = new Map<number, { answer: (reply: Reply<unknown>) => void; refuse: (fault: Error) => void }>();

  start(progress: (done: number) => void): Promise<void> {
    return new Promise((resolve, reject) => {
      const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module" });
      this.worker = worker;
      worker.onerror = (event) => {
        event.preventDefault();
        this.fail(event.message || "the worker could not be loaded");
        reject(new Error(event.message || "the worker could not be loaded"));
      };
      worker.onmessage = (event: MessageEvent<FromWorker>) => {
        const data = event.data;
        if ("progress" in data) progress(data.progress);
        else if ("ready" in data) resolve();
        else if ("broken" in data) reject(new Error(data.broken));
        else this.settle(data);
      };
      worker.postMessage({ base: new URL("engine/", document.baseURI).href });
    });
  }

  private settle(data: { id: number; answer: string } | { id: number; failed: string }): void {
    const answer = this.waiting.get(data.id)?.answer;
    this.waiting.delete(data.id);
    if (!answer) return;
    if ("failed" in data) {
      answer({ ok: false, error: engineTrouble(`The engine in the browser failed: ${data.failed}.`) });
      return;
    }
    const parsed = JSON.parse(data.answer) as object;
    if ("error" in parsed) answer({ ok: false, error: (parsed as Refused).error });
    else answer({ ok: true, answer: parsed });
  }

  private fail(words: string): void {
    for (const { answer } of this.waiting.values()) answer({ ok: false, error: engineTrouble(words) });
    this.waiting.clear();
  }

  ask<O extends OperationName>(
    operation: O,
    request: Operations[O]["request"],
  ): Promise<Reply<Operations[O]["answer"]>> {
    const id = this.next++;
    return new Promise((resolve, refuse) => {
      this.waiting.set(id, { answer: resolve as (reply: Reply<unknown>) => void, refuse });
      this.worker?.postMessage({ id, operation, request: JSON.stringify(request) });
    });
  }

  /** End it in the midst of its work: its questions throw, to be asked of another one. */
  leave(): void {
    for (const { refuse } of this.waiting.values()) refuse(new Error("the engine was left"));
    this.waiting.clear();
    this.stop();
  }

  stop(): void {
    this.worker?.terminate();
    this.worker = null;
    this.fail("The engine was stopped.");
  }
}
