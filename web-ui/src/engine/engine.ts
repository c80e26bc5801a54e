import type { OperationName, Operations, Trouble } from "./types";

/** What comes back for a question: an answer, or why there is none. `ask` itself never throws. */
export type Reply<T> = { ok: true; answer: T } | { ok: false; error: Trouble };

/** Where the engine stands. 'starting': questions wait in line; 'code wanted': the server wants its pairing code. */
export interface EngineState {
  kind: "server" | "browser";
  phase: "starting" | "ready" | "code wanted" | "failed";
  /** How much of the start is done, 0 to 1. */
  progress: number;
  /** Why it failed, or ''. */
  words: string;
  /** It takes the place of one that failed at a question, which is not asked again by itself. */
  anew: boolean;
}

/** One way to reach the engine. HttpEngine and WorkerEngine implement it. */
export interface Engine {
  readonly kind: "server" | "browser";
  /** Settles when questions are answered at once; rejects where this engine cannot be had. */
  start(progress: (done: number) => void): Promise<void>;
  ask<O extends OperationName>(operation: O, request: Operations[O]["request"]): Promise<Reply<Operations[O]["answer"]>>;
  stop(): void;
}

/** A trouble that comes from the page itself and not from the engine. */
export function engineTrouble(message: string, hint = ""): Trouble {
  return {
    kind: "engine",
    message,
    hint,
    field: "",
    expected: "",
    example: "",
    quantity: "",
    asked: null,
    limit: null,
    unit: "",
  };
}
