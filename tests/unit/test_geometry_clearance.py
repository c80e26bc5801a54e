"""Distances from an axis to solids, where geometry by hand gives the answer. Tolerance 1e-6 mm."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, hypot, pi, sin
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError
from racewright.geometry import clearance
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Box, Cylinder, HalfSpace, Obstacle, OutsideCorner, Wall, probe_of
from racewright.geometry.vector import Vec

STRAIGHT = Centreline.from_turns(1000.0, [])
NINETY = Centreline.from_turns(500.0, [Turn(100.0, pi / 2, 0.0, 100.0)])


def near(expected: float | tuple[float, ...]) -> Any:
    return pytest.approx(expected, rel=0, abs=1e-6)


def block(x: int, y: int, z: int, dx: int, dy: int, dz: int) -> Box:
    return Box(corner=(x, y, z), edge_x=(dx, 0, 0), edge_y=(0, dy, 0), edge_z=(0, 0, dz))


def corner(*faces: tuple[Vec, Vec]) -> OutsideCorner:
    return OutsideCorner(faces=tuple(HalfSpace(point=point, normal=normal) for point, normal in faces))


#: The walls x <= 0 and z <= 5, a column y from 0 to 40 behind z <= 0, and three walls that meet in a point.
EDGE = corner(((0, 0, 5), (0, 0, 1)), ((0, 0, 0), (1, 0, 0)))
COLUMN = corner(((0, 0, 0), (0, 0, 1)), ((0, 40, 0), (0, 1, 0)), ((0, 0, 0), (0, -1, 0)))
TIP = corner(((0, 0, 0), (1, 0, 0)), ((0, 0, 0), (0, 1, 0)), ((0, 0, 0), (0, 0, 1)))


@pytest.mark.parametrize(
    ("solid", "point", "expected"),
    [
        (EDGE, (-9, 3, 8), 3.0),
        (EDGE, (4, 3, 8), 5.0),
        (EDGE, (-2, 3, 1), -2.0),
        (COLUMN, (7, 44, -3), 4.0),
        (COLUMN, (7, -6, 8), 10.0),
        (COLUMN, (7, 3, -50), -3.0),
        (TIP, (1, 2, 2), 3.0),
        (TIP, (1, 2, -9), 5.0**0.5),
        (block(0, 0, 0, 10, 20, 30), (5, 10, 35), 5.0),
        (block(0, 0, 0, 10, 20, 30), (13, 24, 30), 5.0),
        (block(0, 0, 0, 10, 20, 30), (-1, -2, -2), 3.0),
        (block(0, 0, 0, 10, 20, 30), (2, 10, 15), -2.0),
        (block(0, 0, 0, -10, 20, 30), (-2, 10, 29), -1.0),
        (Cylinder(start=(0, 0, 0), end=(0, 0, 100), radius_mm=10), (13, 0, 104), 5.0),
        (Cylinder(start=(0, 0, 0), end=(0, 0, 100), radius_mm=10), (0, 15, 50), 5.0),
        (Cylinder(start=(0, 0, 0), end=(0, 0, 100), radius_mm=10), (0, 0, 50), -10.0),
        (Cylinder(start=(0, 0, 0), end=(0, 0, 100), radius_mm=10), (0, 3, 98), -2.0),
        (Cylinder(start=(0, 0, 0), end=(0, 0, 100), radius_mm=10), (3, 4, -7), 7.0),
        (HalfSpace(point=(0, 0, 5), normal=(0, 0, 1)), (9, 9, 12), 7.0),
        (HalfSpace(point=(0, 0, 5), normal=(0, 0, 1)), (9, 9, 1), -4.0),
    ],
)
def test_point_distance(solid: Obstacle | Wall, point: Vec, expected: float) -> None:
    assert probe_of(solid)(*point)[0] == near(expected)


def test_straight_past_a_box_corner_and_an_edge() -> None:
    found = least_distance(STRAIGHT, block(400, 30, 40, 50, 50, 50))
    assert found.distance_mm == near(50.0)
    assert found.foot[1:] == near((30.0, 40.0))
    beyond = least_distance(STRAIGHT, block(1030, 40, 0, 10, 10, 10))
    assert beyond.distance_mm == near(50.0)
    assert beyond.station_mm == near(1000.0)
    assert beyond.foot == near((1030.0, 40.0, 0.0))


def test_straight_past_a_slanting_bar_of_another_direction() -> None:
    # skew lines 70 apart, one bar of radius 20
    found = least_distance(STRAIGHT, Cylinder(start=(300, -200, 70), end=(500, 200, 70), radius_mm=20))
    assert found.distance_mm == near(50.0)
    assert found.station_mm == pytest.approx(400.0, abs=1e-2)
    assert found.foot == pytest.approx((400.0, 0.0, 50.0), abs=1e-2)


def test_straight_into_solids_gives_the_depth_of_the_deepest_axis_point() -> None:
    assert least_distance(STRAIGHT, block(400, -30, -20, 200, 100, 100)).distance_mm == near(-20.0)
    assert least_distance(STRAIGHT, block(990, -30, -20, 200, 100, 100)).distance_mm == near(-10.0)
    assert least_distance(STRAIGHT, HalfSpace(point=(600, 0, 0), normal=(-1, 0, 0))).distance_mm == near(-400.0)
    through = Cylinder(start=(500, -100, 5), end=(500, 100, 5), radius_mm=30)
    assert least_distance(STRAIGHT, through).distance_mm == near(-25.0)


def test_arc_round_a_pipe_that_shares_its_centre() -> None:
    pipe = Cylinder(start=(100, -50, 100), end=(100, 50, 100), radius_mm=40)
    found = least_distance(NINETY, pipe)
    assert found.distance_mm == near(60.0)
    assert found.doubt_mm <= 1e-6


def test_arc_outside_corner_to_a_post() -> None:
    post = Cylinder(start=(250, -500, -50), end=(250, 500, -50), radius_mm=12)
    found = least_distance(NINETY, post)
    assert found.distance_mm == near(hypot(150, 150) - 100 - 12)
    assert found.station_mm == pytest.approx(100 + 100 * pi / 4, abs=1e-4)
    assert found.point == pytest.approx((100 + 100 * sin(pi / 4), 0.0, 100 - 100 * cos(pi / 4)), abs=1e-4)


def test_arc_to_a_wall_is_at_its_lowest_point() -> None:
    # a saddle's crown under a ceiling: bend 45, 90, 45
    line = Centreline.from_turns(
        900.0,
        [Turn(100, pi / 4, 0.0, 100), Turn(300, pi / 2, pi, 100), Turn(600, pi / 4, 0.0, 100)],
    )
    ceiling = HalfSpace(point=(0, 0, 400), normal=(0, 0, -1))
    found = least_distance(line, ceiling)
    apex = line.point_at(300 + 100 * pi / 4)
    assert found.distance_mm == near(400 - apex[2])
    assert found.station_mm == pytest.approx(300 + 100 * pi / 4, abs=1e-3)


def test_end_of_an_arc_is_found_exactly() -> None:
    only_arc = Centreline.from_turns(100 * pi / 2, [Turn(0.0, pi / 2, 0.0, 100.0)])
    found = least_distance(only_arc, block(90, -10, 130, 20, 20, 20))
    assert found.distance_mm == near(30.0)
    assert found.station_mm == near(100 * pi / 2)


def test_search_that_stops_early_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clearance, "PROBES", 50)
    pipe = Cylinder(start=(100, -50, 100), end=(100, 50, 100), radius_mm=40)
    found = least_distance(NINETY, pipe)
    assert found.doubt_mm > 1e-3
    assert found.sure_mm == found.distance_mm - found.doubt_mm
    assert found.sure_mm <= 60.0 <= found.distance_mm + 1e-9


@pytest.mark.parametrize(
    "solid",
    [
        block(1, 2, 3, 4, 5, 6),
        Cylinder(start=(0.0, 0.0, 0.0), end=(1.0, 0.0, 0.0), radius_mm=2.0),
        HalfSpace(point=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0)),
    ],
)
def test_solids_go_to_json_and_back_as_one_union(solid: Box | Cylinder | HalfSpace) -> None:
    text = msgspec.json.encode(solid)
    assert b'"solid":"' in text
    assert msgspec.json.decode(text, type=Obstacle) == solid


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: block(0, 0, 0, 0, 1, 1), "edge_x has no length"),
        (
            lambda: Box(corner=(0, 0, 0), edge_x=(1, 0, 0), edge_y=(1, 1, 0), edge_z=(0, 0, 1)),
            "edge_x is not square",
        ),
        (lambda: Cylinder(start=(0, 0, 0), end=(0, 0, 0), radius_mm=1), "two ends that differ"),
        (lambda: Cylinder(start=(0, 0, 0), end=(0, 0, 1), radius_mm=0), "radius above zero"),
        (lambda: HalfSpace(point=(0, 0, 0), normal=(0, 0, 2)), r"2\.000000 long"),
    ],
)
def test_solids_that_are_none_are_refused(make: Callable[..., Any], words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        make()
    assert caught.value.field
    assert caught.value.hint
