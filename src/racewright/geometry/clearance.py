"""How near the axis of a piece comes to a solid: certified, not sampled.

Notation (lengths mm)
    g, n     signed distance from a point to the solid (negative inside), and its gradient
    c(t)     a point of an arc at angle t: centre + R (u sin t - d cos t)
    lower    a value that g does not go below on a stretch of the axis
The solids are convex, so each probe at p gives a plane under g everywhere:  g(x) >= g(p) + n . (x - p).
On a straight g is convex: two such planes bracket its least value, and the bracket shrinks until they meet.
On an arc n . c(t) is a sine, so the plane's least value over the stretch is known in closed form; stretches are
halved, the least `lower` first, until none can hold a value below the best found by more than the tolerance.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from math import atan2, ceil, cos, hypot, inf, pi, sin
from typing import NamedTuple

import msgspec

from racewright.budget import PROBES
from racewright.geometry.chain import Arc, Centreline, Line
from racewright.geometry.solids import Obstacle, Probe, Wall, probe_of
from racewright.geometry.vector import Vec

# What the search leaves unproved, mm. The promise is 1e-6; a concentric arc costs as one over its square root.
TOLERANCE_MM = 4e-7
_TURN = 2.0 * pi


class Nearest(msgspec.Struct, frozen=True):
    """Where the axis comes nearest to a solid. `foot` is on the solid's surface.

    `distance_mm` is negative where the axis enters the solid: minus the depth of the deepest axis point below
    the nearest face. The true least distance is between distance_mm - doubt_mm and distance_mm.
    """

    distance_mm: float
    station_mm: float
    point: Vec
    foot: Vec
    doubt_mm: float = 0.0

    @property
    def sure_mm(self) -> float:
        """The least distance as far as it is certain: what a search cut short leaves open is taken off."""
        return self.distance_mm - self.doubt_mm if self.doubt_mm > 2.0 * TOLERANCE_MM else self.distance_mm


class _Found(NamedTuple):
    value: float
    station: float
    lower: float


def least_distance(centreline: Centreline, obstacle: Obstacle | Wall) -> Nearest:
    """The least distance (mm) from the axis of a piece to a solid's surface, to 1e-6 mm.

    From the axis, not from the wall of the tube: take half the outside diameter off for the gap. Stops after
    `PROBES` places, and then `doubt_mm` says how far the answer may still fall.
    """
    probe = probe_of(obstacle)
    value, station, lower = _search(centreline, probe)
    segment = centreline.segment_at(station)
    if isinstance(segment, Arc):
        station = _polished(segment, station, value, probe)
    point = centreline.point_at(station)
    value, nx, ny, nz = probe(*point)
    foot = (point[0] - value * nx, point[1] - value * ny, point[2] - value * nz)
    return Nearest(value, station, point, foot, max(0.0, value - lower))


def _search(centreline: Centreline, probe: Probe) -> _Found:
    """The least g on the axis, its station, and what g is proved not to go below."""
    best, station = inf, 0.0
    arcs: list[_Circle] = []
    heap: list[tuple[float, float, float, int]] = []
    for index, segment in enumerate(centreline.segments):
        arcs.append(_Circle(segment) if isinstance(segment, Arc) else _NO_CIRCLE)
        if isinstance(segment, Arc):
            first = (0.0, segment.angle_rad)
            value, lower = arcs[-1].bound(probe, *first)
            at = segment.start_s + 0.5 * segment.radius_mm * segment.angle_rad
        else:
            first = (segment.start_s, segment.end_s)
            at = 0.5 * (first[0] + first[1])
            value, lower = _line_bound(segment, at, probe)
        if value < best:
            best, station = value, at
        heap.append((lower, *first, index))
    heapify(heap)
    probes = len(heap)
    while True:
        lower, t0, t1, index = heap[0]
        if lower >= best - TOLERANCE_MM or probes > PROBES:
            return _Found(best, station, min(best, lower))
        heappop(heap)
        circle = arcs[index]
        if circle is _NO_CIRCLE:
            segment = centreline.segments[index]
            assert isinstance(segment, Line)
            value, at, count = _line_least(segment, probe)
            probes += count
            if value < best:
                best, station = value, at
            # proved to within the tolerance; kept on the heap, so that `lower` stays honest
            heappush(heap, (max(lower, value - TOLERANCE_MM), t0, t1, index))
            if lower >= value - TOLERANCE_MM:
                return _Found(best, station, min(best, heap[0][0]))
            continue
        middle = 0.5 * (t0 + t1)
        for a, b in ((t0, middle), (middle, t1)):
            value, low = circle.bound(probe, a, b)
            if value < best:
                best, station = value, circle.start_s + circle.radius * 0.5 * (a + b)
            heappush(heap, (max(lower, low), a, b, index))
        probes += 2


class _Circle:
    """An arc's numbers, laid out for quick probing."""

    __slots__ = ("centre", "d", "radius", "start_s", "u")

    def __init__(self, arc: Arc) -> None:
        self.centre, self.u, self.radius, self.start_s = arc.centre, arc.frame.axis, arc.radius_mm, arc.start_s
        self.d = arc.toward

    def bound(self, probe: Probe, t0: float, t1: float) -> tuple[float, float]:
        """g in the middle of the stretch t0..t1 (radians), and what g does not go below on it."""
        (cx, cy, cz), (ux, uy, uz), (dx, dy, dz), r = self.centre, self.u, self.d, self.radius
        middle = 0.5 * (t0 + t1)
        p, q = r * sin(middle), r * cos(middle)
        g, nx, ny, nz = probe(cx + ux * p - dx * q, cy + uy * p - dy * q, cz + uz * p - dz * q)
        # n . (c(t) - centre) = R (alpha sin t - beta cos t) = R amplitude sin(t - phase)
        alpha, beta = nx * ux + ny * uy + nz * uz, nx * dx + ny * dy + nz * dz
        here = alpha * p - beta * q
        amplitude = hypot(alpha, beta)
        if amplitude * r < 1e-12:
            return g, g - 2e-12
        trough = atan2(beta, alpha) - 0.5 * pi
        trough += ceil((t0 - trough) / _TURN) * _TURN
        if trough <= t1:
            least = -amplitude * r
        else:
            least = r * min(alpha * sin(t0) - beta * cos(t0), alpha * sin(t1) - beta * cos(t1))
        return g, g + least - here


