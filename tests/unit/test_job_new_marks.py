"""New marks for the rest of a half-bent piece, kept by `racewright job record --new-marks` as the page keeps them."""

import json
import re
from base64 import b64decode
from html import unescape
from math import degrees, radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
from typed import type_in

from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack
from racewright.cli.main import main
from racewright.drawing.scene import Page, Text
from racewright.errors import InputError
from racewright.job.plan_job import plan_job, plan_one
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.operations import bends_recorded
from racewright.operations.answer import answer, ask_json
from racewright.operations.bends_recorded import as_kept
from racewright.operations.bent import bent_as_planned
from racewright.operations.common import Refused
from racewright.operations.made_before import as_read
from racewright.operations.remark import RemarkAnswer
from racewright.records.anew import new_marks
from racewright.records.entry import Anew, BendMade, Made
from racewright.records.ids import new_id
from racewright.records.model import Job, MadeReading
from racewright.store.job_file import job_to_data
from racewright.store.job_store import JobStore

SADDLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    assert type_in("add", SADDLE, "--key", "PH-01") == 0
    return empty_folder


def kept() -> Job:
    with JobStore.open("jobs.rwshop") as store:
        return store.load("orchard")


def last() -> Made:
    return [one.what for one in kept().entries if isinstance(one.what, Made)][-1]


def remark(*made: dict[str, Any], **more: Any) -> RemarkAnswer:
    survey = job_to_data(kept())["runs"][0]["survey"]
    told = answer("remark", {"survey": survey, "made": list(made), **more})
    assert isinstance(told, RemarkAnswer)
    return told


