"""Every shape against the chain of rigid motions, and every saddle's clearance against a sampled path.

The closed forms never see the chain: agreement to 1e-7 mm at conduit size is asked. The sampled path is cut into
0.02 mm steps, so the distance it finds is at most 0.001 mm more than the true one for the sizes drawn.
"""

from math import cos, hypot, pi, radians, sin, tan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from racewright.bends.choices import choices
from racewright.bends.kick import kick, kick_beside_90
from racewright.bends.landing import between_backs_mm, land, land_stub
from racewright.bends.large_radius import segmented_bend
from racewright.bends.nineties import back_to_back, stub_up
from racewright.bends.offset import (
    angle_for_plan_rad,
    angle_for_spacing_rad,
    box_offset,
    least_offset_rise_mm,
    offset,
    rolling_offset,
    steepest_offset_rad,
)
from racewright.bends.parallel import parallel
from racewright.bends.saddle import four_bend_saddle, three_bend_saddle
from racewright.bends.saddle_clearance import BoxObstacle, RoundObstacle, clear_obstacle, saddle_gap
from racewright.bends.shape import Shape
from racewright.geometry.chain import Centreline

RISES = st.floats(5.0, 600.0)
ANGLES = st.floats(radians(3.0), radians(88.0))
RADII = st.floats(40.0, 400.0)
STRAIGHTS = st.floats(0.0, 150.0)
EXACT = 1e-7


def end_of(shape: Shape, beyond_mm: float = 0.0) -> tuple[float, float, float]:
    return Centreline.from_turns(shape.developed_mm + beyond_mm, shape.turns).end_frame.origin


@given(RISES, ANGLES, RADII)
@settings(max_examples=80, deadline=None)
def test_offset_lands_on_the_parallel_line(rise: float, angle: float, radius: float) -> None:
    assume(rise >= least_offset_rise_mm(angle, radius))
    made = offset(rise, angle, radius)
    x, y, z = end_of(made)
    assert (x, y, z) == pytest.approx((made.plan_mm, 0.0, rise), abs=EXACT)
    assert made.shrink_mm == pytest.approx(rise * tan(angle / 2) - 2 * radius * (2 * tan(angle / 2) - angle), abs=EXACT)
    landing = land(made.bends(100.0), 200.0 + made.developed_mm)
    assert (landing.leg_rise_mm, landing.end_rise_mm) == pytest.approx((rise, rise), abs=EXACT)


@given(RISES, RADII, STRAIGHTS)
@settings(max_examples=80, deadline=None)
def test_the_steepest_angle_leaves_just_the_least_straight(rise: float, radius: float, straight: float) -> None:
    angle = steepest_offset_rad(rise, radius, straight)
    made = offset(rise, angle, radius, least_straight_mm=straight)
    if angle < pi / 2:
        assert made.straight_mm == pytest.approx(straight, abs=1e-6)
    else:
        assert made.straight_mm >= straight - 1e-6


@given(st.floats(5.0, 60.0), RADII, st.floats(100.0, 900.0))
@settings(max_examples=80, deadline=None)
def test_box_offset_finds_the_angle(rise: float, radius: float, room: float) -> None:
    steepest = offset(rise, steepest_offset_rad(rise, radius), radius)
    assume(room > steepest.spacing_mm and room > steepest.plan_mm)
    assert offset(rise, angle_for_spacing_rad(rise, room, radius), radius).spacing_mm == pytest.approx(room, abs=1e-6)
    assert offset(rise, angle_for_plan_rad(rise, room, radius), radius).plan_mm == pytest.approx(room, abs=1e-6)
    assert box_offset(rise, radius).plan_mm == pytest.approx(steepest.plan_mm, abs=1e-9)


@given(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0), ANGLES, RADII)
@settings(max_examples=60, deadline=None)
def test_rolling_offset_moves_up_and_to_the_right(up: float, aside: float, angle: float, radius: float) -> None:
    assume(hypot(up, aside) >= least_offset_rise_mm(angle, radius) + 1.0)
    made = rolling_offset(up, aside, angle, radius)
    landing = land(made.bends(0.0), made.developed_mm + 100.0)
    assert (landing.leg_rise_mm, landing.leg_aside_mm) == pytest.approx((up, aside), abs=EXACT)
    assert (landing.end_rise_mm, landing.end_aside_mm) == pytest.approx((up, aside), abs=EXACT)


@given(RISES, ANGLES, RADII)
@settings(max_examples=80, deadline=None)
def test_three_bend_saddle_returns_to_its_line(rise: float, angle: float, radius: float) -> None:
    assume(rise >= least_offset_rise_mm(angle, radius))
    made = three_bend_saddle(rise, angle, radius)
    assert end_of(made) == pytest.approx((made.plan_mm, 0.0, 0.0), abs=EXACT)
    landing = land(made.bends(0.0), made.developed_mm + 10.0)
    assert (landing.apex_mm, landing.apex_plan_mm) == pytest.approx((rise, made.half_plan_mm), abs=1e-6)
    assert made.straight_mm == pytest.approx((rise - 2 * radius * (1 - cos(angle))) / sin(angle), abs=EXACT)


