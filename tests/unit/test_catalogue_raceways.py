"""Names, sizes and figures of the raceway table. Tolerances: 1e-9 mm where inches are exact."""

from math import pi

import pytest

from racewright.catalogue.raceways import all_raceways, find_raceway, raceway_types, trade_sizes
from racewright.errors import UnknownName


@pytest.mark.parametrize(
    ("kind", "size", "name"),
    [
        ("EMT", "1/2", "EMT 1/2"),
        ("emt", '1/2"', "EMT 1/2"),
        ("Rigid", "1-1/4", "RMC 1-1/4"),
        ("GRC", "1 1/4", "RMC 1-1/4"),
        ("rmc", "1.25 in", "RMC 1-1/4"),
        ("imc", "16", "IMC 1/2"),
        ("IMC", "MD 16", "IMC 1/2"),
        ("pvc-80", "md21", "PVC-80 3/4"),
        ("PVC schedule 40", "6", "PVC-40 6"),
        ("sch 40", "155", "PVC-40 6"),
    ],
)
def test_many_ways_of_writing_find_one_raceway(kind: str, size: str, name: str) -> None:
    assert find_raceway(kind, size).name == name


def test_every_row_is_found_by_its_trade_size_and_by_its_designator() -> None:
    rows = all_raceways()
    assert len(rows) == 56
    assert raceway_types() == ("EMT", "IMC", "RMC", "PVC-40", "PVC-80")
    for row in rows:
        assert find_raceway(row.type, row.trade_size) is row
        assert find_raceway(row.type, f"MD {row.metric_designator}") is row


def test_inches_are_primary() -> None:
    assert find_raceway("EMT", "1/2").outside_diameter_mm == pytest.approx(0.706 * 25.4, abs=1e-9)
    assert find_raceway("EMT", "1-1/4").least_radius_mm == pytest.approx(7.25 * 25.4, abs=1e-9)


def test_every_row_is_sane_and_says_where_it_comes_from() -> None:
    for row in all_raceways():
        assert 0 < row.inside_diameter_mm < row.outside_diameter_mm
        # the table's area and pi/4 ID^2 differ by the table's rounding only: 0.0006 in2
        assert row.area_mm2 == pytest.approx(pi / 4 * row.inside_diameter_mm**2, abs=0.0011 * 645.16)
        assert row.least_radius_mm is not None
        assert row.least_radius_other_mm is not None
        assert row.least_radius_mm <= row.least_radius_other_mm
        assert 2900 < row.stock_length_mm <= 3048
        assert "NFPA 70-2023" in row.source
        assert "memory" in row.standing or "reprint" in row.standing
        assert "http" not in row.source + row.standing


def test_sizes_grow_within_each_type() -> None:
    for kind in raceway_types():
        diameters = [find_raceway(kind, size).outside_diameter_mm for size in trade_sizes(kind)]
        assert diameters == sorted(diameters)


def test_pvc_asks_for_the_schedule() -> None:
    with pytest.raises(UnknownName) as caught:
        find_raceway("PVC", "1/2")
    assert "PVC-40" in caught.value.hint
    assert "PVC-80" in caught.value.hint


@pytest.mark.parametrize(("kind", "size"), [("emx", "1/2"), ("EMT", "5"), ("EMT", "7/8"), ("EMT", ""), ("EMT", "1/0")])
def test_unknown_names_say_what_exists(kind: str, size: str) -> None:
    with pytest.raises(UnknownName) as caught:
        find_raceway(kind, size)
    assert caught.value.expected
    assert caught.value.expected.split(", ")[0] in caught.value.hint


def test_the_nearest_is_named() -> None:
    with pytest.raises(UnknownName, match="nearest: 3/4"):
        find_raceway("EMT", "0.8")
    with pytest.raises(UnknownName, match="nearest: 4"):
        find_raceway("EMT", "5")
