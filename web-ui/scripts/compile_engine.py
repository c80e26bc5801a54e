"""Compile the browser's Python ahead; run inside the browser's own interpreter by compile_engine.mjs.

Reads /in/racewright (the engine's files), /in/msgspec.whl and /in/python_stdlib.zip. Writes to /out racewright.zip,
python_stdlib.zip (msgspec's modules and license in it too) and msgspec.wasm, its compiled part: every module as
bytecode of this interpreter, of the standard library only what the engine can come to import.
"""

from __future__ import annotations

import ast
import hashlib
import importlib
import io
import json
import marshal
import sys
import zipfile
from pathlib import Path

IN, OUT = Path("/in"), Path("/out")
OLD = (2026, 1, 1, 0, 0, 0)
UNCHECKED = (0b01).to_bytes(4, "little")  # PEP 552: a hash that the importer does not look at
#: What the library imports inside its functions, where the engine can come by: dates read from text, long numbers,
#: threads' own values, a fault's trace.
LATE = ("_strptime", "_pylong", "_threading_local", "traceback")


def compiled(source: bytes, name: str) -> bytes:
    """The .pyc of a module; `name` is what a trace calls its file. Docstrings stay at classes alone, where a schema
    tells them, and in the interpreter's own package, which reads them."""
    tree = ast.parse(source)
    for node in () if name.startswith(("_pyodide", "pyodide")) else ast.walk(tree):
        if (
            isinstance(node, ast.Module | ast.FunctionDef | ast.AsyncFunctionDef)
            and ast.get_docstring(node) is not None
        ):
            node.body[:1] = (
                [] if len(node.body) > 1 or isinstance(node, ast.Module) else [ast.Pass(lineno=1, col_offset=0)]
            )
    code = compile(tree, name, "exec", dont_inherit=True, optimize=0)
    return importlib.util.MAGIC_NUMBER + UNCHECKED + importlib.util.source_hash(source) + marshal.dumps(code)


def packed(files: dict[str, bytes]) -> bytes:
    """A zip of these files, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as bundle:
        for name, data in sorted(files.items()):
            entry = zipfile.ZipInfo(name, date_time=OLD)
            entry.compress_type = zipfile.ZIP_DEFLATED
            bundle.writestr(entry, data, compresslevel=9)
    return out.getvalue()


def with_bytecode(files: dict[str, bytes]) -> dict[str, bytes]:
    """Every .py among the files as its .pyc."""
    modules = {name: data for name, data in files.items() if name.endswith(".py")}
    rest = {name: data for name, data in files.items() if name not in modules}
    return rest | {f"{name}c": compiled(data, name) for name, data in modules.items()}


def named_in(source: bytes) -> set[str]:
    """Modules that a source imports by name, inside its functions too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module)
    return found


def unzipped(path: Path) -> dict[str, bytes]:
    """The files of a zip."""
    with zipfile.ZipFile(path) as bundle:
        return {name: bundle.read(name) for name in bundle.namelist() if not name.endswith("/")}


def main() -> None:
    """Import everything that the engine has, then keep of the library what that took."""
    own = {
        str(path.relative_to(IN)): path.read_bytes()
        for path in sorted((IN / "racewright").rglob("*"))
        if path.is_file()
    }
    library, msgspec = unzipped(IN / "python_stdlib.zip"), unzipped(IN / "msgspec.whl")
    sources = {name: data for name, data in (own | msgspec).items() if name.endswith(".py")}
    sys.path.insert(0, str(IN))
    for name in sources:
        if name in own:
            importlib.import_module(name.removesuffix(".py").removesuffix("/__init__").replace("/", "."))
    of_library = {name.removesuffix(".py").removesuffix("/__init__").replace("/", "."): name for name in library}
    for name in sorted(set().union(*map(named_in, sources.values())) | set(LATE)):
        if name in of_library:
            importlib.import_module(name)
    kept = {of_library[name]: library[of_library[name]] for name in sys.modules if name in of_library}
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in sorted(own.items())}
    needed = {name: data for name, data in msgspec.items() if name.endswith((".py", "/LICENSE"))}
    (OUT / "python_stdlib.zip").write_bytes(packed(with_bytecode(kept | needed)))
    (core,) = (data for name, data in msgspec.items() if name.endswith(".so"))
    (OUT / "msgspec.wasm").write_bytes(core)
    made = with_bytecode(own) | {"racewright/digests.json": json.dumps(digests).encode()}
    (OUT / "racewright.zip").write_bytes(packed(made))


main()
