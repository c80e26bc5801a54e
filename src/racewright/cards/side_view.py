"""The bent conduit as it will hang: square to its plane when it has one, from a corner when it has not. Page mm.

Notation: `to_page` takes room mm to page mm; `scale` page mm per room mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, product
from math import hypot
from typing import NamedTuple

import msgspec

from racewright.budget import LABEL_PLACES, Budget
from racewright.cards.labels import Board, leader, on_white, place_text, untangled
from racewright.cards.layout import BODY_PT, SMALL_PT, badge, cap_mm, line_mm, lines_at
from racewright.cards.words import clearance_words
from racewright.drawing.metrics import text_width_mm, wrap
from racewright.drawing.project import View, best_corner_view, good_corner_views, square_view, trace
from racewright.drawing.scene import WHITE, Box, Line, Point, Polygon, Polyline, Primitive, Text, around
from racewright.drawing.solids import clip_convex, convex_hull, draw_solid, draw_surface, outline_points
from racewright.geometry.chain import Centreline
from racewright.geometry.solids import HalfSpace
from racewright.geometry.vector import Vec, even, sub
from racewright.plan.fitting_bodies import FittingBody, expansion_bodies
from racewright.plan.model import Dimension, ObstacleView, Plan, PlannedPiece
from racewright.units.angle import hand_angle

_LEAST_TUBE_MM = 1.5
_WALL_MM = 0.42
#: How far the lines from the conduit go past a dimension's own.
_TICK_MM = 1.2
#: What a drawing with a few labels would like to have around it.
PAD_X, PAD_Y = 20.0, 17.0
#: What it has around it at least, and how much of the rest of its area it takes: the largest at which all labels have
#: room beside the conduit.
_LEAST_PAD = 7.0
_FILLS = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)


class SideView(NamedTuple):
    """What to draw, what found no room (to be written below), and a caption. `missing`: labels that a smaller drawing
    might have room for."""

    items: list[Primitive]
    left_over: tuple[str, ...]
    caption: str
    missing: int = 0


class Stage(NamedTuple):
    """Where a view of the room comes to stand on the page, and the labels that it has so far."""

    view: View
    scale: float
    shift: Point
    tube_mm: float
    board: Board
    text_pt: float

    @property
    def small_pt(self) -> float:
        """What stands beside the drawing's own text."""
        return self.text_pt * SMALL_PT / BODY_PT

    @property
    def disc_mm(self) -> float:
        """Across a bend's number."""
        return 0.49 * self.text_pt

    def to_page(self, point: Vec) -> Point:
        """Where a point of the room falls."""
        x, y = self.view.flat(point)
        return (x * self.scale + self.shift[0], y * self.scale + self.shift[1])

    def direction(self, vector: Vec) -> Point:
        """Which way a direction of the room goes on the page; (0, 0) where it points at the viewer."""
        x, y = self.view.flat(vector)
        length = hypot(x, y)
        return (x / length, y / length) if length > 1e-6 else (0.0, 0.0)


def view_of(plan: Plan) -> View:
    """How the run is looked at."""
    if plan.planar:
        return square_view(plan.view_normal, plan.pieces[0].start.axis)
    return best_corner_view(plan.corners_mm)


def side_view(plan: Plan, index: int, area: Box, text_pt: float = BODY_PT, *, with_readings: bool = True) -> SideView:
    """The drawing of one piece in its place, within the area, its figures of this size. `with_readings`: what a tape
    reads on it stands on the drawing; else, of several pieces, what of it lies in the area is left over."""
    places = Budget(LABEL_PLACES)
    best: SideView | None = None
    for fill in _FILLS:
        drawn = _drawn(plan, index, area, text_pt, fill, places, with_readings=with_readings)
        if best is None or drawn.missing < best.missing:
            best = drawn
        if not best.missing or places.spent:
            break
    assert best is not None
    return best


