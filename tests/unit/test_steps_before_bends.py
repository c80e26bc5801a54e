"""What new marks want done to a half-bent piece before its bends: a cut at end A, a twist; each a step of its own."""

import json
import re
from math import radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
from kept_new_marks import SADDLE, TRIMMED, last, record, sheet
from typed import kept, type_in

from racewright.errors import InputError
from racewright.job.plan_job import plan_job
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.operations.remark import RemarkAnswer
from racewright.records.bends_left import so_far, steps_twice
from racewright.records.entry import Made, MadeEntry, called_anew
from racewright.records.other_marks import told_otherwise
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


@pytest.mark.parametrize("back", [(), ("PH-09",), ("PH-09", "--new-marks")])
def test_marks_that_are_taken_back_ask_for_the_cut_that_nobody_ticked_off(
    here: Path, capsys: pytest.CaptureFixture[str], back: tuple[str, ...]
) -> None:
    asks = (
        f"caution: PH-09-1: the new marks that are taken back say: {CUT}; and nobody ticked that off. Is it done?"
        " Then bring them back, tick it off (`racewright job record PH-09 --done cut`), and take them back after that:"
        " else nothing tells of it.\n"
    )
    type_in("undo", *back)
    assert capsys.readouterr().err == asks
    type_in("undo" if back else "redo")
    assert last().anew, "they are there again"
    type_in("record", "PH-09", "--done", "cut")
    capsys.readouterr()
    type_in("undo", "PH-09", "--new-marks")
    assert capsys.readouterr().err == ""


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
    # cut it is, and a place from before that would have it cut once more
    for more in ([], ["--new-marks"]):
        with pytest.raises(InputError, match='before the cut at end A that is ticked off; 8 11/16" is expected'):
            type_in("record", "PH-09", "--made", "1=24@9", *more)
    assert len(record()) == 2


