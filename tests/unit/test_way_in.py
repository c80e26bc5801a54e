"""The certified way in against dense sampling, and what a piece meets while it is turned about one of its ends."""

from math import cos, radians, sin

import pytest
from piece_factory import D, R, bent_piece

from racewright.bends.model import BentPiece
from racewright.fit.way_in import TURNING_ROOM_MM, Solid, path_margin, swing
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Cylinder, HalfSpace, OutsideCorner
from racewright.geometry.vector import Frame, along, rotate

OFFSET = bent_piece((250.0, 30.0, 0.0), (480.0, 30.0, 180.0), length=900.0)
STUB = bent_piece((250.0, 90.0, 0.0), length=900.0)


def test_a_piece_on_its_wall_slides_along_it() -> None:
    wall = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -D / 2), normal=(0.0, 0.0, 1.0)))
    told = path_margin(OFFSET, Frame(), (-1.0, 0.0, 0.0), 20.0, wall)
    assert told.certified
    assert told.margin_mm == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_the_certified_margin_is_the_least_of_dense_samples(seed: int) -> None:
    spot = 300.0 + 60.0 * seed
    solid = Cylinder(
        start=(spot, -200.0, 100.0 + 20.0 * seed),
        end=(spot + 80.0 * cos(seed), 200.0, 100.0 + 30.0 * sin(seed)),
        radius_mm=15.0,
    )
    way = (-1.0, 0.0, 0.0)
    told = path_margin(OFFSET, Frame(), way, 60.0, Solid(name="x", solid=solid))
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in OFFSET.bends]
    sampled = min(
        least_distance(
            Centreline.from_turns(OFFSET.cut_length_mm, turns, Frame(along((0.0, 0.0, 0.0), way, -t * 0.1))), solid
        ).distance_mm
        - D / 2
        for t in range(601)
    )
    if told.certified:
        # between two looked-at places the air is never less than half of it at either, so never below zero
        assert sampled > -0.5 - 1e-6
        assert told.margin_mm >= sampled - 1e-6
    else:
        assert sampled < 0.0


@pytest.mark.parametrize(("off_mm", "certified"), [(D / 2 + 19.0, False), (D / 2 + 20.5, True)])
def test_held_back_toward_a_wall_it_needs_the_depth_of_its_fitting(off_mm: float, certified: bool) -> None:
    """The far leg of a stub stands `off_mm` off a wall that the piece comes from."""
    end = Centreline.from_turns(900.0, [Turn(250.0, radians(90.0), 0.0, R)], Frame()).end_frame.origin
    wall = Solid(name="wall", solid=HalfSpace(point=(end[0] + off_mm, 0.0, 0.0), normal=(-1.0, 0.0, 0.0)), surface=True)
    told = path_margin(STUB, Frame(), (-1.0, 0.0, 0.0), 20.0, wall)
    assert told.certified == certified
    assert told.margin_mm == pytest.approx(off_mm - D / 2 - 20.0, abs=1e-5)
    assert told.at_mm == 20.0


def reach_of(bent: BentPiece) -> float:
    """How far a piece stands off the axis of its end A, by dense samples."""
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in bent.bends]
    line = Centreline.from_turns(bent.cut_length_mm, turns, Frame())
    return max(abs(line.point_at(bent.cut_length_mm * k / 2000)[2]) for k in range(2001))


@pytest.mark.parametrize("bent", [OFFSET, STUB])
@pytest.mark.parametrize("spare", [-1.0, 1.0])
def test_a_bent_piece_turns_only_where_its_circle_clears_the_wall(bent: BentPiece, spare: float) -> None:
    height = reach_of(bent) + D / 2 + TURNING_ROOM_MM + spare
    wall = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -height), normal=(0.0, 0.0, 1.0)), surface=True)
    told = swing(bent, Frame(), "A", [wall])
    assert told.radius_mm == pytest.approx(reach_of(bent) + D / 2, abs=1e-3)
    assert told.blocked_by == ("wall" if spare < 0.0 else "")


def test_a_straight_piece_turns_anywhere() -> None:
    wall = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -D / 2), normal=(0.0, 0.0, 1.0)), surface=True)
    assert swing(bent_piece(length=900.0), Frame(), "B", [wall]).blocked_by == ""


@pytest.mark.parametrize("angle", [10.0, 95.0, 200.0, 310.0])
def test_a_pipe_anywhere_on_the_circle_stops_the_turn(angle: float) -> None:
    """A pipe beside the far leg's end, turned out of its way: the piece meets it somewhere on its way around."""
    off = rotate((0.0, 0.0, 400.0), (1.0, 0.0, 0.0), radians(angle))
    pipe = Cylinder(start=(250.0 + R, off[1], off[2]), end=(250.0 + R + 200.0, off[1], off[2]), radius_mm=20.0)
    assert swing(STUB, Frame(), "A", [Solid(name="pipe", solid=pipe)]).blocked_by == "pipe"
    behind = Cylinder(start=(-300.0, off[1], off[2]), end=(-100.0, off[1], off[2]), radius_mm=20.0)
    assert swing(STUB, Frame(), "A", [Solid(name="pipe", solid=behind)]).blocked_by == ""


def test_an_outside_corner_is_turned_past_where_its_edge_is_far_enough() -> None:
    faces = (
        HalfSpace(point=(0.0, 0.0, -D / 2), normal=(0.0, 0.0, 1.0)),
        HalfSpace(point=(100.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0)),
    )
    corner = Solid(name="corner", solid=OutsideCorner(faces=faces), surface=True)
    assert swing(STUB, Frame(), "A", [corner]).blocked_by == ""
    near = OutsideCorner(faces=(faces[0], HalfSpace(point=(400.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0))))
    assert swing(STUB, Frame(), "A", [Solid(name="corner", solid=near, surface=True)]).blocked_by == "corner"


def test_about_an_axis_square_to_the_wall_the_circle_stays_level() -> None:
    """The far leg of the stub runs along a wall that the turning axis stands square to: around, never nearer."""
    wall = HalfSpace(point=(250.0 + R + D / 2 + TURNING_ROOM_MM + 1.0, 0.0, 0.0), normal=(-1.0, 0.0, 0.0))
    assert swing(STUB, Frame(), "A", [Solid(name="wall", solid=wall, surface=True)]).blocked_by == ""
    near = HalfSpace(point=(250.0 + R + D / 2 + TURNING_ROOM_MM - 1.0, 0.0, 0.0), normal=(-1.0, 0.0, 0.0))
    assert swing(STUB, Frame(), "A", [Solid(name="wall", solid=near, surface=True)]).blocked_by == "wall"


def test_a_way_that_ends_in_a_light_touch_ends() -> None:
    """A pipe that the piece presses aside by 0.3 mm when it is held back all the way."""
    pipe = Cylinder(start=(920.0, -50.0, 0.0), end=(920.0, 50.0, 0.0), radius_mm=20.0 - D / 2 + 0.3)
    straight = bent_piece(length=880.0)
    told = path_margin(straight, Frame(), (-1.0, 0.0, 0.0), 20.0, Solid(name="pipe", solid=pipe))
    assert told.certified
    assert told.margin_mm == pytest.approx(-0.3, abs=1e-5)
