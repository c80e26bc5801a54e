"""Obstacles and surfaces on a drawing: hulls, clipping to the drawing's area, hatching. Page mm, points (x, y)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, cos, floor, hypot, pi, sin, sqrt

from racewright.drawing.project import View
from racewright.drawing.scene import WHITE, Box, Line, Point, Polygon, Primitive
from racewright.geometry.solids import Box as Block
from racewright.geometry.solids import Cylinder, HalfSpace, Obstacle
from racewright.geometry.vector import Vec, add, cross, dot, scale, sub, unit


def convex_hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """The corners of the least convex shape that holds the points, in order."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)
    return (*_chain(ordered)[:-1], *_chain(ordered[::-1])[:-1])


def _chain(ordered: Sequence[Point]) -> list[Point]:
    chain: list[Point] = []
    for p in ordered:
        while len(chain) > 1 and _cross(chain[-2], chain[-1], p) <= 1e-12:
            chain.pop()
        chain.append(p)
    return chain


def _cross(o: Point, a: Point, b: Point) -> float:
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def clip_convex(points: Sequence[Point], box: Box) -> tuple[Point, ...]:
    """The part of a convex shape that lies in the rectangle; empty when none does."""
    shape = list(points)
    for axis, limit, keep in ((0, box.left, 1.0), (0, box.right, -1.0), (1, box.top, 1.0), (1, box.bottom, -1.0)):
        out: list[Point] = []
        for k, p in enumerate(shape):
            q = shape[k - 1]
            here, before = (p[axis] - limit) * keep, (q[axis] - limit) * keep
            if here * before < 0.0:
                t = before / (before - here)
                out.append((q[0] + (p[0] - q[0]) * t, q[1] + (p[1] - q[1]) * t))
            if here >= 0.0:
                out.append(p)
        shape = out
    return tuple(shape)


def clip_line(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a segment that lies in the rectangle, or None."""
    t0, t1 = 0.0, 1.0
    dx, dy = end[0] - start[0], end[1] - start[1]
    for step, room in (
        (-dx, start[0] - box.left),
        (dx, box.right - start[0]),
        (-dy, start[1] - box.top),
        (dy, box.bottom - start[1]),
    ):
        if step == 0.0:
            if room < 0.0:
                return None
            continue
        t = room / step
        if step < 0.0:
            t0 = max(t0, t)
        else:
            t1 = min(t1, t)
    if t0 >= t1:
        return None
    return (start[0] + dx * t0, start[1] + dy * t0), (start[0] + dx * t1, start[1] + dy * t1)


def hatch(points: Sequence[Point], spacing_mm: float) -> tuple[tuple[Point, Point], ...]:
    """Strokes rising to the right at 45 degrees across a convex shape (y counts down the page)."""
    if len(points) < 3:
        return ()
    sums = [x + y for x, y in points]
    step = spacing_mm * sqrt(2.0)
    strokes = []
    for k in range(ceil(min(sums) / step), floor(max(sums) / step) + 1):
        level = k * step
        cuts: list[Point] = []
        for j, p in enumerate(points):
            q = points[j - 1]
            a, b = q[0] + q[1] - level, p[0] + p[1] - level
            if (a < 0.0) != (b < 0.0):
                t = a / (a - b)
                cuts.append((q[0] + (p[0] - q[0]) * t, q[1] + (p[1] - q[1]) * t))
        if len(cuts) == 2:
            strokes.append((min(cuts), max(cuts)))
    return tuple(strokes)


_HATCH_MM = 1.7
_GROUND_MM = 3.2
_RIM = 36

ToPage = Callable[[Vec], Point]


def outline_points(solid: Obstacle) -> tuple[Vec, ...]:
    """Room points whose hull is the solid's outline; none for a half-space."""
    if isinstance(solid, Block):
        return solid.corners()
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
