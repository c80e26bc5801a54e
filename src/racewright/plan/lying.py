"""How a piece of a plan lies: which way is up at its end A, away from the surface that carries it there."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2

from racewright.geometry.solids import HalfSpace
from racewright.geometry.vector import EZ, Vec, dot, even, sub
from racewright.plan.model import Plan, PlannedPiece

#: A surface that is no more than this (sine) off the conduit's way there goes along it.
_ALONG = 1e-6


def up_roll_rad(plan: Plan, piece: PlannedPiece) -> float:
    """Where up is at end A of the piece, as a bend's roll. Where no surface goes along the conduit there (or the plan
    knows none), that of leg 1 counts, and where the conduit stands square to it, the way that the first bend turns."""
    frame = piece.frame
    found = [
        (even(abs(dot(sub(frame.origin, face.point), face.normal))), index, face.normal)
        for index, face in enumerate(_faces(plan))
        if abs(dot(face.normal, frame.axis)) < _ALONG
    ]
    up: Vec = min(found)[2] if found else EZ
    across, beside = dot(up, frame.normal), dot(up, frame.binormal)
    return atan2(beside, across) if abs(across) + abs(beside) > _ALONG else 0.0


def _faces(plan: Plan) -> Iterator[HalfSpace]:
    for view in plan.surfaces:
        if isinstance(view.solid, HalfSpace):
            yield view.solid
        else:
            yield from view.solid.faces
