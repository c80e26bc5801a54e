"""Pull formulas on numbers, and a pull through a run. Arithmetic of the published formulas, no published answers."""

from __future__ import annotations

from math import cos, exp, pi, sin, sqrt

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import InputError, LimitError
from racewright.geometry.vector import Vec
from racewright.units.factors import LBF_N, LBF_PER_FT
from racewright.wires.conductors import parse_groups
from racewright.wires.pull_formulas import (
    bend_tension_n,
    bundle_of,
    capstan_tension_n,
    level_bend_tension_n,
    sidewall_n_per_mm,
    straight_tension_n,
    weight_correction,
)
from racewright.wires.pull_path import parse_path
from racewright.wires.pulling import (
    PullSettings,
    PullWire,
    compare_pulls,
    eye_limit_n,
    gather,
    greatest_friction,
    pull_wires,
)

FT = 304.8
DOWN: Vec = (0.0, 0.0, -1.0)


def _wires(text: str) -> tuple[PullWire, ...]:
    book = load_edition(DEFAULT_EDITION)
    return pull_wires(parse_groups(text.split(","), book), book)


def test_200_ft_of_three_cables_and_two_nineties() -> None:
    # 200 x 1 x 3 x 0.35 = 210 lb, times e^(0.35 pi).
    straight = straight_tension_n(0.0, 3 * LBF_PER_FT, 200 * FT, 0.35)
    out = capstan_tension_n(capstan_tension_n(straight, 0.35, pi / 2), 0.35, pi / 2)
    assert out / LBF_N == pytest.approx(630.6, abs=0.1)
    assert sidewall_n_per_mm("single", out, 2 * FT, 1.0) / LBF_PER_FT == pytest.approx(315.3, abs=0.1)


def test_three_four_aught_by_the_eye() -> None:
    assert eye_limit_n(_wires("3 x 4/0 XHHW")) / LBF_N == pytest.approx(5078.4, abs=0.1)


def test_more_than_three_share_unevenly() -> None:
    assert eye_limit_n(_wires("4 x 4/0 XHHW")) / LBF_N == pytest.approx(0.008 * 4 * 211600 * 0.8, abs=0.1)


def test_inclines() -> None:
    up = straight_tension_n(100.0, 0.01, 1000.0, 0.5, pi / 6)
    assert up == pytest.approx(100.0 + 10.0 * (0.5 + 0.5 * sqrt(3) / 2))
    assert straight_tension_n(0.0, 0.01, 1000.0, 0.5, pi / 2) == pytest.approx(10.0)
    assert straight_tension_n(3.0, 0.01, 1000.0, 0.5, -pi / 2) == 0.0


def test_level_bend_from_slack_is_not_zero() -> None:
    # The capstan rule alone would say that nothing is needed; the weight lying in the bend says otherwise.
    assert capstan_tension_n(0.0, 0.5, pi / 2) == 0.0
    assert level_bend_tension_n(0.0, 0.03, 600.0, 0.5, pi / 2) == pytest.approx(18.0 * (exp(pi / 4) - exp(-pi / 4)) / 2)


def test_upright_bend_by_hand() -> None:
    # No friction: only the height counts, w R for a quarter turn up.
    up = bend_tension_n(50.0, 0.02, 500.0, 0.0, pi / 2, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), DOWN)
    assert up == pytest.approx(60.0)
    over = bend_tension_n(50.0, 0.02, 500.0, 0.0, pi / 2, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), DOWN)
    assert over == pytest.approx(60.0)


