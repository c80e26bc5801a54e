"""NFPA 70-2023 358.30, 342.30, Table 344.30(B), Table 352.30(B), read in a reprint: spacing by type and trade size."""

from __future__ import annotations

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.inspection.supports import support_rule
from racewright.units.factors import MM_PER_FOOT

THREADED_FT = {"1/2": 10, "3/4": 10, "1": 12, "1-1/4": 14, "1-1/2": 14, "2": 16, "2-1/2": 16, "3": 20, "4": 20}
PVC_FT = {
    "1/2": 3, "3/4": 3, "1": 3, "1-1/4": 5, "1-1/2": 5, "2": 5, "2-1/2": 6, "3": 6, "3-1/2": 7, "4": 7, "5": 7, "6": 8,
}  # fmt: skip


@pytest.mark.parametrize("size", THREADED_FT)
def test_rigid_by_size(size: str) -> None:
    rule = support_rule(find_raceway("RMC", size), load_edition(DEFAULT_EDITION))
    assert rule is not None
    assert rule.straight_threaded_mm == pytest.approx(THREADED_FT[size] * MM_PER_FOOT)
    assert rule.spacing_mm == pytest.approx(10 * MM_PER_FOOT)


@pytest.mark.parametrize("size", PVC_FT)
def test_pvc_by_size(size: str) -> None:
    rule = support_rule(find_raceway("PVC-80", size), load_edition(DEFAULT_EDITION))
    assert rule is not None
    assert rule.spacing_mm == pytest.approx(PVC_FT[size] * MM_PER_FOOT)


@pytest.mark.parametrize("kind", ["EMT", "IMC", "RMC", "PVC-40"])
def test_first_support_three_feet(kind: str) -> None:
    rule = support_rule(find_raceway(kind, "1"), load_edition(DEFAULT_EDITION))
    assert rule is not None
    assert rule.first_mm == pytest.approx(3 * MM_PER_FOOT)


def test_emt_ten_feet_five_relaxed() -> None:
    rule = support_rule(find_raceway("EMT", "4"), load_edition(DEFAULT_EDITION))
    assert rule is not None
    assert (rule.spacing_mm, rule.first_relaxed_mm) == (pytest.approx(3048.0), pytest.approx(1524.0))
