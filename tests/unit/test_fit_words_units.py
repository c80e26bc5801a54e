"""The words of `racewright.fit` are in the unit of the person's tape, not always in inches."""

from math import radians

import pytest

from racewright.bends.model import Bend, BentPiece
from racewright.errors import InputError
from racewright.fit.finishing import HalfBent
from racewright.fit.made import MadeBend
from racewright.fit.measured import OffAt, check_measured, finer, gap_words
from racewright.fit.replan import replan
from racewright.units.tape import TapeStyle

MM = TapeStyle("mm", 1)
BENDS = (Bend(arc_start_mm=300.0, angle_rad=radians(90.0), roll_rad=0.0, radius_mm=113.6),)
PIECE = BentPiece(cut_length_mm=1000.0, outside_diameter_mm=17.9, bends=BENDS)


def test_new_marks_and_what_they_miss() -> None:
    made = [MadeBend(number=1, angle_rad=radians(97.0))]
    answer = replan(HalfBent(PIECE, made, tape=MM))[0]
    assert not answer.met
    assert " mm to the side" in answer.findings[0].message
    assert any(word.startswith("cut ") and " mm " in word for word in answer.words)
    assert '"' not in " ".join((*answer.words, answer.findings[0].message))


def test_fine_steps_and_a_place_off_the_piece() -> None:
    assert finer(TapeStyle()).denominator == 64
    assert finer(MM) == TapeStyle("mm", 10)
    assert gap_words((3.0, 4.0, 0.16, 0.0, 0.0), MM) == "5 mm to the side, under 1 mm lengthwise, 0.0° out of line"
    with pytest.raises(InputError, match="1200 mm from end A is not on the piece, which is 1000 mm long"):
        check_measured(PIECE, OffAt(way="up", off_mm=1.0, station_mm=1200.0), MM)
