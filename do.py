#!/usr/bin/env python3
"""One command for everything: `python3 do.py demo`, `python3 do.py test`, and the single steps of the latter.

Makes the project's own environment in `.venv` on first use; needs Python 3.11 or newer, git, and node for the page.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
import venv
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
LOCK = ROOT / "constraints.txt"
PAGE = ROOT / "web-ui"
BUILD_PAGE = PAGE / "scripts" / "build_page.py"
NODE = (20, 19)
DEMO = ROOT / "examples" / "pump-house-saddle.yaml"
DEMO_OUT = ROOT / "demo-out"


def stop(why: str) -> NoReturn:
    """Say why on standard error and end with 1."""
    print(f"do.py: {why}", file=sys.stderr)
    sys.exit(1)


def run(*args: str | Path) -> None:
    """Run one command in the project's folder; stop everything when it fails."""
    done = subprocess.run([str(a) for a in args], cwd=ROOT, check=False)
    if done.returncode:
        stop(f"failed ({done.returncode}): {' '.join(str(a) for a in args)}")


def at_once(*tasks: Callable[[], object]) -> None:
    """Do these beside each other; the first that stops stops everything, once the others are through."""
    with ThreadPoolExecutor(len(tasks)) as threads:
        started = [threads.submit(task) for task in tasks]
    for one in started:
        one.result()


def fresh(stamp: Path, wanted: set[str], *sources: Path) -> bool:
    """Whether `stamp` says that what is `wanted` was installed from these very sources."""
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()
    have = stamp.read_text(encoding="utf-8").splitlines() if stamp.exists() else []
    return have[:1] == [digest] and wanted <= set(have[1:])


def note(stamp: Path, done: set[str], *sources: Path) -> None:
    """Write down that `done` was installed from these sources, beside what they gave before."""
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()
    have = stamp.read_text(encoding="utf-8").splitlines() if stamp.exists() else []
    kept = set(have[1:]) if have[:1] == [digest] else set()
    stamp.write_text("\n".join([digest, *sorted(kept | done)]), encoding="utf-8")


