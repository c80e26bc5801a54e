"""Worked answers to conduit fill questions, read in reprints: a steel conduit trade body's question-and-answer page
(Steel Tube Institute; the first two), and a textbook (Modern Commercial Wiring, 2018, Sample Problem 6-8; the third).
Areas to 1e-9 in2, sizes exact."""

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.wires.conductors import insulated_wire, parse_groups
from racewright.wires.wire_fill import how_many_fit, size_raceway

EDITION = load_edition(DEFAULT_EDITION)


def test_fifteen_mixed_thwn_in_emt() -> None:
    """3 x 12, 4 x 10, 8 x 8 THWN: 0.4171 in2; 1 in allows 0.346, 1-1/4 in 0.598."""
    found = size_raceway("EMT", parse_groups(["3 x 12 THWN", "4 x 10 THWN", "8 x 8 THWN"], EDITION), EDITION)
    assert found.fill.wires_area_in2 == pytest.approx(0.4171, abs=1e-9)
    assert found.fill.allowed_area_in2 == pytest.approx(0.598, abs=1e-9)
    assert found.trade_size == "1-1/4"


def test_sixteen_12_thhn_in_three_quarter_rigid() -> None:
    assert how_many_fit(find_raceway("RMC", "3/4"), insulated_wire("12", "THHN", EDITION), EDITION).more == 16


def test_five_mixed_thhn_in_rigid() -> None:
    """12, 10 and three 8 AWG THHN: 0.1442 in2; 3/4 in allows 0.220."""
    found = size_raceway("RMC", parse_groups(["12 THHN", "10 THHN", "3 x 8 THHN"], EDITION), EDITION)
    assert found.fill.wires_area_in2 == pytest.approx(0.1442, abs=1e-9)
    assert found.fill.allowed_area_in2 == pytest.approx(0.220, abs=1e-9)
    assert found.trade_size == "3/4"
