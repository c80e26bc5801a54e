"""Build the page and put it where the package carries it: src/racewright/web/site/. Needs node 20.19 or later.

  python web-ui/scripts/build_page.py            everything
  python web-ui/scripts/build_page.py --gather   only the browser's Python into web-ui/public/engine (for `npm run dev`)
  python web-ui/scripts/build_page.py --check    exit 1 where the kept page is not that of the sources; changes nothing

Everything that the page loads comes along: the interpreter from npm, msgspec's wasm wheel from PyPI, and Racewright's
own engine, all Python of it compiled ahead (compile_engine.py), so that a phone need not. Large files are kept as .gz.
Build the page after a change of the engine too: a file that is newer than the page is compiled by the phone.
"""

from __future__ import annotations

import filecmp
import gzip
import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

WEB_UI = Path(__file__).resolve().parents[1]
SITE = WEB_UI.parent / "src" / "racewright" / "web" / "site"
ENGINE = WEB_UI / "public" / "engine"
sys.path.insert(0, str(WEB_UI.parent / "src"))

from racewright.web.site_files import engine_sources  # noqa: E402 - of this checkout, whatever is installed

WHEEL = "msgspec==0.22.0"
WHEEL_SHA256 = "a66b1766311e42371e509c996c3933b161c7ae0eabdf361af5316dec197e1022"
FROM_NPM = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm")
COMPILED = ("python_stdlib.zip", "msgspec.wasm", "racewright.zip")
PACKED = ("pyodide.asm.mjs", "pyodide.asm.wasm", "msgspec.wasm")


def run(*command: str) -> None:
    """Run a command in web-ui/, or stop."""
    subprocess.run(command, cwd=WEB_UI, check=True)


def gather() -> None:
    """The interpreter, its library, msgspec and the engine into public/engine."""
    shutil.rmtree(ENGINE, ignore_errors=True)
    ENGINE.mkdir(parents=True)
    npm = WEB_UI / "node_modules" / "pyodide"
    for name in FROM_NPM:
        shutil.copyfile(npm / name, ENGINE / name)
    lock = json.loads((npm / "pyodide-lock.json").read_text(encoding="utf-8"))
    lock["packages"] = {}  # nothing is ever loaded from elsewhere
    (ENGINE / "pyodide-lock.json").write_text(json.dumps(lock), encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        raw, made = Path(folder) / "raw", Path(folder) / "made"
        made.mkdir()
        for name, data in engine_sources().items():
            (raw / name).parent.mkdir(parents=True, exist_ok=True)
            (raw / name).write_bytes(data)
        shutil.copyfile(npm / "python_stdlib.zip", raw / "python_stdlib.zip")
        (raw / "msgspec.whl").write_bytes(wheel())
        run("node", "scripts/compile_engine.mjs", str(raw), str(made))
        for name in COMPILED:
            shutil.copyfile(made / name, ENGINE / name)


def wheel() -> bytes:
    """msgspec for the browser's interpreter."""
    with tempfile.TemporaryDirectory() as folder:
        tags = ("--python-version", "3.14", "--implementation", "cp", "--abi", "cp314")
        platform = ("--platform", "pyemscripten_2026_0_wasm32", "--only-binary=:all:", "--no-deps")
        run(sys.executable, "-m", "pip", "download", "-q", WHEEL, *tags, *platform, "-d", folder)
        raw = next(Path(folder).glob("msgspec-*.whl")).read_bytes()
    digest = hashlib.sha256(raw).hexdigest()
    if digest != WHEEL_SHA256:
        raise SystemExit(f"the wheel of {WHEEL} has another sha256 than expected: {digest}")
    return raw


def notices() -> None:
    """The license text of every part of others: from the packages, and from licenses/ what they do not bring along."""
    texts = [f"{name}\n\n{(WEB_UI / 'node_modules' / name / 'LICENSE').read_text()}" for name in ("preact", "three")]
    vite = (WEB_UI / "node_modules" / "vite" / "LICENSE.md").read_text().partition("# Licenses of bundled")[0]
    texts.append(f"vite, whose loader of parts is in the built page\n\n{vite}")
    with zipfile.ZipFile(ENGINE / "python_stdlib.zip") as library:
        name = next(n for n in library.namelist() if n.startswith("msgspec-") and n.endswith("/LICENSE"))
        texts.append(f"msgspec\n\n{library.read(name).decode()}")
    texts += [path.read_text(encoding="utf-8") for path in sorted((WEB_UI / "licenses").glob("*.txt"))]
    own = (WEB_UI.parent / "LICENSE").read_text(encoding="utf-8")
    head = "The page carries these works of others, each under its own license, which follows:\n\n"
    head += "".join(f"- {text.partition(chr(10))[0]}\n" for text in texts)
    head += "\nThey are unchanged, but for this: the Python files of CPython's library, of Pyodide and of msgspec\n"
    head += "are carried compiled, most of them without docstrings, and of the library only those that are needed.\n"
    rule = f"\n{'=' * 80}\n"
    whole = rule.join([f"Racewright\n\n{own}", head, *texts])
    (WEB_UI / "public" / "notices.txt").write_text(whole, encoding="utf-8")


def icons() -> None:
    """PNG icons from the drawing."""
    import resvg_py

    svg = (WEB_UI / "public" / "icon.svg").read_text(encoding="utf-8")
    for size in (192, 512):
        png = bytes(resvg_py.svg_to_bytes(svg_string=svg, width=size, height=size))
        (WEB_UI / "public" / f"icon-{size}.png").write_bytes(png)


def fill(new: Path) -> None:
    """The built files into the folder `new`, large ones packed."""
    for path in sorted((WEB_UI / "dist").rglob("*")):
        if not path.is_file():
            continue
        target = new / path.relative_to(WEB_UI / "dist")
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.name in PACKED:
            target.with_name(target.name + ".gz").write_bytes(gzip.compress(path.read_bytes(), 9, mtime=0))
        else:
            shutil.copyfile(path, target)


def same() -> bool:
    """Whether the kept page is the one just built, file for file."""
    with tempfile.TemporaryDirectory() as folder:
        built = Path(folder)
        fill(built)
        names = [sorted(p.relative_to(top) for p in top.rglob("*") if p.is_file()) for top in (built, SITE)]
        return names[0] == names[1] and all(filecmp.cmp(built / n, SITE / n, shallow=False) for n in names[0])


def place() -> None:
    """The built files into the package: a new folder beside the old one, then changed over."""
    new, old = SITE.with_name("site.new"), SITE.with_name("site.old")
    for left_over in (new, old):
        shutil.rmtree(left_over, ignore_errors=True)
    fill(new)
    if SITE.exists():
        SITE.rename(old)
    new.rename(SITE)
    shutil.rmtree(old, ignore_errors=True)
    size = sum(p.stat().st_size for p in SITE.rglob("*") if p.is_file())
    print(f"{SITE.relative_to(WEB_UI.parent)}: {size / 1e6:.1f} MB")


def main() -> None:
    """Gather, check, build, place."""
    if not (WEB_UI / "node_modules").is_dir():
        run("npm", "ci", "--no-audit", "--no-fund")
    gather()
    if "--gather" in sys.argv[1:]:
        return
    icons()
    notices()
    run(sys.executable, "scripts/make_types.py")
    run(sys.executable, "scripts/make_forms.py")
    run("npm", "run", "--silent", "build")
    if "--check" in sys.argv[1:]:
        raise SystemExit(0 if same() else "the built page is not that of its sources: build it anew and commit it")
    place()


if __name__ == "__main__":
    main()
