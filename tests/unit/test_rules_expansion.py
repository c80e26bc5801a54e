"""Expansion fittings: how many, where, how set."""

from __future__ import annotations

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.inspection.expansion import expansion_of, fittings_needed, piston_setting
from racewright.survey.model import Climate
from racewright.wires.pull_path import parse_path

EDITION = load_edition(DEFAULT_EDITION)
PVC = find_raceway("PVC-40", "1")
HOT = Climate(lowest_c=-20.0, highest_c=40.0, install_c=10.0)


@pytest.mark.parametrize(("change", "count"), [(6.34, 0), (6.35, 1), (101.6, 1), (101.7, 2), (203.2, 2), (203.3, 3)])
def test_how_many(change: float, count: int) -> None:
    assert fittings_needed(change, 101.6, 6.35) == count


def test_one_hundred_feet_hundred_fahrenheit() -> None:
    # 4.06 in (the table's row): more than one fitting of 4 in takes.
    climate = Climate(lowest_c=0.0, highest_c=100 / 1.8, install_c=20.0)
    (move,) = expansion_of(parse_path("straight 100", PVC), climate, edition=EDITION)
    assert move.change_mm / 25.4 == pytest.approx(4.056, abs=1e-3)
    assert move.fittings == 2
    assert move.stations_mm == pytest.approx([25 * 304.8, 75 * 304.8])


def test_straights_between_bends_count_alone() -> None:
    moves = expansion_of(parse_path("straight 50, bend 90 r 9.5, straight 3", PVC), HOT, edition=EDITION)
    assert [m.fittings for m in moves] == [1, 0]
    assert moves[1].setting is None


def test_riser_has_its_fitting_near_the_top() -> None:
    (up,) = expansion_of(parse_path("straight 20 up", PVC), HOT, edition=EDITION)
    (down,) = expansion_of(parse_path("straight 20 down", PVC), HOT, edition=EDITION)
    assert up.stations_mm == pytest.approx([18 * 304.8])
    assert down.stations_mm == pytest.approx([2 * 304.8])


def test_setting_at_the_extremes() -> None:
    hottest = Climate(lowest_c=-20.0, highest_c=40.0, install_c=40.0)
    coldest = Climate(lowest_c=-20.0, highest_c=40.0, install_c=-20.0)
    assert piston_setting(hottest, 50.0).open_mm == pytest.approx(0.0)
    assert piston_setting(coldest, 50.0).open_mm == pytest.approx(101.6)
    middle = piston_setting(HOT, 50.0)
    assert (middle.least_mm, middle.open_mm, middle.most_mm) == pytest.approx((25.0, 50.8, 76.6))


def test_no_swing() -> None:
    still = Climate(lowest_c=10.0, highest_c=10.0, install_c=10.0)
    assert piston_setting(still, 0.0).open_mm == pytest.approx(50.8)
    (move,) = expansion_of(parse_path("straight 100", PVC), still, edition=EDITION)
    assert move.change_mm == 0.0


def test_steel_is_never_told_to_have_a_fitting() -> None:
    (move,) = expansion_of(parse_path("straight 100", find_raceway("RMC", "1")), HOT, edition=EDITION)
    assert move.fittings == 0
    assert move.change_mm / 25.4 == pytest.approx(100 * 12 * 6.5e-6 * 108, rel=1e-9)
