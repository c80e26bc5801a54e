"""Where a piece lands, how far a saddle clears, and what the rules of thumb give."""

from math import pi, radians, tan

import pytest

from racewright.bends.landing import between_backs_mm, land, land_stub
from racewright.bends.model import Bend
from racewright.bends.saddle import three_bend_saddle
from racewright.bends.saddle_clearance import BoxObstacle, RoundObstacle, clear_obstacle, saddle_gap
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.tools.benders import default_bender

IN = 25.4
SHOE = default_bender("EMT", "1/2")


def bend(start: float, angle_deg: float, roll_deg: float = 0.0, radius: float = 100.0) -> Bend:
    return Bend(arc_start_mm=start, angle_rad=radians(angle_deg), roll_rad=radians(roll_deg), radius_mm=radius)


def test_a_single_90_lands_at_its_radius() -> None:
    got = land([bend(50.0, 90.0)], 50.0 + 100.0 * pi / 2 + 70.0)
    assert (got.leg_rise_mm, got.leg_plan_mm) == pytest.approx((100.0, 150.0))
    assert (got.end_rise_mm, got.end_plan_mm) == pytest.approx((170.0, 150.0))
    assert got.apex_mm == pytest.approx(170.0)


def test_daylight_and_tilt_of_a_saddle_with_one_bend_short() -> None:
    made = three_bend_saddle(100.0, radians(22.5), 100.0)
    bends = list(made.bends(200.0))
    bends[2] = Bend(arc_start_mm=bends[2].arc_start_mm, angle_rad=radians(20.5), roll_rad=0.0, radius_mm=100.0)
    got = land(bends, made.developed_mm + 800.0)
    fall, along = got.end_rise_mm - got.leg_rise_mm, got.end_plan_mm - got.leg_plan_mm
    assert fall / along == pytest.approx(-tan(radians(2.0)))
    assert got.end_off_line_mm > 10.0
    assert got.apex_mm == pytest.approx(100.0)


def test_bends_that_overlap_or_leave_the_piece_are_refused() -> None:
    with pytest.raises(InputError):
        land([bend(0.0, 90.0), bend(100.0, 90.0)], 1000.0)
    with pytest.raises(InputError):
        land([bend(0.0, 90.0)], 100.0)
    with pytest.raises(InputError):
        land([bend(-1.0, 90.0)], 1000.0)
    with pytest.raises(InputError):
        land([], 1000.0)
    with pytest.raises(InputError):
        between_backs_mm([bend(0.0, 90.0)], 18.0)


def test_stub_by_deduct_stands_as_high_as_asked_on_its_own_shoe() -> None:
    rule = thumb.deduct_rule(13 * IN, SHOE.take_up_mm)
    got = land_stub(thumb.bends_of_rule(rule, SHOE), 2000.0, SHOE.outside_diameter_mm)
    assert got == pytest.approx(13 * IN, abs=1e-9)
    with pytest.raises(InputError):
        thumb.deduct_rule(4 * IN, SHOE.take_up_mm)


def test_star_puts_the_backs_as_far_apart_as_the_tape_says() -> None:
    first = thumb.bends_of_rule(thumb.deduct_rule(12 * IN, SHOE.take_up_mm), SHOE)[0]
    rule = thumb.star_rule(first, 48 * IN, SHOE.outside_diameter_mm)
    second = thumb.bends_of_rule(rule, SHOE)[0]
    assert between_backs_mm([first, second], SHOE.outside_diameter_mm) == pytest.approx(48 * IN, abs=1e-9)


def test_exact_marks_of_a_rule_s_own_bends_are_its_marks() -> None:
    for rule in (
        thumb.saddle_rule(3 * IN, radians(22.5), 30 * IN),
        thumb.saddle_rule(3 * IN, radians(22.5), 30 * IN, from_centre=True),
        thumb.offset_rule(6 * IN, radians(30.0), 40 * IN, hook="B"),
        thumb.four_bend_rule(4 * IN, radians(30.0), 30 * IN, 6 * IN),
        thumb.kick_rule(4 * IN, radians(30.0)),
    ):
        bends = thumb.bends_of_rule(rule, SHOE)
        assert thumb.exact_marks_mm(rule, bends, SHOE) == pytest.approx([m.mark_mm for m in rule.marks], abs=1e-9)


