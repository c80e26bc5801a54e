"""A bend that is bent on with the shoe turned is read the same however it is recorded: with its new mark or without it,
beforehand or as the next new marks are asked for."""

from collections.abc import Callable, Sequence
from math import degrees, radians
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert
from msgspec.structs import replace

from racewright.errors import InputError
from racewright.operations.bent import Bent, BentRequest, bent
from racewright.operations.common import Known
from racewright.operations.half_bent import made_bends
from racewright.operations.kept_before import check_since_cut, in_hand
from racewright.operations.lines_read import check_lines
from racewright.operations.made_before import KeptAgain, as_they_are
from racewright.operations.remark import RemarkAnswer, remarked
from racewright.records.bends_left import so_far
from racewright.records.entry import Anew, BendMade, Made, MadeEntry, MarkAnew, StepMade, TwistAnew
from racewright.records.ids import new_id
from racewright.records.model import MadeReading

END = {"name": "box", "fitting": "set-screw"}
OFFSET = {"rise": "5", "angle": 30, "shift": "1 3/16", "side": "right", "middle_at": "13 3/4"}
WALK = [
    {"leg": "26 3/4", "from": "face", "to": "back", "features": [{"offset": OFFSET}]},
    {"turn": "left", "angle": 22.5},
    {"leg": "55 5/8", "from": "inside", "to": "face"},
]
RUN = {"name": "pump house, along the floor", "raceway": "EMT 1/2", "cut": "after", "start": END, "end": END}
SURVEY = {"racewright": 1, "units": "in", "fraction": 16, "run": RUN | {"surface": "floor", "walk": WALK}}


def no_marks(_: Made) -> KeptAgain:
    raise AssertionError


def read_of(
    piece: Bent,
    written: Sequence[MadeReading],
    record: Sequence[Made],
    again: Callable[[Made], KeptAgain] = no_marks,
) -> list[MadeReading]:
    return as_they_are(piece, written, [MadeEntry(id=new_id(), what=one) for one in record], again)


@pytest.fixture(scope="module")
def piece() -> Bent:
    return bent(convert({"survey": SURVEY}, BentRequest), Known())


@pytest.fixture(scope="module")
def kept(piece: Bent) -> tuple[RemarkAnswer, Made]:
    told = remarked(piece, [MadeReading(number=1, angle_deg=10.0), MadeReading(number=2, angle_deg=30.0)])
    assert told.keep is not None
    return told, told.keep


@given(angle_deg=st.floats(20.0, 40.0), off_mm=st.integers(-12, 12))
def test_each_spelling_is_the_same_bend(
    piece: Bent, kept: tuple[RemarkAnswer, Made], angle_deg: float, off_mm: int
) -> None:
    told, entry = kept
    (on,) = told.bent_on
    assert (on.bend.number, on.bend.hook, on.bend.end_for_end) == (1, "B", True)
    assert entry.anew is not None
    at_mm = entry.anew.marks[0].mark_mm

    def spelled(place_mm: float | None) -> list[MadeReading]:
        since = Made(bends=(BendMade(number=1, angle_rad=radians(angle_deg), mark_mm=place_mm),))
        now = MadeReading(number=1, angle_deg=angle_deg, mark="" if place_mm is None else f"{place_mm:.6f} mm")
        return [read_of(piece, [], [entry, since])[0], read_of(piece, [now], [entry])[0]]

    # hook toward B: the arc ends where the shoe's mark puts it, and grows toward end A
    end_mm = on.bend.arc_end_mm + at_mm - on.bend.mark_mm
    for off, place_mm in ((0, None), (0, at_mm), (off_mm, at_mm + off_mm)):
        for one in spelled(place_mm):
            assert one.angle_deg == pytest.approx(angle_deg, abs=1e-6)
            (arc,) = made_bends(piece, [one], 3000.0)
            assert arc.arc_start_mm is not None
            ends_mm = arc.arc_start_mm + piece.shoe.radius_mm * radians(angle_deg)
            assert ends_mm == pytest.approx(end_mm + off, abs=1e-4)


ONE = Made(bends=(BendMade(number=1, angle_rad=radians(24.0), mark_mm=400.0, roll_off_rad=radians(1.0)),))
#: Marks kept for bends 1 and 2, the first of them bent on with the shoe as it stood; 3 is the rest.
TWO = Made(
    bends=(BendMade(number=1, angle_rad=radians(24.0), mark_mm=400.0, roll_off_rad=radians(1.0)), BendMade(number=2)),
    anew=Anew(
        marks=(
            MarkAnew(number=1, mark_mm=400.0, angle_rad=radians(30.0)),
            MarkAnew(number=3, mark_mm=900.0, angle_rad=1.0),
        )
    ),
)
TWICE = msgspec.structs.replace(
    TWO, anew=msgspec.structs.replace(TWO.anew, twisted=(TwistAnew(number=2, by_rad=0.05, how="twist it at mark 2"),))
)


