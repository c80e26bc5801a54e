"""Part of the piece is bent and not as planned: new marks for the rest, so that the end still meets its fitting.

Notation
    x       what is still free: start, angle and roll of each bend not yet made, and the cut
    x0      what the plan had for it
    g(x)    how far end B is from where it must be: across twice, along, lean twice (section `end_gap`)
The answer has g(x) = 0 and |x - x0| least, each part in its own scale (25 mm, 5 degrees): a least-norm solution
of the linearised equations, repeated on the exact chain. Where g cannot vanish, |g| in tolerances is least.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import pi, radians
from typing import NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import Finding, InputError
from racewright.fit.accuracy import Tolerance
from racewright.fit.jacobian import angle_column, mark_column, roll_column, walk
from racewright.fit.measured import INCHES, end_gap
from racewright.fit.words import findings_of, replan_words
from racewright.geometry.linalg import Matrix, Row, least_norm
from racewright.geometry.vector import ZERO, Frame, cross, dot
from racewright.units.tape import TapeStyle

_LENGTH_SCALE = 25.0
_ANGLE_SCALE = radians(5.0)
_MOST_ROUNDS = 40
_UNDAMPED = 12
_ALLOWED = Tolerance()


class MadeBend(msgspec.Struct, frozen=True, kw_only=True):
    """A bend that is made, as measured: None keeps what the plan had. `number` counts from end A, from 1."""

    number: int
    arc_start_mm: float | None = None
    angle_rad: float | None = None
    roll_rad: float | None = None


class ReplanAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """The piece as it should now be finished. `met`: the end meets its fitting within the tolerance. `gap`: how far
    off it still is (across twice, along in mm; lean twice in rad). `words`: what changes, one line each."""

    piece: BentPiece
    met: bool
    gap: tuple[float, float, float, float, float]
    words: tuple[str, ...]
    findings: tuple[Finding, ...]


class _Free(NamedTuple):
    """One unknown: 'start', 'angle', 'roll' of a bend (counted from 0), or 'cut'."""

    kind: str
    bend: int
    scale: float


class _Task(NamedTuple):
    """The piece as made so far, where end B must be, what is free; which straights (counted from end A, from 0) are
    held at no length, and which unknowns at a value: both grow as limits are met."""

    base: BentPiece
    target: Frame
    free: Sequence[_Free]
    straights: set[int]
    held: list[tuple[_Free, float]]


def replan(
    piece: BentPiece,
    made: Sequence[MadeBend],
    *,
    cut_free: bool = True,
    stock_length_mm: float | None = None,
    largest_angle_rad: float = pi / 2.0,
    tape: TapeStyle = INCHES,
) -> ReplanAnswer:
    """New starts, angles and rolls for the bends not yet made, nearest to the plan: end B comes to where the plan has
    it, with end A in its fitting.

    `cut_free` False: the conduit is cut already, as planned. `stock_length_mm` bounds a cut that is still free.
    `tape`: how the words show lengths. Raises InputError for bends that the piece does not have.
    """
    base = _as_made(piece, made)
    done = {item.number - 1 for item in made}
    task = _Task(base, walk(piece).end, _unknowns(base, done, cut_free), set(), [])
    answer = _solve(task)
    for _ in range(len(task.free) + len(piece.bends) + 1):
        if not _hold_limits(task, answer, largest_angle_rad, stock_length_mm):
            break
        answer = _solve(task)
    gap = end_gap(task.target, walk(answer).end)
    units = (_ALLOWED.length_mm,) * 3 + (_ALLOWED.angle_rad,) * 2
    met = max(abs(g) / u for g, u in zip(gap, units, strict=True)) <= 1.0
    findings = tuple(findings_of(answer, met, gap, _ALLOWED, largest_angle_rad, stock_length_mm, tape, done))
    met = met and not any(item.severity == "problem" for item in findings)
    words = tuple(replan_words(piece, answer, done, tape))
    return ReplanAnswer(piece=answer, met=met, gap=gap, words=words, findings=findings)


def _as_made(piece: BentPiece, made: Sequence[MadeBend]) -> BentPiece:
    bends = list(piece.bends)
    for item in made:
        if not 1 <= item.number <= len(bends):
            raise InputError(
                f"bend {item.number} is said to be made, and the piece has {len(bends)} bends.",
                hint="bends count from end A, the first is 1",
                field="number",
            )
        old = bends[item.number - 1]
        bends[item.number - 1] = msgspec.structs.replace(
            old,
            arc_start_mm=old.arc_start_mm if item.arc_start_mm is None else item.arc_start_mm,
            angle_rad=old.angle_rad if item.angle_rad is None else item.angle_rad,
            roll_rad=old.roll_rad if item.roll_rad is None else item.roll_rad,
        )
    return msgspec.structs.replace(piece, bends=tuple(bends))


def _unknowns(piece: BentPiece, done: set[int], cut_free: bool) -> list[_Free]:
    out = []
    for i in range(len(piece.bends)):
        if i in done:
            continue
        out += [_Free("start", i, _LENGTH_SCALE), _Free("angle", i, _ANGLE_SCALE), _Free("roll", i, _ANGLE_SCALE)]
    if cut_free:
        out.append(_Free("cut", -1, _LENGTH_SCALE))
    return out


def _value(piece: BentPiece, free: _Free) -> float:
    if free.kind == "cut":
        return piece.cut_length_mm
    bend = piece.bends[free.bend]
    return {"start": bend.arc_start_mm, "angle": bend.angle_rad, "roll": bend.roll_rad}[free.kind]


def _with(piece: BentPiece, free: Sequence[_Free], values: Sequence[float]) -> BentPiece:
    bends = list(piece.bends)
    cut = piece.cut_length_mm
    for item, value in zip(free, values, strict=True):
        if item.kind == "cut":
            cut = value
            continue
        name = {"start": "arc_start_mm", "angle": "angle_rad", "roll": "roll_rad"}[item.kind]
        bends[item.bend] = msgspec.structs.replace(bends[item.bend], **{name: value})
    return msgspec.structs.replace(piece, bends=tuple(bends), cut_length_mm=cut)


def _equations(task: _Task, piece: BentPiece) -> Row:
    """Everything that must vanish, in tolerances: the gap at end B, straights held at no length, values held."""
    gap = end_gap(task.target, walk(piece).end)
    out = [g / _ALLOWED.length_mm for g in gap[:3]] + [g / _ALLOWED.angle_rad for g in gap[3:]]
    # limits weigh a hundred times the gap: where both cannot be had, the limit is kept
    all_straights = piece.straights_mm()
    out += [100.0 * all_straights[k] / _ALLOWED.length_mm for k in sorted(task.straights)]
    return out + [100.0 * (_value(piece, item) - value) / (0.01 * item.scale) for item, value in task.held]


def _solve(task: _Task) -> BentPiece:
    base, free = task.base, task.free
    if not free:
        return base
    x0 = [_value(base, item) for item in free]

    def at(y: Row) -> BentPiece:
        return _with(base, free, [x + d * item.scale for x, d, item in zip(x0, y, free, strict=True)])

    def rest(y: Row) -> Row:
        return _equations(task, at(y))

    def slopes(y: Row) -> Matrix:
        return _slopes(task, at(y))

    y = [0.0] * len(free)
    for count in range(_MOST_ROUNDS):
        now = rest(y)
        slope = slopes(y)
        # least |y_new| with J y_new = J y - g(y): the nearest point to the plan on the linearised constraint
        right = [sum(a * b for a, b in zip(row, y, strict=True)) - r for row, r in zip(slope, now, strict=True)]
        new = least_norm(slope, right, 1e-7)
        longest = max(abs(a - b) for a, b in zip(new, y, strict=True))
        # where the nearest point swings to and fro (long arms, many bends), shorter steps settle it
        share = min(0.5 if count >= _UNDAMPED else 1.0, 3.0 / longest) if longest > 0.0 else 1.0
        y = [b + share * (a - b) for a, b in zip(new, y, strict=True)]
        if longest < 1e-11:
            break
    return at(_onto(rest, slopes, y))


def _onto(rest: Callable[[Row], Row], slopes: Callable[[Row], Matrix], y: Row) -> Row:
    """The nearest point that has g = 0, by Newton steps of least length; y itself where no step helps."""
    best, least = y, max(abs(r) for r in rest(y))
    for _ in range(_MOST_ROUNDS):
        if least < 1e-7:
            break
        step = least_norm(slopes(best), [-r for r in rest(best)], 1e-7)
        tried = [b + s for b, s in zip(best, step, strict=True)]
        left = max(abs(r) for r in rest(tried))
        if left >= least:
            break
        best, least = tried, left
    return best


def _slopes(task: _Task, piece: BentPiece) -> Matrix:
    """The derivative of `_equations` by the unknowns, each in its own scale, in closed form: by differences the answer
    would hang on the last bits of sine and cosine."""
    walked, target = walk(piece), task.target
    end, last = walked.end, len(piece.bends)
    columns = []
    for item in task.free:
        joint = None if item.kind == "cut" else walked.joints[item.bend]
        if joint is None:
            move, turn, lengths = end.axis, ZERO, {last: 1.0}
        elif item.kind == "start":
            (move, turn), lengths = mark_column(joint), {item.bend: 1.0, item.bend + 1: -1.0}
        elif item.kind == "angle":
            (move, turn), lengths = angle_column(joint, end.origin, "A"), {item.bend + 1: -joint.bend.radius_mm}
        else:
            (move, turn), lengths = roll_column(joint, end.origin), {}
        swing = cross(turn, end.axis)
        column = [dot(move, way) / _ALLOWED.length_mm for way in (target.normal, target.binormal, target.axis)]
        column += [dot(swing, way) / _ALLOWED.angle_rad for way in (target.normal, target.binormal)]
        column += [100.0 * lengths.get(k, 0.0) / _ALLOWED.length_mm for k in sorted(task.straights)]
        column += [100.0 / (0.01 * item.scale) if other == item else 0.0 for other, _ in task.held]
        columns.append([value * item.scale for value in column])
    return [list(row) for row in zip(*columns, strict=True)]


def _hold_limits(task: _Task, piece: BentPiece, largest_angle_rad: float, stock_length_mm: float | None) -> bool:
    """Hold whatever is past its limit at the limit; True where something new is held."""
    new, held = False, task.held
    for k, straight in enumerate(piece.straights_mm()):
        if straight < -1e-6 and k not in task.straights:
            task.straights.add(k)
            new = True
    names = {(item.kind, item.bend) for item, _ in held}
    for item in task.free:
        value = _value(piece, item)
        if (item.kind, item.bend) in names:
            continue
        if item.kind == "angle" and not 0.0 <= value <= largest_angle_rad + 1e-9:
            held.append((item, 0.0 if value < 0.0 else largest_angle_rad))
            if value < 0.0:  # where nothing is bent a plane means nothing: it stays as planned
                held += [(other, _value(task.base, other)) for other in task.free if other[:2] == ("roll", item.bend)]
            new = True
        if item.kind == "cut" and stock_length_mm is not None and value > stock_length_mm + 1e-6:
            held.append((item, stock_length_mm))
            new = True
    return new
