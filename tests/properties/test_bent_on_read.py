"""A bend that is bent on with the shoe turned is read the same however it is recorded: with its new mark or without it,
beforehand or as the next new marks are asked for."""

from math import radians

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert

from racewright.operations.bent import Bent, BentRequest, bent
from racewright.operations.common import Known
from racewright.operations.half_bent import made_bends
from racewright.operations.made_before import KeptAgain, as_they_are
from racewright.operations.remark import RemarkAnswer, remarked
from racewright.records.entry import BendMade, Made
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


def no_marks() -> KeptAgain:
    raise AssertionError


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
        return [as_they_are(piece, [], [entry, since], no_marks)[0], as_they_are(piece, [now], [entry], no_marks)[0]]

    # hook toward B: the arc ends where the shoe's mark puts it, and grows toward end A
    end_mm = on.bend.arc_end_mm + at_mm - on.bend.mark_mm
    for off, place_mm in ((0, None), (0, at_mm), (off_mm, at_mm + off_mm)):
        for one in spelled(place_mm):
            assert one.angle_deg == pytest.approx(angle_deg, abs=1e-6)
            (arc,) = made_bends(piece, [one], 3000.0)
            assert arc.arc_start_mm is not None
            ends_mm = arc.arc_start_mm + piece.shoe.radius_mm * radians(angle_deg)
            assert ends_mm == pytest.approx(end_mm + off, abs=1e-4)
