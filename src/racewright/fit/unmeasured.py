"""The far end across the conduit, in a way that was not measured: where it may believably lie once the piece is
corrected, and what is said where that is out of its fitting, or asks for another correction.

Notation
    v       a way across the conduit at end B: a unit vector square to the last leg
    e       errors of the hand, each in its own spread: the angle of each bend that was not read, and the plane of each
            bend against the one that is made first
    G, h    what the readings, and end B along v, change by with e (readings in units of their tolerance)
    s       what the readings leave of the spread of end B along v, first order: s^2 = h (I + G^T G)^-1 h^T, which is
            the least of |h - x G|^2 + |x|^2 over x
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from operator import mul
from typing import NamedTuple

from racewright.bends.model import BentPiece
from racewright.errors import Finding, LimitError
from racewright.fit.accuracy import OPEN_END, Accuracy, Capture, Tolerance
from racewright.fit.jacobian import walk
from racewright.fit.measured import BendAngle, Measured, OffAt, Way, tolerance_of, way_vector
from racewright.fit.room import NOTHING_AROUND, Surroundings
from racewright.fit.slopes import shown_slopes
from racewright.fit.tweak import TweakAnswer, tweak
from racewright.fit.words import Move, move_words
from racewright.geometry.linalg import Row, least_norm, transpose
from racewright.geometry.vector import Frame, Vec, dot, even, scale, sub
from racewright.tools.benders import HookEnd, MadeBy
from racewright.units.tape import TapeStyle, format_length

_WORDS: dict[Way, str] = {"up": "up or down", "left": "to the sides", "forward": "along the first leg"}
#: A way is across the conduit where it stands at more than 30 degrees to the last leg, and two are one where they are
#: within 30 degrees of each other there.
_ACROSS, _ONE = 0.5, 0.866


class Hand(NamedTuple):
    """Who bent the piece: how far each step is off two times in three, and the bend (from 1) that was made first."""

    accuracy: Accuracy = Accuracy()
    first: int = 1


class Corrected(NamedTuple):
    """The piece as planned, how it was bent and corrected, and what that was asked with. `open_end`: no fitting stands
    at end B."""

    plan: BentPiece
    measured: tuple[Measured, ...]
    answer: TweakAnswer
    hooks: tuple[HookEnd, ...] = ()
    hand: Hand = Hand()
    open_end: bool = False
    may_spin: bool = False
    around: Surroundings = NOTHING_AROUND
    how: MadeBy = "hand shoe"


class Believed(NamedTuple):
    """The far end that way after the correction (mm): how far off it likely is, the spread of that, and how far the
    correction takes it."""

    way: Way
    off_mm: float
    spread_mm: float
    moved_mm: float

    @property
    def most_mm(self) -> float:
        """As far off as it believably is, or as it is moved where it was right."""
        return max(abs(self.off_mm) + self.spread_mm, abs(self.moved_mm))


def free_ways(plan: BentPiece, measured: Sequence[Measured]) -> tuple[Way, ...]:
    """The ways across the conduit in which the far end was not measured, where it was measured in any way at all."""
    ways = {item.way for item in measured if isinstance(item, OffAt) and item.station_mm is None}
    if not ways:
        return ()
    held = [across for way in _WORDS if way in ways and (across := _across(plan, way)) is not None]
    free: list[Way] = []
    squarest = sorted(_WORDS, key=lambda way: even(abs(dot(walk(plan).end.axis, way_vector(way, plan, Frame())))))
    for way in squarest:
        across = _across(plan, way)
        if across is not None and all(abs(dot(across, other)) < _ONE for other in held):
            free.append(way)
            held.append(across)
    return tuple(way for way in _WORDS if way in free)


def not_measured_words(plan: BentPiece, measured: Sequence[Measured]) -> str:
    """'up or down and to the sides'; '' where the far end was measured all across the conduit, or not at all."""
    return " and ".join(_WORDS[way] for way in free_ways(plan, measured))


def believed(done: Corrected) -> tuple[Believed, ...]:
    """Where the far end may lie in each way across the conduit in which it was not measured."""
    free = free_ways(done.plan, done.measured)
    if not free:
        return ()
    wanted, now, after = (walk(piece).end.origin for piece in (done.plan, done.answer.now, done.answer.piece))
    *readings, up, left, forward = _errors(done)
    scaled = [
        [value / tolerance_of(item, Tolerance()) for value in row]
        for item, row in zip(_not_angles(done.measured), readings, strict=True)
    ]
    out = []
    for way in free:
        across = _across(done.plan, way) or way_vector(way, done.plan, Frame())
        parts = [dot(across, way_vector(one, done.plan, Frame())) for one in _WORDS]
        along_it = [sum(map(mul, parts, column)) for column in zip(up, left, forward, strict=True)]
        spread = _left_of(along_it, scaled)
        out.append(Believed(way, dot(sub(after, wanted), across), spread, dot(sub(after, now), across)))
    return tuple(out)


def unmeasured_problem(done: Corrected, tape: TapeStyle) -> tuple[Finding, ...]:
    """That the far end may leave its fitting in a way that was not measured, or that other bends, or none, are to be
    corrected where it is right there; what to measure."""
    ways = believed(done)
    worst = max(ways, key=lambda one: even(one.most_mm), default=None)
    if worst is None:
        return ()
    takes = (OPEN_END if done.open_end else Capture()).across_mm
    if worst.most_mm > takes:
        said = _WORDS[worst.way]
        why = _out_words(worst, bool(done.answer.moves), takes, tape, open_end=done.open_end)
    else:
        said, why = not_measured_words(done.plan, done.measured), _other_words(done, [one.way for one in ways])
    if not why:
        return ()
    return (
        Finding(
            rule="tweak.unmeasured",
            severity="problem",
            message=f"the far end was not measured {said}: {why}. Measure it there before anything is bent again; say 0"
            " where it is right.",
            citation="geometry",
            measured=worst.most_mm,
            allowed=takes,
            unit="mm",
        ),
    )


def _out_words(worst: Believed, moves: bool, takes_mm: float, tape: TapeStyle, *, open_end: bool) -> str:
    takes = format_length(takes_mm, tape)
    fitting = f"an end that stays open may be off by {takes}" if open_end else f"its fitting takes {takes}"
    if abs(worst.moved_mm) > takes_mm:
        return f"the correction moves it by {format_length(abs(worst.moved_mm), tape)} there, and {fitting}"
    within = format_length(abs(worst.off_mm) + worst.spread_mm, tape)
    return f"it may be off by {within} there{' when this is corrected' if moves else ''}, and {fitting}"


def _other_words(done: Corrected, ways: Sequence[Way]) -> str:
    """What is another answer where the far end is right in these ways; '' where nothing is."""
    right = [OffAt(way=way, off_mm=0.0) for way in ways]
    try:
        answer = tweak(
            done.plan,
            [*done.measured, *right],
            hooks=done.hooks,
            may_spin=done.may_spin,
            around=done.around,
            how=done.how,
        )
    except LimitError:
        return "where it is right there, no correction was found that puts right what was measured"
    told = {(move.number, move.kind) for move in answer.moves}
    if answer.findings or all((move.number, move.kind) in told for move in done.answer.moves):
        return ""
    words = " and ".join(move_words(answer.now, move, done.how) for move in answer.moves)
    return f"where it is right there, another correction is the least: {words or 'none'}"


def _errors(done: Corrected) -> list[Row]:
    """What one spread of each error of the hand does: to each reading that is no angle, and to end B up, left and
    forward."""
    piece, (hand, first) = done.answer.now, done.hand
    walked = walk(piece)
    numbers = range(1, len(piece.bends) + 1)
    read = {item.number for item in done.measured if isinstance(item, BendAngle)}
    angles = [Move(n, "angle", 1.0) for n in numbers if n not in read]
    planes = [Move(n, "roll", 1.0) for n in numbers]
    asked = [*_not_angles(done.measured), *(OffAt(way=way, off_mm=0.0) for way in _WORDS)]
    rows = []
    for row in shown_slopes(piece, walked, asked, [*angles, *planes], done.hooks):
        rolled = [*row[len(angles) :], 0.0]
        # the plane of one bend alone: rolled with all that follows, and what follows rolled back
        alone = [(rolled[n - 1] - rolled[n]) * hand.roll_rad for n in numbers if n != first]
        rows.append([*(value * hand.angle_rad for value in row[: len(angles)]), *alone])
    return rows


def _left_of(wanted: Row, readings: Sequence[Row]) -> float:
    """What is left of a spread once these are read, each to within 1."""
    count = len(readings)
    right = [*wanted, *([0.0] * count)]
    rows = [[*row, *(1.0 if k == j else 0.0 for j in range(count))] for k, row in enumerate(readings)]
    x = least_norm(transpose(rows), right) if rows else []
    left = [value - sum(part * row[k] for part, row in zip(x, rows, strict=True)) for k, value in enumerate(right)]
    return sqrt(sum(value * value for value in left))


def _not_angles(measured: Sequence[Measured]) -> list[Measured]:
    return [item for item in measured if not isinstance(item, BendAngle)]


def _across(plan: BentPiece, way: Way) -> Vec | None:
    """The way square to the last leg; None where it runs along it."""
    axis, wanted = walk(plan).end.axis, way_vector(way, plan, Frame())
    square = sub(wanted, scale(axis, dot(wanted, axis)))
    size = sqrt(dot(square, square))
    return scale(square, 1.0 / size) if size > _ACROSS else None
