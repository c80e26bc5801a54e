"""PVC conduit makers' handbooks (read in a reprint): the worked case of 90 ft between -10 F and 110 F, one fitting with
6 in of travel, set at 65 F; 10 ft at a swing of 100 F; 30 F added in direct sun."""

from __future__ import annotations

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.inspection.expansion import expansion_of
from racewright.survey.model import Climate
from racewright.units.factors import celsius
from racewright.wires.pull_path import parse_path

EDITION = load_edition(DEFAULT_EDITION)
CLIMATE = Climate(lowest_c=celsius(-10), highest_c=celsius(110), install_c=celsius(65), travel_mm=6 * 25.4)


def test_ninety_feet() -> None:
    (move,) = expansion_of(parse_path("straight 90", find_raceway("PVC-40", "1")), CLIMATE, edition=EDITION)
    assert move.change_mm / 25.4 == pytest.approx(4.38, abs=0.005)
    assert move.fittings == 1
    assert move.setting is not None
    assert move.setting.open_mm / 25.4 == pytest.approx(2.25, abs=1e-9)
    # Our own window: the handbook's setting must lie in it.
    assert move.setting.least_mm < move.setting.open_mm < move.setting.most_mm


def test_ten_feet_about_three_eighths() -> None:
    climate = Climate(lowest_c=celsius(0), highest_c=celsius(100), install_c=celsius(50))
    (move,) = expansion_of(parse_path("straight 10", find_raceway("PVC-40", "1")), climate, edition=EDITION)
    assert move.change_mm / 25.4 == pytest.approx(0.375, abs=0.04)


def test_sun_adds_thirty_fahrenheit() -> None:
    shade = Climate(lowest_c=celsius(0), highest_c=celsius(110), install_c=celsius(90))
    sun = Climate(lowest_c=celsius(0), highest_c=celsius(110), install_c=celsius(90), in_sun=True)
    assert (sun.swing_k - shade.swing_k) * 1.8 == pytest.approx(30.0)
    # The handbook's 380 ft between 0 F and 140 F, the sun's 30 F included.
    assert sun.swing_k * 1.8 == pytest.approx(140.0)
