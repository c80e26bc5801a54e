"""The program that changes the engine wrongly: each change is one slip at one place, named for a list to hold it."""

from pathlib import Path

import pytest

import mutate
from changes import changes

SOURCE = '''"""A module of figures."""
LEAST_MM = 40.0


def room(a: float, b: float = 2.0, *, spare_mm: float = 0.0) -> float:
    """Words 1 + 1 are left alone."""
    found = []
    found.append(max(a, -b))
    if len(found) > 1 and not a:
        raise ValueError(f"{a + b}", 7)
    found[0] -= spare_mm
    return place(a, b, spare_mm=spare_mm) if a < b else LEAST_MM * a
'''


def test_each_kind_of_slip_is_made_at_its_place() -> None:
    made = {one.key: one.made(SOURCE.encode()).decode() for one in changes("room.py", SOURCE.encode())}
    lines = {
        "room.py (module): 40.0 -> 44.0": "LEAST_MM = (44.0)",
        "room.py room: max(a, -b) -> min(a, -b)": "    found.append((min(a, -b)))",
        "room.py room: -b -> b": "    found.append(max(a, (b)))",
        "room.py room: found.append(max(a, -b)) -> pass": "    pass",
        "room.py room: len(found) > 1 -> len(found) <= 1": "    if (len(found) <= 1) and not a:",
        "room.py room: len(found) > 1 -> len(found) >= 1": "    if (len(found) >= 1) and not a:",
        "room.py room: len(found) > 1 and (not a) -> len(found) > 1 or not a": "    if (len(found) > 1 or not a):",
        "room.py room: not a -> a": "    if len(found) > 1 and (a):",
        "room.py room: found[0] -= spare_mm -> found[0] += spare_mm": "    found[0] += spare_mm",
        "room.py room: place(a, b, ...) -> place(b, a, ...)": "(place(b, a, spare_mm=spare_mm)) if a < b",
        "room.py room: place(..., spare_mm=spare_mm) -> it left out": "return (place(a, b)) if a < b",
        "room.py room: a < b -> a >= b": "if (a >= b) else",
        "room.py room: LEAST_MM * a -> LEAST_MM / a": "else (LEAST_MM / a)",
    }
    for key, line in lines.items():
        assert line in made[key], key
        kept = [text for text in SOURCE.splitlines() if text not in made[key].splitlines()]
        assert len(kept) == 1, key
    assert "1 + 1" not in "".join(made)
    assert not any("a + b" in key or "7 ->" in key for key in made)


def test_every_change_of_the_engine_is_python_and_has_a_name_of_its_own() -> None:
    for folder in ("marks", "route"):
        found = mutate.every_change([folder])
        assert len({one.key for one in found}) == len(found) > 100
        for one in found[::7]:
            source = (mutate.ROOT / mutate.PACKAGE / one.path).read_bytes()
            spoilt = one.made(source)
            assert spoilt != source
            compile(spoilt, one.path, "exec")


def test_a_change_elsewhere_draws_no_other_sample() -> None:
    found = mutate.every_change(["marks", "units"])
    drawn = mutate.sampled(found, 60)
    assert {one.kind for one in drawn[:20]} >= {"comparison", "arithmetic", "constant", "sign"}
    others = [one for one in found if one not in drawn[30:]]
    assert mutate.sampled(others, 60)[:10] == drawn[:10]


def test_the_quickest_tests_of_a_function_come_first_and_fit_into_the_budget() -> None:
    (one,) = [c for c in changes("room.py", SOURCE.encode()) if c.was == "a < b"]
    (fixed,) = [c for c in changes("room.py", SOURCE.encode()) if c.was == "40.0"]
    called = {
        "t::slow": [15.0, ["room.py room"]],
        "t::quick": [0.1, ["room.py room", "x.py y"]],
        "t::other": [1, ["x.py y"]],
    }
    reached = {"t": {"digest": "", "tests": called | {"t::long": [30.0, ["room.py room"]]}}}
    assert mutate.tests_of(one, reached) == (["t::quick", "t::slow"], 1)
    assert mutate.tests_of(fixed, reached) == (["t::quick", "t::slow"], 1), "a constant: whatever calls its file"


def test_what_may_live_is_read_from_the_list(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page = tmp_path / "mutants.md"
    other = "| `a.py g: x -> y` | a test is missing |\n\n"
    rows = "| change | why |\n|---|---|\n| `a.py f: x \\| y -> y` | equal |\n"
    page.write_text(f"{other}## What may live\n\n{rows}", encoding="utf-8")
    monkeypatch.setattr(mutate, "LIST", page)
    assert mutate.listed() == {"a.py f: x | y -> y": "equal"}
    mutant = changes("room.py", SOURCE.encode())[0]
    lived = [mutate.Outcome(mutant, "", 3, 0)]
    assert mutate.told(lived, 20, {}, 60.0) == 0
    assert mutate.told(lived, 5, {}, 60.0) == 1, "one in five"
    assert mutate.told(lived, 5, {mutant.key: "equal"}, 60.0) == 0
