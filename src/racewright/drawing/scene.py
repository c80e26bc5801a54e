"""A drawing as plain data: pages of primitives in mm, origin top left, y down. It knows no plan and no file format.

Notation: lengths mm, text sizes pt, rotations degrees counterclockwise on the page, `ink` 0 black to 1 white.
"""

from __future__ import annotations

from math import cos, radians, sin
from typing import Literal, NamedTuple

import msgspec

from racewright.drawing.metrics import text_width_mm

Point = tuple[float, float]
Weight = Literal["regular", "bold"]
Anchor = Literal["start", "middle", "end"]
Cap = Literal["butt", "round"]

BLACK = 0.0
WHITE = 1.0


class Line(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """A straight stroke; `dash` lists stroke and gap lengths, empty = solid."""

    start: Point
    end: Point
    width_mm: float = 0.25
    ink: float = BLACK
    dash: tuple[float, ...] = ()
    cap: Cap = "butt"


class Polyline(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """An open stroke through points, joined round."""

    points: tuple[Point, ...]
    width_mm: float = 0.25
    ink: float = BLACK
    dash: tuple[float, ...] = ()
    cap: Cap = "butt"


class Polygon(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """A closed shape; `fill` None = not filled; `width_mm` 0 = no outline."""

    points: tuple[Point, ...]
    fill: float | None = BLACK
    width_mm: float = 0.0
    ink: float = BLACK


class Circle(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """A circle; `fill` None = not filled; `width_mm` 0 = no outline."""

    centre: Point
    radius_mm: float
    fill: float | None = None
    width_mm: float = 0.25
    ink: float = BLACK


class Arc(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """A circular stroke from `start_deg` (0 = right, counterclockwise on the page) through `sweep_deg`."""

    centre: Point
    radius_mm: float
    start_deg: float
    sweep_deg: float
    width_mm: float = 0.25
    ink: float = BLACK

    def point_at(self, angle_deg: float) -> Point:
        """The point of the circle at this angle."""
        a = radians(angle_deg)
        return (self.centre[0] + self.radius_mm * cos(a), self.centre[1] - self.radius_mm * sin(a))


class Text(msgspec.Struct, frozen=True, kw_only=True, tag=True):
    """One line of text; `at` is on the baseline, at the start, middle or end of the line."""

    at: Point
    text: str
    size_pt: float = 11.0
    weight: Weight = "regular"
    anchor: Anchor = "start"
    rotation_deg: float = 0.0
    ink: float = BLACK

    @property
    def width_mm(self) -> float:
        """Advance width of the line."""
        return text_width_mm(self.text, self.size_pt, self.weight)


Primitive = Line | Polyline | Polygon | Circle | Arc | Text


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """One sheet. `margin_mm` is the border that every primitive stays out of."""

    width_mm: float
    height_mm: float
    items: tuple[Primitive, ...]
    margin_mm: float = 0.0
    label: str = ""


class Scene(msgspec.Struct, frozen=True, kw_only=True):
    """A document: a title and its pages."""

    title: str
    pages: tuple[Page, ...]


class Box(NamedTuple):
    """An upright rectangle on the page."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box, slack_mm: float = 0.0) -> bool:
        """Whether the two share area by more than `slack_mm` in both directions."""
        return (
            self.left < other.right - slack_mm
            and other.left < self.right - slack_mm
            and self.top < other.bottom - slack_mm
            and other.top < self.bottom - slack_mm
        )

    def inside(self, other: Box, slack_mm: float = 0.0) -> bool:
        """Whether it lies within `other`, but for `slack_mm`."""
        return (
            self.left >= other.left - slack_mm
            and self.right <= other.right + slack_mm
            and self.top >= other.top - slack_mm
            and self.bottom <= other.bottom + slack_mm
        )

    def grown(self, by_mm: float) -> Box:
        """The same rectangle with a border of `by_mm` added."""
        return Box(self.left - by_mm, self.top - by_mm, self.right + by_mm, self.bottom + by_mm)


def around(points: tuple[Point, ...]) -> Box:
    """The least upright rectangle that holds the points (at least one)."""
    xs = [p[0] for p in points]
    ys = [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))
