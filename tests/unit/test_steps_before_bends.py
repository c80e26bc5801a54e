"""What new marks want done to a half-bent piece before its bends: a cut at end A, a twist; each a step of its own."""

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import msgspec
import pytest
from kept_new_marks import TRIMMED, kept, last
from typed import type_in

from racewright.errors import InputError
from racewright.job.plan_job import plan_job
from racewright.operations.answer import answer, ask_json
from racewright.operations.common import Refused
from racewright.operations.remark import RemarkAnswer
from racewright.records.bends_left import so_far
from racewright.records.entry import Made, MadeEntry, called_anew
from racewright.store.job_file import job_to_data

CUT = 'cut 5/16" more off at end A'
LOOK = 'easure first: mark 1 stands 9" from end A until it is cut, then 8 11/16"'
TWIST = "wist it at mark 2 by 3° counterclockwise, seen from A"
LOOK_AT_TWIST = (
    "easure its plane first, from the line at end A: mark 2 lies 5° clockwise off the plan, seen from A, until it is"
    " twisted, then 2° clockwise"
)


@pytest.fixture
def here(empty_folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """Mark 1 is bent to 24°, and the new marks for the rest want a cut at end A first."""
    type_in("new", "orchard", "--by", "Kim")
    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09")
    type_in("record", "PH-09", "--made", "1=24@228.357mm", "--new-marks")
    capsys.readouterr()
    return empty_folder


def record() -> list[MadeEntry]:
    return [MadeEntry(id=one.id, what=one.what) for one in kept().entries if isinstance(one.what, Made)]


def asked(of: list[MadeEntry], **more: Any) -> RemarkAnswer | Refused:
    told = answer("remark", {"survey": TRIMMED, "record": msgspec.to_builtins(of), **more})
    assert isinstance(told, RemarkAnswer | Refused)
    return told


def test_the_cut_is_ticked_off_by_itself_and_told_as_done_from_then_on(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def told(*command: str) -> str:
        type_in(*command)
        return " ".join(capsys.readouterr().out.split())

    anew = last().anew
    assert anew is not None
    assert anew.cut_first
    for command in (("show", "PH-09"), ("status",)):
        assert f"by those of its card: first {CUT}, marks count from there (m{LOOK}); then mark 1" in told(*command)
    out = told("record", "PH-09", "--done", "cut")
    assert 'PH-09 made: end A cut by 5/16" more' in out
    (step,) = last().steps
    assert (step.kind, step.by_marks) == ("cut", record()[0].id)
    assert step.trim_mm == anew.trim_mm
    for command in (("show", "PH-09"), ("status",)):
        assert f"{CUT}: done, marks count from there; then mark 1" in told(*command)
    assert 'PH-09 made: end A cut by 5/16" more (plan' in told("show", "PH-09")
    again = asked(record())
    assert isinstance(again, RemarkAnswer)
    assert [(one.kind, one.done) for one in again.first] == [("cut", True)]
    assert "Done already, as recorded: the cut at end A." in again.notes
    assert not any(CUT[1:] in words for words in (*again.notes, *again.words))
    assert again.before, "the lines are still to be drawn"


def test_marks_that_were_kept_before_the_cut_was_a_step_say_it_with_the_lines(here: Path) -> None:
    (first,) = record()
    assert first.what.anew is not None
    before = msgspec.structs.replace(first.what, anew=msgspec.structs.replace(first.what.anew, cut_first=False))
    told = asked([MadeEntry(id=first.id, what=before)])
    assert isinstance(told, RemarkAnswer)
    assert told.first == ()
    assert told.before == (f"First {CUT}, and draw the new lines from there: the old ones do not count. M{LOOK}.",)


def test_a_step_that_is_done_or_that_nobody_wants_is_refused(here: Path) -> None:
    type_in("record", "PH-09", "--done", "cut")
    for words, said in (
        ("cut", "recorded as done already"),
        ("twist 1", "twist 1: no new marks that hold for the piece want that"),
        ("saw", "--done saw is no step"),
    ):
        with pytest.raises(InputError) as err:
            type_in("record", "PH-09", "--done", words)
        assert said in str(err.value)
    assert len(record()) == 2


def test_a_twist_is_ticked_off_without_its_plane_being_measured(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("new", "orchard")
    type_in("add", str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml"), "--key", "PH-01")
    planes = ("--made", "1=22.5, roll 2", "--made", "2=45@27 7/16, roll 5")
    type_in("record", "PH-01", *planes, "--new-marks")
    assert f"- T{TWIST}. M{LOOK_AT_TWIST}." in " ".join(capsys.readouterr().out.split())
    type_in("status")
    assert f"t{TWIST} (m{LOOK_AT_TWIST}); then mark 3" in " ".join(capsys.readouterr().out.split())
    survey = job_to_data(kept())["runs"][0]["survey"]
    again = answer("remark", {"survey": survey, "record": msgspec.to_builtins(record())})
    assert isinstance(again, RemarkAnswer)
    assert [(one.kind, one.look_at) for one in again.first] == [("twist", f"M{LOOK_AT_TWIST}.")]
    type_in("record", "PH-01", "--done", "twist 2")
    (step,) = last().steps
    assert (step.kind, step.number, round(step.by_rad, 4)) == ("twist", 2, -0.0524)
    capsys.readouterr()
    type_in("status")
    assert "twist it" not in capsys.readouterr().out
    type_in("show", "PH-01")
    assert "twisted at mark 2 by 3° counterclockwise, seen from A" in " ".join(capsys.readouterr().out.split())
    with pytest.raises(InputError, match="that is done, but not measured: how mark 2 lies now"):
        type_in("record", "PH-01", "--made", "2=46", "--new-marks")


PLACES = [{"number": 1, "angle_deg": 24.0, "mark": "8 11/16"}]


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("gone", " by new marks that are not kept any more, and the marks that hold do not reckon with that"),
        ("not known", " by new marks that were kept before, and the marks that hold do not reckon with that"),
        ("twice", ", and that is ticked off twice: if it was done twice, the new marks do not hold"),
    ],
)
def test_a_cut_that_the_marks_that_hold_do_not_reckon_with_is_told_until_the_piece_is_measured(
    how: str, said: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = record()[0]
    type_in("record", "PH-09", "--done", "cut")
    tick = record()[1]
    other = MadeEntry(id="e" * 32, what=first.what)
    twice = MadeEntry(id="f" * 32, what=tick.what)
    of = {"gone": [tick], "not known": [first, tick, other], "twice": [first, tick, twice]}[how]
    refused = asked(of, made=[{"number": 1, "angle_deg": 24.0}] if how == "gone" else [])
    assert isinstance(refused, Refused)
    assert f'end A was cut by 5/16" more{said}' in refused.error.message
    measured = asked(of, made=PLACES)
    assert isinstance(measured, RemarkAnswer)
    assert measured.keep is not None
    assert {step.kind for step in measured.keep.steps} == {"cut"}
    last_kept = MadeEntry(id="a" * 32, what=measured.keep)
    assert so_far([*of, last_kept]).other_steps == (), "it was measured as it is since"
    late = [*of, last_kept, MadeEntry(id="b" * 32, what=tick.what)]
    assert len(so_far(late).other_steps) == 1, "and was cut once more on another phone"


def test_a_record_that_goes_into_another_job_names_its_own_marks(here: Path) -> None:
    type_in("record", "PH-09", "--done", "cut")
    entries = [one for one in kept().entries if isinstance(one.what, Made)]
    ids = {one.id: f"{at:032x}" for at, one in enumerate(entries)}
    moved = [called_anew(one, ids).what for one in entries]
    assert isinstance(moved[1], Made)
    assert moved[1].steps[0].by_marks == ids[entries[0].id]


def test_an_entry_says_of_a_bend_or_of_a_step() -> None:
    for empty in (
        {"kind": "made", "bends": []},
        {"kind": "made", "bends": [], "anew": {"marks": [{"number": 1, "mark_mm": 1, "angle_rad": 1}]}},
    ):
        with pytest.raises(msgspec.ValidationError, match="names no bend, and no step that is done"):
            msgspec.convert(empty, Made)


def sheet(what: str) -> str:
    """The words of a sheet of the job's one run, with its record."""
    data = job_to_data(kept())
    asked_for = {"survey": data["runs"][0]["survey"], "job": data, "what": what}
    pages = json.loads(ask_json("card", json.dumps(asked_for)))["pages"]
    return " ".join(unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)", " ".join(pages)))).split())


def test_the_bench_page_numbers_what_is_done_by_new_marks_in_its_order(here: Path) -> None:
    words = sheet("bench")
    rest = "bent by new marks, not by those of its card:"
    assert f"{rest} 1. First {CUT}, marks count from there (m{LOOK}). 2. Mark 1 8 11/16" in words
    places = [words.index(f" {step}") for step in ("3. Mark 2 18", "4. Mark 3 27", '5. Cut 11/16" off at end B.')]
    assert places == sorted(places)
    type_in("record", "PH-09", "--done", "cut")
    assert f"{rest} 1. C{CUT[1:]}: done, marks count from there. 2. Mark 1 8 11/16" in sheet("bench")


TURN = "turn the whole piece 2° counterclockwise in its fitting at end A, seen from A."


def test_how_new_marks_turn_a_piece_in_its_fitting_is_told_in_the_step_in_which_it_goes_in(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("new", "orchard")
    type_in("add", str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml"), "--key", "PH-01")
    (plain,) = plan_job(kept())
    assert plain.plan is not None
    planes = ("--made", "1=22.5, roll 2", "--made", "2=45@27 7/16, roll 5")
    type_in("record", "PH-01", *planes, "--new-marks")
    (told,) = plan_job(kept())
    assert told.plan is not None
    changed = [at for at, (one, was) in enumerate(zip(told.plan.steps, plain.plan.steps, strict=True)) if one != was]
    (into,) = changed
    assert into == next(at for at, step in enumerate(plain.plan.steps) if step.kind == "insert")
    assert told.plan.steps[into].detail.startswith(f"By the new marks, when it goes in, {TURN} ")
    survey = job_to_data(kept())["runs"][0]["survey"]
    words = sheet("card")
    assert f'into disconnect (set-screw), 3/4" deep; by the new marks, when it goes in, {TURN} End B into' in words
    assert f"By the new marks, when it goes in, {TURN}" in words
    capsys.readouterr()
    type_in("show", "PH-01")
    assert f"By the new marks, when it goes in, {TURN}" in " ".join(capsys.readouterr().out.split())
    again = answer("remark", {"survey": survey, "record": msgspec.to_builtins(record())})
    assert isinstance(again, RemarkAnswer)
    assert again.turn == (f"when it goes in, {TURN[:-1]}",)
    type_in("record", "PH-01", "--made", "3=22.5", "--by-card")
    (lost,) = plan_job(kept())
    assert lost.plan is not None
    assert not any("By the new marks" in step.detail for step in lost.plan.steps), "they do not hold any more"