def _drawn(
    plan: Plan, index: int, area: Box, text_pt: float, fill: float, places: Budget, *, with_readings: bool
) -> SideView:
    """The drawing so large that it takes `fill` of the area."""
    piece = plan.pieces[index]
    lines = [other.centreline for other in plan.pieces]
    points = trace(lines[index], straight_parts=1 if plan.planar else 6)
    stage = _stage(plan, points, piece, area, text_pt, fill, places)
    items: list[Primitive] = []
    notes: list[str] = []
    shapes = _solids(plan, stage, items)
    items += _surface_of_first_leg(plan, stage, points, piece, area)
    if not plan.planar:
        items += _ground_trace(stage, points, piece)
    for k, line in enumerate(lines):
        if k != index:
            items += _other_piece(stage, trace(line), area)
    items += [shape for body in expansion_bodies(plan) for shape in fitting_body(body, stage)]
    items += _sleeves(piece, lines[index], stage) + _tube(points, stage)
    on_page = [stage.to_page(p) for p in points]
    stage.board.block(on_page, stage.tube_mm / 2.0 + 0.5)
    stage.board.avoid(on_page, stage.tube_mm / 2.0 + 0.6)
    names, unnamed = _end_labels(piece, lines[index], stage)
    items += names
    if with_readings:
        draw_dimensions(plan.dimensions, stage, items, notes, several=len(plan.pieces) > 1)
    bend_labels(piece, lines[index], stage, items, notes)
    beyond = obstacle_labels(plan, shapes, stage, items, notes)
    if not with_readings and len(plan.pieces) > 1:
        beyond += [dimension.text for dimension in plan.dimensions if _ends(dimension, stage).inside(area)]
    way = "side view" if plan.planar else "seen from a corner; dashed line = its path on the surface of leg 1"
    wide = (
        "; conduit drawn wider than to scale" if stage.tube_mm > piece.outside_diameter_mm * stage.scale * 1.001 else ""
    )
    return SideView(items, (*notes, *beyond), f"{way}{wide}", len(notes) + unnamed)


def view_height(plan: Plan, index: int, width: float, most: float) -> tuple[float, float]:
    """How high the drawing should be on paper of this width: the least that will do, and what it would like."""
    piece = plan.pieces[index]
    wanted = 52.0
    for view in _views(plan):
        box = _extent(plan, view, trace(piece.centreline), piece)
        wide, high = max(box.right - box.left, 1.0), max(box.bottom - box.top, 1.0)
        lines = 6.0 * min(3, len(plan.dimensions))
        wanted = max(wanted, (width - 2.0 * PAD_X) * high / wide + 2.0 * PAD_Y + lines)
    wanted = min(most, wanted)
    return min(wanted, 50.0 if wanted < 70.0 else 58.0), wanted


def view_scale(plan: Plan, index: int, area: Box, text_pt: float = BODY_PT) -> float:
    """How large the drawing of a piece comes out in this area: page mm per room mm."""
    piece = plan.pieces[index]
    return _stage(plan, trace(piece.centreline), piece, area, text_pt, 1.0, Budget(0)).scale


def _views(plan: Plan) -> tuple[View, ...]:
    """The ways to look at the run, of which that is taken which draws a piece largest in its area."""
    return (view_of(plan),) if plan.planar else good_corner_views(plan.corners_mm)


def _stage(
    plan: Plan, points: tuple[Vec, ...], piece: PlannedPiece, area: Box, text_pt: float, fill: float, places: Budget
) -> Stage:
    pad = _LEAST_PAD * text_pt / BODY_PT
    room = (fill * (area.right - area.left - 2.0 * pad), fill * (area.bottom - area.top - 2.0 * pad))
    stages = [
        stage_of(view, _extent(plan, view, points, piece), area, room, piece.outside_diameter_mm, text_pt, places)
        for view in _views(plan)
    ]
    return max(stages, key=lambda stage: even(_length_mm([stage.to_page(p) for p in points])))


def _length_mm(points: Sequence[Point]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))


def stage_of(
    view: View,
    box: Box,
    area: Box,
    room: Point,
    diameter_mm: float,
    text_pt: float = BODY_PT,
    places: Budget | None = None,
) -> Stage:
    """The view in the middle of the area, so large that `box` of it fills `room`, its width and height. `places`: what
    may be tried for its labels."""
    wide, high = max(box.right - box.left, 1.0), max(box.bottom - box.top, 1.0)
    scale = min(max(room[0], 1.0) / wide, max(room[1], 1.0) / high)
    shift_x = (area.left + area.right) / 2.0 - scale * (box.left + box.right) / 2.0
    shift_y = (area.top + area.bottom) / 2.0 - scale * (box.top + box.bottom) / 2.0
    board = Board(area, places)
    return Stage(view, scale, (shift_x, shift_y), max(_LEAST_TUBE_MM, diameter_mm * scale), board, text_pt)


