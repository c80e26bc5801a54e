"""Where a run comes near itself: the least clearance between stretches of it that are far apart along it.

Notation (lengths mm, angles radians)
    s        station along the run from end A
    h        half the outside diameter of what stands at a stretch: the conduit, or a fitting around it
    R, A     bend radius and angle; e = R A^2 / 8 is how far an arc may lie from its chord at the same part of both
    D        what two stretches' middle lines must lie apart
Places nearer along the run than half a circle, pi R, cannot meet: a curve that bends nowhere sharper than R keeps at
least 2 R sin(L / 2R) between two places L apart along it (Schur's comparison theorem, Math. Ann. 83, 1921; from
memory), which is D at L = 2 R asin(D / 2R) already. So what shares a bend is never told.
For the same reason a run that turns by K in all keeps L cos(K / 2), and one that turns little cannot meet itself.
Each stretch is bounded by its chord: two arcs lie within e1 + e2 of what their chords' distance says. Pairs that may
still hold a place nearer than the best are halved, until e1 + e2 is less than the tolerance.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import acos, asin, hypot, pi
from typing import NamedTuple

import msgspec

from racewright.budget import Budget
from racewright.geometry.chain import Arc, Line
from racewright.geometry.vector import Vec, dot, sub

#: The least clearance is told to this (mm): no tape shows less.
TOLERANCE_MM = 0.01
#: Comparisons of two boxes that take as long as one unit of work.
_BOXES_A_UNIT = 8
_FLAT = 1e-12


class Tube(NamedTuple):
    """A straight or an arc of the run, at which station it begins, half the outside diameter of what stands there, and
    the number of its leg."""

    part: Line | Arc
    begin_mm: float
    half_mm: float
    leg: int

    @property
    def end_mm(self) -> float:
        """The station where it ends."""
        return self.begin_mm + self.part.end_s - self.part.start_s


class Meeting(msgspec.Struct, frozen=True):
    """Where two legs come nearest to each other: the clearance (negative: they lie in each other), the two stations,
    the middle lines' distance that has no clearance, and the sine of the angle between them."""

    clear_mm: float
    legs: tuple[int, int]
    at_mm: tuple[float, float]
    halves_mm: float
    crossing: float


def meetings(
    tubes: Sequence[Tube], radius_mm: float, under_mm: float, budget: Budget, moved: range | None = None
) -> list[Meeting]:
    """For each two legs that come nearer to each other than `under_mm` (or a leg to itself), where they are nearest, in
    the order of the legs. `radius_mm`: of the sharpest bend; `moved`: only what has to do with these tubes is asked.
    What is found before the budget is spent is true; that there is no more is proved where something is left of it."""
    apart = pi * radius_mm
    widest = 2.0 * max(tube.half_mm for tube in tubes) + under_mm
    turned = sum(tube.part.angle_rad for tube in tubes if isinstance(tube.part, Arc))
    if turned <= 2.0 * acos(min(1.0, widest / apart)):
        return []
    near = min(2.0 * radius_mm * asin(min(1.0, widest / (2.0 * radius_mm))), 0.5 * apart)
    chords = [_Chord(tube, 0.0, tube.part.end_s - tube.part.start_s) for tube in tubes]
    found: dict[tuple[int, int], Meeting] = {}
    for i, j in _close(chords, apart, 0.5 * under_mm, budget):
        if moved is not None and i not in moved and j not in moved:
            continue
        first, second = tubes[i].leg, tubes[j].leg
        legs = (first, second) if first <= second else (second, first)
        best = found.get(legs)
        least = _least(chords[i], chords[j], near, apart, best.clear_mm if best else under_mm, budget)
        if least is not None:
            clear, a, b, crossing = least
            found[legs] = Meeting(clear, legs, (min(a, b), max(a, b)), tubes[i].half_mm + tubes[j].half_mm, crossing)
        if budget.spent:
            break
    return [found[legs] for legs in sorted(found)]


class _Chord:
    """A stretch of a tube, from `low` to `high` counted from its begin."""

    __slots__ = ("end", "error", "from_mm", "high", "low", "start", "to_mm", "tube")

    def __init__(self, tube: Tube, low: float, high: float) -> None:
        self.tube, self.low, self.high = tube, low, high
        self.from_mm, self.to_mm = tube.begin_mm + low, tube.begin_mm + high
        self.start, self.end = self.point(low), self.point(high)
        long = high - low
        self.error = long * long / (8.0 * tube.part.radius_mm) if isinstance(tube.part, Arc) else 0.0

    def point(self, at: float) -> Vec:
        """The place so far from the tube's begin."""
        return self.tube.part.point_at(self.tube.part.start_s + at)

    def halves(self) -> tuple[_Chord, _Chord]:
        """Both halves."""
        middle = 0.5 * (self.low + self.high)
        return _Chord(self.tube, self.low, middle), _Chord(self.tube, middle, self.high)


