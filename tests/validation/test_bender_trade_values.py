"""Trade values of hand benders against figures from outside this code.

- Take-up 5, 6, 8 in for 1/2, 3/4, 1 EMT: taught to apprentices, read in a reprint; 11 in and the gains: from memory.
- Radius, lead, star and centre mark: physical model, section 2, worked by hand from T, G and D (three decimals).
- Stub marks: training-text examples read in a reprint (mark = stub - take-up).
Tolerance 0.0006 in: the figures are printed to three decimals.
"""

import pytest

from racewright.tools.benders import default_bender

INCH = 25.4


@pytest.mark.parametrize(
    ("size", "take_up", "gain", "radius", "lead", "star", "centre"),
    [
        ("1/2", 5, 2.625, 4.471, 0.176, 2.199, 1.756),
        ("3/4", 6, 3.25, 5.424, 0.115, 2.635, 2.130),
    ],
)
def test_emt_shoes(
    size: str, take_up: int, gain: float, radius: float, lead: float, star: float, centre: float
) -> None:
    shoe = default_bender("EMT", size)
    assert shoe.take_up_mm / INCH == pytest.approx(take_up, abs=1e-9)
    assert shoe.gain_mm / INCH == pytest.approx(gain, abs=1e-9)
    assert shoe.radius_mm / INCH == pytest.approx(radius, abs=0.0006)
    assert shoe.arrow_lead_mm / INCH == pytest.approx(lead, abs=0.0006)
    assert shoe.star_mm / INCH == pytest.approx(star, abs=0.0006)
    assert shoe.centre_mm / INCH == pytest.approx(centre, abs=0.0006)


@pytest.mark.parametrize(("size", "take_up"), [("1", 8), ("1-1/4", 11)])
def test_larger_emt_take_up(size: str, take_up: int) -> None:
    assert default_bender("EMT", size).take_up_mm / INCH == pytest.approx(take_up, abs=1e-9)


@pytest.mark.parametrize(("size", "take_up"), [("1/2", 6), ("3/4", 8), ("1", 11)])
@pytest.mark.parametrize("kind", ["RMC", "IMC"])
def test_rigid_take_up(kind: str, size: str, take_up: int) -> None:
    """Bamford (1/2 and 3/4) read in a reprint; 1 in from memory."""
    assert default_bender(kind, size).take_up_mm / INCH == pytest.approx(take_up, abs=1e-9)


@pytest.mark.parametrize(
    ("size", "stub", "mark"),
    [("3/4", 8.5, 2.5), ("3/4", 25.5, 19.5), ("1/2", 10.0, 5.0), ("1/2", 13.0, 8.0)],
)
def test_stub_marks(size: str, stub: float, mark: float) -> None:
    """Training text (3/4, 8 1/2); apprentice article (3/4, 25 1/2); Modern Residential Wiring 2021, p. 144 (10 in);
    trade-school exam text (13 in, its inputs only). All read in a reprint."""
    assert stub - default_bender("EMT", size).take_up_mm / INCH == pytest.approx(mark, abs=1e-9)
