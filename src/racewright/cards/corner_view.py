"""The whole run in the room, seen from one of its four corners: conduit, marks and what it goes past. Page mm.

What stands before the conduit hides it; there it is drawn dashed.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise
from math import hypot, sqrt
from operator import itemgetter
from typing import NamedTuple

from racewright.budget import CORNER_LOOKS, Budget
from racewright.cards.labels import leader, on_white
from racewright.cards.layout import BODY_PT, badge
from racewright.cards.side_view import SideView, Stage, bend_labels, fitting_body, obstacle_labels, stage_of
from racewright.drawing.project import FOUR_CORNERS_DEG, View, corner_view, trace
from racewright.drawing.scene import WHITE, Box, Line, Point, Polyline, Primitive, around
from racewright.drawing.solids import draw_solid, outline_points
from racewright.geometry.solids import HalfSpace, Obstacle, Probe, probe_of
from racewright.geometry.vector import Vec, along, dot, even, norm, sub
from racewright.plan.fitting_bodies import expansion_bodies
from racewright.plan.model import ObstacleView, Plan

#: What the drawing has around it for its labels.
_PAD_MM = 14.0
_LEAST_TUBE_MM, _WALL_MM, _SEAM_MM = 1.8, 0.42, 0.2
#: A straight is drawn in parts of about this length, each of which is hidden or is not (room mm).
_PART_MM = 60.0
#: Over so many of them along the run they are longer.
_MOST_PARTS = 1500
_MOST_STEPS = 200
_NOT_LOOKED = "so much stands around that not all which hides the conduit was worked out: it may be drawn too near"


class _Part(NamedTuple):
    """A short part of the conduit: its ends in the room, and whether something stands before it."""

    start: Vec
    end: Vec
    hidden: bool


def corner_drawing(plan: Plan, corner: int, area: Box, text_pt: float = BODY_PT) -> SideView:
    """The drawing from a corner (0..3, each a quarter turn to the right of the one before), within the area."""
    view = corner_view(FOUR_CORNERS_DEG[corner])
    lines = [piece.centreline for piece in plan.pieces]
    part_mm = max(_PART_MM, sum(line.length_mm for line in lines) / _MOST_PARTS)
    traces = [trace(line, straight_parts=max(4, round(line.length_mm / part_mm))) for line in lines]
    points = [point for run in traces for point in run]
    floor = min(point[2] for point in points) - plan.pieces[0].outside_diameter_mm / 2.0
    room = (area.right - area.left - 2.0 * _PAD_MM, area.bottom - area.top - 2.0 * _PAD_MM)
    diameter = plan.pieces[0].outside_diameter_mm
    stage = stage_of(view, _extent(plan, view, points, floor), area, room, diameter, text_pt)
    stage = stage._replace(tube_mm=max(_LEAST_TUBE_MM, diameter * stage.scale))
    looks = Budget(CORNER_LOOKS)
    things = [Sight.of(thing.solid) for thing in plan.obstacles if not isinstance(thing.solid, HalfSpace)]
    parts = [_parts(run, things, view.toward, looks) for run in traces]
    items = _shadow(stage, points, floor)
    items += [shape for run in parts for shape in _tube([part for part in run if part.hidden], stage)]
    shapes = _solids(plan, stage, items)
    items += [shape for body in expansion_bodies(plan) for shape in fitting_body(body, stage)]
    items += [shape for run in parts for shape in _tube([part for part in run if not part.hidden], stage)]
    for run in parts:
        items += _dashed(run, stage)
        stage.board.block([stage.to_page(part.start) for part in run], stage.tube_mm / 2.0 + 0.5)
    items += _ends(stage, points)
    notes: list[str] = []
    for piece, line in zip(plan.pieces, lines, strict=True):
        bend_labels(piece, line, stage, items, notes)
    beyond = obstacle_labels(plan, shapes, stage, items, notes)
    wide = "; conduit drawn wider than to scale" if stage.tube_mm > diameter * stage.scale * 1.001 else ""
    said = f"seen from corner {corner + 1} of 4; thin dashed line = its path on the surface of leg 1{wide}"
    if looks.spent:
        beyond.append(_NOT_LOOKED)
    return SideView(items, (*notes, *beyond), said, len(notes))


def _extent(plan: Plan, view: View, points: Sequence[Vec], floor: float) -> Box:
    """The run with its path on the surface, and of what it goes past what is near it."""
    flat = [view.flat(p) for p in points] + [view.flat((p[0], p[1], floor)) for p in points]
    box = around(tuple(flat))
    limit = box.grown(0.15 * max(box.right - box.left, box.bottom - box.top) + 40.0)
    for thing in plan.obstacles:
        for x, y in (view.flat(p) for p in outline_points(thing.solid)):
            flat.append((min(max(x, limit.left), limit.right), min(max(y, limit.top), limit.bottom)))
    return around(tuple(flat))


class Sight(NamedTuple):
    """A thing that may hide the conduit: the distance to it, and a ball that holds it. mm."""

    probe: Probe
    centre: Vec
    radius_mm: float

    @classmethod
    def of(cls, thing: Obstacle) -> Sight:
        """The thing with its ball; a half-space has none."""
        points = outline_points(thing)
        low, high = (tuple(pick(p[axis] for p in points) for axis in range(3)) for pick in (min, max))
        centre = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0, (low[2] + high[2]) / 2.0)
        return cls(probe_of(thing), centre, max(norm(sub(p, centre)) for p in points))

    def before(self, point: Vec, toward: Vec, looks: Budget) -> bool:
        """Whether it stands between a point and a viewer far off in the direction `toward`: the sight line is walked
        from where it enters the ball on by the distance to the thing, which no step can jump (its gradient is 1 at
        most), and not beyond the ball."""
        looks.take(1)
        to = sub(self.centre, point)
        ahead = dot(to, toward)
        half_2 = self.radius_mm**2 - (dot(to, to) - ahead**2)
        if half_2 <= 0.0 or ahead + (half := sqrt(half_2)) <= 0.0:
            return False
        far = max(0.0, ahead - half)
        for _ in range(_MOST_STEPS):
            looks.take(1)
            gap = self.probe(*along(point, toward, far))[0]
            if gap <= 0.0:
                return far > 0.0
            if gap < 0.5:
                return True
            far += gap
            if far > ahead + half:
                return False
        return False


def _parts(run: Sequence[Vec], things: Sequence[Sight], toward: Vec, looks: Budget) -> list[_Part]:
    out = []
    for a, b in pairwise(run):
        middle = along(a, sub(b, a), 0.5)
        hidden = not looks.spent and any(thing.before(middle, toward, looks) for thing in things)
        out.append(_Part(a, b, hidden))
    return out


def _solids(plan: Plan, stage: Stage, items: list[Primitive]) -> list[tuple[ObstacleView, Point]]:
    """What the run goes past, the farthest first; where each may be labelled."""
    inner, found = stage.board.area.grown(-1.0), []
    for thing in sorted(plan.obstacles, key=lambda o: even(stage.view.depth(o.nearest))):
        if isinstance(thing.solid, HalfSpace):
            continue
        drawn, shape = draw_solid(thing.solid, stage.to_page, inner)
        items += drawn
        if shape:
            rim = around(shape)
            found.append((thing, ((rim.left + rim.right) / 2.0, (rim.top + rim.bottom) / 2.0)))
            stage.board.block((*shape, shape[0]), 0.3)
    return found


def _shadow(stage: Stage, points: Sequence[Vec], floor: float) -> list[Primitive]:
    """The run's path on the surface of leg 1, and its ends over it."""
    feet = tuple(stage.to_page((p[0], p[1], floor)) for p in points)
    items: list[Primitive] = [Polyline(points=feet, width_mm=0.2, dash=(1.6, 1.0))]
    for point, foot in ((points[0], feet[0]), (points[-1], feet[-1])):
        items.append(Line(start=stage.to_page(point), end=foot, width_mm=0.15, dash=(0.6, 0.8)))
    return items


