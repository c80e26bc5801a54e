"""Steel Tube Institute, answers to conduit fill questions, read in a reprint. Areas to 1e-9 in2, sizes exact."""

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.rules.conductors import insulated_wire, parse_groups
from racewright.rules.edition import load_edition
from racewright.rules.wire_fill import how_many_fit, size_raceway

EDITION = load_edition()


def test_fifteen_mixed_thwn_in_emt():
    """3 x 12, 4 x 10, 8 x 8 THWN: 0.4171 in2; 1 in allows 0.346, 1-1/4 in 0.598."""
    found = size_raceway("EMT", parse_groups(["3 x 12 THWN", "4 x 10 THWN", "8 x 8 THWN"], EDITION), EDITION)
    assert found.fill.wires_area_in2 == pytest.approx(0.4171, abs=1e-9)
    assert found.fill.allowed_area_in2 == pytest.approx(0.598, abs=1e-9)
    assert found.trade_size == "1-1/4"


def test_sixteen_12_thhn_in_three_quarter_rigid():
    assert how_many_fit(find_raceway("RMC", "3/4"), insulated_wire("12", "THHN", EDITION), EDITION).more == 16
