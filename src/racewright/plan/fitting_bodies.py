"""The bodies of a run's expansion fittings where they will hang: the barrel, the piston as far out as it is set, and
the piston's socket. Room coordinates mm.

The outline is the catalogue's; the bare piston is drawn as thick as the conduit (own estimate, common practice, no
source).
"""

from __future__ import annotations

from itertools import pairwise

import msgspec

from racewright.catalogue.fittings import expansion_fitting
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import along, scale
from racewright.plan.model import Plan


class FittingBody(msgspec.Struct, frozen=True, kw_only=True):
    """One expansion fitting: between which pieces, and its round parts from the barrel on."""

    label: str
    parts: tuple[Cylinder, ...]


def expansion_bodies(plan: Plan) -> tuple[FittingBody, ...]:
    """Every expansion fitting between two pieces of a plan, in order from end A."""
    bodies = []
    for joint in plan.joints:
        if joint.piston is None or joint.before is None or joint.after is None:
            continue
        fitting = expansion_fitting(plan.conduit, joint.piston.travel_mm)
        a, b = plan.pieces[joint.before - 1], plan.pieces[joint.after - 1]
        end = a.centreline.end_frame
        # from the face of its first socket to that of its last, seen from the barrel
        at, axis = along(end.origin, end.axis, -fitting.insertion_mm), end.axis
        if joint.piston.barrel == "B":
            at, axis = along(b.frame.origin, b.frame.axis, fitting.insertion_mm), scale(axis, -1.0)
        outer, bare = 0.5 * fitting.outside_diameter_mm, 0.5 * plan.conduit.outside_diameter_mm
        barrel = fitting.length_mm - fitting.insertion_mm
        places = [0.0, barrel, barrel + joint.piston.open_mm, fitting.length_mm + joint.piston.open_mm]
        parts = tuple(
            Cylinder(start=along(at, axis, low), end=along(at, axis, high), radius_mm=radius)
            for (low, high), radius in zip(pairwise(places), (outer, bare, outer), strict=True)
            if high > low
        )
        label = f"{joint.kind} between pieces {joint.before} and {joint.after}"
        bodies.append(FittingBody(label=label, parts=parts))
    return tuple(bodies)
