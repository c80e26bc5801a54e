import { engineTrouble, type Engine, type EngineState, type Reply } from "./engine";
import { callServer, HttpEngine, NoServer, serverCard, WantsCode, type ServerCard } from "./http";
import { WorkerEngine } from "./in_browser";
import { keepForOffline } from "./offline";
import type { OperationName, Operations, Refused } from "./types";

/** What the page holds: one engine, whichever it turns out to be. */
export interface EngineHandle {
  /** `signal`: what ends the question, as its answer is wanted no longer. */
  ask<O extends OperationName>(operation: O, request: Operations[O]["request"], signal?: AbortSignal): Promise<Reply<Operations[O]["answer"]>>;
  state(): EngineState;
  /** Called at once and on every change; returns what ends it. */
  watch(onChange: (state: EngineState) => void): () => void;
  /** The pairing code that the page's address brought along (from the server's QR code), or ''. */
  readonly codeGiven: string;
  /** Hand the server its pairing code and this device's name: the name that it is known by from now on, or why it is
   * not let in ('' for a wrong code). */
  pair(code: string, name: string): Promise<{ name: string } | { refused: string }>;
  /** Go on without the server, with the engine in the browser. */
  goOnAlone(): void;
  /** End the question that has been worked out longest; those behind it go on. */
  halt(): void;
  /** Whether there is a server: looked for anew while none was found. 'unheard': nothing answered, so there may be one. */
  server(): Promise<"here" | "none" | "unheard">;
  /** The server is known to want its code again; `asked`: by a person who had gone on without it. */
  wantsCode(asked?: boolean): void;
  /** A server has answered, or the network is back: what could not be started is tried again, and a page that went on with
   * the engine in the browser is the server's again. */
  tryAgain(): void;
}

const UNWANTED: Reply<never> = { ok: false, error: engineTrouble("A newer question took its place.") };

class Handle implements EngineHandle {
  private now: EngineState = { kind: "browser", phase: "starting", progress: 0, words: "", anew: false };
  private readonly watchers = new Set<(state: EngineState) => void>();
  private ready!: Promise<Engine | null>;
  private giveUpOnCode: (() => void) | null = null;
  /** The engine in the browser, once started: a server that comes back leaves it idle, to be there when it goes again. */
  private own: WorkerEngine | null = null;
  /** The engine in the browser that is being started, until something else takes its place. */
  private coming: WorkerEngine | null = null;
  /** What ends each question that is not answered yet, the oldest first. */
  private readonly ends: ((reply: Reply<never>) => void)[] = [];
  /** Of an operation the least request (in characters) that took a server too long: from there on the browser works it out. */
  private readonly tooLong = new Map<OperationName, number>();
  private readonly forced = new URLSearchParams(location.search).get("engine") === "browser";
  private card: Promise<ServerCard>;
  readonly codeGiven = codeOfAddress();

  constructor() {
    this.card = this.forced ? Promise.resolve({ server: false }) : serverCard();
    this.ready = this.choose();
    addEventListener("online", () => this.tryAgain());
  }

  state(): EngineState {
    return this.now;
  }

  watch(onChange: (state: EngineState) => void): () => void {
    this.watchers.add(onChange);
    onChange(this.now);
    return () => this.watchers.delete(onChange);
  }

  async server(): Promise<"here" | "none" | "unheard"> {
    if ((await this.card).server) return "here";
    const card = this.forced ? await this.card : await serverCard();
    return card.server ? "here" : card.unheard ? "unheard" : "none";
  }

  private set(change: Partial<EngineState>): void {
    this.now = { ...this.now, ...change };
    for (const watcher of this.watchers) watcher(this.now);
  }

  private async choose(): Promise<Engine | null> {
    const card = await this.card;
    if (!card.server) return this.startBrowser();
    this.set({ kind: "server" });
    if (card.code_wanted) return this.waitForCode();
    this.set({ phase: "ready", progress: 1 });
    return new HttpEngine();
  }

  private waitForCode(): Promise<Engine | null> {
    this.coming = null; // a person is at the form now: an engine that is ready late does not take it away
    this.set({ phase: "code wanted", progress: 0 });
    return new Promise((resolve) => {
      this.giveUpOnCode = () => resolve(null);
    });
  }

  wantsCode(asked = false): void {
    if (this.now.phase === "code wanted" || (!asked && this.now.kind === "browser")) return;
    this.set({ kind: "server" });
    this.ready = this.waitForCode();
  }

  tryAgain(): void {
    if (this.now.kind === "browser" && this.now.phase === "ready" && !this.forced) void this.backToServer();
    if (this.now.phase !== "failed") return;
    this.set({ phase: "starting", progress: 0, words: "" });
    if (!this.forced) this.card = serverCard();
    this.ready = this.choose();
  }

  /** What the engine in the browser was asked it still answers. */
  private async backToServer(): Promise<void> {
    const before = this.ready;
    const card = await serverCard();
    if (!card.server || card.code_wanted || card.revoked || before !== this.ready) return;
    this.card = Promise.resolve(card);
    this.ready = Promise.resolve(new HttpEngine());
    this.set({ kind: "server", phase: "ready", progress: 1, anew: false });
  }

