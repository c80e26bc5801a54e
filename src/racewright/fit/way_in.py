"""The way of a piece into its place: pushed straight in along an axis, or turned about one, past what stands around.

Notation (lengths mm, angles radians)
    t        how far the piece is still held back, along minus the way it goes in
    f(t)     least distance from the axis of the held-back piece to a solid
    R        how far the piece's farthest point stands off the axis that it turns about
    phi      how far it has been turned
Moving a rigid piece by dt changes f by at most dt, turning it by dphi by at most R dphi: so a distance clears all
that lies within it, and the way is certified by a few distances, never by samples alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, pi

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import LOOKS_OF_A_TURN, Budget
from racewright.geometry.chain import Arc, Centreline, Line, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Cylinder, HalfSpace, Obstacle, OutsideCorner, Wall, moved, probe_of
from racewright.geometry.vector import Frame, Vec, add, along, cross, distance, dot, norm, rotate, scale, sub
from racewright.tools.benders import HookEnd

# What a hand can press aside, and the least step of the certified path.
TOUCH_MM = 0.5
#: Air that a piece and the wrench on it want all around while it turns (common practice, no source).
TURNING_ROOM_MM = 10.0
_ARC_PARTS = 12


class Solid(msgspec.Struct, frozen=True, kw_only=True):
    """A named obstacle in the same coordinates as the piece. `surface`: it is one that the run lies on."""

    name: str
    solid: Obstacle | Wall
    surface: bool = False


class PathMargin(msgspec.Struct, frozen=True):
    """The tightest place of a path past one solid: air between conduit and solid, and how far the piece was then
    still held back. `certified` False: it touches, so the rest of the path was not looked at. `in_place_mm`: the air
    that is left when it is in."""

    name: str
    margin_mm: float
    at_mm: float
    certified: bool
    surface: bool
    in_place_mm: float

    @property
    def stops(self) -> bool:
        """Whether it stops a piece on its way that it leaves room for in its place."""
        return not self.certified and self.in_place_mm > -TOUCH_MM


def line_of(piece: BentPiece, start: Frame) -> Centreline:
    """The piece's axis with its end A at `start`."""
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.bends]
    return Centreline.from_turns(piece.cut_length_mm, turns, start)


def path_margin(
    piece: BentPiece, start: Frame, way: Vec, distance_mm: float, obstacle: Solid, budget: Budget | None = None
) -> PathMargin:
    """The tightest place while the piece moves in by `distance_mm` along the unit vector `way` to where `start`
    has it. Certified by the 1-Lipschitz bound. `margin_mm` is the least at the places looked at; between them it
    is never below 0 unless it is below 0.5 mm there. Contact within 0.5 mm (0.75 mm between) is let pass.
    `budget`: where each part that is held against the solid counts."""
    half, budget = 0.5 * piece.outside_diameter_mm, budget or Budget(0)
    line = line_of(piece, start)
    budget.take(len(line.segments))
    tightest, where = least_distance(line, obstacle.solid).distance_mm - half, 0.0
    in_place = tightest
    if isinstance(obstacle.solid, HalfSpace):
        # over a wall the whole piece rises or sinks by the same: the tightest place is at one of the two ends
        lower = tightest - distance_mm * dot(way, obstacle.solid.normal)
        if lower < tightest:
            tightest, where = lower, distance_mm
        return PathMargin(obstacle.name, tightest, where, tightest > -TOUCH_MM, obstacle.surface, in_place)
    if isinstance(obstacle.solid, OutsideCorner) and all(dot(way, f.normal) <= 0.0 for f in obstacle.solid.faces):
        # held back, no point of it is lower over any face
        return PathMargin(obstacle.name, tightest, where, tightest > -TOUCH_MM, obstacle.surface, in_place)
    line = _near(line, obstacle.solid, tightest + half + 2.0 * distance_mm)
    t, here = 0.0, tightest
    # what is left of the way is clear where the air here is more than that
    while tightest > -TOUCH_MM and t < distance_mm and here < distance_mm - t:
        t = min(distance_mm, t + max(here, TOUCH_MM))
        # a piece that is held back passes a solid as one in its place passes one that is farther on
        budget.take(len(line.segments))
        here = least_distance(line, moved(obstacle.solid, scale(way, t))).distance_mm - half
        if here < tightest:
            tightest, where = here, t
    return PathMargin(obstacle.name, tightest, where, tightest > -TOUCH_MM, obstacle.surface, in_place)