def _extent(plan: Plan, view: View, points: tuple[Vec, ...], piece: PlannedPiece) -> Box:
    """The part of the view that is shown: the piece, and of the obstacles what is near it."""
    flat = [view.flat(p) for p in points]
    if not plan.planar:
        floor = _floor_of(points, piece)
        flat += [view.flat((p[0], p[1], floor)) for p in points]
    box = around(tuple(flat))
    reach = 0.15 * max(box.right - box.left, box.bottom - box.top) + 40.0
    limit = box.grown(reach)
    for obstacle in plan.obstacles:
        for x, y in (view.flat(p) for p in outline_points(obstacle.solid)):
            flat.append((min(max(x, limit.left), limit.right), min(max(y, limit.top), limit.bottom)))
    return around(tuple(flat))


def _solids(plan: Plan, stage: Stage, items: list[Primitive]) -> list[tuple[ObstacleView, Point]]:
    """Draw obstacles far to near; where each may be labelled."""
    inner = stage.board.area.grown(-1.0)
    found: list[tuple[ObstacleView, Point]] = []
    for obstacle in sorted(plan.obstacles, key=lambda o: stage.view.depth(o.nearest)):
        if isinstance(obstacle.solid, HalfSpace):
            drawn, spot = draw_surface(obstacle.solid, stage.view, stage.to_page, inner)
        else:
            drawn, shape = draw_solid(obstacle.solid, stage.to_page, inner)
            spot = None
            if shape:
                rim = around(shape)
                spot = ((rim.left + rim.right) / 2.0, (rim.top + rim.bottom) / 2.0)
                stage.board.block((*shape, shape[0]), 0.3)
        items += drawn
        if spot is not None:
            found.append((obstacle, spot))
    return found


def _surface_of_first_leg(
    plan: Plan, stage: Stage, points: tuple[Vec, ...], piece: PlannedPiece, area: Box
) -> list[Primitive]:
    """The surface that leg 1 lies on, where the view shows it edge on and nothing goes below it."""
    level = _floor_of(points, piece)
    if not plan.planar or abs(stage.view.toward[2]) > 1e-6 or piece is not plan.pieces[0]:
        return []
    at = piece.start.point_mm
    if abs(piece.start.axis[2]) > 1e-6 or abs(level - (at[2] - piece.outside_diameter_mm / 2.0)) > 1.0:
        return []
    if any(isinstance(o.solid, HalfSpace) for o in plan.obstacles):
        return []
    rim = around(tuple(stage.to_page(p) for p in points))
    low = stage.to_page(at)[1] + stage.tube_mm / 2.0
    band = Box(max(area.left + 1, rim.left - 12), area.top, min(area.right - 1, rim.right + 12), area.bottom)
    items, spot = draw_surface(
        HalfSpace(point=(0.0, 0.0, level), normal=(0.0, 0.0, 1.0)),
        stage.view,
        lambda _: ((rim.left + rim.right) / 2.0, low + 0.25),
        band,
    )
    if spot is not None:
        stage.board.avoid(((band.left, low + 1.8), (band.right, low + 1.8)), 1.8)
    return items


def _floor_of(points: tuple[Vec, ...], piece: PlannedPiece) -> float:
    return min(p[2] for p in points) - piece.outside_diameter_mm / 2.0


def _ground_trace(stage: Stage, points: tuple[Vec, ...], piece: PlannedPiece) -> list[Primitive]:
    floor = _floor_of(points, piece)
    shadow = tuple(stage.to_page((p[0], p[1], floor)) for p in points)
    items: list[Primitive] = [Polyline(points=shadow, width_mm=0.2, dash=(1.6, 1.0))]
    for p in (points[0], points[-1]):
        foot = stage.to_page((p[0], p[1], floor))
        items.append(Line(start=stage.to_page(p), end=foot, width_mm=0.15, dash=(0.6, 0.8)))
    return items