_NO_CIRCLE: _Circle = _Circle.__new__(_Circle)


def _line_bound(line: Line, at: float, probe: Probe) -> tuple[float, float]:
    """g in the middle of a straight, and what g does not go below on it."""
    g, nx, ny, nz = probe(*line.point_at(at))
    u = line.frame.axis
    return g, g - abs(nx * u[0] + ny * u[1] + nz * u[2]) * 0.5 * (line.end_s - line.start_s)


def _line_least(line: Line, probe: Probe) -> tuple[float, float, int]:
    """The least g on a straight to half of `TOLERANCE_MM`, its station, and the probes it took. g is convex there."""
    (x, y, z), (ux, uy, uz), _ = line.frame

    def at(k: float) -> tuple[float, float]:
        g, nx, ny, nz = probe(x + ux * k, y + uy * k, z + uz * k)
        return g, nx * ux + ny * uy + nz * uz

    a, b = 0.0, line.end_s - line.start_s
    ga, slope_a = at(a)
    if slope_a >= 0.0:
        return ga, line.start_s, 1
    gb, slope_b = at(b)
    if slope_b <= 0.0:
        return gb, line.end_s, 2
    count = 2
    while count < 400:
        # where the two tangents meet: nothing between a and b is below that
        k = a + (ga - gb + slope_b * (b - a)) / (slope_b - slope_a)
        if min(ga, gb) - (ga + slope_a * (k - a)) <= 0.5 * TOLERANCE_MM or not a < k < b:
            break
        if count % 3 == 0:
            k = a + (b - a) * slope_a / (slope_a - slope_b)
        elif count % 3 == 1:
            k = 0.5 * (a + b)
        if not a < k < b:
            break
        g, slope = at(k)
        count += 1
        if slope < 0.0:
            a, ga, slope_a = k, g, slope
        elif slope > 0.0:
            b, gb, slope_b = k, g, slope
        else:
            return g, line.start_s + k, count
    return (ga, line.start_s + a, count) if ga <= gb else (gb, line.start_s + b, count)


def _polished(arc: Arc, station: float, value: float, probe: Probe) -> float:
    """A better station near one that is already least to the tolerance: where g's slope along the arc is nil."""

    def slope_at(s: float) -> tuple[float, float]:
        g, nx, ny, nz = probe(*arc.point_at(s))
        u = arc.tangent_at(s)
        return g, nx * u[0] + ny * u[1] + nz * u[2]

    for end in (arc.start_s, arc.end_s):
        if abs(station - end) < 0.05 and slope_at(end)[0] <= value:
            return end
    reach = 1e-3
    a, b = max(arc.start_s, station - reach), min(arc.end_s, station + reach)
    (_, slope_a), (_, slope_b) = slope_at(a), slope_at(b)
    if not slope_a < 0.0 < slope_b:
        return station
    k = a + (b - a) * slope_a / (slope_a - slope_b)
    g, _ = slope_at(k)
    return k if g <= value else station