def bend(number: int, deg: float | None = None, mark_mm: float | None = None, roll: float | None = None) -> Made:
    angle, off = (None if one is None else radians(one) for one in (deg, roll))
    return Made(bends=(BendMade(number=number, angle_rad=angle, mark_mm=mark_mm, roll_off_rad=off),))


Told = tuple[int, str, str, float | None, float | None]


@pytest.mark.parametrize(
    ("record", "written", "told"),
    [
        ([ONE], [MadeReading(number=1)], [(1, "400.000000 mm", "", 24.0, 1.0)]),
        ([ONE], [MadeReading(number=1, roll_off_deg=0.0)], [(1, "400.000000 mm", "", 24.0, 0.0)]),
        ([ONE], [MadeReading(number=1, start="15")], [(1, "", "15", 24.0, 1.0)]),
        ([ONE], [MadeReading(number=1, mark="16", angle_deg=25.0)], [(1, "16", "", 25.0, 1.0)]),
        ([ONE], [MadeReading(number=2)], [(1, "400.000000 mm", "", 24.0, 1.0), (2, "", "", None, None)]),
        ([TWO], [], [(1, "400.000000 mm", "", 24.0, 1.0), (2, "", "", None, None)]),
        ([TWO, bend(1)], [], [(1, "400.000000 mm", "", 30.0, 1.0), (2, "", "", None, None)]),
        ([TWO, bend(2)], [], [(1, "400.000000 mm", "", 24.0, 1.0), (2, "", "", None, None)]),
        ([TWO, bend(1, 29.0, 410.0, 2.0)], [], [(1, "410.000000 mm", "", 29.0, 2.0), (2, "", "", None, None)]),
        (
            [TWO, bend(1, 29.0)],
            [MadeReading(number=2, start="20")],
            [(1, "400.000000 mm", "", 29.0, 1.0), (2, "", "20", None, None)],
        ),
        ([TWICE, bend(2, roll=1.0)], [], [(1, "400.000000 mm", "", 24.0, 1.0), (2, "", "", None, 1.0)]),
        (
            [TWICE],
            [MadeReading(number=2, roll_off_deg=0.0)],
            [(1, "400.000000 mm", "", 24.0, 1.0), (2, "", "", None, 0.0)],
        ),
    ],
)
def test_what_is_left_out_of_a_reading_is_as_recorded(
    piece: Bent, record: list[Made], written: list[MadeReading], told: list[Told]
) -> None:
    read = read_of(piece, written, record)
    assert [(one.number, one.mark, one.start, one.angle_deg, one.roll_off_deg) for one in read] == told


REST = [bend(3, 57.0)]


@pytest.mark.parametrize(
    ("record", "written", "refused"),
    [
        ([TWO, *REST], [], "mark 1 is to be bent further or opened before the rest"),
        ([TWO, *REST], [MadeReading(number=1, mark="16")], "mark 1 is to be bent further or opened before the rest"),
        ([TWICE], [], "how mark 2 lies now"),
        ([TWICE], [MadeReading(number=1, roll_off_deg=0.0)], "how mark 2 lies now"),
        ([TWICE, bend(2, 30.0)], [MadeReading(number=2, angle_deg=30.0)], "how mark 2 lies now"),
    ],
)
def test_what_is_not_known_of_a_made_bend_is_asked_for(
    piece: Bent, record: list[Made], written: list[MadeReading], refused: str
) -> None:
    with pytest.raises(InputError, match=refused):
        read_of(piece, written, record)