@pytest.mark.parametrize(("ahead", "tension"), [(1.0, 2.0), (1.0, 40.0), (-1.0, 40.0)])
def test_wires_on_one_wall_of_a_rising_or_falling_bend(
    ahead: float, tension: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Level into 30 degrees up: nearly slack wires lie on the outer wall, tight ones on the inner; down: inner. Solved
    by hand, T' = wR sin(slope) +- f (T - wR m); no stepping is needed while they stay on that wall."""
    w, r, f, a = 0.03, 600.0, 0.4, pi / 6
    wr, wall = w * r, 1.0 if ahead < 0.0 or tension > w * r else -1.0
    k = f * wall
    top, side = -ahead * 2.0 * k / (1.0 + k * k), -ahead * (1.0 - k * k) / (1.0 + k * k)
    by_hand = wr * (top * sin(a) + side * cos(a)) + (tension - wr * side) * exp(k * a)

    def stepped(*_: object) -> float:
        raise AssertionError("stepped")

    monkeypatch.setattr("racewright.wires.pull_formulas._stepped_tension_n", stepped)
    out = bend_tension_n(tension, w, r, f, a, (1.0, 0.0, 0.0), (0.0, 0.0, ahead), DOWN)
    assert out == pytest.approx(by_hand, rel=1e-12)


def test_bundles() -> None:
    assert bundle_of(1, 50.0, 20.0) == "single"
    assert bundle_of(2, 50.0, 20.0) == "pair"
    assert bundle_of(3, 49.9, 20.0) == "triangular"
    assert bundle_of(3, 50.0, 20.0) == "cradled"
    assert bundle_of(4, 59.9, 20.0) == "diamond"
    assert bundle_of(4, 60.0, 20.0) == "complex"
    assert bundle_of(5, 90.0, 20.0) == "complex"
    assert bundle_of(3, 60.0, 20.0, equal=False) == "complex"


@pytest.mark.parametrize(
    ("text", "told"), [("3 x 6 THHN", True), ("4 x 6 THHN", False), ("1 x 4 THHN, 2 x 8 THHN", False)]
)
def test_only_three_of_one_size_can_jam(text: str, told: bool) -> None:
    assert (gather(_wires(text), 40.0).jam_ratio is not None) == told


def test_weight_corrections() -> None:
    # x = 20 / (60 - 20) = 1/2.
    assert weight_correction("single", 60.0, 20.0) == 1.0
    assert weight_correction("cradled", 60.0, 20.0) == pytest.approx(4 / 3)
    assert weight_correction("pair", 60.0, 20.0) == pytest.approx(1 / sqrt(0.75))
    assert weight_correction("diamond", 60.0, 20.0) == pytest.approx(1.5)
    assert weight_correction("complex", 60.0, 20.0) == 1.4
    with pytest.raises(LimitError) as refusal:
        weight_correction("cradled", 40.0, 20.0)
    assert refusal.value.hint


def test_sidewall_by_bundle() -> None:
    assert sidewall_n_per_mm("triangular", 100.0, 10.0, 1.2) == pytest.approx(6.0)
    assert sidewall_n_per_mm("cradled", 100.0, 10.0, 1.2) == pytest.approx(1.6 / 3 * 10)
    assert sidewall_n_per_mm("diamond", 100.0, 10.0, 1.5) == pytest.approx(5.0)
    assert sidewall_n_per_mm("complex", 100.0, 10.0, 1.4) == pytest.approx(10.0)


def test_worked_weight_of_bare_copper() -> None:
    # 4/0 copper is 653 lb per 1000 ft bare (from memory: ASTM B8); ours adds the insulation.
    (wire,) = _wires("1 x 4/0 bare")
    assert wire.weight_n_per_mm / LBF_PER_FT == pytest.approx(0.653, abs=0.01)


def test_nothing_to_pull_and_cables() -> None:
    with pytest.raises(InputError):
        gather((), 50.0)
    with pytest.raises(InputError, match="weight"):
        _wires("1 x cable 0.5 in")


def test_direction_and_pull_points() -> None:
    shape = parse_path(
        "straight 200, bend 90 r 24, straight 10, pull point, straight 10, bend 90 r 24, straight 200",
        find_raceway("RMC", "2"),
    )
    first, second = compare_pulls(shape, _wires("3 x 4/0 XHHW"))
    assert (first.better, second.better) == ("B", "A")
    assert first.chosen.tension_n == pytest.approx(second.chosen.tension_n, rel=1e-9)
    assert first.fed_at_a.steps[-1].end_mm == pytest.approx(second.fed_at_a.steps[0].start_mm)


def test_the_same_both_ways() -> None:
    shape = parse_path("straight 50, bend 90 r 24, straight 50", find_raceway("RMC", "2"))
    (pair,) = compare_pulls(shape, _wires("3 x 4/0 XHHW"))
    assert pair.better == ""
    assert pair.fed_at_a.tension_n == pytest.approx(pair.fed_at_b.tension_n, rel=1e-9)


def test_feed_tension_is_carried_through() -> None:
    shape = parse_path("bend 90 r 24, straight 1", find_raceway("RMC", "2"))
    wires = _wires("1 x 4/0 XHHW")
    settings = PullSettings(feed_tension_n=1000.0, weight_in_bends=False)
    (pair,) = compare_pulls(shape, wires, settings)
    assert pair.fed_at_a.steps[0].tension_out_n == pytest.approx(1000.0 * exp(0.5 * pi / 2))


def test_greatest_friction_is_where_the_limit_is_met() -> None:
    shape = parse_path("straight 100, bend 90 r 24, straight 100", find_raceway("RMC", "2"))
    wires = _wires("3 x 4/0 XHHW")
    bears = greatest_friction(shape, wires)
    for friction, within in ((bears, True), (bears + 0.002, False)):
        (pair,) = compare_pulls(shape, wires, PullSettings(friction=friction))
        assert (pair.chosen.use <= 1.0) is within


def test_greatest_friction_at_its_ends() -> None:
    shape = parse_path("straight 10", find_raceway("RMC", "2"))
    assert greatest_friction(shape, _wires("3 x 4/0 XHHW")) == 2.0
    dragged = PullSettings(feed_tension_n=1e6)
    assert greatest_friction(shape, _wires("3 x 4/0 XHHW"), dragged) == 0.0


def test_hold_back_downhill() -> None:
    (pair,) = compare_pulls(parse_path("straight 30 down", find_raceway("RMC", "2")), _wires("3 x 4/0 XHHW"))
    assert pair.fed_at_a.steps[0].slack
    assert not pair.fed_at_b.steps[0].slack
