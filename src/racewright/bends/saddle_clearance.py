"""How high, or how long on top, a saddle must be so that its whole underside clears the whole obstacle.

Notation (see bends/shape.py and bends/saddle.py); x from the middle of the obstacle, y up from the surface
    D   outside diameter                h0  height of the axis over the surface beside the saddle
    c   wanted clearance                standoff  surface to the conduit's underside, h0 = standoff + D/2
    f   half the flat top (0 with three bends)
    Half of either saddle, from the middle outward: flat f, arc (R, A) downward, straight L, arc (R, A) back, flat.
An obstacle that stands symmetrically under the middle comes down to one point and a distance q:
    round, diameter d, lifted by l:  point (0, l + d/2), q = d/2 + D/2 + c
    box, height b, width w:          point (w/2, b),     q = D/2 + c     (the path falls outward, so the corner binds)
The path of a greater rise, or of a longer flat top, lies wholly above the lesser one, so the distance never falls
as either grows: bisection finds the least that will do, and proves it.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, cos, hypot, inf, sin

import msgspec

from racewright.bends.offset import least_offset_rise_mm
from racewright.bends.saddle import Saddle, four_bend_saddle, three_bend_saddle
from racewright.bends.shape import bisect, check_angle, check_length

_TOLERANCE_MM = 1e-10


class RoundObstacle(msgspec.Struct, frozen=True, kw_only=True, tag_field="crossed", tag="round"):
    """A pipe that crosses under the conduit, `lift_mm` between the surface and its underside."""

    diameter_mm: float
    lift_mm: float = 0.0

    @property
    def top_mm(self) -> float:
        """Height of its top over the surface."""
        return self.lift_mm + self.diameter_mm


class BoxObstacle(msgspec.Struct, frozen=True, kw_only=True, tag_field="crossed", tag="box"):
    """A beam, duct or step: height over the surface, width along the conduit."""

    height_mm: float
    width_mm: float

    @property
    def top_mm(self) -> float:
        """Height of its top over the surface."""
        return self.height_mm


Crossed = RoundObstacle | BoxObstacle


class Gap(msgspec.Struct, frozen=True, kw_only=True):
    """The least gap between the conduit's surface and the obstacle (negative: they overlap) and where on the axis:
    `at_mm` from the middle, along the run; `height_mm` over the surface."""

    gap_mm: float
    at_mm: float
    height_mm: float


class SaddleClearance(msgspec.Struct, frozen=True, kw_only=True):
    """What clears.

    `apex_rise_mm` is the plain rule (obstacle's top + clearance, less the standoff); `apex_gap` what that would
    leave, None where this angle cannot make so small a rise; `apex_short_mm` how much of the clearance it would lack.
    `three`: the lowest three-bend saddle that clears. `four`: the lowest four-bend saddle with the shortest flat top
    that clears.
    """

    clearance_mm: float
    apex_rise_mm: float
    apex_gap: Gap | None
    apex_short_mm: float
    three: Saddle
    four: Saddle


def clear_obstacle(
    obstacle: Crossed,
    *,
    angle_rad: float,
    radius_mm: float,
    outside_diameter_mm: float,
    clearance_mm: float,
    standoff_mm: float = 0.0,
    least_straight_mm: float = 0.0,
) -> SaddleClearance:
    """The three-bend and the four-bend saddle over an obstacle with `clearance_mm` kept along the whole underside.

    Rises are exact to 1e-9 mm. Raises InputError for lengths or angles that mean nothing.
    """
    check_angle(angle_rad, "outer angle")
    check_length(radius_mm, "radius")
    check_length(outside_diameter_mm, "outside diameter")
    check_length(clearance_mm, "clearance", allow_zero=True)
    check_length(standoff_mm, "standoff", allow_zero=True)
    _check_obstacle(obstacle)
    scene = _Scene(obstacle, angle_rad, radius_mm, outside_diameter_mm, standoff_mm)
    least = least_offset_rise_mm(angle_rad, radius_mm, least_straight_mm)
    apex = max(0.0, obstacle.top_mm + clearance_mm - standoff_mm)
    apex_gap = scene.gap(apex, 0.0) if apex >= least - _TOLERANCE_MM else None

    def over_rise(rise: float) -> float:
        return scene.gap(rise, 0.0).gap_mm - clearance_mm + _TOLERANCE_MM

    low = max(apex, least)
    rise = bisect(over_rise, low, _passing(over_rise, low, radius_mm))

    def over_half(half: float) -> float:
        return scene.gap(low, half).gap_mm - clearance_mm + _TOLERANCE_MM

    # At the apex rule's rise the flat itself keeps just the clearance, so it must reach over the obstacle's corner.
    shortest = scene.point[0] if low == apex else 0.0
    half = bisect(over_half, shortest, _passing(over_half, shortest, radius_mm))
    flat = max(2.0 * half, least_straight_mm)
    return SaddleClearance(
        clearance_mm=clearance_mm,
        apex_rise_mm=apex,
        apex_gap=apex_gap,
        apex_short_mm=max(0.0, clearance_mm - apex_gap.gap_mm) if apex_gap else 0.0,
        three=three_bend_saddle(rise, angle_rad, radius_mm, least_straight_mm=least_straight_mm),
        four=four_bend_saddle(low, angle_rad, flat, radius_mm, least_straight_mm=least_straight_mm),
    )


def saddle_gap(obstacle: Crossed, saddle: Saddle, *, outside_diameter_mm: float, standoff_mm: float = 0.0) -> Gap:
    """The least gap that a given saddle leaves over an obstacle under its middle."""
    _check_obstacle(obstacle)
    scene = _Scene(obstacle, saddle.angle_rad, saddle.radius_mm, outside_diameter_mm, standoff_mm)
    return scene.gap(saddle.rise_mm, saddle.flat_mm / 2.0)


class _Scene:
    """One obstacle, one angle, one conduit; the rise and the flat top are what varies."""

    def __init__(
        self, obstacle: Crossed, angle_rad: float, radius_mm: float, diameter_mm: float, standoff_mm: float
    ) -> None:
        self.angle = angle_rad
        self.radius = radius_mm
        self.base = standoff_mm + diameter_mm / 2.0
        if isinstance(obstacle, RoundObstacle):
            self.point = (0.0, obstacle.lift_mm + obstacle.diameter_mm / 2.0)
            self.inflate = obstacle.diameter_mm / 2.0 + diameter_mm / 2.0
        else:
            self.point = (obstacle.width_mm / 2.0, obstacle.height_mm)
            self.inflate = diameter_mm / 2.0

    def gap(self, rise_mm: float, half_flat_mm: float) -> Gap:
        """Signed least distance from the point to the half path, less the inflation (positive below the path)."""
        angle, radius, (px, py) = self.angle, self.radius, self.point
        top = self.base + rise_mm
        straight = max(0.0, (rise_mm - 2.0 * radius * (1.0 - cos(angle))) / sin(angle))
        start = (half_flat_mm + radius * sin(angle), top - radius * (1.0 - cos(angle)))
        foot_x = half_flat_mm + 2.0 * radius * sin(angle) + straight * cos(angle)
        feet = [
            (min(max(px, 0.0), half_flat_mm), top, 0.0),
            self._on_arc((half_flat_mm, top - radius), 1.0),
            self._on_slope(start, straight),
            self._on_arc((foot_x, self.base + radius), -1.0),
            (max(px, foot_x), self.base, 0.0),
        ]
        best, at, height = inf, 0.0, 0.0
        for x, y, slope in feet:
            away = hypot(px - x, py - y)
            if away < abs(best):
                below = (x - px) * sin(slope) + (y - py) * cos(slope) >= 0.0
                best, at, height = (away if below else -away), x, y
        return Gap(gap_mm=best - self.inflate, at_mm=at, height_mm=height)

    def _on_arc(self, centre: tuple[float, float], up: float) -> tuple[float, float, float]:
        """Nearest point of an arc whose tangent falls by 0 to A; `up` +1 bulges upward, -1 downward."""
        dx, dy = (self.point[0] - centre[0]) * up, (self.point[1] - centre[1]) * up
        if dx >= 0.0 and dx * cos(self.angle) <= dy * sin(self.angle):
            length = hypot(dx, dy)
            if length > 0.0:
                reach = up * self.radius / length
                return centre[0] + reach * dx, centre[1] + reach * dy, atan2(dx, dy)
        points = [
            (centre[0] + up * self.radius * sin(t), centre[1] + up * self.radius * cos(t), t) for t in (0.0, self.angle)
        ]
        return min(points, key=lambda p: hypot(self.point[0] - p[0], self.point[1] - p[1]))

    def _on_slope(self, start: tuple[float, float], straight: float) -> tuple[float, float, float]:
        along = (self.point[0] - start[0]) * cos(self.angle) - (self.point[1] - start[1]) * sin(self.angle)
        s = min(max(along, 0.0), straight)
        return start[0] + s * cos(self.angle), start[1] - s * sin(self.angle), self.angle


def _passing(over: Callable[[float], float], low: float, step: float) -> float:
    high = low + step
    for _ in range(60):
        if over(high) >= 0.0:
            return high
        high = low + 2.0 * (high - low)
    return high


def _check_obstacle(obstacle: Crossed) -> None:
    if isinstance(obstacle, RoundObstacle):
        check_length(obstacle.diameter_mm, "obstacle's diameter")
        check_length(obstacle.lift_mm, "obstacle's lift", allow_zero=True)
    else:
        check_length(obstacle.height_mm, "obstacle's height")
        check_length(obstacle.width_mm, "obstacle's width")
