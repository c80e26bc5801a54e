import { engineTrouble, type Engine, type Reply } from "./engine";
import type { OperationName, Operations, Refused } from "./types";

const MOST_WAIT_MS = 20_000;
/** So often is asked again what came too soon after others, and so long it waits at most in between. */
const MOST_AGAIN = 5;
const LONGEST_PAUSE_S = 5;

/** Thrown inside this folder only: the server could not be reached at all; `late`: what was asked took it too long. */
export class NoServer extends Error {
  constructor(readonly late = false) {
    super();
  }
}

/** Thrown inside this folder only: the server wants its pairing code. */
export class WantsCode extends Error {}

export interface ServerCard {
  server: boolean;
  /** Nothing was heard: too slow, no network, or a gateway's words. A plain host says that there is none. */
  unheard?: boolean;
  version?: string;
  /** The format of the records that it keeps: see records.ts. */
  records?: number;
  /** The server wants a pairing code from this browser, and has not had it yet. */
  code_wanted?: boolean;
  /** This browser was paired, and the shop has revoked it. */
  revoked?: boolean;
  /** Why the server cannot know now who asks, in words; '' where it does. */
  busy?: string;
}

/** A request of our own to the server that the page came from. Throws NoServer where nothing answers. */
export async function callServer(path: string, init: RequestInit = {}, wait = MOST_WAIT_MS): Promise<Response> {
  try {
    return await fetch(new URL(path, document.baseURI), {
      ...init,
      cache: "no-store",
      credentials: "same-origin",
      signal: AbortSignal.timeout(wait),
    });
  } catch (fault) {
    throw new NoServer(fault instanceof DOMException && fault.name === "TimeoutError");
  }
}

/** As `callServer`; where too many asked at once and the server says when to come again, asked again then. */
export async function inTurn(path: string, init: RequestInit = {}, wait = MOST_WAIT_MS): Promise<Response> {
  for (let again = 0; ; again += 1) {
    const response = await callServer(path, init, wait);
    const pause = response.ok ? null : response.headers.get("retry-after");
    if (pause === null || again === MOST_AGAIN) return response;
    await new Promise((next) => setTimeout(next, Math.min(Number(pause) || 1, LONGEST_PAUSE_S) * 1000));
  }
}

/** What the page's host says about itself; `server: false` for a plain web host, an old one, or none. */
export async function serverCard(wait = 1500): Promise<ServerCard> {
  try {
    const response = await inTurn("server.json", {}, wait);
    if (!response.ok) return { server: false, unheard: response.status === 429 || response.status >= 500 };
    const card: unknown = await response.json();
    return typeof card === "object" && card !== null &&  (card as ServerCard).server
      ? (card as ServerCard)
      : { server: false };
  } catch (fault) {
    return { server: false, unheard: fault instanceof NoServer };
  }
}

/** The engine of `racewright serve`. */
export class HttpEngine implements Engine {
  readonly kind = "server";

  async start(progress: (done: number) => void): Promise<void> {
    progress(1);
  }

  /** Throws NoServer and WantsCode, which `startEngine` handles. */
  async ask<O extends OperationName>(
    operation: O,
    request: Operations[O]["request"],
  ): Promise<Reply<Operations[O]["answer"]>> {
    const response = await inTurn(`ask/${operation}`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(request),
    });
    if (response.status === 401) throw new WantsCode();
    if (response.status === 502 || response.status === 503 || response.status === 504) throw new NoServer(response.status === 504);
    try {
      const data: unknown = await response.json();
      if (response.ok) return { ok: true, answer: data as Operations[O]["answer"] };
      if (typeof data === "object" && data !== null && "error" in data) {
        return { ok: false, error: (data as Refused).error };
      }
    } catch {
      // not JSON: said below
    }
    return { ok: false, error: engineTrouble(`The server answered with status ${response.status}.`) };
  }

  stop(): void {}
}
