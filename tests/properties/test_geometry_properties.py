"""What must hold for every chain: path to turns and back, mirror, reversal, length, and distances that keep
still under rigid motion. Tolerances stand beside each check (lengths in mm, pieces of some metres)."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import atan2, cos, pi, sin, tan

import pytest
from chain_inverse import is_sound, reversed_turns, turns_to_corners
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from racewright.errors import LimitError
from racewright.geometry.chain import (
    Arc,
    Centreline,
    Turn,
    corners_to_turns,
    wrapped,
)
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Box, Cylinder, HalfSpace, OutsideCorner, probe_of
from racewright.geometry.vector import Frame, Vec, add, cross, distance, dot, norm, scale, unit

MODEST = settings(max_examples=60, deadline=None)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def frames(draw: st.DrawFn) -> Frame:
    tilt, turn, spin = draw(numbers(-1.5, 1.5)), draw(numbers(-pi, pi)), draw(numbers(-pi, pi))
    axis = (cos(tilt) * cos(turn), cos(tilt) * sin(turn), sin(tilt))
    level = (-sin(turn), cos(turn), 0.0)
    frame = Frame((draw(numbers(-900, 900)), draw(numbers(-900, 900)), draw(numbers(-900, 900))), axis, level)
    return frame._replace(normal=unit(frame.toward(spin)))


@st.composite
def pieces(draw: st.DrawFn, most: int = 8, least_angle: float = 0.02) -> tuple[float, tuple[Turn, ...]]:
    s, turns = 0.0, []
    for index in range(draw(st.integers(0, most))):
        s += draw(numbers(0.0, 400.0))
        roll = wrapped(draw(numbers(-pi, pi))) if index else 0.0
        turn = Turn(s, draw(numbers(least_angle, 2.6)), roll, draw(numbers(40.0, 300.0)))
        turns.append(turn)
        s += turn.angle_rad * turn.radius_mm
    return s + draw(numbers(1.0, 400.0)), tuple(turns)


@st.composite
def solids(draw: st.DrawFn) -> Box | Cylinder | HalfSpace:
    frame = draw(frames())
    if draw(st.booleans()):
        a, b, c = (draw(numbers(1.0, 400.0)) for _ in range(3))
        return Box(
            corner=frame.origin,
            edge_x=scale(frame.axis, a),
            edge_y=scale(frame.normal, b),
            edge_z=scale(frame.binormal, c),
        )
    if draw(st.booleans()):
        return Cylinder(
            start=frame.origin,
            end=frame.advanced(draw(numbers(1.0, 900.0))).origin,
            radius_mm=draw(numbers(1.0, 200.0)),
        )
    return HalfSpace(point=frame.origin, normal=frame.axis)


def moved(frame: Frame, p: Vec) -> Vec:
    """p carried by the rigid motion that takes the standard frame to this one."""
    return add(frame.origin, turned(frame, p))


def turned(frame: Frame, v: Vec) -> Vec:
    # the standard frame: axis x, normal z, binormal x cross z = -y
    return add(add(scale(frame.axis, v[0]), scale(frame.binormal, -v[1])), scale(frame.normal, v[2]))


def moved_solid(frame: Frame, solid: Box | Cylinder | HalfSpace) -> Box | Cylinder | HalfSpace:
    if isinstance(solid, Box):
        return Box(
            corner=moved(frame, solid.corner),
            edge_x=turned(frame, solid.edge_x),
            edge_y=turned(frame, solid.edge_y),
            edge_z=turned(frame, solid.edge_z),
        )
    if isinstance(solid, Cylinder):
        return Cylinder(start=moved(frame, solid.start), end=moved(frame, solid.end), radius_mm=solid.radius_mm)
    return HalfSpace(point=moved(frame, solid.point), normal=turned(frame, solid.normal))


@MODEST
@given(pieces(), frames())
def test_chain_is_smooth_and_as_long_as_its_straights_and_arcs(
    piece: tuple[float, tuple[Turn, ...]], frame: Frame
) -> None:
    length, turns = piece
    line = Centreline.from_turns(length, turns, frame)
    assert is_sound(line)
    arcs = sum(turn.angle_rad * turn.radius_mm for turn in turns)
    straights = sum(s.end_s - s.start_s for s in line.segments if not isinstance(s, Arc))
    assert arcs + straights == pytest.approx(length, abs=1e-9 * length)
    axis, normal = line.end_frame.axis, line.end_frame.normal
    assert (norm(axis), norm(normal), dot(axis, normal)) == pytest.approx((1.0, 1.0, 0.0), abs=1e-12)


@MODEST
@given(pieces(), frames())
def test_turns_to_corners_and_back_is_the_same_piece(piece: tuple[float, tuple[Turn, ...]], frame: Frame) -> None:
    length, turns = piece
    corners = turns_to_corners(length, turns, frame)
    fit = corners_to_turns(corners, [turn.radius_mm for turn in turns])
    assert fit.length_mm == pytest.approx(length, abs=1e-6)
    assert len(fit.turns) == len(turns)
    for got, wanted in zip(fit.turns, turns, strict=True):
        assert got.arc_start_mm == pytest.approx(wanted.arc_start_mm, abs=1e-6)
        assert got.angle_rad == pytest.approx(wanted.angle_rad, abs=1e-9)
        # a roll is as sure as its bend is large: 0.02 rad at least here
        assert abs(wrapped(got.roll_rad - wanted.roll_rad)) < 1e-9
    ends = Centreline.from_turns(*fit).end_frame, Centreline.from_turns(length, turns, frame).end_frame
    assert distance(ends[0].origin, ends[1].origin) < 1e-6


@MODEST
@given(st.lists(st.tuples(numbers(-2e3, 2e3), numbers(-2e3, 2e3), numbers(-2e3, 2e3)), min_size=2, max_size=8))
def test_corners_to_turns_ends_at_the_last_corner_or_says_which_leg(corners: list[Vec]) -> None:
    refusal = None
    try:
        fit = corners_to_turns(corners, 25.0)
    except LimitError as error:
        refusal = error
    if refusal is not None:
        assert refusal.hint
        assert "Leg" in refusal.message or "corner" in refusal.message
        return
    line = Centreline.from_turns(*fit)
    assert distance(line.end_frame.origin, corners[-1]) < 1e-6
    assert distance(line.start_frame.origin, corners[0]) == 0.0
    assert fit.length_mm <= sum(distance(a, b) for a, b in pairwise(corners)) + 1e-9
    assert all(-pi < turn.roll_rad <= pi for turn in fit.turns)


@MODEST
@given(pieces())
def test_mirror_turns_every_roll_the_other_way(piece: tuple[float, tuple[Turn, ...]]) -> None:
    length, turns = piece
    line = Centreline.from_turns(length, turns)
    mirrored = Centreline.from_turns(length, [turn._replace(roll_rad=-turn.roll_rad) for turn in turns])
    for k in range(5):
        x, y, z = line.point_at(length * k / 4)
        assert distance(mirrored.point_at(length * k / 4), (x, -y, z)) < 1e-8


@MODEST
@given(pieces())
def test_reversed_piece_has_the_same_shape_from_the_other_end(piece: tuple[float, tuple[Turn, ...]]) -> None:
    length, turns = piece
    assume(turns)
    line = Centreline.from_turns(length, turns)
    end = line.end_frame
    back = scale(end.axis, -1.0)
    # the last bend's centre lies on the same side, whichever way the bend is read
    start = Frame(end.origin, back, end.toward(turns[-1].roll_rad))
    backward = Centreline.from_turns(length, reversed_turns(length, turns), start)
    for k in range(6):
        s = length * k / 5
        assert distance(backward.point_at(length - s), line.point_at(s)) < 1e-7
    again = reversed_turns(length, reversed_turns(length, turns))
    for got, wanted in zip(again, turns, strict=True):
        assert got.arc_start_mm == pytest.approx(wanted.arc_start_mm, abs=1e-9)
        assert abs(wrapped(got.roll_rad - wanted.roll_rad)) < 1e-9


@MODEST
@given(pieces(), numbers(0.0, 1.0))
def test_frame_at_is_the_end_frame_of_the_piece_cut_there(piece: tuple[float, tuple[Turn, ...]], part: float) -> None:
    length, turns = piece
    s = part * length
    assume(s > 1e-3)
    line = Centreline.from_turns(length, turns)
    cut = []
    for turn in turns:
        angle = min(turn.angle_rad, (s - turn.arc_start_mm) / turn.radius_mm)
        if angle > 0.0:
            cut.append(turn._replace(angle_rad=angle))
    stub = Centreline.from_turns(s, cut)
    for got, wanted in zip(line.frame_at(s), stub.end_frame, strict=True):
        assert distance(got, wanted) < 1e-8
    assert distance(line.tangent_at(s), line.frame_at(s).axis) < 1e-12


@MODEST
@given(numbers(0.02, 1.4), numbers(50.0, 300.0), numbers(100.0, 900.0))
def test_gain_of_one_bend_is_the_models(angle: float, radius: float, leg: float) -> None:
    setback = radius * tan(angle / 2)
    corners = [(0.0, 0.0, 0.0), (leg + setback, 0.0, 0.0)]
    corners.append((corners[1][0] + (leg + setback) * cos(angle), 0.0, (leg + setback) * sin(angle)))
    fit = corners_to_turns(corners, radius)
    # gain on the axis = R (2 tan(A/2) - A)
    assert 2 * (leg + setback) - fit.length_mm == pytest.approx(radius * (2 * tan(angle / 2) - angle), abs=1e-8)


@MODEST
@given(pieces(most=4), solids(), frames())
def test_least_distance_keeps_still_under_rigid_motion(
    piece: tuple[float, tuple[Turn, ...]], solid: Box | Cylinder | HalfSpace, frame: Frame
) -> None:
    length, turns = piece
    here = least_distance(Centreline.from_turns(length, turns), solid)
    there = least_distance(Centreline.from_turns(length, turns, frame), moved_solid(frame, solid))
    assert there.distance_mm == pytest.approx(here.distance_mm, abs=1e-6)


@MODEST
@given(pieces(most=4), solids())
def test_least_distance_is_below_every_station_and_reached_at_one(
    piece: tuple[float, tuple[Turn, ...]], solid: Box | Cylinder | HalfSpace
) -> None:
    length, turns = piece
    line = Centreline.from_turns(length, turns)
    found = least_distance(line, solid)
    assert found.doubt_mm <= 1e-6
    assert probe_of(solid)(*line.point_at(found.station_mm))[0] == pytest.approx(found.distance_mm, abs=1e-9)
    assert distance(found.point, found.foot) == pytest.approx(abs(found.distance_mm), abs=1e-8)
    assert probe_of(solid)(*found.foot)[0] == pytest.approx(0.0, abs=1e-8)
    for k in range(201):
        assert probe_of(solid)(*line.point_at(length * k / 200))[0] >= found.distance_mm - 1e-6


@MODEST
@given(solids(), frames(), numbers(0.0, 50.0))
def test_point_distance_changes_no_faster_than_the_point_moves(
    solid: Box | Cylinder | HalfSpace, frame: Frame, step: float
) -> None:
    a, b = frame.origin, frame.advanced(step).origin
    assert abs(probe_of(solid)(*a)[0] - probe_of(solid)(*b)[0]) <= step + 1e-9


def test_a_quarter_turn_of_the_frame_is_a_quarter_turn_of_the_corners() -> None:
    frame = Frame((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    corner = turns_to_corners(600.0, [Turn(100.0, 1.0, 0.0, 100.0)], frame)[1]
    assert atan2(corner[1], corner[0]) == pytest.approx(pi / 2, abs=1e-12)


def _onto_all(planes: list[tuple[Vec, float]], point: Vec) -> Vec:
    """The nearest point behind all planes, by alternating projections with Dykstra's corrections."""
    owed: list[Vec] = [(0.0, 0.0, 0.0)] * len(planes)
    for _ in range(2000):
        before = (point, *owed)
        for k, (n, offset) in enumerate(planes):
            moved = add(point, owed[k])
            onto = add(moved, scale(n, -max(0.0, dot(n, moved) - offset)))
            owed[k] = add(moved, scale(onto, -1.0))
            point = onto
        if before == (point, *owed):
            break
    return point


