"""The chain of straights and arcs: known shapes, and refusals that say what would work. Tolerance 1e-9 mm."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan
from typing import Any

import pytest
from chain_inverse import is_sound, reversed_turns, turns_to_corners

from racewright.errors import LimitError
from racewright.geometry.chain import (
    Arc,
    Centreline,
    Line,
    Turn,
    any_normal,
    corners_to_turns,
    wrapped,
)
from racewright.geometry.vector import Frame, dot, norm

R = 100.0


def test_a_turn_that_cannot_be_is_told_by_what_is_wrong_with_it() -> None:
    for angle, radius, told in (
        (-0.5, R, ("bend angle", "deg")),
        (0.5, -R, ("radius", "mm")),
        (0.5, 0.0, ("radius", "mm")),
    ):
        with pytest.raises(LimitError) as caught:
            Centreline.from_turns(500.0, [Turn(100.0, angle, 0.0, radius)])
        assert (caught.value.quantity, caught.value.unit) == told


OFFSET = [(0.0, 0.0, 0.0), (500.0, 0.0, 0.0), (800.0, 0.0, 300.0), (1500.0, 0.0, 300.0)]


def near(expected: float | tuple[float, ...], tolerance: float = 1e-9) -> Any:
    return pytest.approx(expected, rel=0, abs=tolerance)


def test_one_ninety_ends_where_a_quarter_circle_ends() -> None:
    line = Centreline.from_turns(500.0 + R * pi / 2, [Turn(200.0, pi / 2, 0.0, R)])
    assert line.end_frame.origin == near((300.0, 0.0, 400.0))
    assert line.end_frame.axis == near((0.0, 0.0, 1.0))
    assert line.end_frame.normal == near((-1.0, 0.0, 0.0))
    assert line.point_at(200.0 + R * pi / 4) == near((200.0 + R * sin(pi / 4), 0.0, R * (1 - cos(pi / 4))))
    assert line.tangent_at(200.0 + R * pi / 4) == near((cos(pi / 4), 0.0, sin(pi / 4)))
    kinds = [type(segment) for segment in line.segments]
    assert kinds == [Line, Arc, Line]
    arc = line.segments[1]
    assert isinstance(arc, Arc)
    assert arc.centre == near((200.0, 0.0, 100.0))


def test_roll_is_right_handed_about_the_axis() -> None:
    line = Centreline.from_turns(500.0, [Turn(100.0, pi / 2, pi / 2, R)])
    # axis x, normal z: roll +90 turns toward x cross z = -y
    assert line.end_frame.axis == near((0.0, -1.0, 0.0))
    assert line.end_frame.normal == near((0.0, 0.0, 1.0))


def test_frames_agree_with_the_rotation_written_with_vectors() -> None:
    frame = Frame((1.0, 2.0, 3.0), (0.6, 0.8, 0.0), (0.0, 0.0, 1.0))
    line = Centreline.from_turns(400.0, [Turn(50.0, 1.1, 0.7, R)], frame)
    expected = frame.advanced(50.0).bent(R, 1.1, 0.7).advanced(350.0 - 1.1 * R)
    for got, wanted in zip(line.end_frame, expected, strict=True):
        assert got == near(wanted)
    part_way = frame.advanced(50.0).bent(R, 0.4, 0.7)
    for got, wanted in zip(line.frame_at(50.0 + 0.4 * R), part_way, strict=True):
        assert got == near(wanted)


def test_offset_has_the_straight_and_the_length_of_the_formula() -> None:
    # straight between the arcs L = H / sin A - 2 R tan(A/2)
    fit = corners_to_turns(OFFSET, R)
    a = pi / 4
    first, second = fit.turns
    straight = second.arc_start_mm - first.arc_start_mm - R * a
    assert straight == near(300.0 / sin(a) - 2 * R * tan(a / 2))
    assert first.roll_rad == 0.0
    assert second.roll_rad == near(pi)
    assert fit.frame.normal == near((0.0, 0.0, 1.0))
    gain = R * (2 * tan(a / 2) - a)
    assert fit.length_mm == near(500.0 + 300.0 / sin(a) + 700.0 - 2 * gain)


def test_saddle_apex_by_numeric_integration_of_the_model() -> None:
    # computed by integrating the centreline: R 4.471, A 22.5 deg, H 3.5 has L 7.3673 between arcs (4 decimals)
    r, a, rise = 4.471, radians(22.5), 3.5
    corner_rise = rise + r * (1 / cos(a) - 1)
    run = corner_rise / tan(a)
    corners = [(-30.0, 0, 0), (0, 0, 0), (run, 0, corner_rise), (2 * run, 0, 0), (2 * run + 30, 0, 0)]
    fit = corners_to_turns(corners, r)
    first, centre, _ = fit.turns
    assert centre.arc_start_mm - first.arc_start_mm - r * a == near(7.3673, 5e-5)
    line = Centreline.from_turns(*fit)
    apex = centre.arc_start_mm + r * a
    assert line.point_at(apex)[2] == near(rise)
    assert apex - first.arc_start_mm == near(10.8788, 5e-5)


def test_corners_come_back() -> None:
    fit = corners_to_turns([*OFFSET, (1500.0, 400.0, 300.0)], [60.0, 90.0, 120.0])
    back = turns_to_corners(*fit)
    assert len(back) == 5
    for got, wanted in zip(back, [*OFFSET, (1500.0, 400.0, 300.0)], strict=True):
        assert got == near(wanted)


def test_corners_in_line_and_repeats_are_dropped_with_their_radius() -> None:
    plain = corners_to_turns(OFFSET, [60.0, 90.0])
    padded = [OFFSET[0], (250.0, 0.0, 0.0), OFFSET[1], OFFSET[1], OFFSET[2], OFFSET[3], OFFSET[3]]
    assert corners_to_turns(padded, [1.0, 60.0, 2.0, 90.0, 3.0]) == plain


def test_a_straight_path_has_no_turns_and_some_normal() -> None:
    fit = corners_to_turns([(0, 0, 0), (0, 0, 100), (0, 0, 300)], R)
    assert fit.turns == ()
    assert fit.length_mm == near(300.0)
    assert fit.frame.normal == near((1.0, 0.0, 0.0))
    assert any_normal((1.0, 0.0, 0.0)) == near((0.0, 0.0, 1.0))
    assert turns_to_corners(*fit) == ((0, 0, 0), near((0, 0, 300)))


def test_reversed_turns_are_those_of_the_reversed_corners() -> None:
    corners = [*OFFSET, (1500.0, 400.0, 300.0)]
    fit = corners_to_turns(corners, R)
    other = corners_to_turns(corners[::-1], R)
    for got, wanted in zip(reversed_turns(fit.length_mm, fit.turns), other.turns, strict=True):
        assert tuple(got) == near(tuple(wanted))


def test_exactly_touching_bends_are_made_and_rounding_is_clamped() -> None:
    setback = R * tan(pi / 4)
    fit = corners_to_turns([(0, 0, 0), (setback, 0, 0), (setback, 0, 2 * setback), (0, 0, 2 * setback)], R)
    line = Centreline.from_turns(*fit)
    assert [type(segment) for segment in line.segments if segment.end_s - segment.start_s > 1e-6] == [Arc, Arc]
    assert is_sound(line)
    nudged = Centreline.from_turns(400.0, [Turn(0.0, 1.0, 0.0, R), Turn(100.0 - 1e-8, 1.0, 0.0, R)])
    assert is_sound(nudged)
    assert [segment.start_s for segment in nudged.segments] == [0.0, 100.0, 200.0]


def test_zero_angle_adds_nothing() -> None:
    line = Centreline.from_turns(300.0, [Turn(100.0, 0.0, 1.0, R)])
    assert line.end_frame.origin == near((300.0, 0.0, 0.0))
    assert all(isinstance(segment, Line) for segment in line.segments)


def test_is_sound_finds_a_broken_chain() -> None:
    line = Centreline.from_turns(500.0, [Turn(100.0, 1.0, 0.0, R)])
    assert is_sound(line)
    a, b, c = line.segments
    assert isinstance(b, Arc)
    moved = c._replace(frame=c.frame.advanced(0.01))
    assert not is_sound(Centreline((a, b, moved), line.end_frame))
    turned = c._replace(frame=c.frame._replace(axis=(0.0, 1.0, 0.0)))
    assert not is_sound(Centreline((a, b, turned), line.end_frame))
    assert not is_sound(Centreline((a, b._replace(angle_rad=1.01), c), line.end_frame))


@pytest.mark.parametrize(
    ("length", "turns", "asked", "limit", "words"),
    [
        (
            500.0,
            [Turn(0.0, 1.0, 0.0, R), Turn(80.0, 1.0, 0.0, R)],
            80.0,
            100.0,
            "starts at 3.15 in (80.0 mm), 0.787 in",
        ),
        (500.0, [Turn(-3.0, 1.0, 0.0, R)], -3.0, 0.0, "0.118 in (3.0 mm) before end A"),
        (
            500.0,
            [Turn(450.0, 1.0, 0.0, R)],
            500.0,
            550.0,
            "(550.0 mm), 1.969 in (50.0 mm) past end B",
        ),
        (500.0, [Turn(450.0, -1.0, 0.0, R)], -57.29577951308232, 0.0, "The bend at corner 1 turns -57.296 degrees"),
        (500.0, [Turn(450.0, 1.0, 0.0, 0.0)], 0.0, 0.0, "radius of 0 in (0.0 mm)"),
        (0.0, [], 0.0, 0.0, "has no centerline"),
        (float("nan"), [], None, 0.0, "has no centerline"),
    ],
)
def test_turns_that_cannot_be_say_which_and_by_how_much(
    length: float, turns: list[Turn], asked: float | None, limit: float, words: str
) -> None:
    with pytest.raises(LimitError) as caught:
        Centreline.from_turns(length, turns)
    assert words in str(caught.value)
    assert "hint: " in str(caught.value)
    assert caught.value.limit == near(limit)
    if asked is not None:
        assert caught.value.asked == near(asked)


def test_a_leg_too_short_names_it_and_what_would_do() -> None:
    with pytest.raises(LimitError) as caught:
        corners_to_turns([(0, 0, 0), (500, 0, 0), (500, 0, 150), (900, 0, 150)], R)
    error = caught.value
    assert "Leg 2 (corner 1 to corner 2) is 5.906 in (150.0 mm) long" in error.message
    assert "1.969 in (50.0 mm) too much" in error.message
    assert 'at least 7 7/8" (200.0 mm)' in error.hint  # rounded up: what it recommends works
    assert (error.asked, error.limit) == near((150.0, 200.0))
    assert corners_to_turns([(0, 0, 0), (500, 0, 0), (500, 0, 200), (900, 0, 200)], R).turns
    with pytest.raises(LimitError, match=r"Leg 1 .end A to corner 1."):
        corners_to_turns([(0, 0, 0), (50, 0, 0), (50, 0, 900)], R)
    with pytest.raises(LimitError, match=r"Leg 2 .corner 1 to end B."):
        corners_to_turns([(0, 0, 0), (500, 0, 0), (500, 0, 50)], R)


def test_a_reversal_is_refused() -> None:
    with pytest.raises(LimitError, match="corner 1 the path turns back"):
        corners_to_turns([(0, 0, 0), (500, 0, 0), (100, 0, 0)], R)


def test_too_few_points_and_wrong_radii_are_refused() -> None:
    with pytest.raises(LimitError, match="all in one place"):
        corners_to_turns([(1, 2, 3), (1, 2, 3)], R)
    with pytest.raises(LimitError, match="4 corner points need 2 radii"):
        corners_to_turns(OFFSET, [1.0, 2.0, 3.0])
    with pytest.raises(LimitError, match="radii above zero"):
        corners_to_turns(OFFSET, -1.0)


def test_stations_off_the_piece_are_refused() -> None:
    line = Centreline.from_turns(500.0, [Turn(100.0, 1.0, 0.0, R)])
    for station in (-0.1, 500.1):
        with pytest.raises(LimitError, match="off the piece"):
            line.point_at(station)
    assert line.point_at(500.0) == near(line.end_frame.origin)


@pytest.mark.parametrize(
    ("angle", "expected"), [(pi, pi), (-pi, pi), (3 * pi, pi), (-pi - 1e-15, pi), (4.0, 4.0 - 2 * pi), (-0.0, 0.0)]
)
def test_wrapped_is_above_minus_half_a_turn(angle: float, expected: float) -> None:
    assert wrapped(angle) == near(expected)
    assert -pi < wrapped(angle) <= pi


def test_a_hundred_bends_in_a_row_keep_the_frame_square() -> None:
    frame = Frame()
    for k in range(120):
        frame = frame.advanced(100.0).bent(113.6, (pi / 8, pi / 4, pi / 8)[k % 3], (0.0, pi, 0.0)[k % 3])
    assert norm(frame.axis) == pytest.approx(1.0, abs=1e-13)
    assert norm(frame.normal) == pytest.approx(1.0, abs=1e-13)
    assert abs(dot(frame.axis, frame.normal)) < 1e-13
    # forty saddles of equal bends come out as they went in
    assert frame.axis == pytest.approx((1.0, 0.0, 0.0), abs=1e-12)
