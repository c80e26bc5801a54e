"""The page in a real browser: node runs each file of this folder with playwright-core and the system's Chromium, one of
them in Firefox and WebKit too.

Skipped where node, `npm ci` in web-ui/, a browser or the server's libraries are missing; with CI set, failed.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
CHROMIUMS = ("chromium-headless-shell", "chromium", "chromium-browser")
#: What works most first, then the largest, where they never ran here; `browsers_first` knows how long each took.
LONGEST = (
    *("engines", "offline", "conflict", "measure", "bench", "check", "together", "browsers", "desk-axe", "sharing"),
    *("screens", "desk", "desk-lists", "reach", "desk-long", "records"),
)
PATHS = {path.name.removesuffix(".test.mjs"): path for path in HERE.glob("*.test.mjs")}
FILES = [PATHS[name].name for name in LONGEST] + [
    path.name
    for name, path in sorted(PATHS.items(), key=lambda one: (-one[1].stat().st_size, one[0]))
    if name not in LONGEST
]


def missing(name: str) -> str:
    """What is missing for the tests of this file, or ''."""
    if shutil.which("node") is None:
        return "node"
    if not (ROOT / "web-ui" / "node_modules" / "playwright-core").is_dir():
        return "web-ui/node_modules (npm ci)"
    if not (os.environ.get("CHROMIUM") or any(map(shutil.which, CHROMIUMS))):
        return "chromium"
    if importlib.util.find_spec("starlette") is None or importlib.util.find_spec("uvicorn") is None:
        return "the web extra"
    if shutil.which("certutil") is None or importlib.util.find_spec("cryptography") is None:
        return "certutil (libnss3-tools) and the https extra"
    if name == "browsers.test.mjs":
        return ", ".join(one for one in ("firefox-esr", "WebKitWebDriver", "Xvfb") if shutil.which(one) is None)
    return ""


@pytest.mark.parametrize("name", FILES)
def test_in_the_browser(name: str) -> None:
    lacking = missing(name)
    if lacking and os.environ.get("CI"):
        pytest.fail(f"browser tests need {lacking}, and nothing is skipped here")
    if lacking:
        pytest.skip(f"browser tests need {lacking}")
    done = subprocess.run(
        ["node", "--test", "--test-timeout=900000", "--test-force-exit", "--test-reporter=spec", str(HERE / name)],
        env=os.environ | {"RACEWRIGHT_PYTHON": sys.executable},
        capture_output=True,
        text=True,
        timeout=1800,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
