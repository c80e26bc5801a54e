"""New marks for a piece that was cut or twisted, or is cut after its last bend: what they take as done, and where."""

from math import radians
from pathlib import Path
from typing import Any

import msgspec
import pytest
import yaml
from kept_new_marks import SADDLE, TRIMMED

from racewright.errors import InputError
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.operations.not_known import check_twists
from racewright.operations.remark import RemarkAnswer
from racewright.records.bends_left import first_steps, line_is_lost, twists_read
from racewright.records.entry import Anew, BendMade, Made, MadeEntry, MarkAnew, TwistAnew

ID = "c" * 32
SADDLE_SURVEY = yaml.safe_load(Path(SADDLE).read_text(encoding="utf-8"))
COLUMN_SURVEY = yaml.safe_load((Path(SADDLE).parent / "packing-shed-column.yaml").read_text(encoding="utf-8"))


def made(**what: Any) -> dict[str, Any]:
    return {"kind": "made", "bends": [], **what}


#: Marks 1 and 2 of the saddle as planned: where they stand, and their angles.
WHERE = ((1, "20 1/4", 22.5), (2, "27 7/16", 45))


def of_entries(record_: list[dict[str, Any]]) -> list[MadeEntry]:
    return [MadeEntry(id=f"{n:032x}", what=msgspec.convert(what, Made)) for n, what in enumerate(record_)]


def answer_of(survey: Any, record_: list[dict[str, Any]], *now: dict[str, Any], **more: Any) -> Any:
    """New marks asked for after this record, whose first entry has the id `ID`."""
    of = [{"id": ID if n == 0 else f"{n:032x}", "what": what} for n, what in enumerate(record_)]
    return answer("remark", {"survey": survey, "record": of, "made": list(now), **more})


def remarked(survey: Any, record_: list[dict[str, Any]], *now: dict[str, Any], **more: Any) -> dict[str, Any]:
    told = answer_of(survey, record_, *now, **more)
    assert isinstance(told, RemarkAnswer), told
    keep: dict[str, Any] = msgspec.to_builtins(told.keep)
    return keep


def refused(survey: Any, record_: list[dict[str, Any]], *now: dict[str, Any]) -> str:
    told = answer_of(survey, record_, *now)
    assert isinstance(told, Refused), told
    return told.error.message


def steps_of(kept_: dict[str, Any]) -> list[dict[str, Any]]:
    return [msgspec.to_builtins(step) for step in first_steps(msgspec.convert(kept_, Made), ID)]


def same_marks(one: dict[str, Any], other: dict[str, Any], *, in_hand: bool = True, line: str = "") -> bool:
    """Both mark the rest so, and cut, twist and turn the piece so; `line`: where the other's line faces that did not
    turn with a twist (the one's: 3° on)."""
    names = ("trim_mm", "turned_rad", *(("in_hand_mm", "off_b_mm") if in_hand else ()))
    assert [one["anew"][n] for n in names] == pytest.approx([other["anew"][n] for n in names], abs=0.05)
    turned = f"line {int(line or 3) - 3}°"
    assert [m["how"].replace(turned, f"line {line}°") for m in one["anew"]["marks"]] == [
        m["how"] for m in other["anew"]["marks"]
    ]
    assert [m["mark_mm"] for m in one["anew"]["marks"]] == pytest.approx(
        [m["mark_mm"] for m in other["anew"]["marks"]], abs=0.05
    )
    return bool(one["anew"].get("twisted") == other["anew"].get("twisted"))


def line_after(record_: list[dict[str, Any]], *now: dict[str, Any]) -> str:
    """How the last mark has the piece turned, and its line."""
    how = remarked(SADDLE_SURVEY, record_, *now)["anew"]["marks"][-1]["how"]
    return (
        str(how).removeprefix("bend to 22 1/2°, read after letting go, arrow, hook toward A, ").partition(", bend")[0]
    )