def _other_piece(stage: Stage, points: tuple[Vec, ...], area: Box) -> list[Primitive]:
    flat = tuple(stage.to_page(p) for p in points)
    kept = tuple(p for p in flat if area.left < p[0] < area.right and area.top < p[1] < area.bottom)
    return [Polyline(points=kept, width_mm=0.35, dash=(3.0, 1.2))] if len(kept) > 1 else []


def fitting_body(body: FittingBody, stage: Stage) -> list[Primitive]:
    """An expansion fitting between two pieces, widened as the conduit is where that is drawn wider than to scale."""
    wider = stage.tube_mm / (2.0 * stage.scale * min(part.radius_mm for part in body.parts))
    inner = stage.board.area.grown(-1.0)
    items: list[Primitive] = []
    for part in body.parts:
        bar = msgspec.structs.replace(part, radius_mm=part.radius_mm * max(1.0, wider))
        shape = clip_convex(convex_hull([stage.to_page(p) for p in outline_points(bar)]), inner)
        if len(shape) > 2:
            items.append(Polygon(points=shape, fill=WHITE, width_mm=0.35))
    return items


def _tube(points: tuple[Vec, ...], stage: Stage) -> list[Primitive]:
    """Two walls: a black stroke with a white one inside, the far parts first."""
    flat = [stage.to_page(p) for p in points]
    spans = [(stage.view.depth(points[k]) + stage.view.depth(points[k + 1]), k) for k in range(len(points) - 1)]
    level = abs(max(s[0] for s in spans) - min(s[0] for s in spans)) < 1e-3
    chunks = [flat] if level else [flat[k : k + 2] for _, k in sorted(spans)]
    items: list[Primitive] = []
    for chunk in chunks:
        a, b = chunk[0], chunk[-1]
        inner = [_beyond(chunk[1], a, 0.12), *chunk[1:-1], _beyond(chunk[-2], b, 0.12)] if not level else chunk
        items.append(Polyline(points=tuple(chunk), width_mm=stage.tube_mm + _WALL_MM))
        items.append(Polyline(points=tuple(inner), width_mm=stage.tube_mm - _WALL_MM, ink=WHITE))
    half = (stage.tube_mm + _WALL_MM) / 2.0
    for a, b in ((flat[1], flat[0]), (flat[-2], flat[-1])):
        length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
        nx, ny = -(b[1] - a[1]) / length * half, (b[0] - a[0]) / length * half
        items.append(Line(start=(b[0] + nx, b[1] + ny), end=(b[0] - nx, b[1] - ny), width_mm=_WALL_MM))
    return items


def _beyond(a: Point, b: Point, by: float) -> Point:
    length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    return (b[0] + (b[0] - a[0]) * by / length, b[1] + (b[1] - a[1]) * by / length)


def _sleeves(piece: PlannedPiece, line: Centreline, stage: Stage) -> list[Primitive]:
    items: list[Primitive] = []
    ends = ((piece.end_a, 0.0, piece.end_a.insertion_mm), (piece.end_b, line.length_mm, -piece.end_b.insertion_mm))
    for end, at, insert in ends:
        if not end.fitting:
            continue
        tip = stage.to_page(line.point_at(at))
        depth = insert if abs(insert) * stage.scale > 1.5 else (1.5 if at == 0.0 else -1.5) / stage.scale
        mouth = stage.to_page(line.point_at(min(max(at + depth, 0.0), line.length_mm)))
        far = _beyond(mouth, tip, 2.2)
        stage.board.block((mouth, far), stage.tube_mm / 2.0 + 1.6)
        items.append(Polyline(points=(mouth, far), width_mm=stage.tube_mm + 2.6))
        items.append(Polyline(points=(_beyond(far, mouth, -0.4), _beyond(mouth, far, -0.4)),
                              width_mm=stage.tube_mm + 1.8, ink=WHITE))  # fmt: skip
    return items


