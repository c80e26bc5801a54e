"""NFPA 70-2023 Table 352.44(A), both halves, read in a reprint: every row is the coefficient's product, rounded."""

from __future__ import annotations

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.inspection.expansion import expansion_row, fittings_needed, length_change_mm

INCHES_PER_100_FT = (
    0.20, 0.41, 0.61, 0.81, 1.01, 1.22, 1.42, 1.62, 1.83, 2.03, 2.23, 2.43, 2.64, 2.84, 3.04, 3.24, 3.45, 3.65, 3.85,
    4.06, 4.26, 4.46, 4.66, 4.87, 5.07, 5.27, 5.48, 5.68, 5.88, 6.08, 6.29, 6.49, 6.69, 6.90, 7.10, 7.30, 7.50, 7.71,
    7.91, 8.11,
)  # fmt: skip
MM_PER_M = (
    0.30, 0.61, 0.91, 1.22, 1.52, 1.83, 2.13, 2.43, 2.74, 3.04, 3.35, 3.65, 3.95, 4.26, 4.56, 4.87, 5.17, 5.48, 5.78,
    6.08,
)  # fmt: skip


def _per_kelvin(kind: str = "PVC-40") -> float:
    row = expansion_row(find_raceway(kind, "1"), load_edition(DEFAULT_EDITION))
    assert row is not None
    return row.per_kelvin


def test_every_row_in_inches() -> None:
    for i, printed in enumerate(INCHES_PER_100_FT, 1):
        change = length_change_mm(100 * 304.8, 5 * i / 1.8, _per_kelvin()) / 25.4
        assert change == pytest.approx(printed, abs=0.0051), f"{5 * i} F"


def test_every_row_in_mm() -> None:
    for i, printed in enumerate(MM_PER_M, 1):
        assert length_change_mm(1000.0, 5.0 * i, _per_kelvin()) == pytest.approx(printed, abs=0.0061), f"{5 * i} C"


def test_fifteen_feet_at_forty_degrees_needs_none() -> None:
    # A published case (trade forum, read in a reprint): 0.243 in, below 1/4 in.
    change = length_change_mm(15 * 304.8, 40 / 1.8, _per_kelvin())
    assert change / 25.4 == pytest.approx(0.243, abs=0.0005)
    assert fittings_needed(change, 101.6, 6.35) == 0


def test_shortest_straight_that_needs_one() -> None:
    # Published thresholds (trade forum, read in a reprint): 50 F swing 12.3 ft, 200 F about 3 ft, 15 ft at 41 F.
    for feet, swing_f in ((12.3, 50.0), (3.08, 200.0), (15.0, 41.1)):
        change = length_change_mm(feet * 304.8, swing_f / 1.8, _per_kelvin())
        assert change / 25.4 == pytest.approx(0.25, abs=0.002)


def test_steel_is_a_fifth_of_pvc() -> None:
    # 300.7(B) informational note: about 0.20 of the PVC table.
    assert _per_kelvin("RMC") / _per_kelvin() == pytest.approx(0.20, abs=0.01)