def test_a_twist_is_done_by_a_plane_that_is_twisted_along_and_takes_the_line_with_it() -> None:
    """Whatever marks were kept since; where it is not known how far, a new line is drawn."""
    planes = ({"number": 1, "angle_deg": 22.5}, {"number": 2, "angle_deg": 45.0, "roll_off_deg": 4.0})
    first = remarked(SADDLE_SURVEY, [], *planes)
    tick = made(steps=steps_of(first))

    def read(number: int, deg: float) -> dict[str, Any]:
        return made(bends=[{"number": number, "roll_off_rad": radians(deg), "by_marks": ID}])

    for since, done in ((read(2, 4), False), (read(3, 0), False), (read(1, -4), False), (read(2, 0.5), True)):
        assert [one.done for one in answer_of(SADDLE_SURVEY, [first, since]).first] == [done], since
    turned, now = "rotate 180°: line 176° clockwise of up", {"number": 2, "roll_off_deg": 0.0}
    assert line_after([], *planes) == turned
    for record_ in ([first, tick], [first, read(2, 0)], [first]):
        assert line_after(record_, now) == turned
    assert line_after([first], {"number": 2, "roll_off_deg": 4.0}) == turned, "it is twisted now"
    second = remarked(SADDLE_SURVEY, [first], now)
    assert [(step["kind"], step["number"], step["by_marks"]) for step in second["steps"]] == [("twist", 2, ID)]
    again = answer_of(SADDLE_SURVEY, [first, second])
    assert again.keep.anew.marks == msgspec.convert(second, Made).anew.marks
    assert line_after([first, second], {"number": 1, "angle_deg": 22.75}).endswith("line 176° clockwise of up")
    assert line_after([], planes[0], {**planes[1], **now}) == "rotate 180°: line down"
    for_gone = made(steps=[{**steps_of(first)[0], "by_marks": "f" * 32}])
    assert line_after([first, for_gone], now) == turned, "once, and not for these as well"
    twice = line_after([first, tick, tick], now, {"number": 1, "roll_off_deg": 0.0})
    assert twice == (
        "draw a new line along the top of the conduit with mark 2 in the bender as when it was bent (how far the old"
        " one is twisted is not known), then rotate 180°: line down"
    )


def test_where_marks_that_are_gone_may_have_twisted_the_line_a_new_one_is_drawn() -> None:
    """Also by those that were kept since, as often as they are asked for; their own twists are known."""
    gone = {"number": 1, "by_marks": "f" * 32}
    planes = [{"number": n, "mark": place, "angle_deg": a, "roll_off_deg": 0} for n, place, a in WHERE]
    new = remarked(SADDLE_SURVEY, [made(bends=[gone])], *planes)
    draw = "draw a new line along the top of the conduit with mark 2 in the bender as when it was bent"
    assert draw in new["anew"]["marks"][-1]["how"]
    again = answer_of(SADDLE_SURVEY, [made(bends=[gone]), new])
    assert isinstance(again, RemarkAnswer)
    assert draw in again.marks[-1].spin_words.lower()
    # by which line it was bent is not known either
    by_card = "The place is taken as that of the card's mark: mark 1 (star, hook toward A)."
    for place, says in (({"mark": "20 1/4"}, True), ({"mark": "", "start": "14"}, False)):
        told = answer_of(SADDLE_SURVEY, [made(bends=[gone])], planes[0] | place, planes[1])
        assert isinstance(told, RemarkAnswer)
        assert any(by_card in note for note in told.notes) == says
    by_plan = remarked(SADDLE_SURVEY, [made(bends=[gone | {"by_marks": "plan"}])], *planes)
    assert "new line" not in by_plan["anew"]["marks"][-1]["how"]
    # bent on since, by marks that know it: the line that they had drawn is another than the first
    short = remarked(SADDLE_SURVEY, [made(bends=[gone])], planes[0] | {"angle_deg": 18}, planes[1])
    assert short["anew"]["marks"][0]["number"] == 1
    assert line_is_lost(of_entries([made(bends=[gone]), short, made(bends=[gone | {"by_marks": f"{1:032x}"}])]))
    # ticked off late: when these were kept the line was known
    late = [by_plan, made(bends=[gone])]
    assert [line_is_lost(of_entries(late), for_kept=kept) for kept in (False, True)] == [True, False]


