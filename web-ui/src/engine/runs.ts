import { engineTrouble, type Reply } from "./engine";
import { callServer } from "./http";
import type { EngineHandle } from "./start";
import type { Refused, Trouble } from "./types";

/** A line of the list of runs. `revision` counts saves from 1; `rivals` are refused saves that nobody has settled. */
export interface RunRow {
  id: string;
  name: string;
  revision: number;
  saved: string;
  by: string;
  rivals: number;
}

/** A version that came too late: made from revision `base`, kept until a save names `rival` in `settles`. */
export interface Rival {
  rival: string;
  base: number;
  data: Record<string, unknown>;
  saved: string;
  by: string;
}

/** A run as the server has it. */
export interface SavedRun {
  id: string;
  revision: number;
  data: Record<string, unknown>;
  saved: string;
  by: string;
  rivals: Rival[];
}

export type SaveReply =
  | { ok: true; answer: SavedRun }
  | { ok: false; error: Trouble; conflict?: { newest: SavedRun; yours: Rival } };

export interface SharedRuns {
  list(): Promise<Reply<{ runs: RunRow[] }>>;
  get(id: string): Promise<Reply<SavedRun>>;
  /** `base`: the revision that this edit began from (0: a new run). `settles`: rivals that this version takes in. */
  save(
    id: string,
    version: { base: number; by: string; data: Record<string, unknown>; settles?: string[] },
  ): Promise<SaveReply>;
}

async function call<T>(path: string, init?: RequestInit): Promise<{ status: number; reply: Reply<T>; raw: unknown }> {
  try {
    const response = await callServer(path, init);
    const raw: unknown = await response.json();
    if (response.ok) return { status: response.status, reply: { ok: true, answer: raw as T }, raw };
    const error = (raw as Refused).error ?? engineTrouble(`The server answered with status ${response.status}.`);
    return { status: response.status, reply: { ok: false, error }, raw };
  } catch {
    const error = engineTrouble("The server cannot be reached.", "the run is kept on this device; save again later");
    return { status: 0, reply: { ok: false, error }, raw: null };
  }
}

/** Runs kept by the server; null where there is none. An id is 1 to 64 letters, digits, '-' or '_'. */
export async function sharedRuns(engine: EngineHandle): Promise<SharedRuns | null> {
  if (!(await engine.server())) return null;
  return {
    list: async () => (await call<{ runs: RunRow[] }>("runs")).reply,
    get: async (id) => (await call<SavedRun>(`runs/${encodeURIComponent(id)}`)).reply,
    save: async (id, version) => {
      const { status, reply, raw } = await call<SavedRun>(`runs/${encodeURIComponent(id)}`, {
        method: "PUT",
        headers: { "content-type": "application/json" },
        body: JSON.stringify(version),
      });
      if (reply.ok || status !== 409) return reply;
      return { ...reply, conflict: (raw as { conflict: { newest: SavedRun; yours: Rival } }).conflict };
    },
  };
}
