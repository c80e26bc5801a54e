"""Views of the room onto the page: orthographic, square to a plane or from a corner. Knows no plan.

Notation: room coordinates mm; `right`, `up` unit vectors of the view, `toward` points at the viewer.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import cos, hypot, radians, sin

import msgspec

from racewright.drawing.scene import Point
from racewright.geometry.chain import Arc, Centreline
from racewright.geometry.vector import EX, EY, EZ, Vec, along, cross, dot, even, norm, sub, unit

# From a corner: turned about the vertical, then looked at from 30 degrees above.
CORNER_AZIMUTHS_DEG = (-60.0, -30.0, 30.0, 60.0, 120.0, 150.0, 210.0, 240.0)
CORNER_HEIGHT_DEG = 30.0
#: The four corners of the room from which a run is looked at, one after the other to the right.
FOUR_CORNERS_DEG = (-35.0, 55.0, 145.0, 235.0)
#: A view is good that shows the most shortened leg this much shorter than the best view does (parts of its length).
_GOOD = 0.2


class View(msgspec.Struct, frozen=True):
    """An orthographic view: what is right, what is up, what points at the viewer."""

    right: Vec
    up: Vec
    toward: Vec

    def flat(self, point: Vec) -> Point:
        """Where a room point falls, mm, y down as on the page."""
        return (dot(point, self.right), -dot(point, self.up))

    def depth(self, point: Vec) -> float:
        """How near the viewer a point is (larger = nearer)."""
        return dot(point, self.toward)


def square_view(normal: Vec, rightward: Vec) -> View:
    """Looking straight at the plane with this normal, `rightward` to the right, the room's z up where it can be."""
    n = unit(normal)
    lean = dot(rightward, n)
    flat = along(rightward, n, -lean)
    if norm(flat) < 1e-9:
        flat = cross(n, EX) if abs(n[0]) < 0.9 else cross(n, EY)
    right = unit(flat)
    up = cross(n, right)
    if (dot(up, EZ), dot(up, EY), dot(up, EX)) < (0.0, 0.0, 0.0) and dot(up, EZ) < 1e-9:
        up = (-up[0], -up[1], -up[2])
    return View(right, up, cross(right, up))


def corner_view(azimuth_deg: float, height_deg: float = CORNER_HEIGHT_DEG) -> View:
    """Looking down from a corner: azimuth about z from the -y side, height above the horizontal."""
    a, h = radians(azimuth_deg), radians(height_deg)
    right = (cos(a), sin(a), 0.0)
    back = (-sin(a), cos(a), 0.0)
    toward = (-back[0] * cos(h), -back[1] * cos(h), sin(h))
    return View(right, cross(toward, right), toward)


def best_corner_view(corners: Sequence[Vec]) -> View:
    """The corner view that shortens the legs between these points least, the first leg running to the right."""
    return good_corner_views(corners)[0]


def good_corner_views(corners: Sequence[Vec]) -> tuple[View, ...]:
    """The best corner view, then those that shorten no leg much more."""
    legs = [sub(b, a) for a, b in itertools.pairwise(corners) if norm(sub(b, a)) > 1e-9]

    def score(azimuth_deg: float) -> float:
        view = corner_view(azimuth_deg)
        shown = [hypot(*view.flat(leg)) / norm(leg) for leg in legs]
        first = dot(legs[0], view.right) if legs else 0.0
        return even(min(shown, default=0.0) + (0.15 if first > 1e-9 else 0.0))

    scores = {azimuth: score(azimuth) for azimuth in CORNER_AZIMUTHS_DEG}
    best = max(scores, key=scores.__getitem__)
    others = [azimuth for azimuth in scores if azimuth != best and scores[azimuth] > scores[best] - _GOOD]
    return tuple(corner_view(azimuth) for azimuth in (best, *others))


def trace(line: Centreline, step_deg: float = 3.0, straight_parts: int = 1) -> tuple[Vec, ...]:
    """Points along a centreline from end A to end B, close enough together to be drawn as a curve."""
    points = [line.point_at(0.0)]
    for segment in line.segments:
        if isinstance(segment, Arc):
            parts = max(2, round(abs(segment.angle_rad) / radians(step_deg)))
        else:
            parts = straight_parts
        for k in range(1, parts + 1):
            points.append(segment.point_at(segment.start_s + (segment.end_s - segment.start_s) * k / parts))
    return tuple(points)