@pytest.mark.parametrize(
    ("since", "written", "told"),
    [
        ([bend(1), bend(3)], [], (900.0, 57.3, None)),
        ([bend(1), bend(3, 50.0, 910.0, 2.0)], [], (910.0, 50.0, 2.0)),
        ([bend(1), bend(3, 50.0, 910.0)], [MadeReading(number=3, angle_deg=52.0)], (910.0, 52.0, None)),
        ([bend(1), bend(3, 50.0)], [MadeReading(number=3, mark="920 mm")], (920.0, 50.0, None)),
        ([], [MadeReading(number=1, angle_deg=30.0), MadeReading(number=3)], (900.0, 57.3, None)),
    ],
)
def test_a_bend_of_the_rest_is_by_its_new_mark_and_what_was_measured_since(
    piece: Bent, since: list[Made], written: list[MadeReading], told: tuple[float, float, float | None]
) -> None:
    planned = piece.bends[2]
    mark = remarked(piece, [MadeReading(number=1, angle_deg=24.0), MadeReading(number=2)]).marks[-1]
    assert mark.number == 3
    length = msgspec.structs.replace(mark.mark, mm=900.0)
    mark = msgspec.structs.replace(
        mark, mark=length, mark_rounding_mm=0.0, angle_deg=degrees(1.0), roll_deg=planned.roll_deg, hook=planned.hook
    )
    mark = msgspec.structs.replace(mark, reference=planned.reference)
    first = msgspec.structs.replace(mark, number=1, angle_deg=30.0, mark=msgspec.structs.replace(length, mm=400.0))
    read = read_of(piece, written, [TWO, *since], lambda _: KeptAgain((first, mark), (), (), TWO.anew))
    (last,) = [one for one in read if one.number == 3]
    assert (float(last.mark.removesuffix(" mm")), last.roll_off_deg) == (pytest.approx(told[0], abs=1e-5), told[2])
    assert last.angle_deg == pytest.approx(told[1], abs=0.01)
    # a plane that no hand tells from the planned one brings a far end B out all the same
    near = msgspec.structs.replace(mark, roll_deg=planned.roll_deg + 0.2)
    read = read_of(piece, written, [TWO, *since], lambda _: KeptAgain((first, near), (), (), TWO.anew))
    assert [one.roll_off_deg for one in read if one.number == 3] == pytest.approx([told[2] or 0.2])


def kept_so(entry: Made, **changes: Any) -> Made:
    assert entry.anew is not None
    return msgspec.structs.replace(entry, anew=msgspec.structs.replace(entry.anew, **changes))


def test_what_is_read_now_of_a_bend_counts_as_if_it_was_recorded(piece: Bent, kept: tuple[RemarkAnswer, Made]) -> None:
    """Of one that is bent on with the shoe turned, and of one of the rest whose shoe is turned by its new mark."""
    _, entry = kept
    assert entry.anew is not None
    at_mm = entry.anew.marks[0].mark_mm + 5.0
    (one, *_) = read_of(piece, [], [entry, bend(1, 31.0, at_mm)])
    for since, now in (
        (bend(1, 30.0, at_mm), MadeReading(number=1, angle_deg=31.0)),
        (bend(1, 31.0, at_mm - 9.0), MadeReading(number=1, mark=f"{at_mm:.6f} mm")),
        (bend(1, 29.0, at_mm - 9.0), MadeReading(number=1, mark=f"{at_mm:.6f} mm", angle_deg=31.0)),
    ):
        assert read_of(piece, [now], [entry, since])[0] == one
    planned = piece.bends[2]
    mark = remarked(piece, [MadeReading(number=1, angle_deg=24.0), MadeReading(number=2)]).marks[-1]
    turned = msgspec.structs.replace(mark, hook="A" if planned.hook == "B" else "B", roll_deg=planned.roll_deg)
    record = [msgspec.structs.replace(TWO, anew=Anew(marks=(MarkAnew(number=3, mark_mm=900.0, angle_rad=1.0),)))]
    length = msgspec.structs.replace(mark.mark, mm=900.0)
    turned = msgspec.structs.replace(turned, mark=length, mark_rounding_mm=0.0, angle_deg=degrees(1.0))

    def rest(since: list[Made], *now: MadeReading) -> MadeReading:
        return read_of(piece, now, [*record, *since], lambda _: KeptAgain((turned,), (), (), record[0].anew))[-1]

    there = rest([bend(3, 50.0, 910.0)])
    assert rest([bend(3, 55.0, 910.0)], MadeReading(number=3, angle_deg=50.0)) == there
    assert rest([], MadeReading(number=3, angle_deg=50.0, mark="910 mm")) == there
    assert rest([bend(3, 50.0)]) != there
    begins = rest([bend(3, 50.0, 910.0)], MadeReading(number=3, start="36"))
    assert (begins.start, begins.mark) == ("36", "")


