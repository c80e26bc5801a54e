"""The centreline as a chain of straights and arcs, and the two ways to it: from turns, from corner points.

Notation (lengths mm, angles radians)
    s        material station from end A
    u, d, b  axis, the direction a bend turns toward, and the axis it turns about: b = u x d
    A, R     bend angle and centreline radius
    t        setback, R tan(A/2): from the corner point back to where the arc starts
    phi      absolute roll of a bend's plane about the axis from A to B, in the frame carried without twist
The chain is a product of rigid motions: translate(straight) * roll(phi) * arc(R, A) * ...
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin, tan
from typing import NamedTuple

from racewright.errors import LimitError
from racewright.geometry import refusals
from racewright.geometry.vector import Frame, Vec, bent_toward, cross, distance, dot, norm, sub
from racewright.units.said import said_finely

# A straight that is negative by less than this part of the length is rounding, and is taken as zero.
ROUNDING = 1e-9


class Turn(NamedTuple):
    """One bend in material coordinates: where its arc starts, its angle, its absolute roll, its radius."""

    arc_start_mm: float
    angle_rad: float
    roll_rad: float
    radius_mm: float


class Line(NamedTuple):
    """A straight from station `start_s` to `end_s`; `frame` at its start."""

    start_s: float
    end_s: float
    frame: Frame

    def frame_at(self, s: float) -> Frame:
        """The carried frame at station s."""
        return self.frame.advanced(s - self.start_s)

    def point_at(self, s: float) -> Vec:
        """The axis point at station s."""
        (x, y, z), u, _ = self.frame
        k = s - self.start_s
        return (x + u[0] * k, y + u[1] * k, z + u[2] * k)

    def tangent_at(self, s: float) -> Vec:
        """The unit direction from A to B at station s."""
        return self.frame.axis


class Arc(NamedTuple):
    """A bend from station `start_s` to `end_s`; `frame` at its start, `centre` of the circle."""

    start_s: float
    end_s: float
    frame: Frame
    radius_mm: float
    angle_rad: float
    roll_rad: float
    centre: Vec

    @property
    def toward(self) -> Vec:
        """Unit vector from the arc's start to its centre."""
        return self.frame.toward(self.roll_rad)

    def frame_at(self, s: float) -> Frame:
        """The carried frame at station s."""
        angle = (s - self.start_s) / self.radius_mm
        return bent_toward(self.frame, self.toward, self.radius_mm, angle, cos(self.roll_rad))

    def point_at(self, s: float) -> Vec:
        """The axis point at station s."""
        (x, y, z), u, _ = self.frame
        r, d = self.radius_mm, self.toward
        angle = (s - self.start_s) / r
        p, q = r * sin(angle), 2.0 * r * sin(0.5 * angle) ** 2
        return (x + u[0] * p + d[0] * q, y + u[1] * p + d[1] * q, z + u[2] * p + d[2] * q)

    def tangent_at(self, s: float) -> Vec:
        """The unit direction from A to B at station s."""
        u, d = self.frame.axis, self.toward
        angle = (s - self.start_s) / self.radius_mm
        c, k = cos(angle), sin(angle)
        return (u[0] * c + d[0] * k, u[1] * c + d[1] * k, u[2] * c + d[2] * k)


Segment = Line | Arc


class CornerFit(NamedTuple):
    """What a list of corner points becomes: developed length, turns, and the frame at end A (first roll 0)."""

    length_mm: float
    turns: tuple[Turn, ...]
    frame: Frame


