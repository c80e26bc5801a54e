"""Plan -> tubes in space, for the writers of model files."""

from __future__ import annotations

from racewright.cards.words import REFERENCE_SHORT, along_conduit, reading
from racewright.exports.tubes import Pencil, Solid, Tube, TubeRun
from racewright.plan.model import Plan


def tubes_of(plan: Plan, key: str = "", area: str = "") -> TubeRun:
    """The pieces of a run where they will hang, with their pencil marks, and what the run goes past.

    `key`: the run's short name, the run's name where there is none. Marks off the finished piece (a shoe's mark may
    lie beyond an end) are left out.
    """
    tubes = []
    for piece in plan.pieces:
        marks = tuple(
            Pencil(b.mark_mm, f"({b.number}) {reading(b.mark_tape, plan.tape)} {REFERENCE_SHORT[b.reference]}")
            for b in along_conduit(piece)
            if 0.0 <= b.mark_mm <= piece.cut_length_mm
        )
        tubes.append(
            Tube(
                name=piece.label,
                raceway=plan.raceway,
                centreline=piece.centreline,
                outside_diameter_mm=piece.outside_diameter_mm,
                inside_diameter_mm=plan.conduit.inside_diameter_mm,
                marks=marks,
            )
        )
    solids = tuple(Solid(o.name, o.solid) for o in plan.obstacles)
    return TubeRun(key=key or plan.name, name=plan.name, area=area, tubes=tuple(tubes), solids=solids)