def test_the_entry_is_the_one_that_new_marks_give_to_keep(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert type_in("record", "PH-01", "--made", "1=25", "--new-marks", "--note", "slipped") == 0
    out = capsys.readouterr().out
    told = remark({"number": 1, "angle_deg": 25.0})
    assert told.keep is not None
    made = last()
    assert (made.bends, made.anew, made.note) == (told.keep.bends, told.keep.anew, "slipped")
    assert made.anew is not None
    # the marks as the tape shows them, in the order of bending, and the angles as the marks have them
    shown = [
        (m.number, m.mark.tape, round(degrees(k.angle_rad), 6))
        for m, k in zip(told.marks, made.anew.marks, strict=True)
    ]
    assert shown == [(m.number, m.mark.tape, round(m.angle_deg, 6)) for m in told.marks]
    assert [k.mark_mm / 25.4 * 16 for k in made.anew.marks] == pytest.approx([429, 584])  # 26 13/16, 36 1/2
    assert kept().entries[-1].pins.marks
    assert "New marks for the rest hold from here on: the planned ones do not." in out
    assert '26 13/16"' in out
    assert "Bending: eye protection" in out


def test_where_a_bend_begins_is_kept_as_the_mark_that_puts_it_there(here: Path) -> None:
    plan = plan_one(kept().runs[0], kept())
    piece = bent_as_planned(plan, plan.pieces[0])
    begins, bends = [arc.arc_start_mm / 25.4 for arc in piece.arcs.bends], plan.pieces[0].bends
    # at the planned angle by the planned mark, at another by what a hook toward B moves
    assert type_in("record", "PH-01", "--made", f"1=22.5, start {begins[0]:.6f}, roll 2") == 0
    assert last().bends[0].mark_mm == pytest.approx(bends[0].mark_mm, abs=1e-3)
    assert degrees(last().bends[0].roll_off_rad or 0.0) == pytest.approx(2.0)
    for line, words in (
        (["2=45@27, start 20"], "both the tape reading and where the bend starts are given"),
        (["2=45, start 20, start 21"], "says a thing twice"),
        (["2=45, start soon"], "soon"),
        (["1=22.5, start 20", "--plan", "K7M3QX"], "where it begins cannot be kept"),
        (["1=22.5, start 5000"], 'mark 1 (start 5000"'),
    ):
        with pytest.raises(InputError) as err:
            type_in("record", "PH-01", "--made", *line)
        assert words in err.value.message, line
    assert type_in("record", "PH-01", "--made", f"1=25, start {begins[0]:.6f}", "--new-marks") == 0
    made = last()
    assert made.anew is not None
    told = remark({"number": 1, "angle_deg": 25.0, "start": f"{begins[0]:.6f}"})
    assert told.keep is not None
    assert made.bends[0].mark_mm == pytest.approx(told.keep.bends[0].mark_mm, abs=1e-3)
    # by new marks it is by theirs
    new = made.anew.marks[0]
    turned = msgspec.structs.replace(new, hook="B" if bends[1].hook == "A" else "A", reference="star")
    for mark in (new, turned):
        hook, reference = mark.hook or bends[1].hook, mark.reference or bends[1].reference
        start = arc_start_from_mark_mm(mark.mark_mm, radians(44.0), hook, reference, plan.shoe)
        (bend,) = as_kept(
            [MadeReading(number=2, angle_deg=44.0, start=f"{start:.6f} mm")],
            "in",
            piece,
            msgspec.structs.replace(made, anew=msgspec.structs.replace(made.anew, marks=(mark,))),
        )
        assert bend.mark_mm == pytest.approx(mark.mark_mm, abs=1e-3)


def test_a_reading_that_was_recorded_is_told_to_the_last_digit_as_it_was_written() -> None:
    for angle in (24.0, 20.1, 47.3):
        assert [one.angle_deg for one in as_read([BendMade(number=1, angle_rad=radians(angle))])] == [angle]


def test_show_says_that_the_card_does_not_hold_for_the_rest(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    capsys.readouterr()
    type_in("show", "PH-01")
    out = " ".join(capsys.readouterr().out.split())
    assert 'PH-01 made: mark 1 bent to 25°; new marks for the rest: mark 2 26 13/16": bend to 44°, read' in out
    assert 'PH-01: the rest is bent by new marks, not by those of its card: mark 2 26 13/16": bend to 44°, read' in out
    assert "; then mark 3 36 1/2" in out
    type_in("status")  # without a plan that is kept
    assert "PH-01: the rest is bent by new marks" in " ".join(capsys.readouterr().out.split())
    type_in("undo")
    capsys.readouterr()
    type_in("show", "PH-01")
    assert "job.new_marks" not in capsys.readouterr().out


def test_what_is_done_of_new_marks_is_called_done_and_only_the_rest_is_asked_for(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def told(*command: str) -> str:
        capsys.readouterr()
        type_in(*command)
        return " ".join(capsys.readouterr().out.split())

    type_in("record", "PH-01", "--made", "1=20", "--new-marks")
    assert ": bend it another 2 1/2°, leaves 22 1/2°, star" in told("show", "PH-01")
    type_in("record", "PH-01", "--made", "1=22.3")
    for command in (("show", "PH-01"), ("status",)):
        out = told(*command)
        assert "another 2 1/2°" not in out
        assert "the rest is bent by new marks, not by those of its card" in out
        found = re.findall(r'mark 1 19 3/4": done, has 22.3°; then mark 2 27 7/16": bend', out)
        assert len(found) == (2 if command[0] == "show" else 1), out
    data = job_to_data(kept())
    record = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    again = answer("remark", {"survey": data["runs"][0]["survey"], "record": record})
    assert isinstance(again, RemarkAnswer)
    assert (again.done, again.notes[0]) == ((1,), "Done already, as recorded: mark 1.")
    assert again.keep is None, "that would have the bend as it was before"
    assert "bend to done 1 19 3/4" in told("record", "PH-01", "--new-marks")
    assert "another" not in " ".join((*again.notes, *again.words))
    assert [mark.number for mark in again.marks] == [1, 2, 3]
    type_in("record", "PH-01", "--made", "2=45@27")
    type_in("record", "PH-01", "--made", "3=22")
    out = told("show", "PH-01")
    assert "the rest was bent by new marks, not by those of its card" in out
    assert 'then mark 2 27": done, has 45°; then mark 3 35 7/16": done, has 22°' in out


def test_of_new_marks_that_others_replaced_only_what_was_made_by_them_is_told(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "1=24", "--new-marks")
    type_in("record", "PH-01", "--made", "2=47")
    type_in("record", "PH-01", "--made", "1=24", "--new-marks")
    capsys.readouterr()
    type_in("show", "PH-01")
    out = " ".join(capsys.readouterr().out.split())
    assert "mark 1 bent to 25°; new marks for the rest: others were kept before a bend was made by them" in out
    assert re.search(r'new marks for the rest: mark 2 [^:]+": done, has 47°; then others were kept', out)
    assert out.count(": bend to 23°") == 2, "those that hold: in the caution and in the last entry"


def test_bends_recorded_before_count_and_the_conduit_in_hand(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25@19-3/4")
    type_in("record", "PH-01", "--made", "2=46", "--new-marks", "--have", "100")
    made = last()
    assert sorted(bend.number for bend in made.bends) == [1, 2]
    assert made.anew is not None
    assert made.anew.in_hand_mm == pytest.approx(2540.0)
    first = next(bend for bend in made.bends if bend.number == 1)
    assert first.mark_mm == pytest.approx(19.75 * 25.4)
    told = remark(
        {"number": 2, "angle_deg": 46.0}, {"number": 1, "angle_deg": 25.0, "mark": "19 3/4"}, stock="100"
    ).keep
    assert told is not None
    assert told.anew is not None
    assert [m.mark_mm for m in told.anew.marks] == pytest.approx([m.mark_mm for m in made.anew.marks])


def test_the_next_new_marks_take_the_conduit_in_hand_from_those_that_were_kept_and_say_so(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = "The conduit in hand is taken as"
    for have, now, told in (
        (
            ["--have", "100"],
            [],
            f'{said} 100" from end A, as was said with the new marks that were kept. If it is not,',
        ),
        (["--have", "100"], ["--have", "90"], ""),
        ([], [], ""),
    ):
        type_in("record", "PH-01", "--made", "1=25", "--new-marks", *have)
        capsys.readouterr()
        type_in("record", "PH-01", "--made", "2=44", "--new-marks", *now)
        out = capsys.readouterr().out
        assert (told in out) if told else (said not in out)
        anew = last().anew
        assert anew is not None
        assert anew.in_hand_mm == (float((now or have)[1]) * 25.4 if have else None)
        type_in("undo")
        type_in("undo")


def test_a_bend_that_was_bent_on_with_the_shoe_turned_is_not_read_by_its_first_line(here: Path) -> None:
    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09")
    type_in("record", "PH-09", "--made", "1=10", "--made", "2=30", "--new-marks")
    anew = last().anew
    assert anew is not None
    new = anew.marks[0]
    job = kept()
    planned = plan_one(next(run for run in job.runs if run.key == "PH-09"), job).pieces[0].bends[0]
    assert (new.number, new.hook, planned.hook) == (1, "B", "A")
    middle = (new.mark_mm + planned.mark_mm) / 2.0
    for more in ([], ["--new-marks"]):
        for place in (planned.mark_mm, middle - 1.0 if planned.mark_mm < middle else middle + 1.0):
            with pytest.raises(InputError, match="that is by the line of its first bend") as err:
                type_in("record", "PH-09", "--made", f"1=30@{place:.3f}mm", *more)
            assert err.value.hint.startswith("give the place of the new line, near ")
        type_in("record", "PH-09", "--made", f"1=30@{new.mark_mm:.3f}mm", *more)
        type_in("undo")
    # a bend whose shoe stands as before has the one line
    type_in("record", "PH-01", "--made", "1=20@19-3/4", "--new-marks")
    type_in("record", "PH-01", "--made", "1=22.5@19-3/4")


def test_new_marks_are_worked_out_from_the_record_alone(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bend that is said already need not be said again; asked for once more they are told, and kept once."""
    type_in("record", "PH-01", "--made", "1=25")
    capsys.readouterr()
    for _ in range(2):
        assert type_in("record", "PH-01", "--new-marks", "--note", "windy") == 0
        out = " ".join(capsys.readouterr().out.split())
        assert "New marks for the rest hold from here on" in out
        assert "job.made_twice" not in out
    with JobStore.open("jobs.rwshop") as store:
        kept = [one.what for one in store.load("orchard").entries if isinstance(one.what, Made)]
    assert [bool(what.anew) for what in kept] == [False, True]
    assert (kept[1].note, kept[1].bends[0].number) == ("windy", 1)


def test_what_cannot_be_told_is_refused(here: Path) -> None:
    with pytest.raises(InputError, match="--have goes with --new-marks"):
        type_in("record", "PH-01", "--made", "1=25", "--have", "100")
    with pytest.raises(InputError, match="none is recorded"):
        type_in("record", "PH-01", "--note", "x", "--new-marks")
    with pytest.raises(InputError, match="has no plan by which the piece was bent"):
        type_in("record", "PH-01", "--made", "1=25", "--new-marks", "--plan", "K7M3QX")
    # bend 1 is bent further before the rest, and nobody said yet that it is
    type_in("record", "PH-01", "--made", "1=20", "--new-marks")
    with pytest.raises(InputError, match="mark 1 is to be bent further or opened before the rest") as err:
        type_in("record", "PH-01", "--made", "2=47", "--new-marks")
    assert "record mark 1 as made first, with the angle that it has now" in err.value.hint


@pytest.mark.parametrize(
    ("measured", "now", "angle"), [("1=20", "1=22.5", 22.5), ("1=20", "1=23", 23.0), ("1=20@19-7/8", "1=22.5", 22.5)]
)
def test_once_a_bend_is_bent_on_new_marks_count_it_as_it_is_now(
    measured: str, now: str, angle: float, here: Path
) -> None:
    """Its mark is the one that it had: the hook's side of it stays. Bend 2 is made by its new mark."""
    type_in("record", "PH-01", "--made", measured, "--new-marks")
    first = last()
    assert first.anew is not None
    assert [mark.number for mark in first.anew.marks] == [1, 2, 3]
    type_in("record", "PH-01", "--made", now)
    type_in("record", "PH-01", "--made", "2=47", "--new-marks")
    bends = {bend.number: bend for bend in last().bends}
    assert bends[1].angle_rad == pytest.approx(radians(angle))
    assert bends[1].mark_mm == first.bends[0].mark_mm
    assert bends[2].mark_mm == pytest.approx(first.anew.marks[1].mark_mm)
    readings = [
        {"number": bend.number, "angle_deg": degrees(bend.angle_rad or 0.0)}
        | ({} if bend.mark_mm is None else {"mark": f"{bend.mark_mm:.6f} mm"})
        for bend in bends.values()
    ]
    told = remark(*readings).keep
    assert told is not None
    assert told.anew == last().anew


@pytest.mark.parametrize(("given", "at"), [("2=47", ""), ("2=47@27", "27")])
def test_new_marks_a_second_time_count_the_bends_made_by_the_first(here: Path, given: str, at: str) -> None:
    """Bend 2 has the mark that was kept for it unless its own was measured."""
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    first = last()
    assert first.anew is not None
    (mark,) = [m for m in first.anew.marks if m.number == 2]
    type_in("record", "PH-01", "--made", given, "--new-marks")
    again = last()
    at = at or f"{mark.mark_mm:.6f} mm"
    told = remark({"number": 2, "angle_deg": 47.0, "mark": at}, {"number": 1, "angle_deg": 25.0}).keep
    assert told is not None
    assert told.anew is not None
    assert again.anew is not None
    assert {b.number for b in again.bends} == {1, 2}
    assert [m.number for m in again.anew.marks] == [m.number for m in told.anew.marks]
    for one, other in zip(again.anew.marks, told.anew.marks, strict=True):
        assert one.mark_mm == pytest.approx(other.mark_mm, abs=1e-6)
        assert one.angle_rad == pytest.approx(other.angle_rad, abs=1e-9)


def test_a_bend_recorded_since_stands_at_its_new_mark(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    first = last()
    assert first.anew is not None
    (mark,) = [m for m in first.anew.marks if m.number == 2]
    type_in("record", "PH-01", "--made", "2=47")
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    bends = {bend.number: bend for bend in last().bends}
    assert bends[2].angle_rad == pytest.approx(radians(47))
    assert bends[2].mark_mm == pytest.approx(mark.mark_mm)


def test_what_comes_off_at_end_b_is_told_with_the_marks_wherever_these_are(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever works from paper or a list leaves the piece too long else."""
    type_in("record", "PH-01", "--made", "1=25", "--new-marks", "--have", "62")
    assert 'Cut 3" off at end B, after bending.' in capsys.readouterr().out
    anew = last().anew
    assert anew is not None
    assert anew.off_b_mm == pytest.approx(76.2, abs=1.0)  # the tape's 3 in
    for command in (("status",), ("show", "PH-01")):
        type_in(*command)
        said = " ".join(capsys.readouterr().out.split())
        assert 'handle on the floor; then cut 3" off at end B' in said, command
    type_in("record", "PH-01", "--made", "1=25", "--new-marks", "--have", "59")
    assert last().anew == msgspec.structs.replace(last().anew, off_b_mm=0.0), "as long as it is to be: nothing"


def test_marks_that_come_out_otherwise_now_are_told_in_the_same_words_by_show_and_where_they_are_asked_for(
    here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where another version of the program works them out."""
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    data = job_to_data(kept())
    made = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    survey = data["runs"][0]["survey"]

    def shown() -> list[str]:
        told = json.loads(ask_json("job_run", json.dumps({"job": data, "run": "PH-01"})))
        return [one["message"] for one in told["findings"] if one["rule"] == "job.kept_otherwise"]

    again = answer("remark", {"survey": survey, "record": made})
    assert isinstance(again, RemarkAnswer)
    assert [mark.number for mark in again.marks] == [2, 3], "as they were kept, whatever was made since"
    assert shown() == []
    mark = made[0]["what"]["anew"]["marks"][0]
    right, mark["how"] = mark["how"], "bend to 90°"
    assert shown() == [
        f"PH-01: mark 2 is kept in the words 'bend to 90°', and by its figures it is: {right}. Go by the figures, not"
        " by these words."
    ]
    assert isinstance(answer("remark", {"survey": survey, "record": made}), RemarkAnswer), "Bend shows what it is"
    mark["how"] = ""
    assert shown() == [], "kept before words were"
    mark["how"] = right
    made[0]["what"]["anew"]["marks"][1]["angle_rad"] += radians(2)
    words = "the new marks that are kept cannot be worked out again as they were kept."
    (said,) = shown()
    assert said.startswith(f"PH-01: {words} Bend nothing more by them: measure the bends that are made")
    (kept_here, since) = (one for one in data["entries"] if one["what"]["kind"] == "made")
    for of in ({"pins": {"marks": "K7M3QX"}}, {"piece": 7}):
        before = {name: kept_here.get(name) for name in of}
        kept_here.update(of)
        assert shown() == [], "of another plan, or of a piece that there is not"
        kept_here.update(before)
    kept_here["piece"] = since["piece"] = None
    assert shown() == [said], "a record that names none is of the first piece"
    kept_here["piece"] = since["piece"] = 1
    data["runs"][0]["times"] = 3
    kept_here["copy"] = since["copy"] = 1
    right = json.loads(json.dumps([{**kept_here, "id": "a" * 32, "copy": 2}, {**kept_here, "id": "b" * 32, "copy": 3}]))
    right[0]["what"]["anew"]["marks"][1]["angle_rad"] -= radians(2)
    data["entries"] += right
    assert [one.partition(":")[0] for one in shown()] == ["PH-01#1", "PH-01#3"], "each copy by itself"
    with monkeypatch.context() as few:
        few.setattr(bends_recorded, "_MOST_AGAIN", 1)  # those of copies 1 and 3 are the same
        assert shown()[2:] == [
            "the new marks of 1 more were not worked out again here: Bend does, of the piece at hand."
        ]
    data["runs"][0]["times"], data["entries"] = 1, data["entries"][:-2]
    for asked in ({}, {"made": [{"number": 1}]}):
        refused = answer("remark", {"survey": survey, "record": made, **asked})
        assert isinstance(refused, Refused)
        assert refused.error.message == words
    assert isinstance(answer("remark", {"survey": survey, "record": made[:1], "made": [{"number": 1}]}), RemarkAnswer)


def test_the_same_bends_measured_again_replace_the_marks(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "1=24", "--new-marks")
    made = last()
    assert [bend.angle_rad for bend in made.bends] == pytest.approx([radians(24)])
    told = remark({"number": 1, "angle_deg": 24.0}).keep
    assert told is not None
    assert isinstance(made.anew, Anew)
    assert made.anew == told.anew


def test_scrap_has_nothing_to_keep_and_the_bend_is_recorded(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert type_in("record", "PH-01", "--made", "1=80", "--new-marks") == 1
    out = capsys.readouterr().out
    assert "There are no new marks for the rest to keep." in out
    assert "replan.scrap" in out
    assert last().anew is None


def test_a_twist_and_a_turn_at_end_a_are_kept_and_told_until_they_are_done(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def told(*command: str) -> str:
        capsys.readouterr()
        type_in(*command)
        return " ".join(capsys.readouterr().out.split())

    twist, turn = (
        "twist it at mark 2 by 3° counterclockwise, seen from A",
        "turn the whole piece 2° counterclockwise in its",
    )
    planes = ("--made", "1=22.5, roll 2", "--made", "2=45@27 7/16, roll 5")
    told("record", "PH-01", *planes, "--new-marks")
    anew = last().anew
    assert anew is not None
    assert [(one.number, one.by_rad, one.how) for one in anew.twisted] == [(2, pytest.approx(radians(-3)), twist)]
    assert anew.turned_rad == pytest.approx(radians(-2))
    assert [one.roll_off_rad for one in last().bends] == pytest.approx([radians(2), radians(5)])
    for command in (("show", "PH-01"), ("status",)):
        out = told(*command)
        assert re.search(f'its card: {twist}; then mark 3 35 7/16": .* the floor; then when it goes in, {turn}', out)
    assert 'mark 2 bent to 45°, its mark 27 7/16" from end A, its plane 5° clockwise off the plan' in told(
        "show", "PH-01"
    )
    # whether it is twisted by now nobody said
    with pytest.raises(InputError, match=f"{twist}; and whether that is done is not known: how mark 2 lies now") as err:
        type_in("record", "PH-01", "--made", "2=46", "--new-marks")
    assert "counted as before from the line at end A" in err.value.hint
    assert err.value.hint.endswith("mark 2 by roll 2 if it is twisted as said, by roll 5 if not")
    assert f"T{twist[1:]}" not in told("record", "PH-01", "--made", "2=45, roll 2", "--new-marks")
    assert last().anew is not None
    type_in("undo")
    told("record", "PH-01", "--made", "3=22.5")
    # that the rest is bent says nothing of the twist: it is told until the plane is measured, or the finished piece
    assert f'{twist}; then mark 3 35 7/16": done, has 22 1/2°; then when it goes in, {turn}' in told("show", "PH-01")
    for done in (("record", "PH-01", "--made", "2=45, roll 0"), ("record", "PH-01", "--off", "up=0")):
        told(*done)
        assert twist not in told("show", "PH-01").partition("as built")[0]
        assert twist not in told("status")
        type_in("undo")
    told("set", "in", "PH-01")
    assert twist not in told("status")
    type_in("undo")
    data = job_to_data(kept())
    record = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    again = answer("remark", {"survey": data["runs"][0]["survey"], "record": record})
    assert isinstance(again, RemarkAnswer)
    assert again.twisted
    assert f"T{twist[1:]}." in again.notes, "as everywhere: nobody said that it is done"
    read = {"kind": "made", "bends": [{"number": 2, "roll_off_rad": radians(2), "by_marks": record[0]["id"]}]}
    record.append({"id": "f" * 32, "what": read})
    again = answer("remark", {"survey": data["runs"][0]["survey"], "record": record})
    assert isinstance(again, RemarkAnswer)
    assert "Done already, as recorded: the twist at mark 2; mark 3." in again.notes
    assert not any("wist it" in words for words in (*again.notes, *again.words))


def test_where_a_bend_begins_is_kept_as_the_place_of_its_mark(here: Path) -> None:
    told = remark({"number": 1, "angle_deg": 25.0, "start": "17"})
    assert told.keep is not None
    (bend,) = told.keep.bends
    assert bend.mark_mm is not None
    same = remark({"number": 1, "angle_deg": 25.0, "mark": f"{bend.mark_mm:.6f} mm"})
    assert [(mark.mark.tape, mark.bend_to) for mark in same.marks] == [(m.mark.tape, m.bend_to) for m in told.marks]
    assert same.words == told.words != remark({"number": 1, "angle_deg": 25.0}).words


def words_of(page: Page) -> str:
    return " ".join(" ".join(item.text for item in page.items if isinstance(item, Text)).split())


MARKS = (
    'mark 2 26 13/16": bend to 44°, read after letting go, center mark, hook toward A, do not rotate: line stays up, '
    'bender upside down, handle on the floor; then mark 3 36 1/2": bend to 19°, read after letting go, arrow, hook '
    "toward A, rotate 180°: line down, bender upside down, handle on the floor"
)


def test_the_pack_says_on_the_bench_page_and_before_it_that_new_marks_hold(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    job = kept()
    pack = Pack(job=job, runs=tuple(plan_job(job)))
    made = build_pack(pack)
    first = made.first_pages["PH-01"] - 1
    words = words_of(made.scene.pages[first])
    assert f"PH-01: the rest is bent by new marks, not by those of its card: {MARKS}" in words
    assert words.index("NEW MARKS") < words.index("Mark it")
    before = " ".join(map(words_of, made.scene.pages[:first]))
    assert "NEW MARKS, " in before
    assert "New marks hold for the rest of a piece, not those of its bench page: PH-01" in before


def test_a_sheet_of_the_run_alone_says_it_as_the_pack_does(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    asked = {"survey": data["runs"][0]["survey"], "job": data}
    said = f"PH-01: the rest is bent by new marks, not by those of its card: {MARKS}"

    def words(svg: str) -> str:
        return " ".join(unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)", svg))).split())

    for what, before in (("card", "Mark it"), ("bench", "Mark it"), ("strip", "Print at 100 %")):
        page = words(json.loads(ask_json("card", json.dumps({**asked, "what": what})))["pages"][0])
        assert page.index("NEW MARKS") < page.index(said) < page.index(before), what
        files = json.loads(ask_json("export", json.dumps({**asked, "kinds": [f"{what}.svg"]})))
        assert said in words(b64decode(files["files"][0]["data"]).decode()), what
        assert [one["message"] for one in files["findings"] if one["rule"] == "job.new_marks"] == [said]
        without = json.loads(ask_json("card", json.dumps({"survey": asked["survey"], "what": what})))
        assert "NEW MARKS" not in words(without["pages"][0]), what
    several = {**data, "runs": [*data["runs"], {**data["runs"][0], "id": new_id(), "key": "PH-02"}]}
    refused = json.loads(ask_json("card", json.dumps({**asked, "job": several})))["error"]
    assert (refused["message"], refused["field"]) == ("a sheet is of one run, and the job holds 2.", "job.runs")


@pytest.mark.parametrize("planned", [False, True])
def test_status_says_it_whether_the_plan_is_known_or_not(
    planned: bool, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if planned:
        type_in("plan")
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    capsys.readouterr()
    type_in("status")
    assert MARKS in " ".join(capsys.readouterr().out.split())


def test_show_says_it_above_the_marks(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    capsys.readouterr()
    type_in("show", "PH-01")
    out = " ".join(capsys.readouterr().out.split())
    assert out.index("[job.new_marks]") < out.index("as built:")
    assert out.count("the rest is bent by new marks") == 1


def test_batch_and_cut_send_to_the_new_marks_and_to_the_card_where_there_are_none(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-02")
    type_in("times", "3", "PH-02")
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-02", "--copy", "2", "--made", "1=25", "--new-marks")
    type_in("record", "PH-02", "--copy", "3", "--made", "1=22")
    capsys.readouterr()
    type_in("batch")
    out = " ".join(capsys.readouterr().out.split())
    assert "Bends are made on it already: PH-02#3. Finish it by its own card." in out
    assert "new marks were kept for the rest: PH-01, PH-02#2. Finish it by its new marks" in out
    assert f"PH-02#2: the rest is bent by new marks, not by those of its card: {MARKS}" in out
    type_in("cut")
    out = " ".join(capsys.readouterr().out.split())
    assert "PH-02#2 (begun, new marks); PH-02#3 (begun). Finish it by its new marks where it has some" in out
    type_in("record", "PH-02", "--copy", "2", "--made", "2=45", "--by-card")
    stop = "Bend nothing more of it: measure the bends that are made, and ask for new marks"
    for asked, said in (
        ("batch", f"by other marks than those that hold now or far from where they belong: PH-02#2. {stop}"),
        ("cut", f"list: PH-02#2 (begun, STOP). {stop}"),
    ):
        capsys.readouterr()
        type_in(asked)
        out = " ".join(capsys.readouterr().out.split())
        assert said in out
        assert out.count("PH-02#2") <= 2, "besides it in the caution alone"


def test_a_piece_is_told_of_once_whether_its_entry_names_it_or_not(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    job = kept()
    marked = next(one for one in job.entries if isinstance(one.what, Made))
    assert isinstance(marked.what, Made)
    unnamed = msgspec.structs.replace(marked, id=new_id(), piece=None)
    found = new_marks(job.runs[0], (marked, unnamed), marked.pins.marks, 1)
    assert [one.message.split(":")[0] for one in found] == ["PH-01"]


def test_new_marks_say_where_the_hook_is_too_short_to_hold_and_what_to_look_at(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In the words of a planned step, wherever the marks are shown: the step's piece, the command's table."""
    capsys.readouterr()
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    out = capsys.readouterr().out
    told = remark({"number": 1, "angle_deg": 25.0})
    assert told.anew is not None
    for mark in told.marks:
        assert "Sight along it for a dog-leg first." in mark.look_at
        assert told.anew.bends[mark.number - 1].look_at == mark.look_at
        assert f"        {mark.look_at}\n" in out
    survey = {
        "units": "in",
        "run": {
            "name": "workshop end",
            "raceway": "EMT 1/2",
            "start": {"fitting": "none"},
            "end": {"fitting": "none"},
            "walk": [
                {"leg": "60", "features": [{"offset": {"rise": "8", "starts_at": "20", "angle": "30"}}]},
                {"turn": "left"},
                {"leg": "7 1/2"},
            ],
        },
    }
    other = answer("remark", {"survey": survey, "made": [{"number": 1, "angle_deg": 31.0}]})
    assert isinstance(other, RemarkAnswer)
    assert other.anew is not None
    told, arcs = other, other.anew.bends
    for mark in told.marks:
        arc, made = arcs[mark.number - 1], [1, *(m.number for m in told.marks if m.order < mark.order)]
        ends = [0.0, *(arcs[n - 1].arc_end_mm for n in made if n < mark.number)]
        starts = [told.cut.mm, *(arcs[n - 1].arc_start_mm for n in made if n > mark.number)]
        free = min(starts) - arc.arc_end_mm if mark.hook == "B" else arc.arc_start_mm - max(ends)
        assert ("Hook on a short " in mark.look_at) == (free < 8 * 25.4)
    assert any("Hook on a short " in mark.look_at for mark in told.marks)
    assert any("Hook on a short " not in mark.look_at for mark in told.marks)


def test_kept_marks_say_what_the_pointer_shows_where_the_tool_has_springback(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bend = "angle=90 stub=12 leg=30 cut=39-3/8 mark=7 pointer=93"
    main(["bender", "calibrate", "green", "--raceway", "EMT", "--size", "1/2", "--bend", bend, "--save", "--anyway"])
    assert type_in("tool", "PH-01", "--on", "green") == 0
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    capsys.readouterr()
    type_in("status")
    out = " ".join(capsys.readouterr().out.split())
    assert re.search(r'mark 2 \S+ \S+": bend to 45( \S+)?° while bending, leaves 44°, \w+ mark, hook toward A', out)


TRIMMED = {
    "racewright": 1,
    "units": "in",
    "run": {
        "name": "pump house, along the floor",
        "raceway": "EMT 1/2",
        "cut": "after",
        "surface": "floor",
        "start": {"name": "pump", "fitting": "set-screw"},
        "end": {"name": "box", "fitting": "set-screw"},
        "walk": [
            {
                "leg": "26 3/4",
                "from": "face",
                "to": "back",
                "features": [
                    {"offset": {"rise": "5", "angle": 30, "shift": "1 3/16", "side": "right", "middle_at": "13 3/4"}}
                ],
            },
            {"turn": "left", "angle": 22.5},
            {"leg": "55 5/8", "from": "inside", "to": "face"},
        ],
    },
}


def test_what_comes_off_at_end_a_is_kept_and_is_not_told_again_once_it_is_off(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09")
    cut = 'ut 5/16" more off at end A'
    capsys.readouterr()
    type_in("record", "PH-09", "--made", "1=24@228.357mm", "--new-marks")
    assert f"C{cut}" in capsys.readouterr().out
    anew = last().anew
    assert anew is not None
    assert anew.trim_mm == pytest.approx(8.0, abs=0.5)
    kept_now = [{"id": new_id(), "what": msgspec.to_builtins(last())}]
    first = answer("remark", {"survey": TRIMMED, "record": kept_now})
    assert isinstance(first, RemarkAnswer)
    assert [(one.kind, one.to_do, one.done) for one in first.first] == [("cut", f"c{cut}", False)]
    assert first.before == ("First draw the new lines, from end A as it is cut now: the old ones do not count.",)
    then = answer(
        "remark", {"survey": TRIMMED, "record": [*kept_now, marked(anew.marks[0].number, by_marks=kept_now[0]["id"])]}
    )
    assert isinstance(then, RemarkAnswer)
    assert (then.before, then.first[0].done) == ((), False), "mark 1 was bent on, whether it is cut nobody said"
    type_in("status")
    assert f"c{cut}, marks count from there; mark 1 8 11/16" in " ".join(capsys.readouterr().out.split())
    look = 'Measure first: mark 1 stands 9" from end A until it is cut, then 8 11/16".'
    assert first.first[0].look_at == look
    # that mark 1 is bent on is nothing recorded twice, and whether end A is cut by then nobody said
    type_in("record", "PH-09", "--made", "1=30")
    assert "recorded as bent already" not in capsys.readouterr().out
    with pytest.raises(InputError, match=f"c{cut}, and whether that is done is not known") as err:
        type_in("record", "PH-09", "--made", "1=30", "--new-marks")
    assert "measure mark 1 from end A as it is now" in err.value.hint
    for place, said in (("8 11/16", False), ("9", True)):
        capsys.readouterr()
        type_in("record", "PH-09", "--made", f"1=30@{place}", "--new-marks")
        out = capsys.readouterr().out
        assert ("more off at end A" in out) == said
        assert re.search(r'taken as \d+ \S+" from end A, as planned, less the 5/16" that they cut off at end A\.', out)
        type_in("undo")


OTHER = (
    'PH-01: mark 2 was bent by the plan\'s mark, 27 7/16" to 45°, and the new marks kept last have it at 26 13/16" to'
    " 44°. The marks do not hold for the rest of this piece: bend nothing more of it, measure the bends that are made,"
    " and ask for new marks."
)


def test_a_bend_made_by_the_card_while_new_marks_hold_is_told_wherever_they_are(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    kept_by = kept().entries[-1].id
    capsys.readouterr()
    type_in("record", "PH-01", "--made", "2=45", "--by-card")
    words = "".join(capsys.readouterr())
    assert OTHER.removesuffix(".") in " ".join(words.split())
    assert [bend.by_marks for bend in last().bends] == ["plan"]
    for asked in (["show", "PH-01"], ["status"], ["batch"]):
        type_in(*asked)
        out = " ".join(capsys.readouterr().out.split())
        assert OTHER.removesuffix(".") in out, asked
        assert "the rest is bent by new marks, not by those" not in out, asked
    data = job_to_data(kept())
    survey = data["runs"][0]["survey"]
    for what in ("card", "strip"):
        page = json.loads(ask_json("card", json.dumps({"survey": survey, "job": data, "what": what})))["pages"][0]
        assert "STOP" in page, what
    front = build_pack(Pack(job=kept(), runs=tuple(plan_job(kept())))).scene.pages
    assert "STOP, " in " ".join(map(words_of, front))
    record = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    refused = answer("remark", {"survey": survey, "record": record})
    assert isinstance(refused, Refused)
    assert refused.error.message.startswith("mark 2 was bent by the plan's mark")
    # asked for from the bends as they are, they hold again: mark 2 at the plan's own mark
    told = answer("remark", {"survey": survey, "record": record, "made": [{"number": 2, "angle_deg": 44.5}]})
    assert isinstance(told, RemarkAnswer)
    assert told.keep is not None
    read = {bend.number: bend for bend in told.keep.bends}
    assert (read[1].by_marks, read[2].by_marks) == ("plan", "plan")
    assert read[2].mark_mm == pytest.approx(27.4375 * 25.4, abs=0.8)
    type_in("record", "PH-01", "--made", "2=44.5", "--new-marks")
    type_in("record", "PH-01", "--made", "3=22.5")
    assert [bend.by_marks for bend in last().bends] == [kept().entries[-2].id] != [kept_by]
    capsys.readouterr()
    type_in("show", "PH-01")
    assert "job.other_marks" not in capsys.readouterr().out


def test_a_bend_that_is_ticked_off_by_both_marks_is_where_it_is_measured(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    type_in("record", "PH-01", "--made", "2=45", "--by-card")
    twice = (
        "mark 2 is ticked off twice, by different marks, once by the plan's mark, 27 7/16\" to 45°, and the new marks"
    )

    def told() -> str:
        capsys.readouterr()
        type_in("show", "PH-01")
        return " ".join(capsys.readouterr().out.split())

    assert twice in told()
    for found, differs in (("2=44@27 7/16", True), ("2=44@26 13/16", False)):
        type_in("record", "PH-01", "--made", found)
        assert (twice in told()) == differs, found
    type_in("record", "PH-01", "--made", "2=44", "--new-marks")
    read = {bend.number: bend.mark_mm for bend in last().bends}
    assert read[2] == pytest.approx(26.8125 * 25.4, abs=0.1)


def marked(number: int, **more: Any) -> dict[str, Any]:
    return {"id": new_id(), "what": {"kind": "made", "bends": [{"number": number, **more}]}}


@pytest.mark.parametrize("by", ["plan", "kept"])
def test_a_bend_that_the_piece_has_not_counts_for_nothing(here: Path, by: str) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    survey, (keep,) = data["runs"][0]["survey"], [one for one in data["entries"] if one["what"]["kind"] == "made"]
    record = [{"id": keep["id"], "what": keep["what"]}]
    what = {"kind": "made", "bends": [{"number": 9, "by_marks": keep["id"] if by == "kept" else by}]}
    made = [{"number": 2, "angle_deg": 44.0}]
    records = (record, [*record, {"id": "9" * 32, "what": what}])
    asked = [answer("remark", {"survey": survey, "record": of, "made": made}) for of in records]
    assert isinstance(asked[0], RemarkAnswer)
    assert asked[1] == asked[0]


def test_what_was_kept_beside_place_and_angle_is_held_to_what_comes_out_now_too(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    survey, (keep,) = data["runs"][0]["survey"], [one for one in data["entries"] if one["what"]["kind"] == "made"]
    anew = keep["what"]["anew"]
    mark = anew["marks"][0]
    other = [{**mark, key: value} for key, value in (("hook", "B"), ("reference", "star"), ("roll_rad", 3.0))]
    lies: list[dict[str, Any]] = [{"marks": [one, *anew["marks"][1:]]} for one in other if one != mark]
    lies += [{"trim_mm": 25.4}, {"turned_rad": 0.3}, {"twisted": [{"number": 1, "by_rad": 0.2, "how": "twist it"}]}]
    assert len(lies) >= 5
    for lie in ({}, *lies):
        record = [{"id": keep["id"], "what": {**keep["what"], "anew": {**anew, **lie}}}]
        told = answer("remark", {"survey": survey, "record": record})
        refused = isinstance(told, Refused) and "cannot be worked out again" in told.error.message
        assert refused == bool(lie), lie


def test_the_same_mark_is_no_other_whoever_followed_which(here: Path) -> None:
    """Within half of what the tape shows, and less than a hand bends."""
    plan = remark({"number": 1}).anew
    assert plan is not None
    second, third = plan.bends[1:]
    for off_mm, off_deg, told in ((0.0, 0.0, False), (0.7, 0.2, False), (0.9, 0.0, True), (0.0, 0.3, True)):
        marks = [
            {
                "number": bend.number,
                "mark_mm": bend.mark_mm + off_mm,
                "angle_rad": radians(bend.angle_deg + off_deg),
                "hook": bend.hook,
                "reference": bend.reference,
            }
            for bend in (second, third)
        ]
        what = {"kind": "made", "bends": [{"number": 1}], "anew": {"marks": marks}}
        record = [{"id": new_id(), "what": what}, marked(2, by_marks="plan")]
        message = getattr(remarked_or_refused(record), "error", None)
        assert ("was bent by the plan's mark" in getattr(message, "message", "")) == told, (off_mm, off_deg)


def remarked_or_refused(record: list[dict[str, Any]], *made: dict[str, Any]) -> Any:
    survey = job_to_data(kept())["runs"][0]["survey"]
    return answer("remark", {"survey": survey, "record": record, "made": list(made)})


def test_a_bend_made_by_new_marks_that_were_taken_back_is_to_be_measured(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    with JobStore.open("jobs.rwshop") as store:
        job = store.load("orchard")
    made = [one for one in job.entries if isinstance(one.what, Made)]
    gone = msgspec.structs.replace(job, entries=tuple(one for one in job.entries if one is not made[0]))
    data = job_to_data(gone)
    told = json.loads(ask_json("job_run", json.dumps({"job": data, "run": "PH-01"})))["findings"]
    (said,) = [one["message"] for one in told if one["rule"] == "job.other_marks"]
    assert said.startswith("PH-01: mark 2 was bent by new marks that are not kept any more, so where it is now is not")
    assert "measure the bends that are made" in said
    record = [{"id": made[1].id, "what": msgspec.to_builtins(made[1].what)}]
    refused = remarked_or_refused(record)
    assert refused.error.message.startswith("mark 2 was bent by new marks that are not kept any more")
    assert refused.error.hint.startswith("bend nothing more by them")
    refused = remarked_or_refused(record, {"number": 1, "angle_deg": 25.0})
    assert "where it is now is not known" in refused.error.message
    # whether these cut end A or twisted it nobody knows: place and plane of each bend are asked for
    assert (
        "end A may be cut by the marks that mark 2 was bent by; marks 1 and 2 may be twisted" in refused.error.message
    )
    assert refused.error.hint.startswith("measure and give where the mark of marks 1 and 2 stands from end A")
    assert "how far the plane of marks 1 and 2 is off the plan now" in refused.error.hint
    readings = [
        {"number": 1, "angle_deg": 25.0, "mark": "19 3/4"},
        {"number": 2, "angle_deg": 44.0, "mark": "26 13/16"},
    ]
    refused = remarked_or_refused(record, *readings)
    assert refused.error.hint.startswith("measure and give how far the plane of marks 1 and 2 is off")
    answered = remarked_or_refused(record, *({**one, "roll_off_deg": 4.0} for one in readings))
    assert [degrees(bend.roll_off_rad) for bend in answered.keep.bends] == pytest.approx([4.0, 4.0])
    assert {bend.number: bend.by_marks for bend in answered.keep.bends} == {1: "", 2: ""}
    assert isinstance(remarked_or_refused([*record, {"id": new_id(), "what": answered.keep}]), RemarkAnswer)


def kept_with(*made: dict[str, Any], roll_deg: float = 0.0, **more: Any) -> dict[str, Any]:
    """New marks as the plan has them for the bends that are not made, the planes of these turned."""
    plan = remark({"number": 1}).anew
    assert plan is not None
    marks = [
        {
            "number": bend.number,
            "mark_mm": bend.mark_mm,
            "angle_rad": radians(bend.angle_deg),
            "hook": bend.hook,
            "reference": bend.reference,
            "roll_rad": radians(bend.roll_deg + roll_deg),
        }
        for bend in plan.bends
        if bend.number not in {one["number"] for one in made}
    ]
    return {"id": new_id(), "what": {"kind": "made", "bends": made, "anew": {"marks": marks, **more}}}


@pytest.mark.parametrize(
    ("more", "read", "said", "asks"),
    [
        ({}, False, "", ""),
        ({"roll_deg": 5.0}, False, "in another plane", "how far the plane of mark 2 is off the plan now"),
        ({"roll_deg": 5.0}, True, "in another plane", "how far the plane of mark 2 is off the plan now"),
        ({"trim_mm": 8.0}, False, "cut or twisted otherwise", "where the mark of marks 1 and 2 stands from end A"),
        (
            {"twisted": [{"number": 1, "by_rad": 0.05, "how": "twist it"}]},
            False,
            "cut or twisted otherwise",
            "how far the plane of mark 1 is off the plan now",
        ),
    ],
)
def test_what_other_marks_turn_cut_or_twist_is_told_and_asked_for(
    more: dict[str, Any], read: bool, said: str, asks: str, here: Path
) -> None:
    """Mark 2 is bent by new marks that were kept on another phone; those kept last were kept with it, or without."""
    mine, angle = {"number": 1, "angle_rad": radians(22.5)}, radians(45.0)
    first = kept_with(mine, **more)
    last_kept = kept_with(mine, *([{"number": 2, "angle_rad": angle, "by_marks": "plan"}] if read else []))
    record = [first, marked(2, by_marks=first["id"]), last_kept]
    held = remarked_or_refused(record)
    if not said:
        assert isinstance(held, RemarkAnswer)
        return
    assert said in held.error.message
    refused = remarked_or_refused(record, {"number": 2, "angle_deg": 44.0})
    assert asks in refused.error.hint
    assert "finish" not in refused.error.hint
    measured = [{"number": n, "angle_deg": deg, "mark": mark, "roll_off_deg": 1.0} for n, deg, mark in FOUND]
    answered = remarked_or_refused(record, *measured)
    assert {bend.number: bend.by_marks for bend in answered.keep.bends} == {1: "", 2: ""}
    again = [*record, {"id": new_id(), "what": answered.keep}]
    assert isinstance(remarked_or_refused(again, {"number": 2, "angle_deg": 44.0}), RemarkAnswer)


FOUND = ((1, 22.5, "19 3/4"), (2, 44.0, "27 7/16"))


@pytest.mark.parametrize("known", [{}, {"roll_off_rad": 0.0}])
def test_a_twist_of_marks_in_whose_place_others_were_kept_is_asked_for(known: dict[str, Any], here: Path) -> None:
    """Nobody knows whether the piece was twisted before others came in from another phone."""
    mine = {"number": 1, "angle_rad": radians(22.5)}
    first = kept_with(mine, twisted=[{"number": 1, "by_rad": 0.05, "how": "twist it"}])
    record = [first, kept_with({**mine, **known})]
    held, told = remarked_or_refused(record), remarked_or_refused(record, {"number": 1, "angle_deg": 22.5})
    if known:
        assert isinstance(told, RemarkAnswer), "the plane was read for those that hold"
        assert isinstance(held, RemarkAnswer)
        return
    assert held.error.message == (
        "mark 1 may be twisted by new marks that were kept before, and the new marks kept last do not reckon with it:"
        " the marks do not hold for the rest."
    )
    data = job_to_data(kept())
    type_in("record", "PH-01", "--made", "1=22.5")
    pins = job_to_data(kept())["entries"][-1]
    data["entries"] += [{**pins, **one} for one in record]
    for asked in ("job_run", "job_status"):
        of = {"job": data, **({"run": "PH-01"} if asked == "job_run" else {})}
        found = json.loads(ask_json(asked, json.dumps(of)))["findings"]
        assert [one["message"].partition(",")[0] for one in found if one["rule"] == "job.other_marks"] == [
            "PH-01: mark 1 may be twisted by new marks that were kept before"
        ], asked
    assert told.error.message == "mark 1 may be twisted by new marks that were kept before."
    assert told.error.hint.startswith("measure and give how far the plane of mark 1 is off the plan now")
    assert isinstance(remarked_or_refused(record, {"number": 1, "angle_deg": 22.5, "roll_off_deg": 2.5}), RemarkAnswer)
    record.append(marked(1, roll_off_rad=0.04, by_marks=record[1]["id"]))
    assert isinstance(remarked_or_refused(record), RemarkAnswer)
    assert isinstance(remarked_or_refused(record, {"number": 1, "angle_deg": 22.5}), RemarkAnswer)


def test_where_marks_that_cut_the_piece_were_followed_all_its_bends_are_read_anew(here: Path) -> None:
    """With place, angle and plane of each the piece is known, whatever it was bent by: by the place where each begins
    the same comes out."""

    def told(made: list[dict[str, Any]], *record: dict[str, Any], stock: str = "") -> Any:
        return answer("remark", {"survey": TRIMMED, "record": list(record), "made": made, "stock": stock})

    keep = told([{"number": 1, "angle_deg": 24.0, "mark": "228.357mm"}]).keep
    kept_now = {"id": new_id(), "what": msgspec.to_builtins(keep)}
    record = [kept_now, marked(1, by_marks=kept_now["id"]), marked(2, by_marks=kept_now["id"])]
    refused = told([{"number": 2, "angle_deg": 31.0}], *record)
    assert 'these say otherwise than planned: cut 5/16" more off at end A.' in refused.error.message
    assert refused.error.hint.startswith(
        "finish the piece by the marks kept, and measure it then; or measure and give the angle of mark 1, and where"
        " the mark of marks 1 and 2 stands from end A as it is now, or where the bend begins, and how far the plane of"
    )
    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09")
    shoe, found = plan_one(kept().runs[-1], kept()).shoe, []
    for mark, angle in zip(keep.anew.marks, (30.0, 31.0), strict=False):
        start = arc_start_from_mark_mm(mark.mark_mm + 2.0, radians(angle), mark.hook, mark.reference, shoe)
        read = {"number": mark.number, "angle_deg": angle, "roll_off_deg": 1.0}
        found.append(({**read, "mark": f"{mark.mark_mm + 2.0} mm"}, {**read, "start": f"{start:.6f} mm"}))
    whole, begins = map(list, zip(*found, strict=True))
    by_marks, by_begin = told(whole, *record, stock="85"), told(begins, stock="85")
    assert by_marks.words == by_begin.words
    assert [one.keep.anew.marks[0].mark_mm for one in (by_marks, by_begin)] == [pytest.approx(677.8625)] * 2


def test_measured_when_it_was_finished_it_is_not_told_any_more(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    for made in ("2=45", "3=22.5"):
        type_in("record", "PH-01", "--made", made, "--by-card")
    capsys.readouterr()
    type_in("status")
    out = " ".join(capsys.readouterr().out.split())
    assert "mark 3 was bent by the plan's mark" in out
    assert "Measure the piece before it goes in" in out
    type_in("record", "PH-01", "--angle", "2=45", "--plan", "K7M3QX")
    capsys.readouterr()
    type_in("status")
    assert "mark 3 was bent by the plan's mark" in capsys.readouterr().out, "that is of another plan"
    type_in("record", "PH-01", "--angle", "2=45")
    capsys.readouterr()
    type_in("status")
    assert "was bent by the plan's mark" not in capsys.readouterr().out


def test_what_names_new_marks_names_them_in_a_copy_of_the_job_too(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=44")
    made = [one for one in kept().with_new_ids().entries if isinstance(one.what, Made)]
    assert isinstance(made[1].what, Made)
    assert [bend.by_marks for bend in made[1].what.bends] == [made[0].id]