class Centreline:
    """The axis of a piece: straights and arcs, tangent to each other, from end A to end B."""

    __slots__ = ("_starts", "end_frame", "length_mm", "segments")

    def __init__(self, segments: tuple[Segment, ...], end_frame: Frame) -> None:
        self.segments = segments
        self.length_mm = segments[-1].end_s
        self.end_frame = end_frame
        self._starts = tuple(segment.start_s for segment in segments)

    @classmethod
    def from_turns(cls, length_mm: float, turns: Sequence[Turn], frame: Frame = Frame()) -> Centreline:  # noqa: B008
        """The chain of a piece of this developed length with these turns in material order.

        A turn of angle zero adds nothing. A straight that is negative by rounding only is taken as zero.
        Raises LimitError where arcs overlap, or an arc reaches past an end of the piece: which bend, by how much.
        """
        if not length_mm > 0.0:
            raise LimitError(
                f"A piece {said_finely(length_mm)} long has no centerline.",
                hint="give a length above zero.",
                quantity="length",
                asked=length_mm,
                limit=0.0,
            )
        slack = ROUNDING * length_mm
        segments: list[Segment] = []
        s = 0.0
        for index, (arc_start, angle, roll, radius) in enumerate(turns):
            if not (angle >= 0.0 and radius > 0.0):
                raise refusals.bad_turn(index, angle, radius)
            straight = arc_start - s
            if not straight >= -slack:
                raise refusals.overlap(index, arc_start, s)
            if straight > 0.0:
                segments.append(Line(s, arc_start, frame))
                frame = frame.advanced(straight)
                s = arc_start
            if angle == 0.0:
                continue
            (x, y, z), (ux, uy, uz), (nx, ny, nz) = frame
            c, k = cos(roll), sin(roll)
            d = (nx * c + (uy * nz - uz * ny) * k, ny * c + (uz * nx - ux * nz) * k, nz * c + (ux * ny - uy * nx) * k)
            centre = (x + d[0] * radius, y + d[1] * radius, z + d[2] * radius)
            end = s + radius * angle
            segments.append(Arc(s, end, frame, radius, angle, roll, centre))
            frame = bent_toward(frame, d, radius, angle, c)
            s = end
        if s > length_mm + slack:
            raise refusals.past_end(len(turns), s, length_mm)
        if s < length_mm:
            segments.append(Line(s, length_mm, frame))
            frame = frame.advanced(length_mm - s)
        return cls(tuple(segments), frame)

    @property
    def start_frame(self) -> Frame:
        """The frame at end A."""
        return self.segments[0].frame

    def segment_at(self, s: float) -> Segment:
        """The straight or arc that holds station s. Raises LimitError off the piece (beyond rounding)."""
        slack = ROUNDING * self.length_mm
        if not -slack <= s <= self.length_mm + slack:
            raise LimitError(
                f"Station {said_finely(s)} is off the piece, which runs from 0 to {said_finely(self.length_mm)}.",
                hint="ask for a station on the piece.",
                quantity="station",
                asked=s,
                limit=0.0 if s < 0.0 else self.length_mm,
            )
        return self.segments[max(0, bisect_right(self._starts, s) - 1)]

    def frame_at(self, s: float) -> Frame:
        """The frame carried without twist to station s (mm from end A). Raises LimitError off the piece."""
        return self.segment_at(s).frame_at(s)

    def point_at(self, s: float) -> Vec:
        """The axis point at station s (mm from end A). Raises LimitError off the piece."""
        return self.segment_at(s).point_at(s)

    def tangent_at(self, s: float) -> Vec:
        """The unit direction from A to B at station s. Raises LimitError off the piece."""
        return self.segment_at(s).tangent_at(s)


