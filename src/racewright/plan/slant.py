"""Whether a leg that ran straight in the plan comes to slant where its piece is made otherwise than planned.

A leg is straight where it runs along one of the room's three directions (level, plumb or square to a wall), or lies
along a surface that it is strapped to. What slants by design, an offset's middle, is held to its surface alone.
"""

from __future__ import annotations

from math import asin, atan2, degrees, hypot, radians, sin
from typing import NamedTuple

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.fit.jacobian import Walk, walk
from racewright.geometry.solids import HalfSpace, Wall
from racewright.geometry.vector import EX, EY, EZ, Vec, cross, dot, even, norm, sub
from racewright.plan.model import Plan, PlannedPiece
from racewright.units.angle import format_angle

RULE = "run.slant"
#: A leg that slants by more is told of; a hand bends to about half of it (own value).
MOST_SLANT_RAD = radians(2.0)
#: A leg is straight in the plan where it is no more than this off.
_STRAIGHT = sin(radians(0.5))
#: Shorter straights are told of by their bends (mm).
_LEAST_MM = 100.0
#: As near to a surface as conduit stands that is strapped to it (mm).
_ON_IT_MM = 150.0


class _Leg(NamedTuple):
    """A straight of a piece after so many of its bends: where it begins, its direction and its length."""

    after: int
    origin: Vec
    axis: Vec
    length_mm: float


def slant(plan: Plan, piece: PlannedPiece, now: BentPiece) -> Finding | None:
    """The leg between two bends of the piece that comes to slant most; None where none does by more than 2°."""
    planned, walked = (_legs(arcs, walk(arcs, piece.frame)) for arcs in (piece.piece, now))
    faces = [face for wall in plan.surfaces for face in _faces(wall.solid)]
    found = [
        (even(by), -old.after)
        for old, new in zip(planned, walked, strict=True)
        if min(old.length_mm, new.length_mm) >= _LEAST_MM and (by := _slants_rad(old, new, faces)) > MOST_SLANT_RAD
    ]
    if not found:
        return None
    by, after = max(found)
    where = f"the leg between marks {-after} and {1 - after}"
    return Finding(
        rule=RULE,
        severity="caution",
        message=f"{where} comes to slant: it runs {format_angle(by)} off its planned line.",
        citation="geometry",
        where=where,
        measured=degrees(by),
        allowed=degrees(MOST_SLANT_RAD),
        unit="deg",
    )


def _legs(arcs: BentPiece, walked: Walk) -> list[_Leg]:
    straights = arcs.straights_mm()
    ends = [(placed.end, straights[k]) for k, placed in enumerate(walked.bends[:-1], 1)]
    return [_Leg(k, end.origin, end.axis, length) for k, (end, length) in enumerate(ends, 1)]


def _faces(solid: Wall) -> tuple[HalfSpace, ...]:
    return (solid,) if isinstance(solid, HalfSpace) else solid.faces


def _slants_rad(old: _Leg, new: _Leg, faces: list[HalfSpace]) -> float:
    """How far a leg comes to run off the line that it was straight on; 0 where the plan has it slant."""
    if any(norm(cross(old.axis, way)) <= _STRAIGHT for way in (EX, EY, EZ)):
        turn = cross(old.axis, new.axis)
        return atan2(hypot(*turn), dot(old.axis, new.axis))
    on = [
        abs(dot(new.axis, face.normal))
        for face in faces
        if abs(dot(old.axis, face.normal)) <= _STRAIGHT
        and abs(dot(sub(old.origin, face.point), face.normal)) < _ON_IT_MM
    ]
    return asin(min(1.0, max(on, default=0.0)))