def _near(line: Centreline, solid: Obstacle | Wall, within_mm: float) -> Centreline:
    """The straights and arcs that may be nearer to the solid than that."""
    probe = probe_of(solid)
    near = []
    for part in line.segments:
        half_length = 0.5 * (part.end_s - part.start_s)
        if probe(*part.point_at(part.start_s + half_length))[0] - half_length <= within_mm:
            near.append(part)
    return Centreline(tuple(near), line.end_frame) if near else line


class Swing(msgspec.Struct, frozen=True):
    """A full turn of a piece: what is in its way ('' nothing), and the radius that it sweeps, conduit included (mm)."""

    blocked_by: str
    radius_mm: float


def swing(
    piece: BentPiece, start: Frame, end: HookEnd, obstacles: Sequence[Solid], budget: Budget | None = None
) -> Swing:
    """What a piece that goes in at `start` meets while it is turned once about the axis of one of its ends. It is free
    where 10 mm of air are left all around; what cannot be shown to clear in 600 looks counts as in the way. `budget`:
    where each part that is held against a thing counts."""
    whole, budget = line_of(piece, start), budget or Budget(0)
    at = start if end == "A" else whole.end_frame
    half = 0.5 * piece.outside_diameter_mm
    if not piece.bends:
        return Swing("", half)
    line = _beyond(whole, end)
    points = _outline(line)
    heights = [dot(sub(p, at.origin), at.axis) for p in points]
    reach = max(norm(_off_axis(p, at)) for p in points)
    spine = Line(0.0, max(heights) - min(heights), at.advanced(min(heights)))
    drum = Centreline((spine,), spine.frame)
    looks = 0
    for thing in sorted(obstacles, key=lambda o: not o.surface):
        if isinstance(thing.solid, HalfSpace):
            if _least_height(points, at, thing.solid) - half < TURNING_ROOM_MM:
                return Swing(thing.name, reach + half)
            continue
        if isinstance(thing.solid, Cylinder) and _far(thing.solid, spine) > reach + half + TURNING_ROOM_MM:
            continue
        budget.take(1)
        if least_distance(drum, thing.solid).distance_mm - reach - half >= TURNING_ROOM_MM:
            continue
        phi = 0.0
        while phi < 2.0 * pi:
            turned = Frame(
                add(at.origin, rotate(sub(start.origin, at.origin), at.axis, phi)),
                rotate(start.axis, at.axis, phi),
                rotate(start.normal, at.axis, phi),
            )
            budget.take(len(whole.segments))
            air = least_distance(_beyond(line_of(piece, turned), end), thing.solid).distance_mm - half
            looks += 1
            if air < TURNING_ROOM_MM or looks > LOOKS_OF_A_TURN:
                return Swing(thing.name, reach + half)
            phi += air / reach
    return Swing("", reach + half)


def _beyond(line: Centreline, end: HookEnd) -> Centreline:
    """What goes around: the straight at the end itself turns on the spot."""
    first, last = line.segments[0], line.segments[-1]
    if end == "A" and isinstance(first, Line):
        return Centreline(line.segments[1:], line.end_frame)
    if end == "B" and isinstance(last, Line):
        return Centreline(line.segments[:-1], last.frame)
    return line


def _far(bar: Cylinder, spine: Line) -> float:
    """A bound under the distance between a bar and a straight, from their middles alone."""
    middle = scale(add(bar.start, bar.end), 0.5)
    own = hypot(0.5 * distance(bar.start, bar.end), bar.radius_mm)
    length = spine.end_s - spine.start_s
    return distance(middle, along(spine.frame.origin, spine.frame.axis, 0.5 * length)) - own - 0.5 * length


def _off_axis(point: Vec, at: Frame) -> Vec:
    off = sub(point, at.origin)
    return sub(off, scale(at.axis, dot(off, at.axis)))


def _outline(line: Centreline) -> list[Vec]:
    """Points of the axis that bound it to within the sagitta of a twelfth of an arc."""
    out: list[Vec] = []
    for part in line.segments:
        steps = _ARC_PARTS if isinstance(part, Arc) else 1
        out += [part.point_at(part.start_s + (part.end_s - part.start_s) * k / steps) for k in range(steps + 1)]
    return out


def _least_height(points: Sequence[Vec], at: Frame, wall: HalfSpace) -> float:
    """The least height over a wall that any of the points reaches in a full turn about the axis of a frame."""
    tilt = dot(at.axis, wall.normal)
    across = norm(cross(at.axis, wall.normal))
    base = dot(sub(at.origin, wall.point), wall.normal)
    return min(base + dot(sub(p, at.origin), at.axis) * tilt - norm(_off_axis(p, at)) * across for p in points)
