"""The forecast's report: shares, words, methods, and input that makes no sense."""

from functools import partial
from math import radians

import pytest
from piece_factory import bent_piece

from racewright.errors import InputError
from racewright.fit.accuracy import Accuracy, Capture
from racewright.fit.chance import disc_chance, slab_chance
from racewright.fit.forecast import forecast

piece = partial(bent_piece, length=1500.0)
OFFSET = piece((254.0, 30.0, 0.0), (480.0, 30.0, 180.0))
SADDLE = piece((200.0, 22.5, 0.0), (430.0, 45.0, 180.0), (710.0, 22.5, 0.0))


def test_shares_add_up_and_fall() -> None:
    told = forecast(SADDLE)
    shares = [step.share for step in told.by_step]
    assert sum(shares) == pytest.approx(1.0, abs=1e-12)
    assert shares == sorted(shares, reverse=True)
    assert sum(told.by_kind.values()) == pytest.approx(1.0, abs=1e-12)
    assert told.by_kind["angle"] + told.by_kind["roll"] > 0.9
    assert told.by_step[0].step in told.words


def test_a_straight_piece_errs_by_its_cut_only() -> None:
    told = forecast(piece(length=600.0), Accuracy(cut_mm=2.0))
    assert told.along_mm == pytest.approx(2.0, abs=1e-12)
    assert told.across_most_mm == 0.0
    assert told.chance == pytest.approx(slab_chance(0.0, 2.0, told.capture.along_mm), abs=1e-6)


def test_a_perfect_hand_always_fits() -> None:
    told = forecast(OFFSET, Accuracy(mark_mm=0.0, angle_rad=0.0, roll_rad=0.0, cut_mm=0.0))
    assert told.chance == pytest.approx(1.0, abs=1e-9)
    assert "Most care" not in told.words


def test_one_bend_by_hand() -> None:
    """A stub whose leg beyond the arc is L: one degree moves its end by about L, square to the leg."""
    stub = piece((200.0, 90.0, 0.0), length=200.0 + 113.6 * radians(90.0) + 500.0)
    told = forecast(stub, Accuracy(mark_mm=0.0, angle_rad=0.01, roll_rad=0.0, cut_mm=0.0))
    assert told.across_most_mm == pytest.approx(500.0 * 0.01, abs=1e-9)
    # lengthwise: turning about the arc's centre gives R, and the arc takes R more material: both cancel
    assert told.along_mm == pytest.approx(0.0, abs=1e-9)
    assert told.angle_most_rad == pytest.approx(0.01, abs=1e-12)


def test_chance_lies_between_its_bounds_and_grows_with_the_hole() -> None:
    last = 0.0
    for across in (3.0, 6.0, 12.0, 24.0):
        told = forecast(OFFSET, capture=Capture(across_mm=across))
        assert told.chance_across * told.chance_along * told.chance_angle <= told.chance + 1e-12
        assert told.chance <= min(told.chance_across, told.chance_along, told.chance_angle) + 1e-12
        assert told.chance >= last
        last = told.chance


def test_degenerate_discs() -> None:
    assert disc_chance(0.0, 0.0, 1.0) == 1.0
    assert disc_chance(0.0, 0.0, 1.0, 2.0, 0.0) == 0.0
    assert disc_chance(1.0, 0.0, 1.0) == pytest.approx(slab_chance(0.0, 1.0, 1.0), abs=1e-9)
    assert disc_chance(0.001, 0.001, 1.0, 5.0) == 0.0
    assert slab_chance(2.0, 0.0, 1.0) == 0.0


@pytest.mark.parametrize("name", ["mark_mm", "angle_rad", "roll_rad", "cut_mm"])
def test_a_negative_accuracy_is_refused(name: str) -> None:
    with pytest.raises(InputError, match=name):
        Accuracy(**{name: -1.0}).check()
