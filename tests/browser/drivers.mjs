// One small way to drive three browsers: Chromium by playwright-core, Firefox by WebDriver BiDi, WebKit by WebDriver.
// Each gives a window { goto(url), run(fn, ...args), press(x, y), type(text), close() }; `run` works in the page.
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { newPage, openBrowser, ROOT } from "./support.mjs";

const need = createRequire(join(ROOT, "web-ui", "package.json"));
const SIZE = { width: 390, height: 844 };
const MINI_BROWSER = ["x86_64-linux-gnu", "aarch64-linux-gnu"].map((kind) => `/usr/lib/${kind}/webkit2gtk-4.1/MiniBrowser`).find(existsSync);

export const BROWSERS = { Chromium: openChromium, Firefox: openFirefox, WebKit: openWebKit };

async function openChromium() {
  const browser = await openBrowser();
  const page = await newPage(await browser.newContext({ viewport: SIZE }));
  return {
    goto: (url) => page.goto(url),
    run: (fn, ...args) => page.evaluate(`(${fn})(...${JSON.stringify(args)})`),
    press: (x, y) => page.mouse.click(x, y),
    type: (text) => page.keyboard.type(text),
    close: () => browser.close(),
  };
}

async function openFirefox() {
  const profile = mkdtempSync(join(tmpdir(), "firefox-"));
  const child = started("firefox-esr", ["--headless", "--remote-debugging-port", "0", "--profile", profile, "about:blank"]);
  const [, address] = await child.says(/WebDriver BiDi listening on (ws:\S+)/);
  const call = await talkTo(`${address}/session`);
  await call("session.new", { capabilities: {} });
  const { contexts } = await call("browsingContext.getTree", {});
  const { context } = contexts[0];
  await call("browsingContext.setViewport", { context, viewport: SIZE });
  const act = (source) => call("input.performActions", { context, actions: [source] });
  return {
    goto: (url) => call("browsingContext.navigate", { context, url, wait: "complete" }),
    run: async (fn, ...args) => {
      const said = await call("script.evaluate", { expression: asText(fn, args), target: { context }, awaitPromise: true });
      if (said.type === "exception") throw new Error(said.exceptionDetails.text);
      return JSON.parse(said.result.value);
    },
    press: (x, y) => act(pressed(x, y)),
    type: (text) => act(typed(text)),
    close: async () => {
      await child.end();
      rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
    },
  };
}

async function openWebKit() {
  const display = started("Xvfb", ["-displayfd", "1", "-screen", "0", "1280x1024x24", "-nolisten", "tcp"]);
  const [number] = await display.says(/\d+/);
  const port = await freePort();
  const child = started("WebKitWebDriver", [`--port=${port}`], { DISPLAY: `:${number}` });
  const ask = async (path, body) => {
    const response = await fetch(`http://127.0.0.1:${port}/session${path}`, { method: body ? "POST" : "DELETE", body: body && JSON.stringify(body) });
    const { value } = await response.json();
    if (!response.ok) throw new Error(`${path}: ${value.error}: ${value.message}`);
    return value;
  };
  await listens(port);
  const options = { binary: MINI_BROWSER, args: ["--automation"] };
  const { sessionId } = await ask("", { capabilities: { alwaysMatch: { browserName: "MiniBrowser", "webkitgtk:browserOptions": options } } });
  const call = (path, body) => ask(`/${sessionId}${path}`, body);
  await call("/window/rect", SIZE);
  await call("/timeouts", { script: 120_000 });
  const act = (source) => call("/actions", { actions: [source] });
  return {
    goto: (url) => call("/url", { url }),
    run: async (fn, ...args) => {
      const script = `const done = arguments[arguments.length - 1]; ${asText(fn, args)}.then((said) => done({ said }), (fault) => done({ fault: String(fault) }));`;
      const { said, fault } = await call("/execute/async", { script, args: [] });
      if (fault) throw new Error(fault);
      return JSON.parse(said);
    },
    press: (x, y) => act(pressed(x, y)),
    type: (text) => act(typed(text)),
    close: async () => {
      await call("").catch(() => undefined);
      await child.end();
      await display.end();
    },
  };
}

/** A call in the page whose result comes as JSON, whatever the protocol makes of values. */
const asText = (fn, args) => `(async () => JSON.stringify((await (${fn})(...${JSON.stringify(args)})) ?? null))()`;

const pressed = (x, y) => ({
  type: "pointer",
  id: "hand",
  parameters: { pointerType: "mouse" },
  actions: [{ type: "pointerMove", x: Math.round(x), y: Math.round(y), duration: 0 }, { type: "pointerDown", button: 0 }, { type: "pointerUp", button: 0 }],
});

const typed = (text) => ({
  type: "key",
  id: "keys",
  actions: [...text].flatMap((value) => [{ type: "keyDown", value }, { type: "keyUp", value }]),
});

/** A program of its own: `says` waits for words of it, `end` ends it. */
function started(command, args, more = {}) {
  const child = spawn(command, args, { env: { ...process.env, ...more }, stdio: ["ignore", "pipe", "pipe"] });
  const gone = new Promise((done) => (child.on("exit", done), child.on("error", done)));
  let said = "";
  const listeners = new Set();
  for (const stream of [child.stdout, child.stderr])
    stream.on("data", (part) => {
      said += part;
      for (const look of listeners) look();
    });
  return {
    says: (words) =>
      new Promise((found, failed) => {
        const look = () => words.test(said) && found(words.exec(said));
        listeners.add(look);
        look();
        void gone.then((why) => failed(new Error(`${command} ended (${why}): ${said}`)));
      }),
    end: () => (child.kill("SIGTERM"), gone),
  };
}

/** The calls of a WebDriver BiDi socket. */
async function talkTo(address) {
  const { WebSocket } = need("ws");
  const socket = new WebSocket(address);
  await new Promise((open, failed) => (socket.on("open", open), socket.on("error", failed)));
  const waiting = new Map();
  socket.on("message", (text) => {
    const { id, type, result, error, message } = JSON.parse(text);
    const [answer, refuse] = waiting.get(id) ?? [];
    if (type === "success") answer(result);
    if (type === "error") refuse?.(new Error(`${error}: ${message}`));
  });
  let last = 0;
  return (method, params) =>
    new Promise((answer, refuse) => {
      last += 1;
      waiting.set(last, [answer, refuse]);
      socket.send(JSON.stringify({ id: last, method, params }));
    });
}

function freePort() {
  const server = createServer();
  return new Promise((found) => server.listen(0, "127.0.0.1", () => {
    const { port } = server.address();
    server.close(() => found(port));
  }));
}

async function listens(port) {
  for (let tries = 0; tries < 200; tries += 1) {
    if (await fetch(`http://127.0.0.1:${port}/status`).then((r) => r.ok, () => false)) return;
    await new Promise((next) => setTimeout(next, 50));
  }
  throw new Error("the driver does not answer");
}
