"""A bent piece from its JSON alone: poses along straights and arcs in closed form, and distances to things.

Knows the meaning of the fields (docs/plan-json.md) and nothing of the project's own geometry. Lengths mm, angles rad.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from typing import Any

Vec = tuple[float, float, float]
GOLDEN = 0.6180339887498949


def add(a: Vec, b: Vec, times: float = 1.0) -> Vec:
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def less(a: Vec, b: Vec) -> Vec:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Vec, b: Vec) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def mix(a: Vec, ca: float, b: Vec, cb: float) -> Vec:
    return (ca * a[0] + cb * b[0], ca * a[1] + cb * b[1], ca * a[2] + cb * b[2])


@dataclass(frozen=True)
class Part:
    """A straight (`radius` 0) or an arc: where it begins in the run, its length, and its pose there.

    `side` is the direction toward the arc's middle. `bend` counts the bends of the run from 0, -1 for a straight.
    """

    station: float
    length: float
    point: Vec
    axis: Vec
    side: Vec
    radius: float
    bend: int
    piece: int

    def at(self, s: float) -> Vec:
        """The point `s` mm after the part's beginning."""
        if not self.radius:
            return add(self.point, self.axis, s)
        a = s / self.radius
        return add(add(self.point, self.axis, self.radius * sin(a)), self.side, self.radius * (1 - cos(a)))

    def along(self, s: float) -> Vec:
        """The direction there."""
        if not self.radius:
            return self.axis
        return mix(self.axis, cos(s / self.radius), self.side, sin(s / self.radius))


def rebuild_piece(piece: dict[str, Any], first_bend: int, number: int) -> list[Part]:
    """Straights and arcs of one piece, from its start, arc starts, angles and rolls."""
    point, axis, normal = (tuple(piece["start"][k]) for k in ("point_mm", "axis", "normal"))
    radius, begin = piece["bend_radius_mm"], piece["run_start_mm"]
    parts: list[Part] = []
    here = 0.0

    def straight(length: float) -> None:
        nonlocal point
        parts.append(Part(begin + here, length, point, axis, normal, 0.0, -1, number))
        point = add(point, axis, length)

    for i, bend in enumerate(piece["bends"]):
        straight(bend["arc_start_mm"] - here)
        here = bend["arc_start_mm"]
        angle, roll = radians(bend["angle_deg"]), radians(bend["roll_deg"])
        binormal = cross(axis, normal)
        side = mix(normal, cos(roll), binormal, sin(roll))
        part = Part(begin + here, radius * angle, point, axis, side, radius, first_bend + i, number)
        parts.append(part)
        # the frame is carried without twist: what is across the bend's plane stays, the rest turns with the axis
        over = cross(axis, side)
        toward, across = cos(roll), -sin(roll)  # the normal in terms of side and of axis x side
        point, new_axis = part.at(part.length), part.along(part.length)
        new_side = mix(side, cos(angle), axis, -sin(angle))
        normal = mix(new_side, toward, over, across)
        axis = new_axis
        here += radius * angle
    straight(piece["cut_length_mm"] - here)
    return parts


def rebuild(plan: dict[str, Any]) -> list[Part]:
    """All parts of the run. Between two pieces the coupling's stop leaves a gap, which the parts leave too."""
    parts: list[Part] = []
    bends = 0
    for number, piece in enumerate(plan["pieces"]):
        parts += rebuild_piece(piece, bends, number)
        bends += len(piece["bends"])
    return parts


@dataclass(frozen=True)
class Thing:
    """A block (half sizes along three square axes; infinite ones allowed) or a round bar about its axis `w`."""

    middle: Vec
    u: Vec
    v: Vec
    w: Vec
    half: tuple[float, float, float]
    round: bool

    def distance(self, p: Vec) -> float:
        """From a point to the thing's surface; 0 inside."""
        d = less(p, self.middle)
        a, b, c = dot(d, self.u), dot(d, self.v), dot(d, self.w)
        far = max(0.0, abs(c) - self.half[2])
        if self.round:
            return hypot(max(0.0, hypot(a, b) - self.half[0]), far)
        return hypot(max(0.0, abs(a) - self.half[0]), max(0.0, abs(b) - self.half[1]), far)


def nearest_on(part: Part, distance: Callable[[Vec], float], start: float, end: float, tol: float = 1e-7) -> float:
    """The least distance on [start, end] of a part: golden search on straights (the distance to a convex thing is
    convex along a line), branch and bound on arcs (it falls by no more than the arc's length)."""
    if end <= start:
        return distance(part.at(start))
    if not part.radius:
        a, b = start, end
        x, y = b - GOLDEN * (b - a), a + GOLDEN * (b - a)
        fx, fy = distance(part.at(x)), distance(part.at(y))
        while b - a > tol:
            if fx <= fy:
                b, y, fy = y, x, fx
                x = b - GOLDEN * (b - a)
                fx = distance(part.at(x))
            else:
                a, x, fx = x, y, fy
                y = a + GOLDEN * (b - a)
                fy = distance(part.at(y))
        return min(fx, fy, distance(part.at(start)), distance(part.at(end)))
    best = min(distance(part.at(start)), distance(part.at(end)))
    queue: list[tuple[float, float, float]] = [(0.0, start, end)]
    for _ in range(4000):
        if not queue:
            break
        bound, a, b = heapq.heappop(queue)
        if bound >= best - tol:
            break
        mid = (a + b) / 2
        value = distance(part.at(mid))
        best = min(best, value)
        if value - (b - a) / 2 < best - tol:
            low = value - (b - a) / 2
            heapq.heappush(queue, (low, a, mid))
            heapq.heappush(queue, (low, mid, b))
    return best


def least_distance(parts: Sequence[Part], thing: Thing) -> float:
    """The least distance from the centreline of these parts to the thing."""
    best = float("inf")
    for part in parts:
        ends = (thing.distance(part.at(0.0)), thing.distance(part.at(part.length)))
        if min(ends) - part.length / 2 < best:
            best = min(best, nearest_on(part, thing.distance, 0.0, part.length))
    return best


def coupling_places(plan: dict[str, Any]) -> list[float]:
    """The middles of what joins two pieces, along the run (mm)."""
    return [j["at_mm"] for j in plan["joints"] if j["before"] is not None and j["after"] is not None]