def test_four_bend_rule_of_the_taught_constants() -> None:
    """Arithmetic only: box 6 x 4, 30 degrees, near face at 24: marks 17, 25, 31, 39."""
    rule = thumb.four_bend_rule(4 * IN, radians(30.0), 24 * IN, 6 * IN)
    assert [m.mark_mm / IN for m in rule.marks] == pytest.approx([17.0, 25.0, 31.0, 39.0], abs=1e-12)


def test_rules_refuse_what_they_were_never_taught_for() -> None:
    with pytest.raises(InputError):
        thumb.saddle_rule(3 * IN, radians(40.0), 30 * IN)
    with pytest.raises(InputError):
        thumb.offset_rule(6 * IN, radians(30.0), 5 * IN)
    assert "without a radius" in thumb.offset_rule(6 * IN, radians(37.0), 40 * IN).source


def test_even_shots_as_taught() -> None:
    """Taught: developed length in equal parts from stub - (R + D/2)."""
    marks = thumb.even_shots_rule_mm(30.0, 20.0, 0.706, 9)
    assert marks[0] == pytest.approx(30.0 - 20.353 + 20.0 * pi / 36.0)
    assert marks[1] - marks[0] == pytest.approx(20.0 * pi / 18.0)


def test_a_wide_box_is_not_cleared_by_the_apex_rule() -> None:
    found = clear_obstacle(
        BoxObstacle(height_mm=50.0, width_mm=100.0),
        angle_rad=radians(30.0),
        radius_mm=113.0,
        outside_diameter_mm=17.9,
        clearance_mm=12.0,
    )
    assert found.apex_rise_mm == pytest.approx(62.0)
    assert found.apex_gap is not None
    assert found.apex_gap.gap_mm < 0.0
    assert found.apex_short_mm == pytest.approx(12.0 - found.apex_gap.gap_mm)
    assert found.three.rise_mm > 62.0
    assert (found.four.rise_mm, found.four.flat_mm) == pytest.approx((62.0, 100.0))


def test_a_small_pipe_is_cleared_by_the_apex_rule() -> None:
    found = clear_obstacle(
        RoundObstacle(diameter_mm=60.0),
        angle_rad=radians(22.5),
        radius_mm=113.0,
        outside_diameter_mm=17.9,
        clearance_mm=6.0,
        standoff_mm=5.0,
    )
    assert found.apex_rise_mm == pytest.approx(61.0)
    assert found.apex_short_mm == 0.0
    assert found.three.rise_mm == pytest.approx(61.0)
    assert found.four.flat_mm == 0.0
    gap = saddle_gap(RoundObstacle(diameter_mm=60.0), found.three, outside_diameter_mm=17.9, standoff_mm=5.0)
    assert (gap.gap_mm, gap.at_mm) == pytest.approx((6.0, 0.0))


def test_a_low_obstacle_under_a_steep_angle_takes_the_least_rise() -> None:
    found = clear_obstacle(
        RoundObstacle(diameter_mm=10.0),
        angle_rad=radians(45.0),
        radius_mm=113.0,
        outside_diameter_mm=17.9,
        clearance_mm=0.0,
    )
    assert found.apex_gap is None
    assert found.three.rise_mm == pytest.approx(found.three.least_rise_mm)


@pytest.mark.parametrize("bad", [float("nan"), -1.0, float("inf")])
def test_meaningless_clearances_are_refused(bad: float) -> None:
    with pytest.raises(InputError):
        clear_obstacle(
            RoundObstacle(diameter_mm=50.0),
            angle_rad=0.4,
            radius_mm=100.0,
            outside_diameter_mm=18.0,
            clearance_mm=bad,
        )
    with pytest.raises(InputError):
        clear_obstacle(
            BoxObstacle(height_mm=50.0, width_mm=bad),
            angle_rad=0.4,
            radius_mm=100.0,
            outside_diameter_mm=18.0,
            clearance_mm=1.0,
        )
