"""The closed-form slopes of what a finished piece shows, against central differences of the exact chain."""

from math import radians

import pytest

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.budget import Budget
from racewright.fit.correction import Task, corrected, slopes
from racewright.fit.jacobian import walk
from racewright.fit.likeliest import as_it_is
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt, Way, end_gap, shown
from racewright.fit.room import NOTHING_AROUND
from racewright.fit.slopes import shown_slopes
from racewright.fit.words import Move
from racewright.geometry.vector import Frame
from racewright.tools.benders import HookEnd

R = 113.6
WAYS: tuple[Way, ...] = ("up", "left", "forward")
SIX = BentPiece(
    cut_length_mm=2900.0,
    outside_diameter_mm=17.9,
    up_roll_rad=0.4,
    bends=tuple(
        Bend(arc_start_mm=start, angle_rad=radians(angle), roll_rad=radians(roll), radius_mm=R, shape=shape, role=role)
        for start, angle, roll, shape, role in (
            (200.0, 35.0, 20.0, "kick", roles.KICK),
            (600.0, 22.5, -60.0, "saddle", roles.SADDLE_OUTER),
            (900.0, 45.0, 110.0, "saddle", roles.SADDLE_CENTER),
            (1250.0, 28.0, -50.0, "saddle", roles.SADDLE_OUTER),
            (1700.0, 30.0, 15.0, "offset", roles.OFFSET_FIRST),
            (2100.0, 33.0, 190.0, "offset", roles.OFFSET_SECOND),
        )
    ),
)
MOVES: tuple[Move, ...] = (
    Move(1, "spin", 0.0),
    *(Move(n, "angle", 0.0) for n in range(1, 7)),
    *(Move(n, "roll", 0.0) for n in range(2, 7)),
)
READINGS: tuple[Measured, ...] = (
    *(OffAt(way=way, off_mm=0.0) for way in WAYS),
    # on straights, and within the arcs of marks 3 and 5
    *(OffAt(way=way, off_mm=0.0, station_mm=at) for way in WAYS for at in (100.0, 450.0, 940.0, 1500.0, 1730.0)),
    *(LegLean(way=way, lean_rad=0.0) for way in WAYS),
    *(ApexRise(rise_mm=0.0, number=n) for n in range(1, 7)),
    *(BendAngle(number=n, angle_rad=0.0) for n in range(1, 7)),
)


@pytest.mark.parametrize("hook", ["A", "B"])
@pytest.mark.parametrize("move", MOVES, ids=str)
def test_each_reading_changes_with_each_correction_as_the_chain_does(move: Move, hook: HookEnd) -> None:
    hooks, step = (hook,) * 6, 1e-5
    high, low = (corrected(SIX, [move._replace(by_rad=by)], hooks) for by in (step, -step))
    for item, (got,) in zip(READINGS, shown_slopes(SIX, walk(SIX), READINGS, [move], hooks), strict=True):
        assert got == pytest.approx((shown(high, item) - shown(low, item)) / (2.0 * step), rel=1e-6, abs=2e-5), item


@pytest.mark.parametrize("hook", ["A", "B"])
def test_the_far_end_changes_with_each_correction_as_the_chain_does(hook: HookEnd) -> None:
    hooks, step = (hook,) * 6, 1e-5
    wanted = Frame((900.0, 300.0, 200.0), (0.6, 0.0, 0.8), (-0.8, 0.0, 0.6))
    scale = (1.5, 1.5, 1.5, 0.01, 0.01)
    made = [Move(2, "angle", 0.02), Move(4, "roll", -0.03)]
    task = Task(SIX, (), (), scale, wanted, hooks, MOVES, NOTHING_AROUND, frozenset(), (), (), True, Budget(10**6))
    for move, column in zip(MOVES, zip(*slopes(task, MOVES, made), strict=True), strict=True):
        high, low = (
            end_gap(wanted, walk(corrected(SIX, [*made, move._replace(by_rad=by)], hooks)).end) for by in (step, -step)
        )
        for got, a, b, unit in zip(column, high, low, scale, strict=True):
            assert got == pytest.approx((a - b) / (2.0 * step) / unit, rel=1e-6, abs=1e-4), move


def test_a_last_leg_square_to_the_way_of_its_lean_leans_no_further_that_way() -> None:
    straight = BentPiece(cut_length_mm=900.0, outside_diameter_mm=17.9, bends=SIX.bends[:1])
    lies = corrected(straight, [Move(1, "angle", -radians(35.0))])
    (row,) = shown_slopes(lies, walk(lies), [LegLean(way="forward", lean_rad=0.0)], [Move(1, "angle", 0.0)])
    assert row == [0.0]


def task_of(budget: Budget) -> Task:
    """Readings of a piece whose bends are off by up to two degrees."""
    bent = corrected(SIX, [Move(2, "angle", 0.03), Move(3, "angle", -0.02), Move(5, "roll", 0.03)])
    rest = tuple(item for item in READINGS if not isinstance(item, BendAngle))
    aims, real = (tuple(shown(piece, item) for item in rest) for piece in (SIX, bent))
    missing = tuple(was - wanted for was, wanted in zip(real, aims, strict=True))
    scale = tuple(0.01 if isinstance(item, LegLean) else 1.5 for item in rest)
    return Task(SIX, rest, missing, scale, None, (), MOVES, NOTHING_AROUND, frozenset(), real, aims, False, budget)


def test_the_likeliest_piece_shows_what_was_measured() -> None:
    task = as_it_is(task_of(Budget(10**6)))
    assert task.told
    got = [shown(task.now, item) for item in task.measured]
    assert got == pytest.approx(list(task.real), abs=1e-6)


def test_the_likeliest_piece_is_sought_as_long_as_the_budget_lasts() -> None:
    enough, little = Budget(10**6), Budget(1)
    assert as_it_is(task_of(enough)).told
    task = task_of(little)
    assert as_it_is(task) is task
    assert little.done < enough.done / 2


@pytest.mark.parametrize(("off_deg", "near"), [(5.5, True), (6.5, False)])
def test_a_piece_with_a_bend_more_than_six_degrees_off_is_not_likely(off_deg: float, near: bool) -> None:
    """One bend, its end measured: an angle that far off is a wrong reading sooner than a hand's."""
    one = BentPiece(cut_length_mm=900.0, outside_diameter_mm=17.9, bends=SIX.bends[:1])
    bent = corrected(one, [Move(1, "angle", radians(off_deg))])
    lean = LegLean(way="up", lean_rad=0.0)
    real, aim = shown(bent, lean), shown(one, lean)
    task = Task(
        one,
        (lean,),
        (real - aim,),
        (0.01,),
        None,
        (),
        (),
        NOTHING_AROUND,
        frozenset(),
        (real,),
        (aim,),
        False,
        Budget(10**6),
    )
    found = as_it_is(task)
    assert found.told == near
    if near:
        assert found.now.bends[0].angle_rad == pytest.approx(bent.bends[0].angle_rad, abs=1e-6)
    else:
        assert found is task
