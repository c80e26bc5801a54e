"""The ends of a half-bent piece are cut, by its plan or by new marks: how long it is for the next ones, and what is
told of it."""

from math import radians
from pathlib import Path
from typing import Any

import pytest
from kept_new_marks import SADDLE, last
from typed import kept, type_in

from racewright.job.plan_job import plan_one
from racewright.operations.answer import answer
from racewright.operations.remark import RemarkAnswer
from racewright.records.ends_cut import once_bent, steps_after
from racewright.records.entry import Anew, Made, MarkAnew, StepMade
from racewright.records.new_steps import with_new_marks
from racewright.units.tape import format_length, style_of

COLUMN = str(Path(SADDLE).parent / "packing-shed-column.yaml")
#: One bend, cut after bending.
AFTER = (
    "run:\n  name: Pump house\n  raceway: EMT 1/2\n  cut: after\n"
    "  walk:\n    - leg: 40\n    - turn: left\n    - leg: 30\n"
)
KEPT = "c" * 32


@pytest.fixture
def here(empty_folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    type_in("new", "orchard", "--by", "Kim")
    capsys.readouterr()
    return empty_folder


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What the command prints, in one line."""
    capsys.readouterr()
    type_in(*words)
    return " ".join(capsys.readouterr().out.split())


def asked(**more: Any) -> RemarkAnswer:
    """New marks of the run, as the page asks for them: with all that is recorded as made of it."""
    record = [{"id": one.id, "what": one.what} for one in kept().entries if isinstance(one.what, Made)]
    told = answer("remark", {"survey": kept().runs[0].survey, "record": record, **more})
    assert isinstance(told, RemarkAnswer), told
    return told


def test_a_piece_that_is_cut_as_planned_is_as_long_as_planned_for_new_marks(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", COLUMN, "--key", "PS-1")
    type_in("record", "PS-1", "--made", "1=28", "--made", "2=45", "--done", "trim")
    (planned,) = plan_one(kept().runs[0], kept()).pieces
    assert planned.least_stock_mm > planned.cut_length_mm + 20.0
    out = said(capsys, "record", "PS-1", "--new-marks")
    assert "The conduit in hand is taken as 836 mm from end A: its ends are cut, as planned. If it is not, say" in out
    anew = last().anew
    assert anew is not None
    assert anew.in_hand_mm == pytest.approx(planned.cut_length_mm)
    assert (anew.line_b_mm, anew.off_b_mm) == (0.0, 0.0), "nothing more comes off"
    again = asked()
    assert again.keep is not None
    assert again.keep.anew == anew
    assert again.ends == ("cut nothing off",)
    sheet = with_new_marks(plan_one(kept().runs[0], kept()), kept().runs[0], kept().entries)
    assert [step.title for step in sheet.steps if step.kind == "trim"] == ["Cut nothing off"]
    assert "job.kept_otherwise" not in said(capsys, "show", "PS-1")


def test_a_piece_that_is_cut_and_too_short_is_scrap_by_all_doors(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("after.yaml").write_text(AFTER, encoding="utf-8")
    type_in("add", "after.yaml", "--key", "PH-1")
    type_in("record", "PH-1", "--made", "1=90@44-1/8")
    assert 'Cut 1" more off at end A' in said(capsys, "record", "PH-1", "--new-marks")
    assert not asked(made=[{"number": 1, "angle_deg": 90}]).scrap
    type_in("record", "PH-1", "--done", "check", "--done", "trim", "--done", "ream")
    out = said(capsys, "record", "PH-1", "--new-marks")
    assert "is scrap" in out
    assert 'taken as 68 7/8" from end A: its ends are cut, as planned' in out
    assert 'Make a new piece as planned: take a stick of at least 69 7/8"' in out
    assert asked(made=[{"number": 1, "angle_deg": 90}]).scrap
    assert not asked(made=[{"number": 1, "angle_deg": 90}], stock="70").scrap


@pytest.mark.parametrize(
    ("key", "run", "step", "made", "length"),
    [
        ("PS-1", COLUMN, "trim", ("--made", "1=28", "--made", "2=45"), "843 mm"),
        ("PH-1", SADDLE, "ream", ("--made", "1=22.5", "--made", "2=45@26-15/16"), '58 13/16"'),
    ],
)
def test_the_next_new_marks_have_what_those_before_cut_off_at_end_b(
    here: Path, capsys: pytest.CaptureFixture[str], key: str, run: str, step: str, made: tuple[str, ...], length: str
) -> None:
    type_in("add", run, "--key", key)
    type_in("record", key, *made, "--new-marks")
    anew = last().anew
    assert anew is not None
    (planned,) = plan_one(kept().runs[0], kept()).pieces
    cut_mm = anew.line_b_mm or planned.cut_length_mm - anew.trim_mm - anew.off_b_mm
    assert abs(cut_mm - planned.cut_length_mm) > 1.0
    assert format_length(cut_mm, style_of(kept().runs[0].survey.units)) == length
    out = said(capsys, "record", key, "--done", "check", "--done", step)
    assert f"end {'B' if step == 'ream' else 'A'}, {'reamed' if step == 'ream' else 'ends cut'}" in out
    told = said(capsys, "record", key, "--made", "3=20", "--new-marks")
    assert f"taken as {length} from end A: its ends are cut, as the new marks have it." in told
    assert "job.kept_otherwise" not in said(capsys, "show", key)


def test_a_cut_at_end_b_for_new_marks_is_told_as_done(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-1")
    type_in("record", "PH-1", "--made", "1=22.5", "--made", "2=45@26-15/16", "--new-marks")
    off = 'cut 1/16" off at end B'
    type_in("record", "PH-1", "--made", "3=22.5", "--done", "check")
    assert f"{off}: done" not in said(capsys, "show", "PH-1")
    assert f"{off[0].upper()}{off[1:]}, after bending." in asked().notes
    assert said(capsys, "record", "PH-1", "--done", "ream").endswith(f"PH-1 made: {off}, reamed")
    for words in (("show", "PH-1"), ("status",)):
        assert f"{off}: done" in said(capsys, *words), words
    for words in (("show", "PH-1"), ("log", "PH-1")):
        assert f"PH-1 made: {off}, reamed" in said(capsys, *words), words
    notes = asked().notes
    assert notes[0].startswith("Done already, as recorded: ")
    assert notes[0].endswith(f"{off}.")
    assert not any("after bending" in note for note in notes)


@pytest.mark.parametrize(
    ("steps", "is_in", "done"),
    [
        ([], False, (False, False, False)),
        ([("check", 1)], False, (False, False, False)),
        ([("trim", 1)], False, (True, False, False)),
        ([("ream", 1)], False, (True, False, False)),
        ([("ream", 1), ("insert", 1)], False, (True, True, False)),
        ([("insert", 1), ("strap", 1)], False, (False, True, True)),
        ([("insert", 2)], False, (False, True, True)),
        ([], True, (True, True, True)),
    ],
)
def test_what_comes_once_it_is_bent_is_done_by_what_is_ticked_off_for_these_marks(
    steps: list[tuple[Any, int]], is_in: bool, done: tuple[bool, ...]
) -> None:
    mark = MarkAnew(number=1, mark_mm=100.0, angle_rad=radians(45))
    anew = Anew(marks=(mark,), off_b_mm=12.7, turned_rad=radians(2), end_b="Spring it into its fitting.")
    for by, counts in ((KEPT, True), ("plan", False), ("d" * 32, False)):
        ticked = [StepMade(kind=kind, number=number, by_marks=by) for kind, number in steps]
        told = list(steps_after(anew, once_bent(ticked, anew, KEPT, is_in=is_in), style_of("in", 16)))
        assert [words for words, _ in told][::2] == ['cut 1/2" off at end B', "spring it into its fitting"]
        assert tuple(is_done for _, is_done in told) == (done if counts or is_in else (False, False, False))


def test_more_conduit_than_the_piece_was_cut_to_is_asked_about(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-1")
    type_in("record", "PH-1", "--done", "length", "--made", "2=44")
    rule = "replan.cut_shorter"
    assert rule not in said(capsys, "record", "PH-1", "--new-marks", "--have", "58-7/8")
    out = said(capsys, "record", "PH-1", "--new-marks", "--have", "80")
    assert '80" of conduit is said to be in hand, and it is recorded as cut to 58 7/8"' in out
    assert rule in out


@pytest.mark.parametrize(
    ("before", "step", "after", "is_told"),
    [
        ("--off long=12", "trim", "--off long=0", False),
        ("--off up=12", "trim", "--off up=0", True),
        ("--off long=12", "ream", "--off long=0", True),
        ("--off up=12", "insert", "--off up=0", False),
        ("--lean up=3", "strap", "--lean up=0", False),
        ("--angle 1=25", "strap", "--angle 1=20", True),
    ],
)
def test_readings_may_differ_by_what_was_done_between(
    here: Path, capsys: pytest.CaptureFixture[str], before: str, step: str, after: str, is_told: bool
) -> None:
    type_in("add", COLUMN, "--key", "PS-1")
    for words in (("--made", "1=22.5", "--made", "2=45", "--made", "3=22.5"), before.split(), ("--done", step)):
        type_in("record", "PS-1", *words)
    assert ("job.read_otherwise" in said(capsys, "record", "PS-1", *after.split())) == is_told