def ensure(*extras: str, locked: bool = True) -> None:
    """Make the environment and install the project with these extras, unless that is already done."""
    if sys.version_info < (3, 11):  # noqa: UP036 - a newcomer may start it with anything
        sys.exit("do.py: needs Python 3.11 or newer, this is " + sys.version.split()[0])
    if not PYTHON.exists():
        venv.create(VENV, with_pip=True)
    stamp, sources = VENV / ".racewright-installed", (ROOT / "pyproject.toml", LOCK)
    if fresh(stamp, set(extras), *sources):
        return
    print(f"do.py: installing racewright[{','.join(extras)}] into .venv (once; needs the network)", file=sys.stderr)
    pins = ("-c", LOCK) if locked else ()
    pip = (PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    run(*pip, *pins, "--no-compile", "-e", f".[{','.join(extras)}]")  # what is used of them compiles itself
    note(stamp, set(extras), *sources)


def demo() -> None:
    """The main job on the demo run: the card in the terminal, and as PDF and SVG in demo-out/."""
    ensure("pdf")
    DEMO_OUT.mkdir(exist_ok=True)
    pdf, svg = DEMO_OUT / "card.pdf", DEMO_OUT / "card.svg"
    run(BIN / "racewright", "plan", DEMO, "--pdf", pdf, "--svg", svg)


def page_tools() -> str | None:
    """npm, the page's packages installed; None, said aloud, without node (which is an error with CI set)."""
    node, npm = shutil.which("node"), shutil.which("npm")
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout if node else ""
    version = tuple(int(part) for part in said.strip().lstrip("v").split(".")[:2] if part.isdigit())
    if npm is None or version < NODE:
        lacking = f"the page's checks need npm and node {NODE[0]}.{NODE[1]} or newer"
        if os.environ.get("CI"):
            stop(f"{lacking}, and nothing is skipped here")
        print(f"do.py: {lacking}: left out", file=sys.stderr)
        return None
    stamp, source = PAGE / "node_modules" / ".racewright-installed", PAGE / "package-lock.json"
    if not fresh(stamp, set(), source):
        print("do.py: installing the page's packages (once; needs the network)", file=sys.stderr)
        run(npm, "--prefix", PAGE, "ci", "--no-audit", "--no-fund")
        note(stamp, set(), source)
    return npm


def page(*scripts: str) -> None:
    """Run scripts of web-ui/package.json, where there is node."""
    npm = page_tools()
    for script in scripts if npm else ():
        run(npm or "npm", "--prefix", PAGE, "run", "--silent", script)


def browsers() -> None:
    """The browsers for the page's tests, and what tells Chromium whom to trust, where this may install them."""
    wanted = {
        "chromium": "chromium",
        "certutil": "libnss3-tools",
        "firefox-esr": "firefox-esr",
        "WebKitWebDriver": "webkit2gtk-driver",
        "Xvfb": "xvfb",
    }
    lacking = [package for command, package in wanted.items() if shutil.which(command) is None]
    if not shutil.which("apt-get") or os.geteuid() != 0:
        return
    if lacking:
        print(f"do.py: installing {', '.join(lacking)} (once; needs the network)", file=sys.stderr)
        run("apt-get", "update", "-qq")
        run("apt-get", "install", "-y", "-qq", "--no-install-recommends", *lacking)
    if not os.environ.get("CHROMIUM") and shutil.which("chromium-headless-shell") is None:
        lighter_browser(is_listed=bool(lacking))


def lighter_browser(*, is_listed: bool) -> None:
    """Chromium without its windows: the same pages for a third less work. The tests do without it where this fails."""
    print("do.py: installing chromium-headless-shell (once; the tests take less time with it)", file=sys.stderr)
    install = ("install", "-y", "--no-install-recommends", "--no-remove", "chromium-headless-shell")
    for args in (install,) if is_listed else (("update",), install):
        soon = ("-o", "Acquire::Retries=0", "-o", "Acquire::http::Timeout=20")
        subprocess.run(("apt-get", "-qq", *soon, *args), stdout=subprocess.DEVNULL, check=False)


def python_lint() -> None:
    """Style, formatting, types and import rules of Python."""
    run(BIN / "ruff", "check", ".")
    run(BIN / "ruff", "format", "--check", ".")
    run(BIN / "mypy")
    run(BIN / "lint-imports")


def lint() -> None:
    """Style, formatting, types and import rules, of Python and of the page."""
    ensure("dev")
    python_lint()
    page("lint", "types")


def fix() -> None:
    """Mend what ruff can mend, and format."""
    ensure("dev")
    run(BIN / "ruff", "check", "--fix", ".")
    run(BIN / "ruff", "format", ".")


def quick() -> None:
    """For every save: lint, the page's unit tests, and the unit tests that were quick when they last ran."""
    lint()
    page("unit")
    run(PYTHON, "-m", "pytest", "tests/unit", "--quick", "--failed-first", "-n", "2", "--dist", "worksteal")


def built_page() -> None:
    """That the built page is its source's; the browsers for its tests."""
    if page_tools():
        run(PYTHON, BUILD_PAGE, "--check")
        browsers()


def install(*scripts: str) -> None:
    """What lint and all tests need, from two places that keep one waiting; page scripts that ask no Python."""
    at_once(lambda: ensure("dev", "oracle"), lambda: page(*scripts))


def every_test() -> None:
    """Those of Python, and with them those of the page in browsers, which wait much."""
    run(PYTHON, "-m", "pytest", "-n", str((os.cpu_count() or 2) + 1), "--dist", "worksteal")


def tests() -> None:
    """Every test, the slow outside checks and the page in a browser included; the built page is its source's."""
    install("unit")
    built_page()
    every_test()


def test() -> None:
    """What CI runs: lint, then every test."""
    install("lint", "types", "unit")
    at_once(python_lint, built_page)
    every_test()


def lock() -> None:
    """Renew constraints.txt: the newest of everything that pyproject.toml allows, for Python 3.11 and later."""
    ensure("lock", locked=False)
    scope = ("--universal", "--python-version", "3.11", "--all-extras", "--upgrade")
    plain = ("--no-header", "--no-annotate", "--no-emit-index-url", "--quiet")
    run(BIN / "uv", "pip", "compile", *scope, *plain, "pyproject.toml", "-o", LOCK)


def hooks() -> None:
    """Let git run `do.py lint` before a commit and `do.py quick` before a push."""
    ensure("dev")
    run(BIN / "pre-commit", "install", "-t", "pre-commit", "-t", "pre-push")


def dev() -> None:
    """The page while you work on it: http://127.0.0.1:5173/, made anew as its source or the engine's changes."""
    ensure("dev")
    npm = page_tools()
    if npm is None:
        sys.exit(1)
    run(PYTHON, BUILD_PAGE, "--gather")
    page_server = subprocess.Popen([npm, "--prefix", str(PAGE), "run", "dev"], cwd=ROOT)
    engine, seen = None, 0.0
    try:
        while page_server.poll() is None:
            newest = max(path.stat().st_mtime for path in (ROOT / "src").rglob("*.py"))
            if newest > seen:
                if engine:
                    engine.terminate()
                    engine.wait()
                engine, seen = subprocess.Popen([str(BIN / "racewright"), "serve"], cwd=ROOT), newest
            time.sleep(0.5)
    except KeyboardInterrupt:
        pass
    finally:
        for process in (engine, page_server):
            if process:
                process.terminate()
                process.wait()


def bench() -> None:
    """All benchmarks, each printing ratios within one run."""
    ensure("dev", "oracle")
    for path in sorted((ROOT / "benchmarks").glob("bench_*.py")):
        print(f"== {path.name}")
        run(PYTHON, path)


def evidence() -> None:
    """What is held outside the tests: every program in evidence/, each stopping at a miss."""
    ensure("dev", "oracle")
    for path in sorted((ROOT / "evidence").glob("evidence_*.py")):
        print(f"== {path.name}", flush=True)
        run(PYTHON, path)


def mutate() -> None:
    """Change the engine wrongly at a fixed sample of places; at most a tenth of what matters may go unnoticed."""
    ensure("dev")
    run(PYTHON, ROOT / "mutation" / "mutate.py")


def clean() -> None:
    """Remove the environment and what the demo wrote."""
    for path in (VENV, DEMO_OUT):
        shutil.rmtree(path, ignore_errors=True)


TASKS: dict[str, Callable[[], None]] = {
    task.__name__: task
    for task in (demo, test, quick, dev, lint, fix, tests, bench, evidence, mutate, lock, hooks, clean)
}

if __name__ == "__main__":
    if len(sys.argv) != 2 or sys.argv[1] not in TASKS:
        print("usage: python3 do.py TASK, where TASK is one of:", file=sys.stderr)
        for name, task in TASKS.items():
            print(f"  {name:8} {task.__doc__}", file=sys.stderr)
        sys.exit(2)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # else each of a thousand programs compiles all that it imports
    TASKS[sys.argv[1]]()
