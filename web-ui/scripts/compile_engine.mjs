// node compile_engine.mjs IN OUT: runs compile_engine.py in the interpreter that the page loads, so that its bytecode fits.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { loadPyodide } from "pyodide";

const [from, to] = process.argv.slice(2);
// one hash seed: sets and names come in one order, and the same sources give the same bytes
const python = await loadPyodide({ packages: [], checkAPIVersion: false, env: { HOME: "/", PYTHONHASHSEED: "0" } });
python.mountNodeFS("/in", from);
python.mountNodeFS("/out", to);
python.unpackArchive(new Uint8Array(readFileSync(join(from, "msgspec.whl"))), "wheel");
try {
  python.runPython(readFileSync(new URL("compile_engine.py", import.meta.url), "utf-8"));
} catch (fault) {
  console.error(fault.message); // and not the interpreter's own source, which node would show
  process.exit(1);
}
