"""The far end across the conduit, in a way that was not measured, or not measured at all: where it may believably lie
once the piece is corrected, and what is said where that is out of its fitting, or asks for another correction.

Notation
    v       a way across the conduit at end B: a unit vector square to the last leg
    e       errors of the hand, each in its own spread: the angle of each bend (of one that was read, what a level is
            misread by), and the plane of each bend against the one that is made first
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
from racewright.fit.measured import ApexRise, BendAngle, Measured, OffAt, Way, tolerance_of, way_vector
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

    @property
    def takes_mm(self) -> float:
        """How far off end B may be sideways."""
        return (OPEN_END if self.open_end else Capture()).across_mm


class Believed(NamedTuple):
    """The far end that way after the correction (mm): how far off it likely is, the spread of that, and how far the
    correction takes it."""

    way: Way
    off_mm: float
    spread_mm: float
    moved_mm: float

    @property
    def off_by_mm(self) -> float:
        """As far off as it believably is."""
        return abs(self.off_mm) + self.spread_mm

    @property
    def most_mm(self) -> float:
        """The same, or as far as it is moved where it was right."""
        return max(self.off_by_mm, abs(self.moved_mm))


def end_measured(measured: Sequence[Measured]) -> bool:
    """Whether the far end was measured in any way."""
    return any(isinstance(item, OffAt) and item.station_mm is None for item in measured)


def record_finding(measured: Sequence[Measured], where: str) -> tuple[Finding, ...]:
    """That what is kept of a finished piece does not say where its far end lies."""
    if not measured or end_measured(measured):
        return ()
    return (
        Finding(
            rule="tweak.unmeasured",
            severity="caution",
            message="the far end was not measured: what is recorded does not tell that the piece fits. Measure it"
            " across the conduit too, and record it; 0 where it is right.",
            citation="geometry",
            where=where,
        ),
    )


def _taken_as_right(measured: Sequence[Measured]) -> bool:
    """A rise alone tells nothing of the far end, which is then taken as right."""
    return all(isinstance(item, ApexRise) for item in measured)


def free_ways(plan: BentPiece, measured: Sequence[Measured]) -> tuple[Way, ...]:
    """The ways across the conduit in which the far end was not measured."""
    ways = {item.way for item in measured if isinstance(item, OffAt) and item.station_mm is None}
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
    """'up or down and to the sides'; '' where the far end was measured all across the conduit."""
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
    partly, takes = end_measured(done.measured), done.takes_mm
    ways = () if _taken_as_right(done.measured) else believed(done)
    # with no reading of the end at all the others are what tells that it has to be moved
    figures = [(one.most_mm if partly else one.off_by_mm, one) for one in ways]
    most, worst = max(figures, key=lambda one: even(one[0]), default=(0.0, None))
    if worst is None:
        return ()
    if most > takes:
        said = f" {_WORDS[worst.way]}" if partly else ""
        why = _out_words(worst, done, tape, "there" if partly else _WORDS[worst.way])
    else:
        said = f" {not_measured_words(done.plan, done.measured)}"
        why = _other_words(done, [one.way for one in ways]) if partly else ""
    if not why:
        return ()
    return (
        Finding(
            rule="tweak.unmeasured",
            severity="problem",
            message=f"the far end was not measured{said}: {why}. Measure it{' there' if partly else ''} before anything"
            " is bent again; say 0 where it is right.",
            citation="geometry",
            measured=most,
            allowed=takes,
            unit="mm",
        ),
    )


def first_words(done: Corrected, tape: TapeStyle) -> str:
    """What is to be known before anything else where the far end was not measured at all: as what it is taken, and what
    that leaves open; '' where it was, or where that is a problem, which stands first."""
    if end_measured(done.measured) or unmeasured_problem(done, tape):
        return ""
    if _taken_as_right(done.measured):
        return "The far end was not measured: it is taken as right. Measure it before it is relied on."
    ways = believed(done)
    worst = max(ways, key=lambda one: even(one.off_by_mm))
    by = f"{format_length(worst.off_by_mm, tape)} {_WORDS[worst.way]}"
    may = f"It may be off by {by} all the same, and {_fitting(done, tape)}."
    moved = max((abs(one.moved_mm) for one in ways), default=0.0)
    moves = ""
    if moved > float(tape.step_mm) / 2.0:
        moves = f" This moves it by {format_length(moved, tape)}: where it is right as it is, bend nothing."
    return f"The far end was not measured: it is taken to lie as the readings have it.{moves} {may}"


def _fitting(done: Corrected, tape: TapeStyle) -> str:
    takes = format_length(done.takes_mm, tape)
    return f"an end that stays open may be off by {takes}" if done.open_end else f"its fitting takes {takes}"


def _out_words(worst: Believed, done: Corrected, tape: TapeStyle, there: str) -> str:
    if end_measured(done.measured) and abs(worst.moved_mm) > done.takes_mm:
        by = format_length(abs(worst.moved_mm), tape)
        return f"the correction moves it by {by} {there}, and {_fitting(done, tape)}"
    when = " when this is corrected" if done.answer.moves else ""
    return f"it may be off by {format_length(worst.off_by_mm, tape)} {there}{when}, and {_fitting(done, tape)}"


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
    spread = [min(hand.angle_rad, Tolerance().angle_rad) if n in read else hand.angle_rad for n in numbers]
    angles = [Move(n, "angle", 1.0) for n in numbers]
    planes = [Move(n, "roll", 1.0) for n in numbers]
    asked = [*_not_angles(done.measured), *(OffAt(way=way, off_mm=0.0) for way in _WORDS)]
    rows = []
    for row in shown_slopes(piece, walked, asked, [*angles, *planes], done.hooks):
        rolled = [*row[len(angles) :], 0.0]
        # the plane of one bend alone: rolled with all that follows, and what follows rolled back
        alone = [(rolled[n - 1] - rolled[n]) * hand.roll_rad for n in numbers if n != first]
        rows.append([*map(mul, row[: len(angles)], spread), *alone])
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
