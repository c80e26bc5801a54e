"""Changes the engine wrongly, one place at a time, and sees whether a test minds: `python3 do.py mutate`.

A change that no test minds lives: either nothing that a person gets depends on it, or a test is missing.
`docs/mutants.md` says how to read the outcome, and lists what may live, with the reason.

Each change is made in a copy of the project, in a process of its own that starts with the test tools loaded, and is
held to the tests that call the changed function, the quickest first, until one fails or `BUDGET_S` is used up.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import re
import shutil
import signal
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from changes import Change, changes
from reach import Reach, Reached, digest, read

ROOT = Path(__file__).resolve().parent.parent
LIST = ROOT / "docs" / "mutants.md"
KEPT = ROOT / ".mutants-reach.json"
PACKAGE = Path("src") / "racewright"
#: The folders that a person's figures go through.
FIGURES = ["survey", "route", "bends", "marks", "sequence", "sticks"]
FIGURES += ["tools", "fit", "plan", "assembly", "inspection", "wires", "units", "geometry"]
#: Those that say what of a job is bent, cut, labeled, left out.
JOBS = ["records", "job"]
SEED = "racewright"
#: So many changes are drawn of each.
SAMPLE = {tuple(FIGURES): 180, tuple(JOBS): 60}
#: The others that are installed take longer to load than most changes take to die.
PLUGINS = ["-p", "no:cacheprovider", "-p", "_hypothesis_pytestplugin"]
NEAR, SAID = 4, "said.txt"
#: CPU seconds of tests for one change, as they took when they were last recorded, and of the whole process.
BUDGET_S, STOP_S = 20, 60
TESTS = ["tests/unit", "tests/properties", "tests/regression", "tests/validation"]
#: Stores, servers, paper and files: what these hold of a figure, others hold nearer to it and sooner.
LEFT_OUT = "bill_commands bill_files cad_kernel card_pages claims clean_terminal cutting* docs doors drawing_scene"
LEFT_OUT += " dxf_audit export* figures device_room gltf* ifc* job_back* job_command job_damage job_met job_protocol*"
LEFT_OUT += " job_store* licenses mutants output_file own_tools pack_* runs_folder served_* server_kill shop_*"
LEFT_OUT += " shown_commands spoilt_texts web_* work_is_bounded"
COPIED = ["src", "tests", "docs", "examples", "evidence", "benchmarks", "web-ui/src", "web-ui/package.json"]
COPIED += ["pyproject.toml", "README.md", "ARCHITECTURE.md", "CHANGELOG.md", "CONTRIBUTING.md", "LICENSE", "do.py"]


@dataclass
class Outcome:
    """What became of one change: the test that failed; "" where none did."""

    change: Change
    by: str
    tried: int
    left: int
    """Tests that call the function and no longer fitted into the budget."""

    @property
    def lives(self) -> bool:
        """Whether no test failed."""
        return not self.by


@dataclass
class FirstFailure:
    """A pytest plugin that writes down which test failed first."""

    into: Path
    said: list[str] = field(default_factory=list)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Write the first one down."""
        if report.failed and not self.said:
            self.said.append(report.nodeid)
            self.into.write_text(report.nodeid, encoding="utf-8")


def copied(to: Path) -> Path:
    """A copy of the project in which sources may be spoilt."""
    for name in COPIED:
        source, target = ROOT / name, to / name
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
        else:
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, target)
    return to


def every_change(folders: list[str]) -> list[Change]:
    """All changes of these folders."""
    found = []
    for folder in folders:
        for path in sorted((ROOT / PACKAGE / folder).rglob("*.py")):
            found += changes(path.relative_to(ROOT / PACKAGE).as_posix(), path.read_bytes())
    return found


def sampled(found: list[Change], count: int) -> list[Change]:
    """`count` of them, of each kind in turn, by a number from seed and name: a change elsewhere draws no others."""
    drawn = sorted(found, key=lambda one: hashlib.sha256(f"{SEED} {one.key}".encode()).digest())
    place: dict[str, int] = defaultdict(int)
    ranked: list[tuple[int, int, Change]] = []
    for one in drawn:
        ranked.append((place[one.kind], len(ranked), one))
        place[one.kind] += 1
    return [one for _, _, one in sorted(ranked)[:count]]


