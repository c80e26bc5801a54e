"""A bent piece with what was measured on it, and what corrections make of that.

Notation as in `fit.tweak`: moves x, what is left of the misfit after them in units of the tolerance.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf, radians, sqrt
from typing import NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import Budget
from racewright.fit.jacobian import Walk, walk
from racewright.fit.measured import Measured, end_gap, shown
from racewright.fit.room import Surroundings
from racewright.fit.slopes import end_slopes, shown_slopes
from racewright.fit.words import Move
from racewright.geometry.linalg import Matrix, Row, least_norm
from racewright.geometry.vector import Frame, dot, even, sub
from racewright.tools.benders import HookEnd, MadeBy

#: A part held against a thing takes as long as so many bends that are walked over.
_LOOK = 2
#: So many slopes of one reading by one move take as long as a bend that is walked over.
_SLOPES = 4


class Task(NamedTuple):
    """The piece `now`; what is measured on it, what is to be made good there (`missing`, less what `now` shows), in
    which tolerance; or the frame `wanted` at end B. `real`: what the bent piece shows, `aims`: what the plan does.
    `told`: the readings, with what is likely, tell how the piece lies; else they are added to what `now` shows.
    `own`: the bends that are taken to be off alone (none: any may be). Where `budget` is spent, the search ends."""

    now: BentPiece
    measured: tuple[Measured, ...]
    missing: tuple[float, ...]
    scale: tuple[float, ...]
    wanted: Frame | None
    hooks: tuple[HookEnd, ...]
    pool: tuple[Move, ...]
    around: Surroundings
    read: frozenset[int]
    real: tuple[float, ...]
    aims: tuple[float, ...]
    told: bool
    budget: Budget
    how: MadeBy = "hand shoe"
    own: tuple[int, ...] = ()

    def short_mm(self, moves: Sequence[Move]) -> float:
        """By how much the piece then misses the room that is wanted; 0 where it is not told how it lies."""
        if not self.told:
            return 0.0
        self.budget.take(_LOOK * self.around.units(self.now))
        return self.around.short_mm(corrected(self.now, moves, self.hooks))


def corrected(piece: BentPiece, moves: Sequence[Move], hooks: Sequence[HookEnd] = ()) -> BentPiece:
    """The piece after these corrections; a bend's tangent point on its hook side stays where it is."""
    grown, rolled = [0.0] * len(piece.bends), [0.0] * len(piece.bends)
    for number, kind, by in moves:
        if kind == "angle":
            grown[number - 1] += by
        else:
            rolled[0 if kind == "spin" else number - 1] += by
    bends, turned = list(piece.bends), 0.0
    for i, (old, more) in enumerate(zip(piece.bends, grown, strict=True)):
        turned += rolled[i]
        if more == 0.0 and turned == 0.0:
            continue
        back = old.radius_mm * more if i < len(hooks) and hooks[i] == "B" else 0.0
        bends[i] = msgspec.structs.replace(
            old, angle_rad=old.angle_rad + more, arc_start_mm=old.arc_start_mm - back, roll_rad=old.roll_rad + turned
        )
    return msgspec.structs.replace(piece, bends=tuple(bends))


def left_after(task: Task, moves: Sequence[Move]) -> Row:
    """The misfit left after these moves, each in units of its tolerance."""
    return _left(task, *_walked(task, moves))


def _walked(task: Task, moves: Sequence[Move]) -> tuple[BentPiece, Walk]:
    """The piece after these moves, in space."""
    piece = corrected(task.now, moves, task.hooks) if moves else task.now
    task.budget.take(len(piece.bends))
    return piece, walk(piece)


def _left(task: Task, piece: BentPiece, walked: Walk) -> Row:
    if task.wanted is not None:
        gap = end_gap(task.wanted, walked.end)
        return [value / unit for value, unit in zip(gap, task.scale, strict=True)]
    return [
        (shown(piece, item, walked) + off) / unit
        for item, off, unit in zip(task.measured, task.missing, task.scale, strict=True)
    ]


def end_moves(task: Task, moves: Sequence[Move]) -> float:
    """How far these moves take the far end, mm."""
    gap = sub(_walked(task, moves)[1].end.origin, _walked(task, ())[1].end.origin)
    return even(sqrt(dot(gap, gap)))


def worst_of(left: Row) -> float:
    """The worst of it, in tolerances."""
    return max((abs(value) for value in left), default=0.0)


def slopes(task: Task, chosen: Sequence[Move], at: Sequence[Move] = ()) -> Matrix:
    """d(left)/d(move), each of `chosen` per unit of its own, on the piece as `at` makes it."""
    return _slopes(task, chosen, *_walked(task, at))


def _slopes(task: Task, chosen: Sequence[Move], piece: BentPiece, walked: Walk) -> Matrix:
    task.budget.take(len(chosen) * len(task.scale) // _SLOPES)
    if task.wanted is not None:
        rows = end_slopes(task.wanted, walked, chosen, task.hooks)
    else:
        rows = shown_slopes(piece, walked, task.measured, chosen, task.hooks)
    return [[value / unit for value in row] for row, unit in zip(rows, task.scale, strict=True)]


def solve(task: Task, linear: tuple[Move, ...]) -> tuple[Move, ...] | None:
    """Gauss-Newton from the linear answer; None where it runs away. It ends where what is left is too much and hardly
    falls."""
    moves, before = linear, inf
    for _ in range(12):
        here = _walked(task, moves)
        left = _left(task, *here)
        size = hypot(*left)
        if worst_of(left) > 1.0 and size > 0.99 * before:
            break
        before = size
        step = least_norm(_slopes(task, linear, *here), [-value for value in left], 1e-7)
        moves = tuple(m._replace(by_rad=m.by_rad + d) for m, d in zip(moves, step, strict=True))
        if any(abs(m.by_rad) > radians(90.0) for m in moves):
            return None
        if max(abs(d) for d in step) < 1e-10:
            break
    return moves
