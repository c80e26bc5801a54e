"""Shapes on plain numbers: the arithmetic, and what is refused with which words."""

from math import cos, degrees, pi, radians

import pytest

from racewright.bends import roles
from racewright.bends.choices import choices
from racewright.bends.kick import kick, kick_at_angle, kick_beside_90
from racewright.bends.large_radius import concentric_90s, describe_fit, segmented_bend
from racewright.bends.nineties import back_to_back, stub_up
from racewright.bends.offset import angle_for_plan_rad, angle_for_spacing_rad, box_offset, offset, rolling_offset
from racewright.bends.parallel import parallel, spacings_for_gap_mm, stagger_mm
from racewright.bends.saddle import four_bend_saddle, three_bend_saddle
from racewright.bends.shape import back_gain_mm, said_angle
from racewright.errors import InputError, LimitError

R, D = 100.0, 18.0


def test_stub_measured_three_ways() -> None:
    back = stub_up(300.0, R, D)
    assert back.arc_start_mm == pytest.approx(300.0 - 100.0 - 9.0)
    assert stub_up(300.0, R, D, measured_to="centre").arc_start_mm == pytest.approx(200.0)
    assert stub_up(300.0, R, D, measured_to="inside").arc_start_mm == pytest.approx(209.0)
    assert back.cut_length_mm(500.0) == pytest.approx(800.0 - (18.0 + 100.0 * (2.0 - pi / 2.0)))


def test_stub_too_short_says_the_least() -> None:
    with pytest.raises(LimitError) as caught:
        stub_up(105.0, R, D)
    assert caught.value.limit == pytest.approx(109.0)
    assert caught.value.hint.startswith("make the stub")
    with pytest.raises(InputError):
        stub_up(300.0, R, D, measured_to="top")  # type: ignore[arg-type]


def test_centreline_gain_of_a_90_on_4_inches() -> None:
    """Geometry: 8 - 6.283 = 1.717 in."""
    assert back_gain_mm(4.0, 0.706) == pytest.approx(2.4228, abs=1e-4)


def test_back_to_back_and_its_least() -> None:
    pair = back_to_back(1000.0, R, D)
    assert pair.straight_mm == pytest.approx(1000.0 - 18.0 - 200.0)
    assert pair.roles == (roles.STUB, roles.BACK_TO_BACK)
    assert back_to_back(1000.0, R, D, measured_to="inside").between_backs_mm == pytest.approx(1036.0)
    assert pair.cut_length_mm(300.0, 400.0) == pytest.approx(1700.0 - 2.0 * pair.back_gain_mm)
    with pytest.raises(LimitError) as caught:
        back_to_back(210.0, R, D)
    assert caught.value.limit == pytest.approx(218.0)


def test_offset_refusal_names_least_rise_and_steepest_angle() -> None:
    with pytest.raises(LimitError) as caught:
        offset(50.0, radians(60.0), R)
    assert caught.value.limit == pytest.approx(2.0 * R * (1.0 - cos(radians(60.0))))
    steepest = 41.4  # acos(1 - 50/200) = 41.41 deg, rounded down so that it fits
    assert f"{steepest}°" in caught.value.hint
    assert offset(50.0, radians(steepest), R).straight_mm > 0.0


def test_offset_at_exactly_its_least_rise_has_no_straight() -> None:
    least = 2.0 * R * (1.0 - cos(radians(30.0)))
    assert offset(least, radians(30.0), R).straight_mm == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("angle", [0.0, -0.1, float("nan"), float("inf"), radians(91.0)])
def test_meaningless_angles_are_refused(angle: float) -> None:
    with pytest.raises(InputError):
        offset(100.0, angle, R)


@pytest.mark.parametrize("rise", [0.0, -5.0, float("nan"), float("inf")])
def test_meaningless_rises_are_refused(rise: float) -> None:
    for make in (lambda: offset(rise, 0.5, R), lambda: three_bend_saddle(rise, 0.3, R), lambda: kick(rise, 300.0, R)):
        with pytest.raises(InputError):
            make()


def test_box_offset_takes_one_of_two() -> None:
    with pytest.raises(InputError):
        box_offset(10.0, R, spacing_mm=100.0, plan_mm=100.0)
    with pytest.raises(LimitError) as caught:
        angle_for_spacing_rad(10.0, 10.0, R)
    assert angle_for_spacing_rad(10.0, float(caught.value.limit or 0.0), R) > 0.0
    with pytest.raises(LimitError) as room:
        angle_for_plan_rad(10.0, 10.0, R)
    assert angle_for_plan_rad(10.0, float(room.value.limit or 0.0) + 1e-6, R) > 0.0


def test_rolling_offset_arithmetic() -> None:
    """Trigonometry: rise 6, roll 8: true offset 10, tilted 53.13 degrees from the rise."""
    made = rolling_offset(6.0, 8.0, radians(30.0), 0.001)
    assert made.rise_mm == pytest.approx(10.0)
    assert degrees(made.roll_angle_rad) == pytest.approx(53.1301, abs=1e-4)
    assert made.spacing_mm == pytest.approx(20.0, abs=1e-4)
    assert made.shrink_mm == pytest.approx(2.6795, abs=1e-3)


def test_kick_without_radius_is_the_arcsine() -> None:
    """Trigonometry: rise 10 over travel 20 is 30 degrees."""
    assert degrees(kick(10.0, 20.0, 1e-6).angle_rad) == pytest.approx(30.0, abs=1e-4)
    assert kick(100.0, 200.0, 10.0).plain_angle_rad == pytest.approx(radians(30.0))