@MODEST
@given(
    st.lists(st.tuples(numbers(-pi, pi), numbers(-1.2, 1.2), numbers(-50.0, 50.0)), min_size=2, max_size=3), st.data()
)
def test_an_outside_corner_is_as_far_as_the_nearest_point_behind_its_walls(
    walls: list[tuple[float, float, float]], data: st.DataObject
) -> None:
    """Walls at any angle, not only square ones. Tolerance 1e-3 mm: what alternating projections leave."""
    planes = [((cos(t) * cos(e), sin(t) * cos(e), sin(e)), off) for t, e, off in walls]
    for (a, _), (b, _) in combinations(planes, 2):
        assume(abs(dot(a, b)) < 0.9)
    if len(planes) == 3:
        assume(abs(dot(cross(planes[0][0], planes[1][0]), planes[2][0])) > 0.3)
    point = (data.draw(numbers(-200, 200)), data.draw(numbers(-200, 200)), data.draw(numbers(-200, 200)))
    assume(max(dot(n, point) - off for n, off in planes) > 1.0)
    corner = OutsideCorner(faces=tuple(HalfSpace(point=scale(n, off), normal=n) for n, off in planes))
    assert probe_of(corner)(*point)[0] == pytest.approx(distance(point, _onto_all(planes, point)), abs=1e-3)