def _close(chords: Sequence[_Chord], apart_mm: float, more_mm: float, budget: Budget) -> Iterator[tuple[int, int]]:
    """The pairs whose boxes meet, grown by `more_mm`, and that reach so far apart along the run; in their order."""
    boxes = []
    for chord in chords:
        grown = chord.error + chord.tube.half_mm + more_mm
        ends = list(zip(chord.start, chord.end, strict=True))
        boxes.append(([min(pair) - grown for pair in ends], [max(pair) + grown for pair in ends]))
    wide = [max(high[k] for _, high in boxes) - min(low[k] for low, _ in boxes) for k in range(3)]
    axis = wide.index(max(wide))
    others = [k for k in range(3) if k != axis]
    pairs: list[tuple[int, int]] = []
    begun: list[int] = []
    for _, i in sorted((low[axis], i) for i, (low, _) in enumerate(boxes)):
        low, high = boxes[i]
        begun = [j for j in begun if boxes[j][1][axis] >= low[axis]]
        budget.take(1 + len(begun) // _BOXES_A_UNIT)
        for j in begun:
            its_low, its_high = boxes[j]
            if all(low[k] <= its_high[k] and its_low[k] <= high[k] for k in others):
                a, b = chords[i], chords[j]
                if max(b.to_mm - a.from_mm, a.to_mm - b.from_mm) >= apart_mm:
                    pairs.append((i, j) if i < j else (j, i))
        begun.append(i)
    yield from sorted(pairs)


def _least(
    first: _Chord, second: _Chord, near_mm: float, apart_mm: float, under_mm: float, budget: Budget
) -> tuple[float, float, float, float] | None:
    """The least clearance of two stretches, the two stations and the sine between them; None where it is not less than
    `under_mm` by the tolerance."""
    best: tuple[float, float, float, float] | None = None
    halves = first.tube.half_mm + second.tube.half_mm
    rest = [(first, second)]
    while rest and not budget.spent:
        a, b = rest.pop()
        if max(b.to_mm - a.from_mm, a.to_mm - b.from_mm) < apart_mm:
            continue
        budget.take(1)
        distance, at_a, at_b = _between(a.start, a.end, b.start, b.end)
        error = a.error + b.error
        if max(distance - error, 0.0) - halves >= under_mm - TOLERANCE_MM:
            continue
        # what begins nearer than that along the run is cut up first; in between, nothing meets
        joined = max(b.from_mm - a.to_mm, a.from_mm - b.to_mm) < near_mm
        if not joined:
            place_a, place_b = a.low + at_a * (a.high - a.low), b.low + at_b * (b.high - b.low)
            gap = sub(b.point(place_b), a.point(place_a))
            clear = hypot(*gap) - halves
            if clear < under_mm:
                under_mm = clear
                best = (clear, a.tube.begin_mm + place_a, b.tube.begin_mm + place_b, _crossing(a, b))
            if error <= TOLERANCE_MM:
                continue
        longer = a.high - a.low > b.high - b.low if joined else a.error > b.error
        if longer:
            rest += [(half, b) for half in reversed(a.halves())]
        else:
            rest += [(a, half) for half in reversed(b.halves())]
    return best


def _crossing(a: _Chord, b: _Chord) -> float:
    u, v = sub(a.end, a.start), sub(b.end, b.start)
    sizes = hypot(*u) * hypot(*v)
    return (max(0.0, 1.0 - (dot(u, v) / sizes) ** 2)) ** 0.5 if sizes > 0.0 else 0.0


def _between(p: Vec, q: Vec, r: Vec, s: Vec) -> tuple[float, float, float]:
    """The distance between two straights from p to q and from r to s, and at which part of each they are nearest; of
    parallel ones the nearest place to p, q, r or s, in this order."""
    u, v, w = sub(q, p), sub(s, r), sub(p, r)
    a, b, c, d, e = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    if a <= _FLAT or c <= _FLAT:
        x = 0.0 if a <= _FLAT else _part(-d / a)
        return _apart(w, u, v, x, _part((b * x + e) / c) if c > _FLAT else 0.0)
    skew = a * c - b * b
    if skew > 1e-9 * a * c:
        x = _part((b * e - c * d) / skew)
        y = (b * x + e) / c
        if not 0.0 <= y <= 1.0:
            y = _part(y)
            x = _part((b * y - d) / a)
        return _apart(w, u, v, x, y)
    ends = [(0.0, _part(e / c)), (1.0, _part((b + e) / c)), (_part(-d / a), 0.0), (_part((b - d) / a), 1.0)]
    tried = [_apart(w, u, v, x, y) for x, y in ends]
    nearest = tried[0]
    for one in tried[1:]:
        if one[0] < nearest[0] - 1e-9:
            nearest = one
    return nearest


def _apart(w: Vec, u: Vec, v: Vec, x: float, y: float) -> tuple[float, float, float]:
    gap = hypot(*(w[k] + u[k] * x - v[k] * y for k in range(3)))
    return gap, x, y


def _part(value: float) -> float:
    return 0.0 if value < 0.0 else min(value, 1.0)