@given(RISES, ANGLES, RADII, STRAIGHTS)
@settings(max_examples=60, deadline=None)
def test_four_bend_saddle_returns_to_its_line(rise: float, angle: float, radius: float, flat: float) -> None:
    assume(rise >= least_offset_rise_mm(angle, radius))
    made = four_bend_saddle(rise, angle, flat, radius)
    assert end_of(made) == pytest.approx((made.plan_mm, 0.0, 0.0), abs=EXACT)
    up, down = made.bends(0.0)[1:3]
    assert down.arc_start_mm - up.arc_end_mm == pytest.approx(flat, abs=EXACT)
    middle = Centreline.from_turns(made.developed_mm, made.turns).point_at(made.developed_mm / 2.0)
    assert middle == pytest.approx((made.half_plan_mm, 0.0, rise), abs=EXACT)
    landing = land(made.bends(0.0), made.developed_mm + 10.0)
    assert (landing.apex_mm, landing.apex_plan_mm) == pytest.approx((rise, made.half_plan_mm), abs=1e-5)


@given(st.floats(5.0, 400.0), st.floats(50.0, 900.0), RADII)
@settings(max_examples=80, deadline=None)
def test_kick_lifts_its_end_by_the_rise(rise: float, travel: float, radius: float) -> None:
    steepest = min(pi / 2, travel / radius)
    assume(rise < radius * (1 - cos(steepest)) + (travel - radius * steepest) * sin(steepest) - 1e-6)
    made = kick(rise, travel, radius)
    end = Centreline.from_turns(travel, made.turns).end_frame.origin
    assert end == pytest.approx((made.reach_mm, 0.0, rise), abs=EXACT)


@given(st.floats(5.0, 150.0), st.floats(500.0, 900.0), st.floats(40.0, 200.0))
@settings(max_examples=40, deadline=None)
def test_kick_beside_a_90_sets_its_stub_off_the_run(rise: float, travel: float, radius: float) -> None:
    made = kick_beside_90(rise, travel, radius)
    end = Centreline.from_turns(made.developed_mm, made.turns).end_frame
    assert end.origin[2] == pytest.approx(rise, abs=EXACT)
    assert end.axis[0] == pytest.approx(0.0, abs=1e-12)
    assert end.axis[2] == pytest.approx(0.0, abs=1e-12)
    assert end.origin[0] == pytest.approx(made.reach_mm, abs=EXACT)


@given(st.floats(250.0, 900.0), st.floats(40.0, 200.0), st.floats(15.0, 60.0))
@settings(max_examples=40, deadline=None)
def test_ninety_degree_shapes_measure_what_was_asked(length: float, radius: float, diameter: float) -> None:
    stub = stub_up(length, radius, diameter)
    bends = stub.bends(stub.arc_start_mm)
    assert land_stub(bends, 2000.0, diameter) == pytest.approx(length, abs=EXACT)
    leg = 2000.0
    cut = stub.cut_length_mm(leg)
    end = Centreline.from_turns(cut, [(t._replace(arc_start_mm=stub.arc_start_mm)) for t in stub.turns]).end_frame
    assert end.origin[2] + diameter / 2 == pytest.approx(leg, abs=EXACT)
    assume(length >= diameter + 2 * radius)
    pair = back_to_back(length, radius, diameter)
    assert between_backs_mm(pair.bends(300.0), diameter) == pytest.approx(length, abs=EXACT)


@given(ANGLES, RISES, st.lists(RADII, min_size=2, max_size=4), st.floats(20.0, 120.0))
@settings(max_examples=60, deadline=None)
def test_rack_keeps_its_distance_on_every_leg(angle: float, rise: float, radii: list[float], gap: float) -> None:
    assume(all(rise >= least_offset_rise_mm(angle, radius) for radius in radii))
    rack = parallel(lambda each: offset(rise, angle, each), angle, radii, [gap] * (len(radii) - 1))
    first, others = rack[0], rack[1:]
    slope = (cos(angle), sin(angle))

    def on_slope(index: int) -> tuple[float, float]:
        entry = rack[index]
        r = entry.shape.radius_mm
        return entry.start_shift_mm + r * sin(angle), -entry.across_mm + r * (1 - cos(angle))

    base = on_slope(0)
    for entry in others:
        point = on_slope(entry.number - 1)
        dx, dz = point[0] - base[0], point[1] - base[1]
        assert abs(dx * slope[1] - dz * slope[0]) == pytest.approx(entry.across_mm, abs=1e-6)
        assert entry.shape.plan_mm >= 0.0
    assert first.stagger_mm == 0.0


