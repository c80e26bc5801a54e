import { engineTrouble, type Engine, type Reply } from "./engine";
import type { OperationName, Operations, Refused } from "./types";

type FromWorker =
  | { progress: number }
  | { puttingBack: true }
  | { ready: true }
  | { broken: string }
  | { id: number; answer: string }
  | { id: number; failed: string };

/** A kept memory that is not put back and warm after this long (a slow phone needs 3 s) is left, and the engine started
 * without it. */
const LONGEST_PUT_BACK_MS = 10_000;

/** The same Python engine in a web worker. */
export class WorkerEngine implements Engine {
  readonly kind = "browser";
  /** It failed at a question, as none should make it: what it says from then on is not to be trusted. */
  failed = false;
  /** It has answered a question as it should. */
  sound = false;
  private worker: Worker | null = null;
  private next = 1;
  private readonly waiting = new Map<number, { answer: (reply: Reply<unknown>) => void; refuse: (fault: Error) => void }>();

  /** `anew`: without the kept memory. */
  async start(progress: (done: number) => void, anew = false): Promise<void> {
    if (!anew && (await this.startWorker(progress, false))) return;
    this.worker?.terminate();
    await this.startWorker(progress, true);
  }

  /** Whether it came to its end; not so where putting back the kept memory takes too long. `anew`: without that. */
  private startWorker(progress: (done: number) => void, anew: boolean): Promise<boolean> {
    let limit: ReturnType<typeof setTimeout> | undefined;
    return new Promise<boolean>((resolve, reject) => {
      const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module" });
      this.worker = worker;
      worker.onerror = (event) => {
        event.preventDefault();
        this.failed = true;
        this.fail(event.message || "the worker could not be loaded");
        reject(new Error(event.message || "the worker could not be loaded"));
      };
      worker.onmessage = (event: MessageEvent<FromWorker>) => {
        const data = event.data;
        if ("progress" in data) progress(data.progress);
        else if ("puttingBack" in data) limit = setTimeout(() => resolve(false), LONGEST_PUT_BACK_MS);
        else if ("ready" in data) resolve(true);
        else if ("broken" in data) reject(new Error(data.broken));
        else this.settle(data);
      };
      worker.postMessage({ base: new URL("engine/", document.baseURI).href, anew });
    }).finally(() => clearTimeout(limit));
  }

  private settle(data: { id: number; answer: string } | { id: number; failed: string }): void {
    const answer = this.waiting.get(data.id)?.answer;
    this.waiting.delete(data.id);
    if (!answer) return;
    if ("failed" in data) {
      this.failed = true;
      answer({ ok: false, error: engineTrouble(`The engine in the browser failed: ${data.failed}.`) });
      return;
    }
    const parsed = JSON.parse(data.answer) as object;
    const error = "error" in parsed ? (parsed as Refused).error : null;
    if (error?.kind === "engine") this.failed = true;
    else this.sound = true;
    answer(error ? { ok: false, error } : { ok: true, answer: parsed });
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
