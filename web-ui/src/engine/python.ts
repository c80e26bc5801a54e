/** Python in this worker, with the engine in it: started, or put back as it was when it was warm. */
import { finished, giveUp, keepMemory, keptMemory, memoryKey } from "./memory";

type Bytes = Uint8Array<ArrayBuffer>;

/** The engine's own way in, `racewright/browser.py`. */
interface PythonEngine {
  ask_json(operation: string, request: string): string;
  warm_up(): string;
}

interface Interpreter {
  runPython(code: string): unknown;
  pyimport(name: string): PythonEngine;
  makeMemorySnapshot(): Bytes;
}

/** What Pyodide's module has for those who load a library into it themselves. */
interface Module {
  FS: { writeFile: (path: string, data: Uint8Array) => void };
  growMemory(size: number): void;
  loadWebAssemblyModule(code: WebAssembly.Module, flags: object, name: string, scope: object): object;
  newDSO(name: string, handle: undefined, exports: object): void;
}

interface Pyodide {
  version: string;
  loadPyodide: (options: Record<string, unknown>) => Promise<Interpreter>;
}
type CreateModule = (settings: { preRun: ((module: Module) => void)[] }) => Promise<unknown>;

/** The files of the engine, read once, the largest compiled while it is read. */
interface Files {
  code: Promise<WebAssembly.Module>;
  library: Bytes;
  racewright: Bytes;
  msgspec: Bytes;
  pyodide: Pyodide;
  createModule: CreateModule;
  base: URL;
}

const CODE = "pyodide.asm.wasm";
const LIBRARY = "python_stdlib.zip"; // with the Python part of msgspec
const ZIP = "/racewright.zip"; // imported from as it is: only what is needed is unpacked
const MSGSPEC = "/msgspec.so";

/** Python looks for msgspec's compiled part where `load` has put it: it is loaded before Python itself, so that its code
 * and data have the same places at every start. */
const FIND_MSGSPEC = `
import sys, types
from importlib.util import spec_from_file_location
sys.meta_path.append(types.SimpleNamespace(find_spec=lambda name, *_: (
    spec_from_file_location(name, "${MSGSPEC}") if name == "msgspec._core" else None)))
`;

/** The engine, ready; `keep` is to be called once that is told, and before the first question. `distrust`: an answer
 * failed. */
export interface Started {
  engine: PythonEngine;
  keep(): Promise<void>;
  distrust(): void;
}

/** What a start tells as it goes. `puttingBack`: the kept memory is put back from here on, which takes a moment or fails. */
export interface Told {
  progress: (done: number) => void;
  puttingBack: () => void;
}

/** `anew`: without the kept memory, which did not come to its end. Throws where the engine cannot be started at all. */
export async function startPython(base: URL, { progress, puttingBack }: Told, anew: boolean): Promise<Started> {
  progress(0.05);
  const files = await readFiles(base);
  const key = await memoryKey([files.library, files.racewright, files.msgspec], files.pyodide.version);
  if (anew && key !== null) await giveUp(key);
  const kept = await keptMemory(key);
  progress(0.15);
  if (key !== null && typeof kept === "object") {
    puttingBack();
    try {
      const engine = (await load(files, { memory: kept.memory })).pyimport("racewright.browser");
      if (engine.warm_up() !== kept.answer) throw new Error("it answers otherwise than when it was kept");
      return { engine, keep: () => finished(key, kept), distrust: () => void giveUp(key) };
    } catch {
      await giveUp(key);
    }
  }
  const python = await load(files, { keep: kept === "make" });
  progress(0.7);
  python.runPython(FIND_MSGSPEC);
  const engine = python.pyimport("racewright.browser");
  const answer = engine.warm_up();
  const keep = async (): Promise<void> => {
    if (key === null || kept !== "make") return;
    try {
      await keepMemory(key, { memory: python.makeMemorySnapshot(), answer });
    } catch {
      await giveUp(key); // something in it cannot be kept: not tried again at each start
    }
  };
  return { engine, keep, distrust: () => undefined };
}

async function readFiles(base: URL): Promise<Files> {
  const bytes = async (name: string): Promise<Bytes> => {
    const response = await fetch(new URL(name, base));
    if (!response.ok) throw new Error(`${name}: status ${response.status}`);
    return new Uint8Array(await response.arrayBuffer());
  };
  const code = WebAssembly.compileStreaming(fetch(new URL(CODE, base)));
  code.catch(() => undefined); // looked at where it is needed; must not count as unhandled before
  const module = (name: string): Promise<unknown> => import(/* @vite-ignore */ new URL(name, base).href);
  const [library, racewright, msgspec, pyodide, asm] = await Promise.all([
    bytes(LIBRARY),
    bytes("racewright.zip"),
    bytes("msgspec.wasm"),
    module("pyodide.mjs"),
    module("pyodide.asm.mjs"),
  ]);
  const { default: createModule } = asm as { default: CreateModule };
  return { code, library, racewright, msgspec, pyodide: pyodide as Pyodide, createModule, base };
}

/** The interpreter, started with `memory` if that is given; `keep`: so that its memory can be kept. */
async function load(files: Files, { memory, keep = false }: { memory?: Bytes; keep?: boolean }): Promise<Interpreter> {
  const msgspec = new WebAssembly.Module(files.msgspec);
  const prepare = (module: Module): void => {
    module.FS.writeFile(ZIP, files.racewright);
    if (memory) module.growMemory(memory.length);
    module.newDSO(MSGSPEC, undefined, module.loadWebAssemblyModule(msgspec, { nodelete: true }, MSGSPEC, {}));
  };
  return withFilesGiven(files, () =>
    files.pyodide.loadPyodide({
      indexURL: files.base.href,
      packages: [],
      checkAPIVersion: false,
      env: { HOME: "/", PYTHONPATH: ZIP },
      createPyodideModule: (settings: Parameters<CreateModule>[0]) => (settings.preRun.push(prepare), files.createModule(settings)),
      _makeSnapshot: keep,
      ...(memory && { _loadSnapshot: memory }),
    }),
  );
}

/** Pyodide asks for its library and its code by itself, and late: both are given as they were read. */
async function withFilesGiven<T>({ base, code, library }: Files, work: () => Promise<T>): Promise<T> {
  const module = await code; // Pyodide would not say that it cannot be had
  const fetch = self.fetch.bind(self);
  const { instantiateStreaming } = WebAssembly;
  const given: Record<string, BodyInit | null> = { [new URL(LIBRARY, base).href]: library, [new URL(CODE, base).href]: null };
  self.fetch = async (what, how) => (`${what as URL}` in given ? new Response(given[`${what as URL}`]) : fetch(what, how));
  WebAssembly.instantiateStreaming = async (_, imports) => ({ module, instance: await WebAssembly.instantiate(module, imports) });
  try {
    return await work();
  } finally {
    self.fetch = fetch;
    WebAssembly.instantiateStreaming = instantiateStreaming;
  }
}