def tests_of(change: Change, reached: Reached) -> tuple[list[str], int]:
    """The tests that call the changed function, the quickest first, within the budget; how many were left over.

    What runs at import alone (constants, the bodies of classes) is called by none: then those that call its file.
    """
    whole, file = f"{change.path} {change.within}", f"{change.path} "
    of_function, of_file = [], []
    for record in reached.values():
        for test, (took_s, names) in record["tests"].items():
            if whole in names:
                of_function.append((took_s, test))
            if any(name.startswith(file) for name in names):
                of_file.append((took_s, test))
    calling = sorted(of_function or of_file)
    chosen: list[str] = []
    spent_s = 0.0
    for took_s, test in calling:
        spent_s += took_s
        if spent_s > BUDGET_S and chosen:
            break
        chosen.append(test)
    return chosen, len(calling) - len(chosen)


def in_turn(tests: list[str]) -> list[list[str]]:
    """First the tests of the few files where the quickest stand, then the others: most changes need no more loaded."""
    near = list(dict.fromkeys(test.partition("::")[0] for test in tests))[:NEAR]
    first = [test for test in tests if test.partition("::")[0] in near]
    return [some for some in (first, [test for test in tests if test not in set(first)]) if some]


def in_a_child(copy: Path, arguments: list[str], plugins: list[object], limit_s: int) -> int:
    """Run pytest in a forked process on the copy; its exit code, or minus the signal that ended it."""
    import resource  # not on Windows, where the changes can still be listed

    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        code = 3
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s + 5))
            os.chdir(copy)
            sys.path[:0] = [str(copy), str(copy / "src")]
            os.environ |= {"PYTHONPATH": str(copy / "src"), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
            said = os.open(copy / SAID, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(said, 1)
            os.dup2(said, 2)
            code = int(pytest.main([*PLUGINS, "--hypothesis-seed=1", *arguments], plugins))
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def record_reach(copy: Path) -> Reached:
    """What each test calls; only files of tests that changed since they were last run are run."""
    reached = read(KEPT)
    wanted = [path for tests in TESTS for path in sorted((copy / tests).glob("test_*.py"))]
    wanted = [path for path in wanted if not any(path.match(f"test_{left_out}.py") for left_out in LEFT_OUT.split())]
    known = {file: record["digest"] for file, record in reached.items()}
    names = [path.relative_to(copy).as_posix() for path in wanted]
    new = [name for name in names if known.get(name) != digest(copy / name)]
    if new:
        print(f"recording what the tests of {len(new)} files call", flush=True)
        if in_a_child(copy, new, [Reach(KEPT, copy / PACKAGE, copy)], 7200) not in (0, 1):
            sys.exit((copy / SAID).read_text(encoding="utf-8")[-2000:])
    reached = read(KEPT)
    return {name: reached[name] for name in names if name in reached}


def noticed(copy: Path, change: Change, reached: Reached, sound: dict[str, bool]) -> Outcome:
    """As `tried`, by a test that passes where nothing is changed; `sound` keeps which of them do."""
    while True:
        outcome = tried(copy, change, reached)
        if "::" not in outcome.by:
            return outcome
        if outcome.by not in sound:
            sound[outcome.by] = in_a_child(copy, [outcome.by], [], STOP_S) == 0
        if sound[outcome.by]:
            return outcome
        print(f"    left out, for it fails with nothing changed: {outcome.by}")
        del reached[outcome.by.partition("::")[0]]["tests"][outcome.by]


def tried(copy: Path, change: Change, reached: Reached) -> Outcome:
    """Make the change in the copy, run its tests, take it back."""
    tests, left = tests_of(change, reached)
    if not tests:
        return Outcome(change, "", 0, 0)
    path, said = copy / PACKAGE / change.path, copy / "failed.txt"
    sound, stood, code = path.read_bytes(), path.stat(), 0
    said.unlink(missing_ok=True)
    try:
        path.write_bytes(change.made(sound))
        os.utime(path, (change.start, change.start))  # a time of its own, so that no compiled file of another is taken
        for some in in_turn(tests):
            code = in_a_child(copy, ["-x", *some], [FirstFailure(said)], STOP_S)
            if code != 0:
                break
    finally:
        path.write_bytes(sound)
        os.utime(path, (stood.st_atime, stood.st_mtime))
    by = said.read_text(encoding="utf-8") if said.exists() else ""
    if code == -signal.SIGXCPU or code == -signal.SIGKILL:
        by = by or "(it did not end)"
    elif code == pytest.ExitCode.USAGE_ERROR and not all((copy / test.partition("::")[0]).exists() for test in tests):
        sys.exit(f"{change.key}: its tests are not there\n{(copy / SAID).read_text(encoding='utf-8')[-2000:]}")
    elif code != 0:
        by = by or "(it cannot be loaded)"
    return Outcome(change, by, len(tests), left)


def listed() -> dict[str, str]:
    """What may live, by name, with its reason: the rows of the table in docs/mutants.md."""
    table = LIST.read_text(encoding="utf-8").partition("## What may live")[2]
    rows = re.findall(r"^\| `(.+?)` \| (.+?) \|$", table, re.MULTILINE)
    return {name.replace("\\|", "|"): reason for name, reason in rows}


def main() -> int:
    """Draw, try, tell; the exit code."""
    say = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    say.add_argument("--folder", action="append", help="of this folder alone; may be given again")
    say.add_argument("--only", action="append", help="all changes whose name holds this text; may be given again")
    say.add_argument("--from", type=int, default=0, dest="begin", help="go on at this one of the sample")
    say.add_argument("--show", action="store_true", help="list the sample and run nothing")
    asked = say.parse_args()
    drawn, found = [], []
    for folders, count in SAMPLE.items():
        every = every_change(list(folders))
        drawn += sampled(every, count)
        found += every
    chosen = [one for one in found if any(text in one.key for text in asked.only or ())] or drawn
    chosen = [one for one in chosen if not asked.folder or one.path.partition("/")[0] in asked.folder][asked.begin :]
    may_live = listed()
    if asked.show:
        print("\n".join(f"{one.key}  [{one.kind}, line {one.line}]" for one in chosen))
        return 0
    lived, began = [], time.monotonic()
    sound: dict[str, bool] = {}
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder).resolve())
        reached = record_reach(copy)
        for i, change in enumerate(chosen):
            outcome = noticed(copy, change, reached, sound)
            left = f", {outcome.left} more not run" if outcome.left else ""
            fate = f"LIVES after {outcome.tried} tests{left}" if outcome.lives else f"dies by {outcome.by}"
            print(f"{i + asked.begin:3} {change.key}  (line {change.line}): {fate}", flush=True)
            lived += [outcome] if outcome.lives else []
    return told(lived, len(chosen), may_live, time.monotonic() - began)


def told(lived: list[Outcome], count: int, may_live: dict[str, str], took_s: float) -> int:
    """Say what lives; 1 where more than a tenth of what matters does."""
    matter = [one for one in lived if one.change.key not in may_live]
    held = count - (len(lived) - len(matter))
    print(
        f"\n{count} changes in {took_s / 60:.0f} min: {count - len(lived)} died, {len(lived)} live, of which"
        f" {len(lived) - len(matter)} may (docs/mutants.md). Of the {held} that matter {len(matter)} live:"
        f" {100 * len(matter) / max(held, 1):.1f} %."
    )
    for outcome in matter:
        print(f"  {outcome.change.key}  (line {outcome.change.line})")
    return 1 if len(matter) > held / 10 else 0


if __name__ == "__main__":
    import hypothesis  # noqa: F401 - loaded once, before the processes part
    import msgspec  # noqa: F401
    import yaml  # noqa: F401

    sys.exit(main())
