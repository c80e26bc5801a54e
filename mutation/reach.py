"""A pytest plugin: which functions of the package each test calls, and how long it takes."""

from __future__ import annotations

import hashlib
import json
import signal
import sys
import threading
import time
from collections.abc import Generator
from pathlib import Path
from types import CodeType, FrameType

import pytest

#: {file of tests: {"digest": ..., "tests": {test's id: [CPU seconds, ["file function", ...]]}}}
Reached = dict[str, dict]  # type: ignore[type-arg]


#: CPU seconds, traced: a longer test has no place in the budget of one change.
LONGEST_S = 8.0


class TooLong(BaseException):
    """Raised within a test that took too long."""


def _too_long(number: int, frame: FrameType | None) -> None:
    raise TooLong


def digest(path: Path) -> str:
    """By which a file of tests is known to be the one that was run."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def read(kept: Path) -> Reached:
    """What earlier runs kept."""
    return json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}


def forget() -> None:
    """Empty what the package's functions keep of earlier calls: a test calls them even where another did before it."""
    for name, module in list(sys.modules.items()):
        if name.startswith("racewright."):
            for kept in list(vars(module).values()):
                if callable(getattr(kept, "cache_clear", None)):
                    kept.cache_clear()


class Reach:
    """Keeps a record of each file of tests, written when that file is through: a run that is stopped goes on there.

    A test that does not pass, uses up `LONGEST_S`, or is named after the folder it runs in, is left out.
    """

    def __init__(self, kept: Path, package: Path, root: Path) -> None:
        self.kept, self.package, self.root = kept, f"{package}/", root
        self.files = read(kept)
        self.tests: dict[str, list[object]] = {}
        self.called: set[CodeType] = set()
        self.failed: set[str] = set()

    def _call(self, frame: FrameType, event: str, arg: object) -> None:
        self.called.add(frame.f_code)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(
        self, item: pytest.Item, nextitem: pytest.Item | None
    ) -> Generator[None, object, object]:
        """Trace one test."""
        forget()
        self.called = set()
        began = time.process_time()
        threading.settrace(self._call)
        sys.settrace(self._call)
        signal.signal(signal.SIGPROF, _too_long)
        signal.setitimer(signal.ITIMER_PROF, LONGEST_S)
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
            sys.settrace(None)
            threading.settrace(None)
            self._keep(item, time.process_time() - began)
            if nextitem is None or nextitem.path != item.path:
                self._written(item)

    def _keep(self, item: pytest.Item, took_s: float) -> None:
        names = {
            f"{code.co_filename.removeprefix(self.package)} {code.co_qualname.replace('.<locals>', '')}"
            for code in self.called
            if code.co_filename.startswith(self.package)
        }
        if item.nodeid not in self.failed and str(self.root) not in item.nodeid:
            self.tests[item.nodeid] = [round(took_s, 3), sorted(names)]

    def _written(self, item: pytest.Item) -> None:
        file = item.nodeid.partition("::")[0]
        self.files[file] = {"digest": digest(self.root / file), "tests": self.tests}
        self.tests = {}
        self.kept.write_text(json.dumps(self.files), encoding="utf-8")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember what did not pass."""
        if not report.passed:
            self.failed.add(report.nodeid)
