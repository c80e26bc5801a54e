"""How the far end moves when one step of the work is off: the chain's derivative, in closed form.

Notation (end A held still in its fitting)
    E, u        point and axis of end B
    p, q        where bend i begins and ends;  a, b  the axis there
    C, k        centre of the arc and its unit turning axis, k = a x toward
    R, A        radius (mm) and angle (rad) of the bend
    (dE, w)     move of E and small rotation of everything beyond, for one unit of the step

Each bend of the chain is a rigid motion, so a small change there moves everything beyond by a small rigid
motion. The cut length is kept: what an arc takes, the straight beyond it gives.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos
from typing import Literal

import msgspec

from racewright.bends.model import Bend, BentPiece
from racewright.geometry.vector import ZERO, Frame, Vec, along, bent_toward, cross, scale, sub
from racewright.tools.benders import HookEnd

StepKind = Literal["mark", "angle", "roll", "radius", "cut"]
_STEPS: dict[StepKind, str] = {
    "mark": "place of mark {}",
    "angle": "angle at mark {}",
    "roll": "twist at mark {}",
    "radius": "radius at mark {}",
    "cut": "cut at end B",
}


class PlacedBend(msgspec.Struct, frozen=True):
    """One bend in space: frames at both ends of its arc, the arc's centre and turning axis, the bend itself."""

    start: Frame
    end: Frame
    centre: Vec
    pivot: Vec
    toward: Vec
    bend: Bend


class Walk(msgspec.Struct, frozen=True):
    """A piece in space: its bends in order and the frame at end B."""

    bends: tuple[PlacedBend, ...]
    end: Frame


class Column(msgspec.Struct, frozen=True):
    """One step's effect on end B per unit (mm or rad): `move` of the point, `turn` of the direction."""

    kind: StepKind
    number: int
    move: Vec
    turn: Vec

    @property
    def step(self) -> str:
        """'place of mark 2', 'angle at mark 2', 'twist at mark 2', 'cut at end B'."""
        return _STEPS[self.kind].format(self.number)


def walk(piece: BentPiece, start: Frame | None = None) -> Walk:
    """Follow the piece from end A. Straights may come out negative while a solver tries things."""
    frame = start if start is not None else Frame()
    bends = []
    at = 0.0
    for bend in piece.bends:
        frame = frame.advanced(bend.arc_start_mm - at)
        toward = frame.toward(bend.roll_rad)
        end = bent_toward(frame, toward, bend.radius_mm, bend.angle_rad, cos(bend.roll_rad))
        centre = along(frame.origin, toward, bend.radius_mm)
        bends.append(PlacedBend(frame, end, centre, cross(frame.axis, toward), toward, bend))
        frame, at = end, bend.arc_end_mm
    return Walk(tuple(bends), frame.advanced(piece.cut_length_mm - at))


def frame_at(walked: Walk, station_mm: float, start: Frame | None = None) -> Frame:
    """The axis and its direction at a material station from end A."""
    frame = start if start is not None else Frame()
    at = 0.0
    for placed in walked.bends:
        bend = placed.bend
        if station_mm <= bend.arc_start_mm:
            break
        if station_mm < bend.arc_end_mm:
            return placed.start.bent(bend.radius_mm, (station_mm - bend.arc_start_mm) / bend.radius_mm, bend.roll_rad)
        frame, at = placed.end, bend.arc_end_mm
    return frame.advanced(station_mm - at)


def point_at(walked: Walk, station_mm: float, start: Frame | None = None) -> Vec:
    """The axis at a material station from end A."""
    return frame_at(walked, station_mm, start).origin


def mark_column(placed: PlacedBend) -> tuple[Vec, Vec]:
    """The arc moves along the material: the straight before grows, the one beyond shrinks. dE = a - b, w = 0."""
    return sub(placed.start.axis, placed.end.axis), ZERO


def angle_column(placed: PlacedBend, end: Vec, hook: HookEnd) -> tuple[Vec, Vec]:
    """The bend opens or closes while the hook-side tangent point stays.
    Hook toward A: dE = k x (E - C) - R b; toward B: dE = k x (E - C) - R a; w = k."""
    stays = placed.end.axis if hook == "A" else placed.start.axis
    swing = cross(placed.pivot, sub(end, placed.centre))
    return sub(swing, scale(stays, placed.bend.radius_mm)), placed.pivot


def twist_column(placed: PlacedBend, end: Vec) -> tuple[Vec, Vec]:
    """The bend and all beyond it turn about the axis where it begins. dE = a x (E - p), w = a."""
    return cross(placed.start.axis, sub(end, placed.start.origin)), placed.start.axis


def roll_column(placed: PlacedBend, end: Vec) -> tuple[Vec, Vec]:
    """The plane of this bend alone turns about the axis there: each plane is sighted on the bend made first, or on a
    line drawn on the conduit. dE = a x (E - p) - b x (E - q), w = a - b."""
    move = cross(placed.start.axis, sub(end, placed.start.origin))
    back = cross(placed.end.axis, sub(end, placed.end.origin))
    return sub(move, back), sub(placed.start.axis, placed.end.axis)


def point_move(placed: PlacedBend, kind: Literal["start", "angle", "roll"], station_mm: float, point: Vec) -> Vec:
    """How the axis at a material station (`point`) moves for one unit of a bend's start, angle or roll, its arc's start
    kept where the angle changes. Before the bend nothing moves; within its arc the station rides on the circle."""
    bend = placed.bend
    if station_mm <= bend.arc_start_mm:
        return ZERO
    if station_mm < bend.arc_end_mm:
        if kind == "angle":
            return ZERO
        here = placed.start.bent(bend.radius_mm, (station_mm - bend.arc_start_mm) / bend.radius_mm, bend.roll_rad)
        if kind == "start":
            return sub(placed.start.axis, here.axis)
        return cross(placed.start.axis, sub(point, placed.start.origin))
    if kind == "start":
        return mark_column(placed)[0]
    return angle_column(placed, point, "A")[0] if kind == "angle" else roll_column(placed, point)[0]


def end_columns(piece: BentPiece, hooks: Sequence[HookEnd] = (), *, first: int = 1) -> tuple[Column, ...]:
    """Every step of the work and what it does to end B: marks, angles, rolls (but that of bend `first`, counted from 1
    along the conduit: it is made first, and the others are sighted on it), the cut. `hooks`: which end each bend's hook
    faces, all 'A' unless told."""
    walked = walk(piece)
    end = walked.end.origin
    out: list[Column] = []
    for i, placed in enumerate(walked.bends):
        hook: HookEnd = hooks[i] if i < len(hooks) else "A"
        out.append(Column("mark", i + 1, *mark_column(placed)))
        out.append(Column("angle", i + 1, *angle_column(placed, end, hook)))
        if i + 1 != first:
            out.append(Column("roll", i + 1, *roll_column(placed, end)))
    out.append(Column("cut", 0, walked.end.axis, ZERO))
    return tuple(out)
