"""UFC 3-535-01 (2005), 12-4.6 and Table 12-4, read in a reprint: greatest tension of stranded 6 AWG conductors. The
table's other rows follow other bases, and its row of four takes nothing off for uneven sharing (we take 20 %)."""

from __future__ import annotations

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.units.factors import LBF_N, LBF_PER_FT
from racewright.wires.conductors import parse_groups
from racewright.wires.pull_formulas import straight_tension_n
from racewright.wires.pulling import SHARE_OF_MANY, eye_limit_n, pull_wires


@pytest.mark.parametrize(("count", "printed_lb", "share"), [(2, 420, 1.0), (3, 630, 1.0), (4, 840, SHARE_OF_MANY)])
def test_table_12_4_six_awg(count: int, printed_lb: int, share: float) -> None:
    book = load_edition(DEFAULT_EDITION)
    wires = pull_wires(parse_groups([f"{count} x 6 THHN"], book), book)
    # The table rounds to 5 lb.
    assert eye_limit_n(wires) / LBF_N / share == pytest.approx(printed_lb, abs=2.5)


@pytest.mark.parametrize(("friction", "length_ft"), [(0.3, 1000.0), (0.4, 750.0)])
def test_length_from_tension(friction: float, length_ft: float) -> None:
    # 12-4.6: L = T / (K W); at T = 300 lb and W = 1 lb/ft K = 0.3 gives 1000 ft and K = 0.4 gives 750 ft.
    assert straight_tension_n(0.0, LBF_PER_FT, length_ft * 304.8, friction) / LBF_N == pytest.approx(300.0)