def _end_labels(piece: PlannedPiece, line: Centreline, stage: Stage) -> tuple[list[Primitive], int]:
    """Each end's letter, and beside it what it goes into where there is room for that; for how many there is none: it
    stands above the drawing as well."""
    items: list[Primitive] = []
    unnamed = 0
    letter_mm = 6.0 * stage.text_pt / BODY_PT
    ends = (("A", piece.end_a, 0.0, -1.0), ("B", piece.end_b, line.length_mm, 1.0))
    for letter, end, at, way in ends:
        frame = line.frame_at(at)
        out = stage.direction(frame.axis)
        out = (out[0] * way, out[1] * way)
        tip = stage.to_page(frame.origin)
        names = wrap(end.fitting or end.open_at, 40.0, stage.small_pt)
        for lines, far in ((names, 14.0), ((), 30.0)) if names else (((), 30.0),):
            wide = letter_mm + max((text_width_mm(text, stage.small_pt) + 2.0 for text in lines), default=0.0)
            high = max(letter_mm, len(lines) * line_mm(stage.small_pt))
            box = stage.board.find(wide, high, tip, out, near=4.0, far=far)
            if box is not None:
                break
        unnamed += bool(names) and (box is None or not lines)
        if box is None:
            continue
        middle = (box.top + box.bottom) / 2.0
        items += [*leader(stage.board, tip, box, start_mm=3.0), on_white(box)]
        items += badge(letter, (box.left + letter_mm / 2.0, middle), letter_mm, square=True)
        top = middle - len(lines) * line_mm(stage.small_pt) / 2.0
        items += lines_at(lines, box.left + letter_mm + 1.2, top, stage.small_pt)
    return items, unnamed


def draw_dimensions(
    dimensions: Sequence[Dimension], stage: Stage, items: list[Primitive], notes: list[str], *, several: bool
) -> None:
    """Draw the dimensions as `items` where they have room; of the others the words go to `notes`. `several`: those that
    lie outside the area belong to another piece."""
    for dimension in dimensions:
        if several and not _ends(dimension, stage).inside(stage.board.area):
            continue
        drawn = _dimension(dimension, stage)
        if drawn is None:
            notes.append(dimension.text)
        else:
            items += drawn


def _ends(dimension: Dimension, stage: Stage) -> Box:
    return around((stage.to_page(dimension.start), stage.to_page(dimension.end)))


def _dimension(dimension: Dimension, stage: Stage) -> list[Primitive] | None:
    a, b = stage.to_page(dimension.start), stage.to_page(dimension.end)
    length = hypot(b[0] - a[0], b[1] - a[1])
    side = stage.direction(dimension.side)
    if side == (0.0, 0.0) and length > 0.0:
        side = (-(b[1] - a[1]) / length, (b[0] - a[0]) / length)
    wide = text_width_mm(dimension.text, stage.text_pt) + 1.0
    high = cap_mm(stage.text_pt) + 2.0
    best: tuple[float, Point, Point, Point, Box] | None = None
    for flip, level in product((1.0, -1.0), range(9)):
        way = (side[0] * flip, side[1] * flip)
        out = 6.0 + stage.tube_mm / 2.0 + 3.0 * level
        p = (a[0] + way[0] * out, a[1] + way[1] * out)
        q = (b[0] + way[0] * out, b[1] + way[1] * out)
        lift = abs(way[0]) * wide / 2.0 + abs(way[1]) * high / 2.0 + 0.8
        x, y = (p[0] + q[0]) / 2.0 + way[0] * lift, (p[1] + q[1]) / 2.0 + way[1] * lift
        box = Box(x - wide / 2.0, y - high / 2.0, x + wide / 2.0, y + high / 2.0)
        if not stage.board.is_free(box) or not around((p, q)).grown(_TICK_MM).inside(stage.board.area):
            continue
        if not around((a, b)).inside(stage.board.area):
            continue
        if stage.board.strikes(p, q):
            continue
        cost = 3.0 * level + (10.0 if flip < 0.0 else 0.0) + 4.0 * stage.board.crossings(box)
        cost += 2.0 * stage.board.hides(p, q) + 12.0 * (stage.board.strikes(a, p) + stage.board.strikes(b, q))
        if best is None or cost < best[0]:
            best = (cost, p, q, way, box)
    if best is None:
        return None
    _, p, q, way, box = best
    stage.board.take(box)
    stage.board.block((p, q), 0.4)
    for stroke in ((a, p), (b, q)):
        stage.board.avoid(stroke, 0.4, weight=2)
    at = ((box.left + box.right) / 2.0, (box.top + box.bottom + cap_mm(stage.text_pt)) / 2.0)
    text = Text(at=at, text=dimension.text, size_pt=stage.text_pt, anchor="middle")
    return [*_dimension_lines(a, b, p, q, way, stage.tube_mm / 2.0 + 1.2), on_white(box), text]


