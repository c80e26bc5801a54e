"""The search for the nearest moment of a bend, and what lets it leave parts out, against plain sampling."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.sequence.collide import RESOLUTION_MM, _height_between, least_over_bend
from racewright.sequence.machine import Capsule

MODEST = settings(max_examples=60, deadline=None)
HEIGHT = st.floats(-300.0, 300.0)
STEEP = 60.0


@MODEST
@given(st.floats(0.2, 2.3), st.floats(0.0, 1.0), st.floats(-20.0, 45.0))
def test_the_nearest_moment_is_found_wherever_in_the_bend_it_is(angle: float, part: float, nearest: float) -> None:
    at = part * angle

    def gap_at(middle: float, half: float) -> tuple[float, float]:
        return nearest + STEEP * abs(middle - at), STEEP * half

    found = least_over_bend(gap_at, angle, 50.0, -100.0)
    assert found == pytest.approx(nearest, abs=2.0 * RESOLUTION_MM)


@MODEST
@given(HEIGHT, HEIGHT, HEIGHT, HEIGHT)
def test_two_parts_are_as_far_apart_in_height_as_their_nearest_points(a: float, b: float, c: float, d: float) -> None:
    one, other = Capsule(0.0, 0.0, a, 9.0, 0.0, b, 1.0), Capsule(0.0, 5.0, c, 3.0, 5.0, d, 1.0)
    steps = [k / 40 for k in range(41)]
    nearest = min(abs(a + (b - a) * s - c - (d - c) * t) for s in steps for t in steps)
    between = _height_between(one, other)
    assert between <= nearest + 1e-9
    assert between == pytest.approx(nearest) or between <= 0.0
