"""The situation of a practice problem: surfaces, things in the way and what was measured. No bends, no marks."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from math import hypot

from racewright.cards.side_view import view_of
from racewright.cards.solids_view import draw_solid, outline_points
from racewright.drawing.metrics import text_width_mm
from racewright.drawing.scene import Box, Circle, Line, Page, Point, Polyline, Primitive, Scene, Text, around
from racewright.drawing.svg import to_svg_pages
from racewright.geometry.vector import Vec, add, scale
from racewright.plan.model import Dimension, Plan

WIDE_MM, HIGH_MM = 160.0, 90.0
_PAD_MM = 20.0
_SIZE_PT = 10.0


def situation(plan: Plan, title: str, *, without: tuple[str, ...] = ()) -> str:
    """An SVG document: the wanted way as a thin dashed line, obstacles hatched, dimensions with their texts, but for
    those that begin with a word of `without` (they would give the answer away)."""
    view = view_of(plan)
    shown = [d for d in plan.dimensions if not d.text.startswith(without or ("\0",))]
    points: list[Vec] = [*plan.corners_mm, *(p for d in shown for p in (d.start, d.end))]
    for thing in plan.obstacles:
        points += outline_points(thing.solid)
    box = around(tuple(view.flat(p) for p in points))
    wide, high = max(box.right - box.left, 1.0), max(box.bottom - box.top, 1.0)
    factor = min((WIDE_MM - 2.0 * _PAD_MM) / wide, (HIGH_MM - 2.0 * _PAD_MM) / high)
    height = max(high * factor + 2.0 * _PAD_MM + 6.0, 50.0)
    left = (WIDE_MM - wide * factor) / 2.0 - box.left * factor
    top = (height - high * factor) / 2.0 - box.top * factor
    sheet = Box(1.0, 1.0, WIDE_MM - 1.0, height - 1.0)

    def to_page(point: Vec) -> Point:
        x, y = view.flat(point)
        return (left + x * factor, top + y * factor)

    items: list[Primitive] = []
    for thing in plan.obstacles:
        items += draw_solid(thing.solid, to_page, sheet)[0]
    path = tuple(to_page(p) for p in plan.corners_mm)
    items.append(Polyline(points=path, width_mm=0.5, dash=(2.4, 1.4)))
    taken = _along(path)
    for letter, at in (("A", path[0]), ("B", path[-1])):
        items.append(Circle(centre=at, radius_mm=2.8, fill=1.0, width_mm=0.4))
        items.append(Text(at=(at[0], at[1] + 1.3), text=letter, size_pt=_SIZE_PT, weight="bold", anchor="middle"))
        taken.append(Box(at[0] - 3.0, at[1] - 3.0, at[0] + 3.0, at[1] + 3.0))
    for dimension in shown:
        items += _measured(dimension, to_page, taken, sheet)
    page = Page(width_mm=WIDE_MM, height_mm=height, items=tuple(items), label=title)
    return to_svg_pages(Scene(title=title, pages=(page,)))[0]


def _along(path: tuple[Point, ...]) -> list[Box]:
    """Small boxes along the path, which no text may cover."""
    out = []
    for a, b in itertools.pairwise(path):
        parts = max(1, round(hypot(b[0] - a[0], b[1] - a[1]) / 2.0))
        for k in range(parts + 1):
            x, y = a[0] + (b[0] - a[0]) * k / parts, a[1] + (b[1] - a[1]) * k / parts
            out.append(Box(x - 1.0, y - 1.0, x + 1.0, y + 1.0))
    return out


def _measured(dimension: Dimension, to_page: Callable[[Vec], Point], taken: list[Box], sheet: Box) -> list[Primitive]:
    """A dimension line beside what it measures, moved out until its text is free."""
    a, b = to_page(dimension.start), to_page(dimension.end)
    out = to_page(add(dimension.start, scale(dimension.side, 100.0)))
    size = hypot(out[0] - a[0], out[1] - a[1])
    way = ((out[0] - a[0]) / size, (out[1] - a[1]) / size) if size > 1e-6 else (0.0, -1.0)
    half = text_width_mm(dimension.text, _SIZE_PT) / 2.0 + 1.0
    best: tuple[Point, Point, Box] | None = None
    for level in range(10):
        for flip in (1.0, -1.0):
            far = flip * (7.0 + 5.0 * level)
            p = (a[0] + way[0] * far, a[1] + way[1] * far)
            q = (b[0] + way[0] * far, b[1] + way[1] * far)
            x = min(max((p[0] + q[0]) / 2.0, half + 1.0), WIDE_MM - half - 1.0)
            y = (p[1] + q[1]) / 2.0
            box = Box(x - half, y - 2.4, x + half, y + 2.4)
            inside = box.inside(sheet)
            if inside and not any(box.overlaps(other) for other in taken):
                best = (p, q, box)
                break
        if best:
            break
    if best is None:
        return []
    p, q, box = best
    taken.append(box)
    x, y = (box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0
    white = Line(start=(box.left, y), end=(box.right, y), width_mm=4.4, ink=1.0)
    return [
        Line(start=p, end=q, width_mm=0.25),
        Line(start=a, end=p, width_mm=0.15),
        Line(start=b, end=q, width_mm=0.15),
        white,
        Text(at=(x, y + 1.3), text=dimension.text, size_pt=_SIZE_PT, anchor="middle"),
    ]
