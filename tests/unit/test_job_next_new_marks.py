"""New marks for a piece that is bent further since the last were kept: what is on record counts, at its new mark."""

import json
from math import degrees, radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
from kept_new_marks import SADDLE, TRIMMED, last, marked, remark
from typed import kept, type_in

from racewright.errors import InputError
from racewright.job.plan_job import plan_one
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.operations.answer import answer
from racewright.records.entry import Anew, Made
from racewright.records.ids import new_id
from racewright.store.job_store import JobStore
from racewright.tools.benders import HookEnd


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    assert type_in("add", SADDLE, "--key", "PH-01") == 0
    return empty_folder


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


def test_the_same_bends_measured_again_replace_the_marks(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "1=24", "--new-marks")
    made = last()
    assert [bend.angle_rad for bend in made.bends] == pytest.approx([radians(24)])
    told = remark({"number": 1, "angle_deg": 24.0}).keep
    assert told is not None
    assert isinstance(made.anew, Anew)
    assert made.anew == told.anew


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
    shoe = plan_one(kept().runs[-1], kept()).shoe
    for turned in (False, True):  # the new marks have the hook the other way than the plan
        found = []
        for mark, told_of, angle in zip(keep.anew.marks, kept_now["what"]["anew"]["marks"], (30.0, 31.0), strict=False):
            hook: HookEnd = ("A" if mark.hook == "B" else "B") if turned else mark.hook
            told_of["hook"] = hook
            place = mark.mark_mm + 2.0
            start = arc_start_from_mark_mm(place, radians(angle), hook, mark.reference, shoe)
            read = {"number": mark.number, "angle_deg": angle, "roll_off_deg": 1.0}
            found.append(({**read, "mark": f"{place} mm"}, {**read, "start": f"{start:.6f} mm"}))
        whole, begins = map(list, zip(*found, strict=True))
        by_marks, by_begin = told(whole, *record, stock="85"), told(begins, stock="85")
        assert by_marks.words == by_begin.words
        marks = [one.keep.anew.marks[0].mark_mm for one in (by_marks, by_begin)]
        assert marks[0] == pytest.approx(marks[1])
        if not turned:
            assert marks[0] == pytest.approx(677.8625)
            by_plan = told(whole, *record, marked(3, by_marks="plan"), stock="85")
            assert "cannot be told from its angles" in by_plan.error.message, "it is read anew too"


@pytest.mark.parametrize("opened", [False, True])
def test_a_bend_that_new_marks_made_with_the_shoe_turned_is_read_at_its_own_line(here: Path, opened: bool) -> None:
    """By whichever later marks, also once it is opened, which leaves the line where it is drawn."""

    def told(made: list[dict[str, Any]], *record: dict[str, Any]) -> Any:
        return answer("remark", {"survey": TRIMMED, "record": list(record), "made": made, "stock": "85"})

    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09")
    shoe = plan_one(kept().runs[-1], kept()).shoe
    line_mm, angle = 560.0, 34.0
    start = arc_start_from_mark_mm(line_mm, radians(angle), "B", "arrow", shoe)
    first = {"id": new_id(), "what": msgspec.to_builtins(told([{"number": 1, "angle_deg": 30.0}]).keep)}
    first["what"]["anew"]["marks"][0 if first["what"]["anew"]["marks"][0]["number"] == 2 else 1]["hook"] = "B"
    read = {"number": 2, "angle_deg": angle, "roll_off_deg": 0.0, "start": f"{start:.6f} mm"}
    record = [first, marked(2, by_marks=first["id"])]
    next_ = told([{"number": 1, "angle_deg": 30.0, "mark": "220.6625 mm", "roll_off_deg": 0.0}, read], *record)
    second = {"id": new_id(), "what": msgspec.to_builtins(next_.keep)}
    record.append(second)
    if opened:
        mark = {"number": 2, "mark_mm": second["what"]["bends"][1]["mark_mm"], "angle_rad": radians(31.0)}
        second["what"]["anew"]["marks"] = (mark, *second["what"]["anew"]["marks"])
        record.append(marked(2, by_marks=second["id"], angle_rad=radians(31.0)))
    by_line = told([{"number": 2, "mark": f"{line_mm + 3.0} mm"}], *record)
    by_begin = told([{"number": 2, "start": f"{start + 3.0:.6f} mm"}], *record)
    assert by_line.keep.bends[1].mark_mm == pytest.approx(by_begin.keep.bends[1].mark_mm, abs=1e-3)
    own = "The place is taken as that of the line by which it was bent: mark 2 (arrow, hook toward B)."
    assert own in by_line.notes
    assert own not in by_begin.notes
    card_mm = second["what"]["bends"][1]["mark_mm"]
    near_card = told([{"number": 2, "mark": f"{card_mm} mm"}], *record)
    assert "arrow, hook toward A), than to the line by which it was bent, 22 1/16" in near_card.error.message
    late = told([{"number": 2, "mark": f"{line_mm} mm"}], *record, marked(2, by_marks="plan"))
    assert late.error.message == (
        "mark 2 is ticked off by different marks, and may be bent by the line arrow, hook toward A or by that arrow,"
        " hook toward B: where it is by its line is not known."
    )


def test_new_marks_alone_are_for_what_was_read_since_the_last(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--made", "2=47")
    capsys.readouterr()
    type_in("record", "PH-01", "--new-marks")
    assert "marks 1 and 2" in capsys.readouterr().out
    assert [(bend.number, round(degrees(bend.angle_rad or 0.0))) for bend in last().bends] == [(1, 25), (2, 47)]
    count = len(kept().entries)
    type_in("record", "PH-01", "--new-marks")
    assert "nothing new to record; status planned" in capsys.readouterr().out
    assert len(kept().entries) == count


def test_new_marks_that_are_not_recorded_anew_say_no_other_status(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    type_in("record", "PH-01", "--angle", "2=45")
    for words in ((), ("--done", "check")):
        capsys.readouterr()
        type_in("record", "PH-01", *words, "--new-marks")
        assert capsys.readouterr().out.startswith(
            f"PH-01: {'recorded' if words else 'nothing new to record'}; status bent"
        )


def test_new_marks_without_a_reading_settle_no_question_of_which_is_right(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=22.5", "--by", "Lee")
    type_in("record", "PH-01", "--made", "1=25", "--by", "Kim")
    type_in("record", "PH-01", "--new-marks", "--by", "Kim")
    capsys.readouterr()
    type_in("show", "PH-01")
    assert "job.read_otherwise" in capsys.readouterr().out