  private async startBrowser(anew = false): Promise<Engine | null> {
    const engine = new WorkerEngine();
    this.coming = engine;
    const told = (change: Partial<EngineState>): void => void (this.coming === engine && this.set(change));
    this.set({ kind: "browser", phase: "starting", progress: 0, words: "", anew });
    try {
      await engine.start((progress) => told({ progress }), anew);
      if (this.coming !== engine) {
        engine.stop();
        return null;
      }
      this.own = engine;
      told({ phase: "ready", progress: 1 });
      return engine;
    } catch (fault) {
      engine.stop();
      told({ phase: "failed", words: fault instanceof Error ? fault.message : "unknown" });
      return null;
    }
  }

  async pair(code: string, name: string): Promise<{ name: string } | { refused: string }> {
    let response: Response;
    try {
      response = await callServer("pair", {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ code, name }),
      });
    } catch {
      return { refused: "" };
    }
    const told = (await response.json().catch(() => ({}))) as Partial<Refused> & { name?: string };
    if (!response.ok) {
      const words = response.status === 403 || !told.error ? "" : `${told.error.message} ${told.error.hint}`.trim();
      return { refused: words };
    }
    const waiting = this.giveUpOnCode;
    this.giveUpOnCode = null;
    this.ready = Promise.resolve(new HttpEngine());
    waiting?.(); // questions that waited look at `ready` again
    this.set({ kind: "server", phase: "ready", progress: 1 });
    return { name: told.name ?? name };
  }

  goOnAlone(): void {
    if (this.now.kind === "browser") return;
    const waiting = this.giveUpOnCode;
    this.giveUpOnCode = null;
    if (this.own) {
      this.ready = Promise.resolve(this.own);
      this.set({ kind: "browser", phase: "ready", progress: 1, words: "", anew: false });
    } else this.ready = this.startBrowser();
    waiting?.();
  }

  halt(): void {
    this.ends.shift()?.({ ok: false, error: engineTrouble("It was stopped.", "ask again; for marks, change a reading or open the run anew") });
    if (this.own) this.leaveOwn(this.own); // the server ends its work by itself
  }

  /** What else it was asked is asked of the next one. */
  private leaveOwn(own: WorkerEngine, anew = false): void {
    this.own = null;
    if (this.now.kind === "browser") this.ready = this.startBrowser(anew);
    own.leave();
  }

  /** What was answered; where the engine in the browser failed at it another one starts, and that is said with it. One that
   * was started so, and has answered nothing yet, stays: the question is at fault. */
  private orAnew<T>(engine: Engine, reply: Reply<T>): Reply<T> {
    const { own } = this;
    if (reply.ok || !own?.failed || engine !== own || (this.now.anew && !own.sound)) return reply;
    this.leaveOwn(own, true);
    const hint = [reply.error.hint, "the engine was started anew: ask again"].filter(Boolean).join("; ");
    return { ok: false, error: { ...reply.error, hint } };
  }

  private tookTooLong(operation: OperationName, request: object): boolean {
    const least = this.tooLong.get(operation);
    return least !== undefined && JSON.stringify(request).length >= least;
  }

  /** It has not answered in time: by what it was asked, where it is there all the same. */
  private async noteLate(operation: OperationName, request: object): Promise<void> {
    if (!(await serverCard()).server) return;
    this.tooLong.set(operation, Math.min(JSON.stringify(request).length, this.tooLong.get(operation) ?? Infinity));
  }

  private async untilEnded<T>(answer: Promise<Reply<T>>, signal?: AbortSignal): Promise<Reply<T>> {
    let end!: (reply: Reply<never>) => void;
    const ended = new Promise<Reply<T>>((resolve) => (end = resolve));
    this.ends.push(end);
    signal?.addEventListener("abort", () => end(UNWANTED), { once: true });
    try {
      return await Promise.race([answer, ended]);
    } finally {
      if (this.ends.includes(end)) this.ends.splice(this.ends.indexOf(end), 1);
    }
  }

  async ask<O extends OperationName>(
    operation: O,
    request: Operations[O]["request"],
    signal?: AbortSignal,
  ): Promise<Reply<Operations[O]["answer"]>> {
    for (;;) {
      const pending = this.ready;
      const engine = await pending;
      if (signal?.aborted) return UNWANTED;
      if (pending !== this.ready) continue;
      if (!engine) {
        return {
          ok: false,
          error: engineTrouble("The engine could not be started.", "open the page once with a connection, then reload"),
        };
      }
      if (engine.kind === "server" && this.tookTooLong(operation, request)) {
        this.goOnAlone();
        if (pending !== this.ready) continue;
      }
      try {
        return this.orAnew(engine, await this.untilEnded(engine.ask(operation, request), signal));
      } catch (fault) {
        if (fault instanceof NoServer && fault.late) void this.noteLate(operation, request);
        if (pending !== this.ready) continue;
        if (fault instanceof NoServer) this.goOnAlone();
        else if (fault instanceof WantsCode) this.ready = this.waitForCode();
        else return { ok: false, error: engineTrouble("The page failed on this question.") };
      }
    }
  }
}

/** The QR code's address carries the code behind '#', which no server log sees; it is taken away. */
function codeOfAddress(): string {
  const code = new URLSearchParams(location.hash.slice(1)).get("code") ?? "";
  if (code) history.replaceState(null, "", location.pathname + location.search);
  return code;
}

/** Begin at once with whichever engine there is: the server that the page came from, else the browser's own. */
export function startEngine(): EngineHandle {
  void keepForOffline();
  return new Handle();
}