@pytest.mark.parametrize("radius", [0.0, -R, float("nan")])
def test_no_bend_is_made_on_a_radius_that_is_none(radius: float) -> None:
    makers = (lambda: offset(90.0, 0.5, radius), lambda: kick(60.0, 310.0, radius))
    for make in makers:
        with pytest.raises(InputError, match="radius"):
            make()


def test_kick_refusals() -> None:
    with pytest.raises(LimitError) as caught:
        kick(400.0, 300.0, R)
    assert caught.value.limit == pytest.approx(R + 300.0 - R * pi / 2.0)
    with pytest.raises(LimitError):
        kick_at_angle(5.0, radians(45.0), R)
    with pytest.raises(LimitError):
        kick_beside_90(20.0, 105.0, R)


def test_saddle_placement_and_refusal() -> None:
    made = three_bend_saddle(100.0, radians(22.5), R)
    assert made.start_for_centre_mm(made.half_plan_mm + 5.0) == pytest.approx(5.0)
    with pytest.raises(LimitError):
        made.start_for_centre_mm(made.half_plan_mm - 5.0)
    with pytest.raises(LimitError) as caught:
        three_bend_saddle(20.0, radians(45.0), R)
    assert caught.value.limit == pytest.approx(2 * R * (1 - cos(radians(45.0))))
    with pytest.raises(LimitError):
        four_bend_saddle(100.0, radians(30.0), 10.0, R, least_straight_mm=20.0)


def test_bends_are_placed_and_rolled() -> None:
    bends = three_bend_saddle(100.0, radians(22.5), R).bends(200.0, "saddle 1", roll_rad=0.5)
    assert [b.role for b in bends] == [roles.SADDLE_OUTER, roles.SADDLE_CENTER, roles.SADDLE_OUTER]
    assert [b.roll_rad for b in bends] == pytest.approx([0.5, pi + 0.5, 0.5])
    assert bends[0].arc_start_mm == 200.0
    assert {b.shape for b in bends} == {"saddle 1"}


def test_rack_of_unequal_sizes() -> None:
    spacings = spacings_for_gap_mm([18.0, 24.0, 30.0], 25.0)
    assert spacings == pytest.approx((46.0, 52.0))
    rack = parallel(lambda radius: offset(200.0, radians(30.0), radius), radians(30.0), [100.0, 110.0, 140.0], spacings)
    assert [c.across_mm for c in rack] == pytest.approx([0.0, 46.0, 98.0])
    assert rack[2].stagger_mm == pytest.approx(stagger_mm(98.0, radians(30.0)))
    assert rack[2].start_shift_mm == pytest.approx(stagger_mm(98.0 - 40.0, radians(30.0)))
    kicks = parallel(lambda radius: kick_at_angle(200.0, radians(30.0), radius), radians(30.0), [100.0, 100.0], [50.0])
    assert kicks[1].stagger_mm == pytest.approx(stagger_mm(50.0, radians(30.0)))
    with pytest.raises(InputError):
        parallel(lambda radius: offset(200.0, radians(30.0), radius), radians(30.0), [100.0, 110.0], [])


def test_concentric_radii_grow_by_the_spacing() -> None:
    bends = concentric_90s(100.0, [40.0, 40.0], [100.0, 100.0, 100.0], most_shot_rad=radians(10.0))
    assert [b.radius_mm for b in bends] == pytest.approx([100.0, 140.0, 180.0])
    assert [b.bend.shots for b in bends] == [1, 9, 9]
    assert bends[0].bend.corner_to_first_mm == pytest.approx(100.0)
    with pytest.raises(LimitError):
        concentric_90s(90.0, [40.0], [100.0, 100.0], most_shot_rad=radians(10.0))


def test_segmented_names_its_fit() -> None:
    made = segmented_bend(500.0, 100.0, 9)
    assert made.taught_spacing_mm == pytest.approx(500.0 * pi / 18.0)
    assert describe_fit(made).startswith(
        "circumscribed: the straights touch the wanted circle, the axis lies on it or out"
    )
    within = segmented_bend(500.0, 100.0, 9, fit="inscribed")
    assert describe_fit(within).startswith("inscribed: the arcs touch the wanted circle, the axis lies on it or inside")
    assert made.least_radial_mm == pytest.approx(500.0) == within.most_radial_mm
    assert describe_fit(segmented_bend(100.0, 100.0, 1)).startswith("one shot")
    with pytest.raises(LimitError):
        segmented_bend(90.0, 100.0, 9)


def test_choices_say_what_binds() -> None:
    rows = {round(degrees(r.angle_rad), 1): r for r in choices("offset", 60.0, R, 40.0, room_mm=200.0)}
    assert (rows[10.0].limit, rows[10.0].limit_mm) == ("room", 200.0)
    assert rows[30.0].possible
    assert rows[45.0].limit == "straight"
    assert rows[60.0].limit == "rise"
    assert rows[60.0].plan_mm is None
    assert rows[30.0].plan_mm == pytest.approx(offset(60.0, radians(30.0), R).plan_mm)
    assert choices("saddle 4", 60.0, R, 0.0, flat_mm=100.0)[0].total_rad == pytest.approx(4 * radians(10.0))


def test_a_recommended_angle_is_rounded_down() -> None:
    assert said_angle(radians(41.49)) == "41.4°"
    assert said_angle(radians(30.0)) == "30°"
