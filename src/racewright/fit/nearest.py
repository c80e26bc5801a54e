"""The piece nearest to a plan that ends where it must, with limits, rises and clearances held.

Notation
    x       what is still free: start, angle and roll of each bend not yet made, and the cut
    x0      what the plan had for it
    g(x)    what must vanish, in tolerances: how far end B is from where it must be (across twice, along, lean twice),
            and whatever is held
The answer has g(x) = 0 and |x - x0| least, each part in its own scale (25 mm, 5 degrees): the least of |g|^2 + (0.02
|x - x0|)^2, by linearised equations repeated on the exact chain, and from there straight onto g = 0. So a direction
that moves the end by nearly nothing (the plane of a bend that goes to nothing) is left alone, and the answer hangs on
no last bit of what was measured. Where g cannot vanish, |g| is least; what is held weighs a hundred times the gap, so
that of the two it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot, inf, radians
from operator import mul
from typing import NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import PARTS_A_UNIT, ROUNDS, Budget
from racewright.fit.accuracy import Tolerance
from racewright.fit.jacobian import Walk, angle_column, mark_column, point_at, point_move, roll_column, walk
from racewright.fit.measured import end_gap
from racewright.fit.room import Contact, Surroundings, Unknown, clear_slope
from racewright.geometry.linalg import Matrix, Row, least_norm
from racewright.geometry.vector import ZERO, Frame, Vec, cross, dot, sub

LENGTH_SCALE = 25.0
ANGLE_SCALE = radians(5.0)
ALLOWED = Tolerance()
_HELD = 100.0
#: What a change of one scale weighs, in tolerances, where it does not help.
_WEIGHT = 0.02
#: Steps shorter than this are none (in scales: 25 nm), and the answer is settled.
_SETTLED = 1e-9
#: Still moving by more than this when it ends, the search has settled on nothing.
_UNSETTLED = 0.1
#: How much shorter a step is taken that leads up; what a step gains is lost in rounding below this share of the whole.
_SHORTER = 4.0
_NOISE = 1e-10


class Free(NamedTuple):
    """One unknown: start, angle or roll of a bend (counted from 0), or the cut."""

    kind: Unknown
    bend: int
    scale: float


class Top(NamedTuple):
    """A place of the piece that keeps its height: the middle of a bend's arc (`share` 0.5), its start (0) or end (1);
    where the plan has it, and the unit vector that its rise goes."""

    bend: int
    share: float
    point: Vec
    way: Vec

    def station_mm(self, piece: BentPiece) -> float:
        """Where along the piece it is."""
        bend = piece.bends[self.bend]
        return bend.arc_start_mm + self.share * bend.arc_length_mm

    def off_mm(self, piece: BentPiece, walked: Walk, start: Frame) -> float:
        """How much higher than planned it lies."""
        return dot(sub(point_at(walked, self.station_mm(piece), start), self.point), self.way)


class Task(NamedTuple):
    """The piece as made so far, with end A at `start`; where end B must be; what is free. What is held grows as limits
    are met: straights (counted from end A, from 0) at a length, unknowns at a value, contacts at the clearance that is
    wanted; `tops` keep their height throughout. `lengthwise` False: end B may lie anywhere along its own axis. Where
    `budget` is spent the answer is the nearest so far."""

    base: BentPiece
    start: Frame
    target: Frame
    free: Sequence[Free]
    straights: dict[int, float]
    held: list[tuple[Free, float]]
    around: Surroundings
    contacts: list[Contact]
    tops: Sequence[Top]
    lengthwise: bool = True
    budget: Budget | None = None


def value_of(piece: BentPiece, free: Free) -> float:
    """What the piece has for it."""
    if free.kind == "cut":
        return piece.cut_length_mm
    bend = piece.bends[free.bend]
    return {"start": bend.arc_start_mm, "angle": bend.angle_rad, "roll": bend.roll_rad}[free.kind]


def with_values(piece: BentPiece, free: Sequence[Free], values: Sequence[float]) -> BentPiece:
    """The piece with these in it."""
    bends = list(piece.bends)
    cut = piece.cut_length_mm
    for item, value in zip(free, values, strict=True):
        if item.kind == "cut":
            cut = value
            continue
        name = {"start": "arc_start_mm", "angle": "angle_rad", "roll": "roll_rad"}[item.kind]
        bends[item.bend] = msgspec.structs.replace(bends[item.bend], **{name: value})
    return msgspec.structs.replace(piece, bends=tuple(bends), cut_length_mm=cut)


def equations(task: Task, piece: BentPiece) -> Row:
    """Everything that must vanish, in tolerances: the gap at end B, straights held, values held, contacts, tops."""
    walked = walk(piece, task.start)
    gap = end_gap(task.target, walked.end)
    out = [g / ALLOWED.length_mm for g in (gap if task.lengthwise else gap[:2])[:3]] + [
        g / ALLOWED.angle_rad for g in gap[3:]
    ]
    lengths = piece.straights_mm()
    out += [_HELD * (lengths[k] - least) / ALLOWED.length_mm for k, least in sorted(task.straights.items())]
    out += [_HELD * (value_of(piece, item) - value) / (0.01 * item.scale) for item, value in task.held]
    out += [_HELD * task.around.clear_mm(c, piece, walked)[0] / ALLOWED.length_mm for c in task.contacts]
    return out + [_HELD * top.off_mm(piece, walked, task.start) / ALLOWED.length_mm for top in task.tops]


def slopes(task: Task, piece: BentPiece) -> Matrix:
    """The derivative of `equations` by the unknowns, each in its own scale, in closed form: by differences the answer
    would hang on the last bits of sine and cosine."""
    walked, target = walk(piece, task.start), task.target
    end, last = walked.end, len(piece.bends)
    ways = (target.normal, target.binormal, target.axis)[: 3 if task.lengthwise else 2]
    touched = [task.around.clear_mm(contact, piece, walked) for contact in task.contacts]
    tops = [(top, top.station_mm(piece)) for top in task.tops]
    risen = [(top, station, point_at(walked, station, task.start)) for top, station in tops]
    columns = []
    for item in task.free:
        placed = None if item.kind == "cut" else walked.bends[item.bend]
        if placed is None:
            move, turn, lengths = end.axis, ZERO, {last: 1.0}
        elif item.kind == "start":
            (move, turn), lengths = mark_column(placed), {item.bend: 1.0, item.bend + 1: -1.0}
        elif item.kind == "angle":
            (move, turn), lengths = angle_column(placed, end.origin, "A"), {item.bend + 1: -placed.bend.radius_mm}
        else:
            (move, turn), lengths = roll_column(placed, end.origin), {}
        swing = cross(turn, end.axis)
        column = [dot(move, way) / ALLOWED.length_mm for way in ways]
        column += [dot(swing, way) / ALLOWED.angle_rad for way in (target.normal, target.binormal)]
        column += [_HELD * lengths.get(k, 0.0) / ALLOWED.length_mm for k in sorted(task.straights)]
        column += [_HELD / (0.01 * item.scale) if other == item else 0.0 for other, _ in task.held]
        column += [
            _HELD * clear_slope(item.kind, item.bend, walked, station, point, normal) / ALLOWED.length_mm
            for _, station, point, normal in touched
        ]
        column += [
            _HELD * _top_slope(top, item, station, point, walked) / ALLOWED.length_mm for top, station, point in risen
        ]
        columns.append([value * item.scale for value in column])
    return [list(row) for row in zip(*columns, strict=True)]


def _top_slope(top: Top, item: Free, station: float, point: Vec, walked: Walk) -> float:
    """How a top, now at a station and a point, rises by one unknown; its own bend's start and angle move its station
    too."""
    if item.kind == "cut":
        return 0.0
    move = point_move(walked.bends[item.bend], item.kind, station, point)
    if item.bend == top.bend and item.kind != "roll":
        placed = walked.bends[top.bend]
        here = placed.start.bent(placed.bend.radius_mm, top.share * placed.bend.angle_rad, placed.bend.roll_rad).axis
        rate = 1.0 if item.kind == "start" else top.share * placed.bend.radius_mm
        return dot(move, top.way) + rate * dot(here, top.way)
    return dot(move, top.way)


def solve(task: Task) -> BentPiece | None:
    """The nearest piece of a task, sought again by short steps where long ones settle on none; None where the search
    still moves about when it ends: what it has by then is as good as drawn by lot."""
    base, free = task.base, task.free
    if not free:
        return base
    x0 = [value_of(base, item) for item in free]

    def at(y: Row) -> BentPiece:
        return with_values(base, free, [x + d * item.scale for x, d, item in zip(x0, y, free, strict=True)])

    def rest(y: Row) -> Row:
        return equations(task, at(y))

    def slope_at(y: Row) -> Matrix:
        return slopes(task, at(y))

    y = _least(task, rest, slope_at)
    if y is None:
        y = _least(task, rest, slope_at, held=1.0)
    return None if y is None else at(_onto(rest, slope_at, y))


def _least(task: Task, rest: Callable[[Row], Row], slope_at: Callable[[Row], Matrix], held: float = 0.0) -> Row | None:
    """The y of least |g|^2 + (weight |y|)^2, from the plan downhill: a step that leads up is taken shorter, by the way
    of Levenberg and Marquardt. `held`: no step is taken longer than this allows, the first ones far shorter. None
    where it has not settled."""
    y, short = [0.0] * len(task.free), _SHORTER**2 * held
    now, slope = rest(y), slope_at(y)
    size, longest = _size(now, y), inf
    for count in range(ROUNDS):
        if task.budget is not None:
            if count and task.budget.spent:
                break
            task.budget.take(len(now) * len(now) * len(y) // PARTS_A_UNIT)
        step, gain = _step(slope, now, y, short)
        longest = max(map(abs, step))
        tried = [a + b for a, b in zip(y, step, strict=True)]
        found = rest(tried)
        less = size - _size(found, tried)
        told = gain > _NOISE * size  # else what it gains is lost in rounding
        if told and less < 0.1 * gain:
            short = max(_SHORTER * short, 1.0)
            continue
        y, now, size, slope = tried, found, size - less, slope_at(tried)
        if longest < _SETTLED:
            break
        if told and less > 0.7 * gain:
            short = max(held, short / _SHORTER if short > 1.0 else 0.0)
    return y if longest < _UNSETTLED else None


def _size(rest: Row, y: Row) -> float:
    return hypot(*rest) ** 2 + (_WEIGHT * hypot(*y)) ** 2


def _step(slope: Matrix, now: Row, y: Row, short: float) -> tuple[Row, float]:
    """The step that is best where g is taken as straight, `short` keeping it short, and by how much it should lower
    the sum."""
    weight = hypot(_WEIGHT, short)
    share = (_WEIGHT / weight) ** 2
    back = [-share * value for value in y]
    right = [-g - sum(map(mul, row, back)) for row, g in zip(slope, now, strict=True)]
    step = [a + b for a, b in zip(back, _weighed(slope, right, weight), strict=True)]
    then = [g + sum(map(mul, row, step)) for row, g in zip(slope, now, strict=True)]
    return step, _size(now, y) - _size(then, [a + b for a, b in zip(y, step, strict=True)])


def _onto(rest: Callable[[Row], Row], slope_at: Callable[[Row], Matrix], y: Row) -> Row:
    """The nearest point that has g = 0, by Newton steps of least length; y itself where no step helps."""
    best, least = y, max(abs(r) for r in rest(y))
    for _ in range(ROUNDS):
        if least < 1e-7:
            break
        step = _weighed(slope_at(best), [-r for r in rest(best)])
        tried = [b + s for b, s in zip(best, step, strict=True)]
        left = max(abs(r) for r in rest(tried))
        if left >= least:
            break
        best, least = tried, left
    return best


def _weighed(slope: Matrix, right: Row, weight: float = _WEIGHT) -> Row:
    """The y that makes |slope y - right|^2 + (weight |y|)^2 least: the shortest one of slope y + weight z = right, of
    whose rank there is no doubt."""
    count = len(slope)
    wide = [[*row, *(weight if k == i else 0.0 for k in range(count))] for i, row in enumerate(slope)]
    return least_norm(wide, right, 1e-12)[: len(slope[0])]