def test_a_bend_that_was_read_before_marks_that_are_gone_bent_it_on_is_asked_for() -> None:
    """Its angle, and where all is: these may have cut end A."""
    read = [{"number": n, "mark": place, "angle_deg": a + 1, "roll_off_deg": 0} for n, place, a in WHERE]
    record_ = [remarked(SADDLE_SURVEY, [], *read), made(bends=[{"number": 2, "by_marks": "f" * 32}])]
    told = answer_of(SADDLE_SURVEY, record_, {"number": 1, "angle_deg": 23.5})
    assert isinstance(told, Refused)
    assert "the angle of mark 2, and where the mark of marks 1 and 2 stands from end A" in str(told.error.hint)


def test_new_marks_reckon_with_a_cut_and_a_twist_that_are_ticked_off_as_if_all_were_measured() -> None:
    places = ({"number": 1, "mark": "20 1/4", "roll_off_deg": 2}, {"number": 2, "mark": "27 15/16", "roll_off_deg": 5})
    first = remarked(SADDLE_SURVEY, [], *places, stock="62")
    assert first["anew"]["cut_look_at"].startswith("Measure first: mark 1 stands"), "the one nearest the end"
    ticks = [made(steps=[step]) for step in steps_of(first)]
    for done, lacks in (
        (ticks[:1], "how mark 2 lies now"),
        (ticks[1:], "where marks 1 and 2 are now"),
        ([], "whether that"),
    ):
        assert lacks in refused(SADDLE_SURVEY, [first, *done], {"number": 2, "angle_deg": 46.0})
    reckoned = remarked(SADDLE_SURVEY, [first, *ticks], {"number": 2, "angle_deg": 46.0})
    measured = [{"number": 1, "mark": "19 3/4"}, {"number": 2, "mark": "27 7/16", "angle_deg": 46.0}]
    measured = [{**one, "roll_off_deg": 2} for one in measured]
    assert same_marks(reckoned, remarked(SADDLE_SURVEY, [], *measured, stock="61 1/2"), line="178")
    read = {"number": 2, "angle_deg": 46.0, "mark": "27 7/16", "roll_off_deg": 2}
    assert same_marks(remarked(SADDLE_SURVEY, [first, *ticks], read), reckoned)
    # what is read of one now, rather as before the cut, speaks against its tick: by its mark or where it begins
    told = '27 15/16": that is where it stood before the cut at end A that is ticked off; 27 7/16" is expected'
    assert told in refused(SADDLE_SURVEY, [first, *ticks], {**read, "mark": "27 15/16"})
    arc = planned_arc(SADDLE_SURVEY, 2)
    start = {"number": 2, "roll_off_deg": 2.0, "start": f"{arc + 12.7:.3f} mm"}
    assert told in refused(SADDLE_SURVEY, [first, *ticks], start)
    assert "where mark 1 is now" in refused(SADDLE_SURVEY, [first, *ticks], {**start, "start": f"{arc:.3f} mm"})


def test_a_twist_by_marks_that_are_gone_leaves_the_planes_from_its_bend_on_to_be_read() -> None:
    """And of two twists that the marks that hold want it is told that they are done once both are."""
    tick = made(steps=[{"kind": "twist", "number": 2, "by_rad": 0.05, "by_marks": "e" * 32}])
    now = [{"number": 1, "angle_deg": 22.5}, {"number": 2, "angle_deg": 46.0}]
    told = answer_of(SADDLE_SURVEY, [tick], *now)
    assert isinstance(told, Refused)
    assert told.error.hint.startswith("measure and give how far the plane of mark 2 is off the plan now")
    twists = tuple(TwistAnew(number=number, by_rad=0.05, how=f"twist {number}") for number in (1, 2))
    bends = tuple(BendMade(number=number) for number in (1, 2))
    marks = Anew(marks=(MarkAnew(number=3, mark_mm=900.0, angle_rad=0.4),), twisted=twists)
    for done, words in (({1}, "whether that is done is not known"), ({1, 2}, "that is done, but not measured")):
        with pytest.raises(InputError, match=words):
            check_twists(Made(bends=bends, anew=marks), {}, {}, done)


