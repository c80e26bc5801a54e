"""New marks for the rest of a half-bent piece, kept by `racewright job record --new-marks` as the page keeps them."""

import json
import re
from math import degrees, radians
from pathlib import Path

import msgspec
import pytest
from kept_new_marks import MARKS, SADDLE, TRIMMED, last, marked, remark
from typed import kept, type_in

from racewright.cli.main import main
from racewright.errors import InputError
from racewright.job.plan_job import plan_one
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.operations.answer import answer
from racewright.operations.bends_recorded import as_kept
from racewright.operations.bent import bent_as_planned
from racewright.operations.made_before import as_read
from racewright.operations.new_marks import as_marked
from racewright.operations.remark import RemarkAnswer
from racewright.records.anew import new_marks
from racewright.records.entry import BendMade, Made
from racewright.records.ids import new_id
from racewright.records.model import MadeReading
from racewright.store.job_file import job_to_data


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    assert type_in("add", SADDLE, "--key", "PH-01") == 0
    return empty_folder


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


def test_marks_that_were_kept_with_a_begin_come_out_so_again() -> None:
    """What is kept of it is to the millionth of a mm, and the search turns on less."""
    offset = {"angle": "30", "rise": "5", "shift": "3", "side": "right", "starts_at": "14"}
    behind = {"angle": "22.5", "rise": "3", "starts_at": "20"}
    walk = [
        {"leg": "70", "features": [{"offset": offset}]},
        {"turn": "toward", "angle": 90},
        {"leg": "68", "features": [{"offset": behind}]},
    ]
    ends = {"start": {"fitting": "set-screw"}, "end": {"fitting": "set-screw"}}
    survey = {"units": "in", "run": {"name": "r", "raceway": "EMT 3/4", "clearance": "0", "walk": walk, **ends}}
    for start in ("25 1/4", "25 7/16", "26 1/4"):
        told = answer("remark", {"survey": survey, "made": [{"number": 2, "angle_deg": 34.0, "start": start}]})
        assert isinstance(told, RemarkAnswer)
        again = answer(
            "remark", {"survey": survey, "record": [{"id": new_id(), "what": msgspec.to_builtins(told.keep)}]}
        )
        assert isinstance(again, RemarkAnswer), again


def test_a_reading_that_was_recorded_is_told_to_the_last_digit_as_it_was_written() -> None:
    for angle in (24.0, 20.1, 47.3):
        assert [one.angle_deg for one in as_read([BendMade(number=1, angle_rad=radians(angle))])] == [angle]


def test_a_mark_is_not_rounded_into_another_bend(here: Path) -> None:
    """What the marks make is the piece that their bends lie in, each where the tape shows it."""
    plan = plan_one(kept().runs[0], kept())
    exact, (mark, _) = bent_as_planned(plan, plan.pieces[0]).arcs, remark({"number": 1}).marks
    for off_mm, moves in ((0.3, True), (-300.0, False)):
        piece = as_marked(exact, [msgspec.structs.replace(mark, mark_rounding_mm=off_mm)])
        moved = [new.arc_start_mm - old.arc_start_mm for new, old in zip(piece.bends, exact.bends, strict=True)]
        assert moved == pytest.approx([0.0, off_mm if moves else 0.0, 0.0])


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


def test_what_is_done_about_an_end_that_is_off_is_told_with_the_marks_wherever_these_are(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-01", "--made", "1=22.5@20", "--made", "2=45@27.4", "--made", "3=24.5@34.25", "--new-marks")
    out = capsys.readouterr().out
    assert "- Correct it so: bend mark 2 another 1°. Then measure it again." in out
    for command in (("status",), ("show", "PH-01")):
        type_in(*command)
        said = " ".join(capsys.readouterr().out.split())
        assert "; then correct it so: bend mark 2 another 1°. Then measure it again" in said, command


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
    anew, look = last().anew, r" \(measure its plane first, [^)]*\)"
    assert anew is not None
    assert [(one.number, one.by_rad, one.how) for one in anew.twisted] == [(2, pytest.approx(radians(-3)), twist)]
    assert anew.turned_rad == pytest.approx(radians(-2))
    assert [one.roll_off_rad for one in last().bends] == pytest.approx([radians(2), radians(5)])
    for command in (("show", "PH-01"), ("status",)):
        out = told(*command)
        assert re.search(
            f'its card: {twist}{look}; then mark 3 35 7/16": .* the floor; then when it goes in, {turn}', out
        )
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
    assert re.search(
        f'{twist}{look}; then mark 3 35 7/16": done, has 22 1/2°; then when it goes in, {turn}', told("show", "PH-01")
    )
    for done in (("record", "PH-01", "--made", "2=45, roll 0"), ("record", "PH-01", "--off", "up=0")):
        told(*done)
        assert f"{twist}: done; then mark 3" in told("show", "PH-01").partition("as built")[0]
        assert f"{twist}: done; then mark 3" in told("status")
        type_in("undo")
    told("set", "in", "PH-01")
    assert f"{twist}: done; then mark 3" in told("status")
    type_in("undo")
    data = job_to_data(kept())
    record = [{"id": one["id"], "what": one["what"]} for one in data["entries"] if one["what"]["kind"] == "made"]
    again = answer("remark", {"survey": data["runs"][0]["survey"], "record": record})
    assert isinstance(again, RemarkAnswer)
    assert again.twisted
    assert any(note.startswith(f"T{twist[1:]}. ") for note in again.notes), "as everywhere: nobody said that it is done"
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
    look = 'easure first: mark 1 stands 9" from end A until it is cut, then 8 11/16"'
    told = " ".join(capsys.readouterr().out.split())
    assert f"c{cut}, marks count from there (m{look}); then mark 1 8 11/16" in told
    assert first.first[0].look_at == f"M{look}."
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
