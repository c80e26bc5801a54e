"""What the figures are drawn with: a run that the engine routes, a sheet, strokes for conduit, surfaces and sizes.

Notation: room mm (x along the first leg, z off the surface that carries it), page mm with y down, text pt.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, hypot, radians, sin
from typing import Any, Literal

from racewright.catalogue.raceways import find_raceway
from racewright.drawing.metrics import CAP_HEIGHT, MM_PER_PT, text_width_mm
from racewright.drawing.project import trace
from racewright.drawing.scene import WHITE, Anchor, Line, Page, Point, Polygon, Polyline, Primitive, Scene, Text, Weight
from racewright.drawing.solids import hatch
from racewright.geometry.chain import Centreline, corners_to_turns
from racewright.geometry.vector import Vec
from racewright.route.model import BendLimits, Route
from racewright.route.walk import route_survey
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

#: Every figure is this wide: at 360 px of a phone its letters are then some 13 px high.
WIDTH_MM = 108.0
WORD_PT = 11.0
HEAD_PT = 12.5
_WALL_MM = 0.5
_LINE_MM = 4.7


class Run:
    """A run as the engine routes it: conduit of 2 in EMT, bent to a radius that shows well."""

    outside_mm = find_raceway("EMT", "2").outside_diameter_mm

    def __init__(self, walk: Sequence[dict[str, Any]], *, radius_mm: float = 100.0, insert_mm: float = 0.0,
                 insert_end_mm: float = 0.0, **run: Any) -> None:  # fmt: skip
        told = {
            "racewright": 1,
            "units": "mm",
            "run": {"name": "figure", "raceway": "EMT 2", "walk": list(walk), **run},
        }
        survey = read_survey(survey_from_data(told))
        raceway = find_raceway("EMT", "2")
        limits = BendLimits(radius_mm, 40.0)
        self.route: Route = route_survey(survey, raceway, limits, insert_a_mm=insert_mm, insert_b_mm=insert_end_mm)
        fit = corners_to_turns(self.route.points, radius_mm)
        self.line = Centreline.from_turns(fit.length_mm, fit.turns, fit.frame)
        self.points = trace(self.line, straight_parts=4)


class Sheet:
    """A figure under way: primitives in page mm, and where a room point falls on it."""

    def __init__(self, title: str, height_mm: float) -> None:
        self.title, self.height_mm = title, height_mm
        self.items: list[Primitive] = []
        self.flat: Callable[[Vec], Point] = lambda p: (p[0], -p[2])
        self.scale = 1.0
        self.origin: Point = (0.0, 0.0)

    def look(self, flat: Callable[[Vec], Point], scale: float, origin: Point) -> None:
        """From here on room points are drawn through `flat`, at a scale, with the room's zero at `origin`."""
        self.flat, self.scale, self.origin = flat, scale, origin

    def at(self, point: Vec) -> Point:
        """Where a room point falls on the page."""
        x, y = self.flat(point)
        return (self.origin[0] + self.scale * x, self.origin[1] + self.scale * y)

    def scene(self) -> Scene:
        """The finished figure."""
        page = Page(width_mm=WIDTH_MM, height_mm=self.height_mm, items=tuple(self.items), label=self.title)
        return Scene(title=self.title, pages=(page,))

    # --- strokes --------------------------------------------------------------------------------------------------

    def line(self, a: Point, b: Point, width_mm: float = 0.35, dash: tuple[float, ...] = ()) -> None:
        """A stroke."""
        self.items.append(Line(start=a, end=b, width_mm=width_mm, dash=dash))

    def area(self, points: Sequence[Point], fill: float, width_mm: float = 0.35) -> None:
        """A filled shape: the nearer to 1, the lighter."""
        self.items.append(Polygon(points=tuple(points), fill=fill, width_mm=width_mm))

    def face(self, corners: Sequence[Vec], fill: float) -> None:
        """A flat part of the room: a wall, a floor, the side of a block."""
        self.area([self.at(p) for p in corners], fill)

    def tube(self, points: Sequence[Vec], outside_mm: float = Run.outside_mm) -> None:
        """Conduit along points of the room: two walls, both ends shut."""
        flat = tuple(self.at(p) for p in points)
        wide = outside_mm * self.scale
        self.items.append(Polyline(points=flat, width_mm=wide + _WALL_MM))
        self.items.append(Polyline(points=flat, width_mm=wide - _WALL_MM, ink=WHITE))
        half = (wide + _WALL_MM) / 2.0
        for (ax, ay), (bx, by) in ((flat[1], flat[0]), (flat[-2], flat[-1])):
            long = hypot(bx - ax, by - ay) or 1.0
            nx, ny = -(by - ay) / long * half, (bx - ax) / long * half
            self.line((bx + nx, by + ny), (bx - nx, by - ny), _WALL_MM)

    def middle(self, points: Sequence[Point]) -> None:
        """A thin dash-dotted line: the middle of something."""
        self.items.append(Polyline(points=tuple(points), width_mm=0.25, dash=(3.0, 0.9, 0.6, 0.9)))

    def ground(self, a: Point, b: Point, thick_mm: float = 3.4) -> None:
        """A surface seen edge on, from a to b, its solid side to the right of the way."""
        long = hypot(b[0] - a[0], b[1] - a[1])
        nx, ny = -(b[1] - a[1]) / long * thick_mm, (b[0] - a[0]) / long * thick_mm
        strip = (a, b, (b[0] + nx, b[1] + ny), (a[0] + nx, a[1] + ny))
        self.items += [Line(start=p, end=q, width_mm=0.2) for p, q in hatch(strip, 1.8)]
        self.line(a, b, 0.6)

    def block(self, points: Sequence[Point]) -> None:
        """A solid thing in the way, hatched."""
        self.area(points, WHITE, 0.0)
        self.items += [Line(start=p, end=q, width_mm=0.2) for p, q in hatch(points, 1.8)]
        self.items.append(Polygon(points=tuple(points), fill=None, width_mm=0.45))

    def arrow(self, a: Point, b: Point, width_mm: float = 0.9) -> None:
        """A way to go, from a to b."""
        long = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
        ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        head = 2.0 + 1.6 * width_mm
        root = (b[0] - ux * head, b[1] - uy * head)
        self.line(a, root, width_mm)
        half = head * 0.42
        self.area((b, (root[0] - uy * half, root[1] + ux * half), (root[0] + uy * half, root[1] - ux * half)), 0.0, 0.0)

    # --- words and sizes ------------------------------------------------------------------------------------------

    def words(self, text: str, at: Point, *, size_pt: float = WORD_PT, weight: Weight = "regular",
              anchor: Anchor = "middle", on_white: bool = False) -> None:  # fmt: skip
        """Text, its baseline at a place; of several lines the first one."""
        for k, row in enumerate(text.split("\n")):
            x, y = at[0], at[1] + k * _LINE_MM * size_pt / WORD_PT
            if on_white:
                wide = text_width_mm(row, size_pt, weight) + 1.2
                left = x - {"start": 0.6, "middle": wide / 2.0, "end": wide - 0.6}[anchor]
                high = size_pt * MM_PER_PT
                self.area(
                    [(left, y - high), (left + wide, y - high), (left + wide, y + 0.9), (left, y + 0.9)], WHITE, 0.0
                )
            self.items.append(Text(at=(x, y), text=row, size_pt=size_pt, weight=weight, anchor=anchor))

    def size(self, a: Point, b: Point, text: str, *, weight: Weight = "bold",
             side: Literal["on", "after", "before"] = "on") -> None:  # fmt: skip
        """A dimension from a to b with its word: on the line, beyond b ('after') or beyond a ('before')."""
        long = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
        ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        inward = long > 7.0
        if not inward:
            self.line((a[0] - ux * 4.5, a[1] - uy * 4.5), (b[0] + ux * 4.5, b[1] + uy * 4.5), 0.3)
        else:
            self.line(a, b, 0.3)
        for tip, way in ((a, 1.0), (b, -1.0)):
            way = way if inward else -way
            root = (tip[0] + ux * 2.4 * way, tip[1] + uy * 2.4 * way)
            self.area(
                (tip, (root[0] - uy * 0.7, root[1] + ux * 0.7), (root[0] + uy * 0.7, root[1] - ux * 0.7)), 0.0, 0.0
            )
        drop = CAP_HEIGHT * WORD_PT * MM_PER_PT / 2.0
        if side == "on" and text:
            self.words(text, ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0 + drop), weight=weight, on_white=True)
        if side == "on":
            return
        tip, way = (b, 1.0) if side == "after" else (a, -1.0)
        reach = 1.5 if inward else 5.5
        x, y = tip[0] + ux * reach * way, tip[1] + uy * reach * way
        anchor: Anchor = "middle" if abs(ux) < 0.5 else ("start" if ux * way > 0.0 else "end")
        lift = drop if abs(ux) >= 0.5 else (drop * 2.0 + 0.6 if uy * way > 0.0 else -0.6)
        self.words(text, (x, y + lift), weight=weight, anchor=anchor)

    def thin(self, a: Point, b: Point) -> None:
        """A line that leads a size to what it measures."""
        self.line(a, b, 0.22)


def around(centre: Point, radius_mm: float, parts: int = 48) -> tuple[Point, ...]:
    """A circle as a shape that can be hatched."""
    turns = (radians(360.0 * k / parts) for k in range(parts))
    return tuple((centre[0] + radius_mm * cos(a), centre[1] + radius_mm * sin(a)) for a in turns)
