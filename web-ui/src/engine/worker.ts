// The engine in the browser: Python in this worker. Every file comes from the page's own host.

interface Python {
  unpackArchive: (buffer: Uint8Array, format: string) => void;
  FS: { writeFile: (path: string, data: Uint8Array) => void };
  runPython(code: string): unknown;
  pyimport(name: string): { ask_json(operation: string, request: string): string; warm_up(): string };
}

/** The first message says where the engine's files are; all others are questions. */
type FromPage = { base: string } | { id: number; operation: string; request: string };

let base: URL;
let python: ReturnType<Python["pyimport"]> | null = null;

async function bytes(name: string): Promise<Uint8Array> {
  const response = await fetch(new URL(name, base));
  if (!response.ok) throw new Error(`${name}: status ${response.status}`);
  return new Uint8Array(await response.arrayBuffer());
}

function progress(done: number): void {
  self.postMessage({ progress: done });
}

async function start(): Promise<void> {
  progress(0.05);
  const parts = Promise.all([bytes("msgspec.whl"), bytes("racewright.zip")]);
  parts.catch(() => undefined); // looked at below; must not count as unhandled before
  const { loadPyodide } = (await import(/* @vite-ignore */ new URL("pyodide.mjs", base).href)) as {
    loadPyodide: (options: Record<string, unknown>) => Promise<Python>;
  };
  progress(0.15);
  const pyodide = await loadPyodide({ indexURL: base.href, packages: [], checkAPIVersion: false });
  progress(0.7);
  const [msgspec, racewright] = await parts;
  pyodide.unpackArchive(msgspec, "wheel");
  pyodide.FS.writeFile("/racewright.zip", racewright); // imported from as it is: only what is needed is unpacked
  pyodide.runPython("import sys; sys.path.insert(0, '/racewright.zip')");
  progress(0.8);
  python = pyodide.pyimport("racewright.browser");
  python.warm_up();
  self.postMessage({ ready: true });
}

self.onmessage = (event: MessageEvent<FromPage>) => {
  if ("base" in event.data) {
    base = new URL(event.data.base);
    start().catch((fault: unknown) => {
      self.postMessage({ broken: fault instanceof Error ? fault.message.split("\n")[0] : "unknown" });
    });
    return;
  }
  const { id, operation, request } = event.data;
  try {
    if (python === null) throw new Error("not started");
    self.postMessage({ id, answer: python.ask_json(operation, request) });
  } catch (fault) {
    self.postMessage({ id, failed: fault instanceof Error ? fault.message.split("\n")[0] : "unknown" });
  }
};