@given(
    st.floats(100.0, 200.0), st.floats(1.05, 8.0), st.integers(2, 20), st.sampled_from(["inscribed", "circumscribed"])
)
@settings(max_examples=60, deadline=None)
def test_shots_stay_within_their_ring(shoe: float, times: float, shots: int, fit: str) -> None:
    made = segmented_bend(shoe * times, shoe, shots, fit="inscribed" if fit == "inscribed" else "circumscribed")
    line = Centreline.from_turns(made.developed_mm, made.turns)
    # the circle's centre: over the tangent point, which lies touching * tan(45 deg) before the corner
    before = made.least_radial_mm - made.corner_to_first_mm
    centre = (-before, made.least_radial_mm)
    for i in range(400):
        x, _, z = line.point_at(made.developed_mm * i / 399)
        away = hypot(x - centre[0], z - centre[1])
        assert made.least_radial_mm - 1e-6 <= away <= made.most_radial_mm + 1e-6
    touched = made.least_radial_mm if fit == "circumscribed" else made.most_radial_mm
    assert touched == pytest.approx(shoe * times, abs=1e-7)
    assert made.plan_mm == pytest.approx(line.end_frame.origin[0], abs=EXACT)


def sampled_gap(
    obstacle: RoundObstacle | BoxObstacle,
    rise: float,
    angle: float,
    flat: float,
    radius: float,
    base: float,
    half: float,
) -> float:
    """Least distance from a sampled axis to the solid obstacle, less half the conduit: no closed form of ours."""
    made = four_bend_saddle(rise, angle, flat, radius)
    line = Centreline.from_turns(made.developed_mm, made.turns)
    steps = 4000
    best = 1e9
    for i in range(steps + 1):
        x, _, z = line.point_at(made.developed_mm * i / steps)
        x -= made.half_plan_mm
        y = z + base
        if isinstance(obstacle, RoundObstacle):
            away = hypot(x, y - obstacle.lift_mm - obstacle.diameter_mm / 2) - obstacle.diameter_mm / 2
        else:
            away = hypot(max(0.0, abs(x) - obstacle.width_mm / 2), max(0.0, y - obstacle.height_mm))
        best = min(best, away)
    return best - half


OBSTACLES = st.one_of(
    st.builds(RoundObstacle, diameter_mm=st.floats(10.0, 250.0), lift_mm=st.floats(0.0, 60.0)),
    st.builds(BoxObstacle, height_mm=st.floats(10.0, 200.0), width_mm=st.floats(5.0, 400.0)),
)


@given(
    OBSTACLES,
    st.floats(radians(10.0), radians(60.0)),
    st.floats(80.0, 200.0),
    st.floats(0.0, 40.0),
    st.floats(0.0, 30.0),
)
@settings(max_examples=25, deadline=None)
def test_the_saddle_that_clears_clears_and_no_lower_one_does(
    obstacle: RoundObstacle | BoxObstacle, angle: float, radius: float, clearance: float, standoff: float
) -> None:
    diameter = 23.4
    found = clear_obstacle(
        obstacle,
        angle_rad=angle,
        radius_mm=radius,
        outside_diameter_mm=diameter,
        clearance_mm=clearance,
        standoff_mm=standoff,
    )
    base = standoff + diameter / 2
    # a step of the sampling is under 0.5 mm: the sampled distance is at most 0.05 mm above the true one
    for saddle in (found.three, found.four):
        gap = saddle_gap(obstacle, saddle, outside_diameter_mm=diameter, standoff_mm=standoff)
        assert gap.gap_mm >= clearance - 1e-9
        step = saddle.developed_mm / 4000
        near = max(gap.gap_mm + diameter / 2, 5.0)
        seen = sampled_gap(obstacle, saddle.rise_mm, angle, saddle.flat_mm, radius, base, diameter / 2)
        assert gap.gap_mm - 1e-6 <= seen <= gap.gap_mm + step * step / near + 1e-6
    lower = found.three.rise_mm - 1e-6
    if lower > max(found.three.least_rise_mm, found.apex_rise_mm):
        low = three_bend_saddle(lower, angle, radius)
        left = saddle_gap(obstacle, low, outside_diameter_mm=diameter, standoff_mm=standoff)
        assert left.gap_mm < clearance
    if found.four.flat_mm > 1e-5:
        short = four_bend_saddle(found.four.rise_mm, angle, found.four.flat_mm - 2e-6, radius)
        assert saddle_gap(obstacle, short, outside_diameter_mm=diameter, standoff_mm=standoff).gap_mm < clearance + 1e-9


@given(RISES, RADII, STRAIGHTS)
@settings(max_examples=40, deadline=None)
def test_choices_are_possible_where_the_shape_can_be_made(rise: float, radius: float, straight: float) -> None:
    for row in (*choices("offset", rise, radius, straight), *choices("saddle 3", rise, radius, straight)):
        can = rise >= least_offset_rise_mm(row.angle_rad, radius, straight) - 1e-6
        assert row.possible == can or abs(row.straight_mm - straight) < 1e-5
        assert row.possible != bool(row.reason)
