"""The taught offset and saddle figures against the exact ones without a radius.

Source: taught multipliers and shrinks, read in a reprint of a trade text on offsets (15 degrees: from memory); the
three-bend saddle's 2.5 and 3/16: from memory, method read in a reprint (NJATC, Conduit Bending and Fabrication, 2007,
p. 63).
"""

from math import cos, isclose, radians, sin, tan

import pytest

from racewright.bends.offset import offset
from racewright.marks.thumb import TAUGHT_OFFSETS, TAUGHT_SADDLES, taught_row

# angle, multiplier as taught, exact cosecant to 4 places, shrink taught, exact tan(A/2) to 4 places
ROWS = [
    (10.0, 6.0, 5.7588, 1 / 16, 0.0875),
    (15.0, 3.9, 3.8637, 1 / 8, 0.1317),
    (22.5, 2.6, 2.6131, 3 / 16, 0.1989),
    (30.0, 2.0, 2.0000, 1 / 4, 0.2679),
    (45.0, 1.4, 1.4142, 3 / 8, 0.4142),
    (60.0, 1.2, 1.1547, 1 / 2, 0.5774),
]


@pytest.mark.parametrize(("angle_deg", "multiplier", "cosecant", "shrink", "half_tangent"), ROWS)
def test_taught_row(angle_deg: float, multiplier: float, cosecant: float, shrink: float, half_tangent: float) -> None:
    row = taught_row(TAUGHT_OFFSETS, radians(angle_deg))
    assert row is not None
    assert (row.spacing_per_rise, row.shrink_per_rise) == (multiplier, shrink)
    assert 1.0 / sin(radians(angle_deg)) == pytest.approx(cosecant, abs=6e-5)
    assert tan(radians(angle_deg) / 2.0) == pytest.approx(half_tangent, abs=6e-5)


@pytest.mark.parametrize(("angle_deg", "multiplier", "cosecant", "shrink", "half_tangent"), ROWS)
def test_exact_offset_nears_the_cosecant_as_the_radius_vanishes(
    angle_deg: float, multiplier: float, cosecant: float, shrink: float, half_tangent: float
) -> None:
    thin = offset(1000.0, radians(angle_deg), 1e-6)
    assert thin.spacing_mm / 1000.0 == pytest.approx(cosecant, abs=6e-5)
    assert thin.shrink_mm / 1000.0 == pytest.approx(half_tangent, abs=6e-5)


def test_the_taught_multiplier_is_never_more_than_five_per_cent_out() -> None:
    for row in TAUGHT_OFFSETS:
        assert isclose(row.spacing_per_rise, 1.0 / sin(radians(row.angle_deg)), rel_tol=0.05)


@pytest.mark.parametrize(
    ("outer_deg", "spacing", "shrink"), [(22.5, 2.5, 0.1875), (30.0, 2.0, 0.25), (15.0, 3.9, 0.125)]
)
def test_taught_saddle_row(outer_deg: float, spacing: float, shrink: float) -> None:
    row = taught_row(TAUGHT_SADDLES, radians(outer_deg))
    assert row is not None
    assert (row.spacing_per_rise, row.shrink_per_rise) == (spacing, shrink)
    assert len(TAUGHT_SADDLES) == 3


def test_how_far_the_cosecant_spacing_is_out() -> None:
    """Independently computed, physical model section 1: 0.012 R at 30, 0.043 R at 45, 0.107 R at 60 degrees."""
    for angle_deg, out in ((30.0, 0.012), (45.0, 0.043), (60.0, 0.107)):
        made = offset(40.0, radians(angle_deg), 1.0)
        assert 40.0 / sin(radians(angle_deg)) - made.spacing_mm == pytest.approx(out, abs=6e-4)


def test_least_rise_of_an_angle() -> None:
    made = offset(40.0, radians(30.0), 1.0)
    assert made.least_rise_mm == pytest.approx(2.0 * (1.0 - cos(radians(30.0))), rel=1e-12)