def test_a_bend_that_is_measured_again_since_end_a_is_cut_is_not_made_twice(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("new", "orchard")
    type_in("add", str(Path(SADDLE).parent / "packing-shed-column.yaml"), "--key", "PS-01")
    type_in("record", "PS-01", "--made", "1=22.5@253", "--new-marks", "--have", "950")
    type_in("record", "PS-01", "--done", "cut")
    for made_so, twice in (("1=22.5@234", False), ("1=22.5", True)):
        capsys.readouterr()
        type_in("record", "PS-01", "--made", made_so)
        assert ("job.made_twice" in capsys.readouterr().out) == twice
    type_in("record", "PS-01", "--made", "1=22.5@234", "--new-marks")
    assert "job.made_twice" not in capsys.readouterr().out
    # what is measured and what is corrected at once says which comes first
    for more, said in (([], False), (["--off", "up=0"], True)):
        type_in("record", "PS-01", "--corrected", "2=-1", *more)
        assert ("What was measured counts as before the correction" in capsys.readouterr().out) == said


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
    assert f"T{TWIST} (m{LOOK_AT_TWIST}). 2. Mark 3" in sheet("bench", kept_before())
    survey = job_to_data(kept())["runs"][0]["survey"]
    again = answer("remark", {"survey": survey, "record": msgspec.to_builtins(record())})
    assert isinstance(again, RemarkAnswer)
    assert [(one.kind, one.look_at) for one in again.first] == [("twist", f"M{LOOK_AT_TWIST}.")]
    type_in("record", "PH-01", "--done", "twist 2")
    (step,) = last().steps
    assert (step.kind, step.number, round(step.by_rad, 4)) == ("twist", 2, -0.0524)
    capsys.readouterr()
    type_in("status")
    assert f"t{TWIST}: done; then mark 3" in " ".join(capsys.readouterr().out.split())
    type_in("show", "PH-01")
    assert "twisted at mark 2 by 3° counterclockwise, seen from A" in " ".join(capsys.readouterr().out.split())
    type_in("record", "PH-01", "--made", "2=46", "--new-marks")
    said = "Taken as it was ticked off: mark 2 lies 2° clockwise off the plan, seen from A. Where it is not so,"
    assert said in " ".join(capsys.readouterr().out.split())
    assert [bend.roll_off_rad for bend in last().bends] == pytest.approx([radians(2), radians(2)])


def test_new_marks_are_worked_out_for_the_conduit_that_is_said_without_a_reading(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With marks kept too; what is recorded already is not once more, and nothing is called recorded then."""
    type_in("new", "orchard")
    type_in("add", str(Path(SADDLE).parent / "packing-shed-column.yaml"), "--key", "PS-01")
    type_in("record", "PS-01", "--made", "1=21@234", "--new-marks")
    for have, entries, code in ((None, 1, 0), ("950", 2, 0), ("950", 2, 0), ("849", 2, 1)):
        before = len(record())
        capsys.readouterr()
        assert type_in("record", "PS-01", "--new-marks", *(["--have", have] if have else [])) == code, have
        assert len(record()) == entries, have
        out = capsys.readouterr().out
        assert ("PS-01: nothing new to record;" in out) == (entries == before)
        assert (code == 1) == ("replan.scrap" in out)
    assert last().anew is not None
    assert last().anew.in_hand_mm == 950.0


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
    twice_words = "the wrong tick is taken back (`racewright job undo RUN --done cut`, or on the page, in Bend)."
    assert steps_twice(of) == ([("cut", None)] if how == "twice" else [])
    (planned,) = plan_job(kept())
    assert planned.plan is not None
    assert (twice_words in told_otherwise(planned.plan, 1, of)) == (how == "twice")
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


def test_new_marks_that_were_kept_with_none_of_the_bends_of_the_piece_are_none_of_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = job_to_data(kept())
    (entry,) = [one for one in data["entries"] if one["what"]["kind"] == "made"]
    entry["what"]["bends"][0]["number"] = 9
    entry["what"]["note"] = "seen at dusk"
    Path("other.json").write_text(json.dumps(data), encoding="utf-8")
    type_in("import", "other.json", "--key", "other", "--shop", "other.rwshop")
    capsys.readouterr()
    for command in (("show", "PH-09"), ("status",)):
        type_in(*command, "--shop", "other.rwshop")
        out = capsys.readouterr().out
        assert "new marks" not in out
        assert "mark 9" not in out
        assert ("seen at dusk" in out) == (command[0] == "show")
    type_in("record", "PH-09", "--made", "1=24@228.357mm", "--new-marks", "--shop", "other.rwshop")
    assert CUT[1:] in " ".join(capsys.readouterr().out.split())
    of = [MadeEntry(id=entry["id"], what=msgspec.convert(entry["what"], Made))]
    with_it, without = (asked(record, made=PLACES) for record in (of, []))
    assert isinstance(with_it, RemarkAnswer)
    assert with_it == without


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


@pytest.mark.parametrize(
    ("step", "lacks"),
    [
        ({"kind": "twist", "by_rad": 0.1}, "names no bend (number) that was twisted"),
        ({"kind": "twist", "number": 2}, "does not say by how much (by_rad) it was done"),
        ({"kind": "cut", "number": 2, "trim_mm": 8.0}, "names a bend (number), and it is end A that was cut"),
        ({"kind": "cut"}, "does not say by how much (trim_mm) it was done"),
    ],
)
def test_a_step_says_what_was_done_and_by_how_much(step: dict[str, Any], lacks: str) -> None:
    with pytest.raises(msgspec.ValidationError, match=re.escape(lacks)):
        msgspec.convert({"kind": "made", "bends": [], "steps": [step]}, Made)


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ({"kind": "cut", "trim_mm": 50.8}, 'end A was cut by 2" more, and the new marks that hold want 5/16" more'),
        (
            {"kind": "twist", "number": 2, "by_rad": 0.1},
            "it was twisted at mark 2 by 5.7° clockwise, and the new marks that hold do not want that",
        ),
    ],
)
def test_a_step_that_is_not_as_the_marks_that_hold_want_it_is_told_and_stops_the_rest(
    step: dict[str, Any], said: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (first,) = record()
    data = job_to_data(kept())
    made = next(one for one in data["entries"] if one["what"]["kind"] == "made")
    tick = {"kind": "made", "bends": [], "steps": [{**step, "by_marks": first.id}]}
    data["entries"].append({**made, "id": "f" * 32, "what": tick})
    Path("other.json").write_text(json.dumps(data), encoding="utf-8")
    type_in("import", "other.json", "--key", "other", "--shop", "other.rwshop")
    capsys.readouterr()
    type_in("status", "--shop", "other.rwshop")
    out = " ".join(capsys.readouterr().out.split())
    assert said in out
    assert f"{CUT}: done" not in out
    refused = asked([first, MadeEntry(id="f" * 32, what=msgspec.convert(tick, Made))])
    assert isinstance(refused, Refused)
    assert said in refused.error.message


def test_the_bench_page_numbers_what_is_done_by_new_marks_in_its_order(here: Path) -> None:
    words = sheet("bench")
    rest = "bent by new marks, not by those of its card:"
    assert f"{rest} 1. First {CUT}, marks count from there (m{LOOK}). 2. Mark 1 8 11/16" in words
    places = [
        words.index(f" {step}") for step in ("3. Mark 2 18", "4. Mark 3 27", '5. Cut it on line B, 85 1/8" from end A.')
    ]
    assert places == sorted(places)
    type_in("record", "PH-09", "--done", "cut")
    assert f"{rest} 1. C{CUT[1:]}: done, marks count from there. 2. Mark 1 8 11/16" in sheet("bench")


def kept_before() -> dict[str, Any]:
    """The job, its new marks as an older version kept them: not how a cut or a twist is seen, nor where B is cut."""
    data = job_to_data(kept())
    for entry in data["entries"]:
        if anew := entry["what"].get("anew"):
            for name in ("cut_first", "cut_look_at", "line_b_mm", "off_b_mm"):
                anew.pop(name, None)
            for twist in anew.get("twisted", ()):
                twist.pop("look_at")
    return data


def test_sheets_of_marks_kept_before_say_how_to_see_whether_the_cut_is_done(here: Path) -> None:
    before = kept_before()
    for what in ("card", "bench"):
        words = sheet(what, before)
        assert f"{CUT}, marks count from there (m{LOOK})" in words
        assert "easure where end B comes before it is cut" in words
