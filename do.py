#!/usr/bin/env python3
"""One command for everything: `python3 do.py demo`, `python3 do.py test`, and the single steps of the latter.

Makes the project's own environment in `.venv` on first use; needs Python 3.11 or newer and git, nothing else.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
DEMO = ROOT / "examples" / "pump-house-saddle.yaml"
DEMO_OUT = ROOT / "demo-out"


def run(*args: str | Path) -> None:
    """Run one command in the project's folder; stop everything when it fails."""
    done = subprocess.run([str(a) for a in args], cwd=ROOT, check=False)
    if done.returncode:
        print(f"do.py: failed ({done.returncode}): {' '.join(str(a) for a in args)}", file=sys.stderr)
        sys.exit(done.returncode)


def ensure(*extras: str) -> None:
    """Make the environment and install the project with these extras, unless that is already done."""
    if sys.version_info < (3, 11):  # noqa: UP036 - a newcomer may start it with anything
        sys.exit("do.py: needs Python 3.11 or newer, this is " + sys.version.split()[0])
    python = BIN / ("python.exe" if os.name == "nt" else "python")
    if not python.exists():
        venv.create(VENV, with_pip=True)
    stamp = VENV / ".racewright-installed"
    digest = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    wanted = {f"{digest} {extra}" for extra in extras}
    have = set(stamp.read_text(encoding="utf-8").splitlines()) if stamp.exists() else set()
    if wanted <= have:
        return
    print(f"do.py: installing racewright[{','.join(extras)}] into .venv (once; needs the network)", file=sys.stderr)
    run(python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", f".[{','.join(extras)}]")
    stamp.write_text("\n".join(sorted(have | wanted)), encoding="utf-8")


def demo() -> None:
    """The main job on the demo run: the card in the terminal, and as PDF and SVG in demo-out/."""
    ensure("pdf")
    DEMO_OUT.mkdir(exist_ok=True)
    pdf, svg = DEMO_OUT / "card.pdf", DEMO_OUT / "card.svg"
    run(BIN / "racewright", "plan", DEMO, "--pdf", pdf, "--svg", svg)


def lint() -> None:
    """Style, formatting, types, import rules."""
    ensure("dev")
    run(BIN / "ruff", "check", ".")
    run(BIN / "ruff", "format", "--check", ".")
    run(BIN / "mypy")
    run(BIN / "lint-imports")


def browser() -> None:
    """What the page's tests need: the page's own npm packages, and a Chromium."""
    npm = shutil.which("npm")
    page = ROOT / "web-ui"
    if npm is None:
        print("do.py: no npm here, so the page's tests are left out", file=sys.stderr)
        return
    stamp = page / "node_modules" / ".racewright-installed"
    digest = hashlib.sha256((page / "package-lock.json").read_bytes()).hexdigest()
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != digest:
        print("do.py: installing the page's packages (once; needs the network)", file=sys.stderr)
        run(npm, "--prefix", page, "ci", "--no-audit", "--no-fund")
        stamp.write_text(digest, encoding="utf-8")
    if shutil.which("chromium") is None and shutil.which("apt-get") and os.geteuid() == 0:
        print("do.py: installing chromium (once; needs the network)", file=sys.stderr)
        run("apt-get", "update", "-qq")
        run("apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium")


def tests() -> None:
    """Every test, the slow outside checks and the page in a browser included."""
    ensure("dev", "oracle")
    browser()
    run(BIN / "python", "-m", "pytest", "-n", "2")


def test() -> None:
    """What CI runs: lint, then every test."""
    lint()
    tests()


def bench() -> None:
    """All benchmarks, each printing ratios within one run."""
    ensure("dev", "oracle")
    for path in sorted((ROOT / "benchmarks").glob("bench_*.py")):
        print(f"== {path.name}")
        run(BIN / "python", path)


def evidence() -> None:
    """What is held outside the tests: every program in evidence/, each stopping at a miss."""
    ensure("dev", "oracle")
    for path in sorted((ROOT / "evidence").glob("evidence_*.py")):
        print(f"== {path.name}", flush=True)
        run(BIN / "python", path)


def clean() -> None:
    """Remove the environment and what the demo wrote."""
    for path in (VENV, DEMO_OUT):
        shutil.rmtree(path, ignore_errors=True)


TASKS: dict[str, Callable[[], None]] = {
    "demo": demo,
    "test": test,
    "lint": lint,
    "tests": tests,
    "bench": bench,
    "evidence": evidence,
    "clean": clean,
}

if __name__ == "__main__":
    if len(sys.argv) != 2 or sys.argv[1] not in TASKS:
        print("usage: python3 do.py TASK, where TASK is one of:", file=sys.stderr)
        for name, task in TASKS.items():
            print(f"  {name:8} {task.__doc__}", file=sys.stderr)
        sys.exit(2)
    TASKS[sys.argv[1]]()
