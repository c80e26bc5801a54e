"""Independently computed: the physical model's saddle figures, by brute numeric integration of the centreline.

21 in to the middle, 3 1/2 in rise, 50 in overall, 22.5 - 45 - 22.5, made by the taught rule (3/16 and 2.5 per inch) on
two shoes given by take-up and gain. Heights are given to 0.001 in and held to 0.0006 in; where the apex stands is held
to 0.0015 in, since sampling finds the place of a flat maximum only to its own step.
"""

from math import pi, radians

import pytest

from racewright.bends.landing import land
from racewright.bends.saddle import three_bend_saddle
from racewright.marks.thumb import land_rule, saddle_rule
from racewright.tools.benders import BenderProfile

INCH = 25.4
TO_LAST_FIGURE = 0.0006 * INCH
PLACE_OF_MAXIMUM = 0.0015 * INCH


def shoe(take_up_in: float, gain_in: float, diameter_in: float) -> BenderProfile:
    radius = (gain_in - diameter_in) / (2.0 - pi / 2.0)
    lead = take_up_in - radius - diameter_in / 2.0
    return BenderProfile(
        name="taught figures",
        raceway_type="EMT",
        trade_size="-",
        outside_diameter_mm=diameter_in * INCH,
        radius_mm=radius * INCH,
        arrow_lead_mm=lead * INCH,
        centre_mm=radius * pi / 8.0 * INCH,
        star_mm=(radius * (pi / 2.0 - 1.0) - diameter_in / 2.0) * INCH,
        hook_reach_mm=1.5 * INCH,
        grip_mm=8.0 * INCH,
        take_up_mm=take_up_in * INCH,
        gain_mm=gain_in * INCH,
    )


HALF = shoe(5.0, 2.625, 0.706)
THREE_QUARTER = shoe(6.0, 3.25, 0.922)


@pytest.mark.parametrize(
    ("profile", "from_centre", "apex_in", "at_in", "off_in"),
    [
        (HALF, False, 3.527, 21.001, 0.102),
        (THREE_QUARTER, False, 3.552, 21.004, 0.149),
        (HALF, True, 3.425, 21.021, 0.0),
        (THREE_QUARTER, True, 3.403, 21.034, 0.0),
    ],
)
def test_taught_saddle_lands_where_integration_says(
    profile: BenderProfile, from_centre: bool, apex_in: float, at_in: float, off_in: float
) -> None:
    rule = saddle_rule(3.5 * INCH, radians(22.5), 21.0 * INCH, from_centre=from_centre)
    landing = land_rule(rule, profile, 50.0 * INCH)
    assert landing.apex_mm == pytest.approx(apex_in * INCH, abs=TO_LAST_FIGURE)
    assert landing.apex_plan_mm == pytest.approx(at_in * INCH, abs=PLACE_OF_MAXIMUM)
    assert landing.end_off_line_mm == pytest.approx(off_in * INCH, abs=TO_LAST_FIGURE)
    assert (landing.leg_rise_mm, landing.leg_aside_mm) == pytest.approx((landing.end_rise_mm, landing.end_aside_mm))


@pytest.mark.parametrize(
    ("profile", "straight_in", "shrink_in"), [(HALF, 7.3673, 0.6504), (THREE_QUARTER, 6.9881, 0.6406)]
)
def test_exact_saddle(profile: BenderProfile, straight_in: float, shrink_in: float) -> None:
    saddle = three_bend_saddle(3.5 * INCH, radians(22.5), profile.radius_mm)
    # given to 4 places, from R rounded to 0.001 in: 0.0003 in
    assert saddle.straight_mm / INCH == pytest.approx(straight_in, abs=4e-4)
    assert saddle.half_shrink_mm / INCH == pytest.approx(shrink_in, abs=1e-4)
    start = saddle.start_for_centre_mm(21.0 * INCH)
    landing = land(saddle.bends(start), 50.0 * INCH)
    assert landing.apex_mm == pytest.approx(3.5 * INCH, abs=1e-9)
    assert landing.apex_plan_mm == pytest.approx(21.0 * INCH, abs=1e-9)
    assert landing.end_off_line_mm == pytest.approx(0.0, abs=1e-9)


def test_exact_saddle_half_in_plan_and_along() -> None:
    saddle = three_bend_saddle(3.5, radians(22.5), 4.471)
    assert saddle.half_plan_mm == pytest.approx(10.2284, abs=6e-5)
    assert saddle.developed_mm / 2.0 == pytest.approx(10.8788, abs=6e-5)


@pytest.mark.parametrize(
    ("profile", "radius_in", "lead_in", "star_in", "centre_in"),
    [(HALF, 4.471, 0.176, 2.199, 1.756), (THREE_QUARTER, 5.424, 0.115, 2.635, 2.130)],
)
def test_profile_from_taught_figures(
    profile: BenderProfile, radius_in: float, lead_in: float, star_in: float, centre_in: float
) -> None:
    got = (profile.radius_mm, profile.arrow_lead_mm, profile.star_mm, profile.centre_mm)
    assert [value / INCH for value in got] == pytest.approx([radius_in, lead_in, star_in, centre_in], abs=6e-4)