def _dimension_lines(a: Point, b: Point, p: Point, q: Point, side: Point, start: float) -> list[Primitive]:
    items: list[Primitive] = [Line(start=p, end=q, width_mm=0.22)]
    for foot, tip in ((a, p), (b, q)):
        near = (foot[0] + side[0] * start, foot[1] + side[1] * start)
        items.append(Line(start=near, end=(tip[0] + side[0] * _TICK_MM, tip[1] + side[1] * _TICK_MM), width_mm=0.18))
    length = hypot(q[0] - p[0], q[1] - p[1])
    if length > 6.0:
        ux, uy = (q[0] - p[0]) / length, (q[1] - p[1]) / length
        for tip, way in ((p, 1.0), (q, -1.0)):
            root = (tip[0] + ux * 2.2 * way, tip[1] + uy * 2.2 * way)
            items.append(Polygon(points=(tip, (root[0] - uy * 0.6, root[1] + ux * 0.6),
                                         (root[0] + uy * 0.6, root[1] - ux * 0.6))))  # fmt: skip
    return items


def bend_labels(piece: PlannedPiece, line: Centreline, stage: Stage, items: list[Primitive], notes: list[str]) -> None:
    """Number and angle of each bend as `items`, else told as `notes`."""
    disc = stage.disc_mm
    placed: list[tuple[str, str, Point, Box]] = []
    for bend in sorted(piece.bends, key=lambda b: b.number):
        text = hand_angle(bend.angle_deg)
        wide = disc + 1.2 + text_width_mm(text, stage.text_pt, "bold") + 0.8
        middle = (bend.arc_start_mm + bend.arc_end_mm) / 2.0
        at = line.point_at(middle)
        ends = (line.frame_at(bend.arc_start_mm).axis, line.frame_at(bend.arc_end_mm).axis)
        inward = stage.direction(sub(ends[1], ends[0]))
        anchor = stage.to_page(at)
        box = stage.board.find(
            wide, disc + 0.6, anchor, (-inward[0], -inward[1]), near=stage.tube_mm / 2.0 + 1.6, far=40.0
        )
        if box is None:
            notes.append(f"{bend.name}: {text}")
            continue
        leader(stage.board, anchor, box, start_mm=stage.tube_mm / 2.0)
        placed.append((str(bend.number), text, anchor, box))
    boxes = untangled(stage.board, [(anchor, box) for *_, anchor, box in placed])
    for (number, text, anchor, _), box in zip(placed, boxes, strict=True):
        y = (box.top + box.bottom) / 2.0
        items += [*leader(stage.board, anchor, box, start_mm=stage.tube_mm / 2.0), on_white(box)]
        items += badge(number, (box.left + disc / 2.0 + 0.2, y), disc)
        spot = (box.left + disc + 1.4, y + cap_mm(stage.text_pt) / 2.0)
        items.append(Text(at=spot, text=text, size_pt=stage.text_pt, weight="bold"))


def obstacle_labels(
    plan: Plan, shapes: list[tuple[ObstacleView, Point]], stage: Stage, items: list[Primitive], notes: list[str]
) -> list[str]:
    """Draw them as `items`, else tell them as `notes`; what is told of those that are not in the picture."""
    seen = {id(obstacle) for obstacle, _ in shapes}
    for obstacle, spot in shapes:
        text = _obstacle_text(plan, obstacle)
        away = stage.to_page(obstacle.nearest)
        toward = (spot[0] - away[0], spot[1] - away[1])
        drawn = place_text(stage.board, text, spot, toward, size_pt=stage.small_pt, near=1.0, far=44.0)
        if drawn is None:
            notes.append(text)
        else:
            items += drawn
    if len(plan.pieces) > 1:
        return []
    return [_obstacle_text(plan, o) for o in plan.obstacles if id(o) not in seen]


def _obstacle_text(plan: Plan, obstacle: ObstacleView) -> str:
    return f"{obstacle.name}: {clearance_words(obstacle.clearance_mm, plan.tape)}"
