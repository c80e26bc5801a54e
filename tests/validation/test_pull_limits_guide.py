"""ICEA-based pulling guide (read in a reprint) and trade articles that restate it: limits of tension and sidewall."""

from __future__ import annotations

import pytest

from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.units.factors import LBF_N, LBF_PER_FT
from racewright.wires.conductors import parse_groups
from racewright.wires.pull_formulas import sidewall_n_per_mm
from racewright.wires.pulling import GRIP_LBF, PullSettings, PullWire, eye_limit_n, gather, pull_wires


def _wires(text: str, metal: str = "copper") -> tuple[PullWire, ...]:
    book = load_edition(DEFAULT_EDITION)
    return pull_wires(parse_groups([text], book), book, "aluminum" if metal == "aluminum" else "copper")


def test_sidewall_limit_is_300_lb_per_ft_of_radius() -> None:
    # 300 lb/ft at a radius of 2 ft: 600 lb leaving the bend.
    assert PullSettings().sidewall_limit / LBF_PER_FT == pytest.approx(300.0)
    assert sidewall_n_per_mm("single", 600 * LBF_N, 2 * 304.8, 1.0) / LBF_PER_FT == pytest.approx(300.0)


def test_least_radius_for_3600_lb() -> None:
    # A trade article's example: 3600 lb at 1200 lb/ft wants a radius of 3 ft.
    assert sidewall_n_per_mm("single", 3600 * LBF_N, 3 * 304.8, 1.0) / LBF_PER_FT == pytest.approx(1200.0)


def test_basket_grip_1000_lb() -> None:
    assert GRIP_LBF == 1000.0
    pulled = gather(_wires("3 x 4/0 XHHW"), 78.0, basket_grip=True)
    assert pulled.limit_n / LBF_N == pytest.approx(1000.0)
    assert pulled.limit_reason == "one basket grip"


def test_aluminum_is_six_thousandths() -> None:
    copper, aluminum = eye_limit_n(_wires("3 x 4/0 XHHW")), eye_limit_n(_wires("3 x 4/0 XHHW", "aluminum"))
    assert aluminum / copper == pytest.approx(0.006 / 0.008)