def test_where_the_stick_is_cut_after_bending_end_b_is_cut_on_a_line_unless_its_length_was_said() -> None:
    """The plan asks for 867 mm at least: what comes off a longer stick nobody knows."""
    made_so = {"number": 1, "angle_deg": 21.0, "mark": "234"}
    for stock, ends, note in (
        ("", (0.0, 836.0), "Cut it on line B, 836 mm from end A, after bending."),
        ("950", (114.0, 0.0), "Cut 114 mm off at end B, after bending."),
    ):
        told = answer_of(COLUMN_SURVEY, [], made_so, stock=stock)
        assert (told.keep.anew.off_b_mm, told.keep.anew.line_b_mm) == pytest.approx(ends, abs=0.5)
        assert note in told.notes
        assert sum(one.startswith("Cut ") for one in told.notes) == 1
        assert answer_of(COLUMN_SURVEY, [msgspec.to_builtins(told.keep)]).notes == told.notes


def test_a_piece_that_new_marks_had_cut_is_no_scrap_for_a_length_that_nobody_said() -> None:
    """What they wanted in hand is there, less the cut; nothing said, a longer stick is looked at."""
    first = remarked(COLUMN_SURVEY, [], {"number": 1, "angle_deg": 22.5, "mark": "253"})
    ticks = [made(steps=[step]) for step in steps_of(first)]
    told = answer_of(COLUMN_SURVEY, [first, *ticks], {"number": 1, "angle_deg": 22.5, "mark": "234"})
    assert not told.scrap
    assert told.notes[0].startswith(
        "The conduit in hand is taken as 867 mm from end A, as the new marks that were kept"
    )
    assert (told.keep.anew.in_hand_mm, told.keep.anew.line_b_mm) == pytest.approx((867.0, 836.0), abs=0.5)
    again = [first, *ticks, msgspec.to_builtins(told.keep)]
    assert answer_of(COLUMN_SURVEY, again).keep.anew == told.keep.anew
    said = answer_of(COLUMN_SURVEY, [first, *ticks], {"number": 1, "angle_deg": 22.5, "mark": "234"}, stock="849")
    assert said.scrap


def planned_arc(survey: Any, number: int) -> float:
    told = answer("plan", {"survey": survey})
    begins: float = told.plan.pieces[0].bends[number - 1].arc_start_mm  # type: ignore[union-attr]
    return begins


def test_a_bend_made_by_marks_that_count_from_a_cut_that_is_ticked_off_is_where_they_put_it() -> None:
    first = remarked(TRIMMED, [], {"number": 1, "angle_deg": 24.0, "mark": "228.357 mm"})
    assert first["anew"]["cut_first"]
    (cut,) = [made(steps=[step]) for step in steps_of(first)]
    on = made(bends=[{"number": 1, "angle_rad": radians(30), "by_marks": ID}])
    second = {"number": 2, "angle_deg": 31.0}
    assert "What the piece is now cannot be told" in refused(TRIMMED, [first, on], second)
    reckoned = remarked(TRIMMED, [first, cut, on], second)
    (mark,) = [one["mark_mm"] for one in first["anew"]["marks"] if one["number"] == 2]
    places = {1: 228.357 - first["anew"]["trim_mm"], 2: mark}
    measured = [{"number": n, "angle_deg": deg, "mark": f"{places[n]:.6f} mm"} for n, deg in ((1, 30.0), (2, 31.0))]
    assert same_marks(reckoned, remarked(TRIMMED, [], *measured, stock="86 1/8"), in_hand=False)
    # a cut that is ticked off after a bend was made by them, or with a place read of a bend that was there: to measure
    late = made(bends=[{"number": 2, "angle_rad": radians(31), "by_marks": ID}])
    for since, done in (([on], False), ([on, late], True)):
        assert [one.done for one in answer_of(TRIMMED, [first, *since]).first] == [done], "it counts from the cut"
    assert "cannot be told" in refused(TRIMMED, [first, on, late, cut], {"number": 2, "angle_deg": 31.5})
    read = made(bends=[{"number": 1, "mark_mm": 228.357, "by_marks": ID}])
    assert "cannot be told" in refused(TRIMMED, [first, cut, on, read], second)


