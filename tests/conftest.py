"""For all tests: no deadline for one example (speed is measured in benchmarks/); `--quick` leaves out what is slow.

How long each test took is kept from run to run in pytest's cache, so `--quick` needs no list made by hand; a test that
never ran here is run. Of several workers each begins with its share of the browser's tests, which wait more than they
work, the one that took longest first: what a worker begins last should be short.
"""

from __future__ import annotations

import math
import os
import shutil
import tempfile
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from racewright.budget import RUN, Budget
from racewright.plan import pipeline
from racewright.plan import plan_run as planning
from racewright.plan.model import Plan

settings.register_profile("suite", deadline=None)
settings.load_profile("suite")

#: A folder in memory: what the tests save need not outlast the machine, and a disk at other work keeps each waiting.
MEMORY = Path("/dev/shm")
MEMORY_LEAST = 2 * 1024**3

if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > MEMORY_LEAST and not os.statvfs(MEMORY).f_flag & os.ST_NOEXEC:
    tempfile.tempdir = str(MEMORY)

#: A test that took longer than this when it last ran is none of the quick ones.
QUICK_S = 0.05
KEPT = "racewright/took_s"
_took_s: defaultdict[str, float] = defaultdict(float)


_plans: dict[Any, tuple[Plan, int]] = {}


@pytest.fixture
def plans_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """For tests of what is made of plans: a survey that was planned so in this process is not planned again. Its work
    is counted as it was."""
    plan_survey = pipeline.plan_survey

    def once(survey: Any, bender: Any, *, shop: Iterable[Any] = (), work: Budget | None = None, **asked: bool) -> Plan:
        work, shop = work or Budget(RUN), tuple(shop)
        begun = work.done
        key = (repr((survey, bender, shop)), tuple(asked.items()), work.most, begun, work.less)
        if key in _plans:
            plan, took = _plans[key]
            work.take(took)
            return plan
        plan = plan_survey(survey, bender, shop=shop, work=work, **asked)
        if not work.cut_short:
            _plans[key] = plan, work.done - begun
        return plan

    monkeypatch.setattr(planning, "plan_survey", once)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--quick", action="store_true", help=f"leave out tests that took over {QUICK_S} s last time")


def keeps(config: pytest.Config) -> bool:
    return config.pluginmanager.hasplugin("cacheprovider")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    took_s = config.cache.get(KEPT, {}) if keeps(config) and config.cache else {}
    items[:] = browsers_first(items, int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1")), took_s)
    if not config.getoption("quick") or not keeps(config):
        return
    slow = [item for item in items if took_s.get(item.nodeid, 0.0) > QUICK_S]
    config.hook.pytest_deselected(items=slow)
    items[:] = [item for item in items if took_s.get(item.nodeid, 0.0) <= QUICK_S]


def browsers_first(items: list[pytest.Item], workers: int, took_s: dict[str, float]) -> list[pytest.Item]:
    """In as many parts as there are workers, as `--dist worksteal` gives them out: the browser's, then the others. The
    browser's go by the seconds that they took when they last ran here; those that never did come first."""
    in_browser = [item for item in items if "browser" in item.path.parts[-2:]]
    in_browser.sort(key=lambda item: -took_s.get(item.nodeid, math.inf))
    others = [item for item in items if "browser" not in item.path.parts[-2:]]
    out: list[pytest.Item] = []
    for worker in range(workers):
        out += in_browser[worker::workers]
        room = len(items) * (worker + 1) // workers - len(out)
        out += others[:room]
        del others[:room]
    return out


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _took_s[report.nodeid] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    config = session.config
    if hasattr(config, "workerinput") or not keeps(config):
        return  # the workers of xdist report to the one process that keeps
    if config.cache:
        config.cache.set(KEPT, config.cache.get(KEPT, {}) | _took_s)
