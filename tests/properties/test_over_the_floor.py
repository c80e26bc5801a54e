"""How low the conduit on the hook's side comes while a bend is pulled, against the bend walked through in small steps.

The shoe rolls forward over its contact: about its middle everything on it turns by the angle bent so far, and the
middle stays a radius over the floor. Tolerance 0.05 mm: the steps of 1/2000 of the bend.
"""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.sequence.collide import hook_side_over_floor
from racewright.sequence.machine import Capsule
from racewright.sequence.state import Site

RADIUS, TUBE, STEPS = 118.0, 9.0, 2000
PLACE = st.floats(-420.0, 420.0)


def lowest(points: list[tuple[float, float]], angle: float) -> float:
    """Of points (forward, up) from the contact: the lowest that one comes, 0 where none dips under the contact."""
    least = 0.0
    for k in range(STEPS + 1):
        turned = angle * k / STEPS
        for x, y in points:
            least = min(least, RADIUS + (y - RADIUS) * cos(turned) - x * sin(turned))
    return least


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(PLACE, PLACE), min_size=2, max_size=6), st.floats(0.05, 0.75 * pi))
def test_the_hook_side_comes_as_low_as_when_walked(points: list[tuple[float, float]], angle: float) -> None:
    beside = Capsule(0.0, 0.0, 0.0, *points[0], 0.0, TUBE)
    parts = tuple(Capsule(*here, 0.0, *there, 0.0, TUBE) for here, there in pairwise(points))
    site = Site(angle, TUBE, (beside, *parts), (), None, RADIUS)
    assert hook_side_over_floor(site) == pytest.approx(lowest(points, angle), abs=0.05)