@pytest.mark.parametrize(
    ("survey", "made", "more", "ends"),
    [
        (TRIMMED, {"number": 1, "angle_deg": 24.0, "mark": "228.357mm"}, {}, ('cut it on line B, 85 1/8" from end A',)),
        (SADDLE_SURVEY, {"number": 1, "angle_deg": 20.0}, {"stock": "62"}, ('cut 3 1/8" off at end B',)),
        (SADDLE_SURVEY, {"number": 1, "angle_deg": 20.0}, {}, ()),
    ],
)
def test_what_is_cut_off_after_the_last_bend_is_told_for_a_step_of_its_own(
    survey: Any, made: dict[str, Any], more: dict[str, Any], ends: tuple[str, ...]
) -> None:
    told = answer("remark", {"survey": survey, "made": [made], **more})
    assert isinstance(told, RemarkAnswer)
    assert told.ends == ends
    assert [f"{one[0].upper()}{one[1:]}, after bending." in told.notes for one in ends] == [True for _ in ends]
    assert told.keep is not None
    again = answer("remark", {"survey": survey, "record": [{"id": ID, "what": msgspec.to_builtins(told.keep)}]})
    assert isinstance(again, RemarkAnswer)
    assert again.ends == ends, "as they were kept"


def test_lines_are_drawn_where_those_of_the_marks_before_stand_elsewhere_not_only_the_plans() -> None:
    """Once a bend is made by these theirs stand there; until then the plan's may."""
    draw = ("First draw the new lines: the old ones do not count.",)
    first = remarked(SADDLE_SURVEY, [], {"number": 1, "angle_deg": 24.0, "mark": "20 1/2"})
    by_first = made(bends=[{"number": 2, "by_marks": ID}])
    again = {"number": 1, "angle_deg": 22.5, "mark": "20 1/2"}

    def third(record_: list[dict[str, Any]], *now: dict[str, Any]) -> tuple[Any, str, str]:
        told = answer_of(SADDLE_SURVEY, record_, *now)
        return told.before, told.marks[-1].mark.tape, told.marks[-1].was.tape

    assert third([first], again) == (draw, "35 3/4", "36 13/16")
    assert third([], {"number": 1, "angle_deg": 24.0, "mark": "20 1/2"}) == (draw, "36 13/16", "35 7/16")
    assert third([first], {"number": 1, "angle_deg": 24.0}) == (draw, "36 13/16", "36 13/16"), (
        "or the plan's stand there"
    )
    whole = [{"number": n, "angle_deg": a, "mark": at, "roll_off_deg": 0} for n, at, a in WHERE]
    assert third([first, by_first], again) == (draw, "35 7/16", "36 13/16"), "it is the plan's, and not drawn"
    second = remarked(SADDLE_SURVEY, [first, by_first], *whole)
    assert third([first, by_first, second]) == (draw, "34 7/8", "36 13/16"), "they are asked for again"
    first["anew"]["marks"][-1]["mark_mm"] = second["anew"]["marks"][-1]["mark_mm"]
    assert third([first, by_first], *whole) == ((), "34 7/8", "34 7/8")
    first["anew"] |= {"cut_first": True, "trim_mm": 8.0}
    by_plan = made(bends=[{"number": 2, "by_marks": "plan"}])
    assert third([first, by_plan], *whole) == (draw, "33 15/16", "35 7/16"), "nothing was drawn from there"


def test_a_plane_that_is_read_half_way_shows_no_twist() -> None:
    """It is as near to where the bend lay; one at the bend itself shows it, one before it does not."""
    twisted = (TwistAnew(number=2, by_rad=0.1, how="twist it"),)
    anew = Anew(marks=(MarkAnew(number=3, mark_mm=900.0, angle_rad=0.5),), twisted=twisted)
    kept_ = Made(bends=(BendMade(number=1), BendMade(number=2)), anew=anew)
    shown = {
        (n, rad): twists_read(kept_, [BendMade(number=n, roll_off_rad=rad)]) for n in (1, 2) for rad in (0.05, 0.09)
    }
    assert shown == {(1, 0.05): set(), (1, 0.09): set(), (2, 0.05): set(), (2, 0.09): {2}}
