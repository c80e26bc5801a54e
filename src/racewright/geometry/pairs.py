"""How near two centrelines come to each other, and one to itself: certified, not sampled.

Notation (lengths mm)
    w        a stretch of axis; its chord joins its ends
    sagitta  R (1 - cos(w / 2R)): an arc of up to half a circle strays no further than that from its chord
The distance between two chords, less both sagittas, is a floor for the distance between the stretches; pairs of
stretches are halved, the least floor first, until none can hold a value below the best found by the tolerance.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from itertools import pairwise
from math import ceil, cos, inf, pi, sqrt
from typing import NamedTuple

from racewright.geometry.chain import Arc, Centreline, Segment
from racewright.geometry.vector import Vec, distance

# Pairs of stretches after which the search stops and says how far it got.
MOST_PAIRS = 200_000
# Rounding in a floor, mm: coordinates of some metres.
_ROUNDING_MM = 1e-9


class NearestPair(NamedTuple):
    """Where two axes come nearest. The true least distance is between distance_mm - doubt_mm and distance_mm."""

    distance_mm: float
    station_a_mm: float
    station_b_mm: float
    point_a: Vec
    point_b: Vec
    doubt_mm: float


class _Stretch(NamedTuple):
    segment: Segment
    s0: float
    s1: float
    p0: Vec
    p1: Vec
    sagitta: float


def least_distance_between(a: Centreline, b: Centreline, *, tolerance_mm: float = 1e-4) -> NearestPair:
    """The least distance (mm) between the axes of two pieces, to `tolerance_mm`.

    For the gap between tubes take half of each outside diameter off. Parallel bends cost the most.
    """
    pairs = [(p, q) for p in _stretches(a) for q in _stretches(b)]
    return _least(pairs, -inf, inf, tolerance_mm)


def self_nearest(
    line: Centreline, within_mm: float, *, apart_mm: float | None = None, tolerance_mm: float = 1e-4
) -> NearestPair | None:
    """The nearest two axis points, at least `apart_mm` of conduit between them, or None where no such two are
    nearer than `within_mm`. `apart_mm` is at least, and by default, twice `within_mm`, so that a bend whose
    radius is `within_mm` or more is not near itself.

    For a tube touching itself give its outside diameter as `within_mm`.
    """
    apart = max(2.0 * within_mm, apart_mm or 0.0)
    parts = _stretches(line)
    pairs = [(p, q) for i, p in enumerate(parts) for q in parts[i + 1 :]]
    found = _least(pairs, apart, within_mm, tolerance_mm)
    stopped_early = found.doubt_mm > tolerance_mm
    return found if found.distance_mm < within_mm or stopped_early else None


def _stretches(line: Centreline) -> list[_Stretch]:
    """The straights, and the arcs in parts of at most a quarter turn."""
    out: list[_Stretch] = []
    for segment in line.segments:
        s0, s1 = segment.start_s, segment.end_s
        count = ceil(segment.angle_rad / (0.5 * pi) - 1e-9) if isinstance(segment, Arc) else 1
        ends = [s0 + (s1 - s0) * k / count for k in range(count)] + [s1]
        out.extend(_stretch(segment, a, b) for a, b in pairwise(ends))
    return out


def _stretch(segment: Segment, s0: float, s1: float) -> _Stretch:
    sagitta = 0.0
    if isinstance(segment, Arc):
        sagitta = segment.radius_mm * (1.0 - cos(0.5 * (s1 - s0) / segment.radius_mm))
    return _Stretch(segment, s0, s1, segment.point_at(s0), segment.point_at(s1), sagitta)


def _halves(w: _Stretch) -> tuple[_Stretch, _Stretch]:
    middle = 0.5 * (w.s0 + w.s1)
    return _stretch(w.segment, w.s0, middle), _stretch(w.segment, middle, w.s1)


def _least(pairs: list[tuple[_Stretch, _Stretch]], apart: float, within: float, tolerance: float) -> NearestPair:
    """Best first over pairs of stretches. Only points with `apart` of conduit between them count; floors of
    `within` or more are let go."""
    best = NearestPair(inf, 0.0, 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 0.0)
    heap: list[tuple[float, int, _Stretch, _Stretch]] = []
    made = 0

    def look(p: _Stretch, q: _Stretch, inherited: float) -> tuple[float, int, _Stretch, _Stretch] | None:
        nonlocal best, made
        if q.s1 - p.s0 < apart:
            return None
        gap, along_p, along_q = _chords(p, q)
        floor = max(inherited, gap - p.sagitta - q.sagitta - _ROUNDING_MM)
        made += 1
        if floor >= min(within, best.distance_mm - tolerance):
            return None
        sa, sb = p.s0 + along_p * (p.s1 - p.s0), q.s0 + along_q * (q.s1 - q.s0)
        if sb - sa < apart:
            sa, sb = p.s0, q.s1
        a, b = p.segment.point_at(sa), q.segment.point_at(sb)
        between = distance(a, b)
        if between < best.distance_mm:
            best = NearestPair(between, sa, sb, a, b, 0.0)
        return floor, made, p, q

    heap = [entry for p, q in pairs if (entry := look(p, q, -inf)) is not None]
    heapify(heap)
    while heap:
        floor, _, p, q = heap[0]
        if floor >= min(within, best.distance_mm - tolerance):
            break
        if made > MOST_PAIRS:
            return best._replace(doubt_mm=max(0.0, best.distance_mm - floor))
        heappop(heap)
        if q.s0 - p.s1 < apart:
            # part of the pair is too near along the conduit to count: narrow it down by length
            split_p = p.s1 - p.s0 >= q.s1 - q.s0
        elif p.sagitta == q.sagitta == 0.0:
            continue
        else:
            split_p = p.sagitta >= q.sagitta
        for half in _halves(p if split_p else q):
            entry = look(half, q, floor) if split_p else look(p, half, floor)
            if entry is not None:
                heappush(heap, entry)
    return best._replace(doubt_mm=min(tolerance, best.distance_mm))


def _chords(p: _Stretch, q: _Stretch) -> tuple[float, float, float]:
    """Distance between two chords, and how far along each (0 to 1) the nearest points lie.

    The squared distance is a quadratic in both; its least value over the unit square is where both slopes are
    nil, if that lies inside, or else on one of the four sides.
    """
    (px, py, pz), (qx, qy, qz) = p.p0, q.p0
    ux, uy, uz = p.p1[0] - px, p.p1[1] - py, p.p1[2] - pz
    vx, vy, vz = q.p1[0] - qx, q.p1[1] - qy, q.p1[2] - qz
    wx, wy, wz = px - qx, py - qy, pz - qz
    uu, vv, uv = ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, ux * vx + uy * vy + uz * vz
    uw, vw = ux * wx + uy * wy + uz * wz, vx * wx + vy * wy + vz * wz
    tries = [
        (0.0, _unit_interval(vw, vv)),
        (1.0, _unit_interval(vw + uv, vv)),
        (_unit_interval(-uw, uu), 0.0),
        (_unit_interval(uv - uw, uu), 1.0),
    ]
    det = uu * vv - uv * uv
    if det > 0.0:
        a, b = (uv * vw - uw * vv) / det, (uu * vw - uv * uw) / det
        if 0.0 < a < 1.0 and 0.0 < b < 1.0:
            tries.append((a, b))
    least, at_a, at_b = inf, 0.0, 0.0
    for a, b in tries:
        x, y, z = wx + ux * a - vx * b, wy + uy * a - vy * b, wz + uz * a - vz * b
        square = x * x + y * y + z * z
        if square < least:
            least, at_a, at_b = square, a, b
    return sqrt(least), at_a, at_b


def _unit_interval(top: float, bottom: float) -> float:
    """top / bottom held to 0..1; 0 for a chord of no length."""
    return min(1.0, max(0.0, top / bottom)) if bottom > 0.0 else 0.0