def corners_to_turns(corners: Sequence[Vec], radius_mm: float | Sequence[float]) -> CornerFit:
    """Corner points of the wanted axis (ends included) to turns with tangent arcs in the corners.

    `radius_mm`: one centreline radius, or one for each inner corner. Corners that are in line, or repeat the
    point before, are dropped. The frame's normal is the way the first bend turns, so its roll is 0; rolls lie
    in (-pi, pi]. Raises LimitError at a reversal, and where a leg is shorter than the setbacks on it.
    """
    points, radii = _merged(corners, radius_mm)
    count = len(points) - 2
    u, leg = _unit_between(points[0], points[1])
    first_axis, first_normal = u, None
    turns: list[Turn] = []
    s = roll = setback = 0.0
    before: Vec | None = None
    for i in range(count):
        v, next_leg = _unit_between(points[i + 1], points[i + 2])
        # A_i = atan2(|u x v|, u . v)
        nx, ny, nz = u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]
        size = hypot(nx, ny, nz)
        angle = atan2(size, u[0] * v[0] + u[1] * v[1] + u[2] * v[2])
        if angle > pi - 1e-9:
            raise refusals.reversal(i + 1)
        n = (nx / size, ny / size, nz / size)
        if before is None:
            first_normal = cross(n, u)
        else:
            # roll from bend i-1 to i = atan2(u . (n_before x n), n_before . n)
            roll = wrapped(roll + atan2(dot(u, cross(before, n)), dot(before, n)))
        # t_i = R tan(A_i / 2)
        t = radii[i] * tan(0.5 * angle)
        straight = leg - setback - t
        if straight < 0.0:
            if straight < -ROUNDING * leg:
                raise refusals.short_leg(i + 1, count, leg, setback, t)
            straight = 0.0
        s += straight
        turns.append(Turn(s, angle, roll, radii[i]))
        s += radii[i] * angle
        u, leg, before, setback = v, next_leg, n, t
    straight = leg - setback
    if straight < -ROUNDING * leg:
        raise refusals.short_leg(count + 1, count, leg, setback, 0.0)
    frame = Frame(points[0], first_axis, first_normal or any_normal(first_axis))
    return CornerFit(s + max(0.0, straight), tuple(turns), frame)


def wrapped(angle_rad: float) -> float:
    """The angle in (-pi, pi]; what is -pi but for rounding becomes pi."""
    while angle_rad > pi + 1e-12:
        angle_rad -= 2.0 * pi
    while angle_rad <= -pi + 1e-12:
        angle_rad += 2.0 * pi
    return min(angle_rad, pi) + 0.0


def any_normal(axis: Vec) -> Vec:
    """A unit vector square to a unit axis: as near up (z) as can be, or x for an upright axis."""
    up = (0.0, 0.0, 1.0) if axis[0] * axis[0] + axis[1] * axis[1] > 1e-12 else (1.0, 0.0, 0.0)
    k = dot(axis, up)
    x, y, z = up[0] - axis[0] * k, up[1] - axis[1] * k, up[2] - axis[2] * k
    size = hypot(x, y, z)
    return (x / size, y / size, z / size)


def _unit_between(a: Vec, b: Vec) -> tuple[Vec, float]:
    x, y, z = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    size = hypot(x, y, z)
    return (x / size, y / size, z / size), size


def _merged(corners: Sequence[Vec], radius_mm: float | Sequence[float]) -> tuple[list[Vec], Sequence[float]]:
    """Corners without repeats and without those in line, and the radius at each inner one that is left."""
    inner = max(0, len(corners) - 2)
    radii = [float(radius_mm)] * inner if isinstance(radius_mm, int | float) else list(radius_mm)
    if len(radii) != inner or not all(r > 0.0 for r in radii):
        raise LimitError(
            f"{len(corners)} corner points need {inner} radii above zero, one at each inner corner.",
            hint="give one radius for all corners, or one for each inner corner.",
            quantity="count of radii",
            asked=len(radii),
            limit=inner,
            unit="",
        )
    # a repeat goes, and of a repeated last corner the inner one
    ends = [0.0, *radii, 0.0]
    apart: list[tuple[Vec, float]] = []
    for corner, radius in zip(corners, ends, strict=False):
        if not apart or distance(apart[-1][0], corner) > 1e-9:
            apart.append((corner, radius))
    points: list[Vec] = [apart[0][0]] if apart else []
    kept: list[float] = []
    for (b, radius), (c, _) in pairwise(apart[1:]):
        # in line: |w x v| / (|w| |v|) is the sine of the angle between the legs w and v
        w, v = sub(b, points[-1]), sub(c, b)
        if norm(cross(w, v)) > 1e-10 * norm(w) * norm(v) or dot(w, v) < 0.0:
            points.append(b)
            kept.append(radius)
    points.extend(corner for corner, _ in apart[1:][-1:])
    if len(points) < 2:
        raise LimitError(
            "The corner points are all in one place; a path needs two points that differ.",
            hint="give the two ends and the corners between them.",
            quantity="length",
            asked=0.0,
            limit=0.0,
        )
    return points, kept
