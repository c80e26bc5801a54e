"""Obstacles and surfaces on a drawing: outline and hatching within the drawing's area. Page mm."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from math import cos, hypot, pi, sin

from racewright.drawing.plane import clip_convex, clip_line, convex_hull, hatch
from racewright.drawing.project import View
from racewright.drawing.scene import WHITE, Box, Line, Point, Polygon, Primitive
from racewright.geometry.clearance import Box as Block
from racewright.geometry.clearance import Cylinder, HalfSpace, Obstacle
from racewright.geometry.vector import Vec, add, cross, dot, scale, sub, unit

_HATCH_MM = 1.7
_GROUND_MM = 3.2
_RIM = 36

ToPage = Callable[[Vec], Point]


def outline_points(solid: Obstacle) -> tuple[Vec, ...]:
    """Room points whose hull is the solid's outline; none for a half-space."""
    if isinstance(solid, Block):
        corners = []
        for i, j, k in product((0.0, 1.0), repeat=3):
            shift = add(add(scale(solid.edge_x, i), scale(solid.edge_y, j)), scale(solid.edge_z, k))
            corners.append(add(solid.corner, shift))
        return tuple(corners)
    if isinstance(solid, Cylinder):
        axis = unit(sub(solid.end, solid.start))
        other: Vec = (1.0, 0.0, 0.0) if abs(axis[0]) < 0.9 else (0.0, 1.0, 0.0)
        u = unit(cross(axis, other))
        v = cross(axis, u)
        rim = []
        for k in range(_RIM):
            a = 2.0 * pi * k / _RIM
            spoke = add(scale(u, solid.radius_mm * cos(a)), scale(v, solid.radius_mm * sin(a)))
            rim += [add(solid.start, spoke), add(solid.end, spoke)]
        return tuple(rim)
    return ()


def draw_solid(solid: Obstacle, to_page: ToPage, area: Box) -> tuple[list[Primitive], tuple[Point, ...]]:
    """A block or cylinder, hatched, and the shape that it takes on the page (empty when out of the area)."""
    hull = convex_hull([to_page(point) for point in outline_points(solid)])
    shape = clip_convex(hull, area)
    if len(shape) < 3:
        return [], ()
    items: list[Primitive] = [Polygon(points=shape, fill=WHITE)]
    items += [Line(start=a, end=b, width_mm=0.15) for a, b in hatch(shape, _HATCH_MM)]
    items.append(Polygon(points=shape, fill=None, width_mm=0.4))
    return items, shape


def draw_surface(solid: HalfSpace, view: View, to_page: ToPage, area: Box) -> tuple[list[Primitive], Point | None]:
    """A wall or floor seen edge on: a line with hatching on the solid side, and where to label it.

    Nothing when it is not seen edge on.
    """
    if abs(dot(solid.normal, view.toward)) > 1e-6:
        return [], None
    nx, ny = view.flat(solid.normal)
    x, y = to_page(solid.point)
    reach = hypot(area.right - area.left, area.bottom - area.top) + hypot(x - area.left, y - area.top)
    cut = clip_line((x - ny * reach, y + nx * reach), (x + ny * reach, y - nx * reach), area)
    if cut is None:
        return [], None
    a, b = cut
    strip = ((a[0], a[1]), (b[0], b[1]), (b[0] - nx * _GROUND_MM, b[1] - ny * _GROUND_MM),
             (a[0] - nx * _GROUND_MM, a[1] - ny * _GROUND_MM))  # fmt: skip
    items: list[Primitive] = [
        Line(start=p, end=q, width_mm=0.15) for p, q in hatch(clip_convex(strip, area), _HATCH_MM)
    ]
    items.append(Line(start=a, end=b, width_mm=0.5))
    middle = ((a[0] + b[0]) / 2.0 - nx * _GROUND_MM, (a[1] + b[1]) / 2.0 - ny * _GROUND_MM)
    return items, middle
