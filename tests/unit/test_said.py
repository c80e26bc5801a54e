"""Lengths, pulls and presses in a message: the figure for each tape (1 in = 25.4 mm, 1 lbf = 4.448 N by definition)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from racewright.units.said import (
    said,
    said_area,
    said_finely,
    said_force,
    said_in,
    said_least,
    said_most,
    said_press,
    said_pull,
    said_ratio,
)
from racewright.units.tape import TapeStyle

INCHES, MM = TapeStyle("in", 16), TapeStyle("mm", 1)


@pytest.mark.parametrize(
    ("tell", "amount", "inches", "mm"),
    [
        (said, 10.04 * 25.4, '10 1/16"', "255 mm"),
        (said_least, 10.01 * 25.4, '10 1/16"', "255 mm"),
        (said_most, 10.05 * 25.4, '10"', "255 mm"),
        (said_most, 254.9, '10"', "254 mm"),
        (said_finely, 113.6, "4.472 in", "113.6 mm"),
        (said_force, 890.0, "200 lb", "890 N"),
        (said_press, 5.84, "400 lb/ft", "5.84 kN/m"),
        (said_pull, 890.0, "about 200 lb", "about 890 N"),
        (said_pull, 0.3, "less than 1 lb", "less than 1 N"),
        (said_ratio, 0.1875, '3/16" per inch', "0.188 of the rise"),
        (said_ratio, 2.5, '2 1/2" per inch', "2.5 of the rise"),
        (said_ratio, 2.0, '2" per inch', "2 of the rise"),
        (said_area, 400.0, "0.6200 in2", "400 mm2"),
    ],
)
def test_what_is_told_has_the_figure_and_the_unit_of_the_tape(
    tell: Callable[..., Any], amount: float, inches: str, mm: str
) -> None:
    with said_in(INCHES):
        assert tell(amount) == inches
    with said_in(MM):
        assert tell(amount) == mm


def test_where_no_tape_is_known_both_units_are_told() -> None:
    assert said_force(890.0) == "200 lb (890 N)"
    assert said_press(5.84) == "400 lb/ft (5.84 kN/m)"
    assert said_most(254.99) == '10" (254.9 mm)'
    assert said_least(254.01) == '10 1/16" (254.1 mm)'