def _tube(parts: Sequence[_Part], stage: Stage) -> list[Primitive]:
    """Its walls, the far parts first: a black stroke with a white one inside."""
    items: list[Primitive] = []
    for part in sorted(parts, key=lambda p: even(stage.view.depth(p.start) + stage.view.depth(p.end))):
        a, b = stage.to_page(part.start), stage.to_page(part.end)
        items.append(Polyline(points=(a, b), width_mm=stage.tube_mm + _WALL_MM))
        # a little beyond both ends: no seam is seen between the parts
        length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
        x, y = (b[0] - a[0]) / length * _SEAM_MM, (b[1] - a[1]) / length * _SEAM_MM
        inside = ((a[0] - x, a[1] - y), (b[0] + x, b[1] + y))
        items.append(Polyline(points=inside, width_mm=stage.tube_mm - _WALL_MM, ink=WHITE))
    return items


def _dashed(run: Sequence[_Part], stage: Stage) -> list[Primitive]:
    """Where it is hidden, its axis dashed over what hides it."""
    items: list[Primitive] = []
    for hidden, group in groupby(run, key=itemgetter(2)):
        parts = list(group)
        if hidden:
            points = (stage.to_page(parts[0].start), *(stage.to_page(part.end) for part in parts))
            items.append(Polyline(points=points, width_mm=0.5, dash=(2.0, 1.2)))
    return items


def _ends(stage: Stage, points: Sequence[Vec]) -> list[Primitive]:
    items: list[Primitive] = []
    size = 0.5 * stage.text_pt
    for letter, tip, inner in (("A", points[0], points[1]), ("B", points[-1], points[-2])):
        at, out = stage.to_page(tip), stage.direction(sub(tip, inner))
        box = stage.board.find(size, size, at, out, near=stage.tube_mm / 2.0 + 1.5, far=30.0)
        if box is None:
            continue
        items += [*leader(stage.board, at, box, start_mm=stage.tube_mm / 2.0), on_white(box)]
        items += badge(letter, ((box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0), size, square=True)
    return items
