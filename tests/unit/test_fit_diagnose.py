"""Causes put in are found again; what the readings do not determine is refused."""

import random
from functools import partial
from math import radians

import pytest
from piece_factory import bent_piece

from racewright.bends.model import BentPiece
from racewright.errors import InputError, LimitError
from racewright.fit.diagnose import ALL_CAUSES, FinishedPiece, diagnose, one_piece_rank, with_causes
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt, shown

piece = partial(bent_piece, length=1300.0)
SADDLE = piece((200.0, 22.5, 0.0), (430.0, 45.0, 180.0), (710.0, 22.5, 0.0))
STUB = piece((300.0, 90.0, 0.0), length=1000.0)
SKEW = piece((200.0, 45.0, 0.0), (600.0, 30.0, 120.0), (1000.0, 60.0, 205.0), length=1500.0)
TRUE = (2.0, 4.0, radians(1.2), 0.02, -1.5)


def measure(
    name: str, plan: BentPiece, hooks: tuple[str, ...], truth: tuple[float, ...], noise: float = 0.0
) -> FinishedPiece:
    draw = random.Random(name)
    bare = FinishedPiece(name=name, piece=plan, measured=(), hooks=hooks)  # type: ignore[arg-type]
    made = with_causes(bare, ALL_CAUSES, truth)
    out: list[Measured] = []
    for way in ("up", "left", "forward"):
        item = OffAt(way=way, off_mm=0.0)
        off = shown(made, item) - shown(plan, item) + draw.gauss(0.0, noise * 25.4 / 16)
        out.append(OffAt(way=way, off_mm=off))
    lean = LegLean(way="up", lean_rad=0.0)
    if len(plan.bends) != 1:
        out.append(LegLean(way="up", lean_rad=shown(made, lean) - shown(plan, lean)))
    for number in range(1, len(plan.bends) + 1):
        angle = made.bends[number - 1].angle_rad + draw.gauss(0.0, noise * radians(0.5))
        out.append(BendAngle(number=number, angle_rad=angle))
    if len(plan.bends) == 3:
        out.append(ApexRise(number=2, rise_mm=shown(made, ApexRise(number=2, rise_mm=0.0))))
    return FinishedPiece(name=name, piece=plan, measured=tuple(out), hooks=hooks)  # type: ignore[arg-type]


def test_what_was_put_in_is_found_again() -> None:
    pieces = [
        measure("saddle", SADDLE, ("A", "A", "B"), TRUE),
        measure("stub", STUB, ("A",), TRUE),
        measure("skew", SKEW, ("B", "A", "B"), TRUE),
    ]
    told = diagnose(pieces)
    assert told.rank == told.unknowns == 5
    assert told.left < 1e-6
    for found, value in zip(told.causes, TRUE, strict=True):
        assert found.value == pytest.approx(value, abs=1e-6)


def test_readings_with_doubt_give_values_within_three_of_their_own_doubt() -> None:
    pieces = [
        measure("saddle", SADDLE, ("A", "A", "B"), TRUE, 1.0),
        measure("stub", STUB, ("A",), TRUE, 1.0),
        measure("skew", SKEW, ("B", "A", "B"), TRUE, 1.0),
    ]
    told = diagnose(pieces)
    assert 0.2 < told.left < 2.0
    for found, value in zip(told.causes, TRUE, strict=True):
        assert abs(found.value - value) < 3.0 * found.standard_error, found.cause


def test_one_piece_is_refused_with_its_rank() -> None:
    assert one_piece_rank(SKEW) == (6, 10)
    with pytest.raises(LimitError, match="rank 6 against 10") as caught:
        diagnose([measure("skew", SKEW, (), TRUE)])
    assert "second piece" in caught.value.hint


def test_hooks_all_one_way_do_not_tell_take_up_from_mark_bias() -> None:
    pieces = [measure("a", SADDLE, ("A",) * 3, TRUE), measure("b", SKEW, ("A",) * 3, TRUE)]
    with pytest.raises(LimitError, match="take-up, mark bias") as caught:
        diagnose(pieces)
    assert "hook the other way" in caught.value.hint
    fewer = diagnose(pieces, causes=("take-up", "radius", "overbend", "overbend per angle"))
    assert fewer.causes[0].value == pytest.approx(TRUE[0] + TRUE[4], abs=1e-6)


def test_bends_of_one_angle_do_not_split_the_overbend() -> None:
    pieces = [measure("a", STUB, ("A",), TRUE), measure("b", STUB, ("B",), TRUE)]
    with pytest.raises(LimitError, match="overbend") as caught:
        diagnose(pieces)
    assert "different angles" in caught.value.hint


def test_words_tell_the_sense() -> None:
    truth = (3.0, 0.0, radians(2.0), 0.0, 0.0)
    pieces = [measure("a", SADDLE, ("A",) * 3, truth), measure("b", SKEW, ("A",) * 3, truth)]
    told = diagnose(pieces, causes=("take-up", "overbend"))
    words = {found.cause: found.words for found in told.causes}
    assert "less than the shoe's true take-up" in words["take-up"]
    assert words["overbend"].startswith("bends come out 2.0°")


def test_a_reading_off_the_piece_is_refused() -> None:
    bad = FinishedPiece(name="x", piece=STUB, measured=(BendAngle(number=2, angle_rad=1.0),))
    with pytest.raises(InputError):
        diagnose([bad, bad])
    with pytest.raises(LimitError, match="no finished piece"):
        diagnose([])
