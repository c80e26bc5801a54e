"""Modern Commercial Wiring (Goodheart-Willcox, 2018), Sample Problem 6-8, read in a reprint. Area to 1e-9 in2."""

import pytest

from racewright.rules.conductors import parse_groups
from racewright.rules.edition import load_edition
from racewright.rules.wire_fill import size_raceway


def test_five_thhn_in_rigid():
    """12, 10 and three 8 AWG THHN: 0.1442 in2; 3/4 in allows 0.220."""
    edition = load_edition()
    found = size_raceway("RMC", parse_groups(["12 THHN", "10 THHN", "3 x 8 THHN"], edition), edition)
    assert found.fill.wires_area_in2 == pytest.approx(0.1442, abs=1e-9)
    assert found.fill.allowed_area_in2 == pytest.approx(0.220, abs=1e-9)
    assert found.trade_size == "3/4"