def test_the_line_of_the_first_bend_is_where_it_was_recorded_and_the_begin_is_taken_in_its_place(
    piece: Bent, kept: tuple[RemarkAnswer, Made]
) -> None:
    _, entry = kept
    assert entry.anew is not None
    new_mm, planned_mm = entry.anew.marks[0].mark_mm, piece.bends[0].mark_mm
    with pytest.raises(InputError, match="by the line of its first bend"):
        check_lines(piece, entry, [(1, planned_mm)], {})
    begins = MadeReading(number=1, start="8")
    assert read_of(piece, [begins], [entry, bend(1, 30.0, planned_mm)])[0].start == "8"
    beyond = msgspec.structs.replace(
        entry, bends=(BendMade(number=1, mark_mm=2.0 * new_mm - planned_mm), BendMade(number=2))
    )
    check_lines(piece, beyond, [(1, planned_mm)], {})
    # end A was cut, and the place is read before it was
    by_mm = planned_mm - new_mm
    check_lines(piece, kept_so(entry, trim_mm=by_mm * 0.9), [(1, new_mm + by_mm * 0.9)], {})
    with pytest.raises(InputError, match="by the line of its first bend"):
        check_lines(piece, entry, [(1, new_mm + by_mm * 0.9)], {})


def test_a_bend_that_is_not_bent_on_yet_stands_at_its_only_line(piece: Bent, kept: tuple[RemarkAnswer, Made]) -> None:
    _, entry = kept
    assert entry.anew is not None
    new_mm, planned_mm = entry.anew.marks[0].mark_mm, piece.bends[0].mark_mm
    at = f"{planned_mm:.6f} mm"
    read = read_of(piece, [MadeReading(number=1, angle_deg=10.0, mark=at)], [entry])
    assert (read[0].mark, read[0].angle_deg) == (at, 10.0)
    for angle in (None, 10.0):
        with pytest.raises(InputError, match="and that it is bent on there is not told"):
            read_of(piece, [MadeReading(number=1, angle_deg=angle, mark=f"{new_mm:.6f} mm")], [entry])


def test_the_line_that_is_drawn_since_end_a_was_cut_is_none_from_before(
    piece: Bent, kept: tuple[RemarkAnswer, Made]
) -> None:
    _, entry = kept
    assert entry.anew is not None
    new_mm, trim_mm = entry.anew.marks[0].mark_mm, 8.0
    was_mm = new_mm - 2.0 * trim_mm  # of its first line, before the cut
    first = (BendMade(number=1, mark_mm=was_mm), BendMade(number=2))
    cuts = msgspec.structs.replace(kept_so(entry, trim_mm=trim_mm, cut_first=True), bends=first)
    step = Made(bends=(), steps=(StepMade(kind="cut", trim_mm=trim_mm, by_marks="c" * 32),))
    now = so_far([MadeEntry(id="c" * 32, what=cuts), MadeEntry(id=new_id(), what=step)])
    check_since_cut(piece, now, [(1, new_mm), (1, was_mm - trim_mm)], {})
    with pytest.raises(InputError, match="where it stood before the cut at end A that is ticked off"):
        check_since_cut(piece, now, [(1, was_mm)], {})


def test_the_conduit_in_hand_is_less_by_what_comes_off_at_end_a(piece: Bent, kept: tuple[RemarkAnswer, Made]) -> None:
    _, entry = kept
    two_metres = piece._replace(piece=replace(piece.piece, least_stock_mm=2000.0, extra_a_mm=0.0))
    for held, trim_mm, length_mm in (
        (None, 0.0, None),
        (1000.0, 0.0, 1000.0),
        (1000.0, 25.4, 974.6),
        (None, 25.4, 1974.6),
    ):
        anew = kept_so(entry, in_hand_mm=held, trim_mm=trim_mm).anew
        assert anew is not None
        told = in_hand(two_metres, anew, lambda: None)
        assert (None if told is None else told[0].mm) == (None if length_mm is None else pytest.approx(length_mm))
    more = kept_so(entry, in_hand_mm=1000.0, trim_mm=-25.4).anew
    assert more is not None
    told = in_hand(two_metres, more, lambda: None)
    assert told is not None
    assert told[0].mm == 1000.0, "what is left on there is in hand already"


def test_where_end_a_is_cut_the_begin_of_each_bend_tells_its_place_as_well_as_its_mark(piece: Bent) -> None:
    cut = kept_so(TWO, trim_mm=8.0)
    begins = [MadeReading(number=1, start="15"), MadeReading(number=2, start="20")]
    assert [one.start for one in read_of(piece, begins, [cut])] == ["15", "20"]
    with pytest.raises(InputError, match="where mark 2 is now is not told"):
        read_of(piece, begins[:1], [cut])
