"""A run that crosses itself, or touches: which legs meet, where, and what would do.

The fittings between its pieces stand there with their own outside diameters. Runs beside each other are another matter.
"""

from __future__ import annotations

from collections.abc import Sequence

from racewright.assembly.between import fitted
from racewright.assembly.joints import Joint
from racewright.budget import ITSELF, Budget
from racewright.catalogue.fittings import find_fitting, fitting_kinds
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding
from racewright.fit.whole_run import TOUCH_MM, Body, RunPart, WholeRun
from racewright.geometry.itself import Meeting
from racewright.plan.model import PlannedPiece, PlannedShape
from racewright.units.said import said_least
from racewright.units.tape import TapeStyle, format_length

RULE = "run.itself"
#: So many pairs of legs that meet are told one by one (our own choice).
_MOST_TOLD = 4
#: Legs whose directions differ by less than this (sine) lie along each other: no saddle leads over.
_ALONG = 0.5


def whole_run(
    pieces: Sequence[PlannedPiece], joints: Sequence[Joint], conduit: Raceway, shapes: Sequence[PlannedShape]
) -> WholeRun:
    """The planned pieces where they lie, and the fittings between them."""
    parts = [RunPart(piece.piece, piece.frame, piece.run_start_mm) for piece in pieces]
    between = [joint for joint in joints if joint.before is not None and joint.after is not None]
    couplings = [kind for kind in fitting_kinds(conduit) if kind.endswith("coupling")]
    bodies = []
    for joint in between:
        # a union is taken to be as thick and as long as a coupling
        kind = joint.kind if joint.kind in couplings else couplings[0]
        (body,) = fitted([joint], conduit, kind)
        part = (joint.before or 1) - 1
        beyond = joint.at_mm - pieces[part].run_end_mm
        thick = 0.5 * find_fitting("socket coupling" if joint.piston else kind, conduit).outside_diameter_mm
        bodies.append(Body(part, beyond, body.half_mm, thick))
    return WholeRun(parts, bodies, frozenset(shape.first for shape in shapes if shape.kind == "turn" and shape.count))


def meets_itself(run: WholeRun, tape: TapeStyle, *, remedy: bool) -> tuple[Finding, ...]:
    """What is wrong with a run that meets itself. `remedy`: say how another layout would do."""
    budget = Budget(ITSELF)
    found = run.meetings(budget)
    told = [_finding(place, tape, remedy) for place in found[:_MOST_TOLD]]
    more = len(found) - len(told)
    if more > 0:
        legs = "one more pair of legs meets" if more == 1 else f"{more} more pairs of legs meet"
        told.append(Finding(rule=RULE, severity="problem", message=f"{legs} as well.", citation="geometry"))
    if budget.spent:
        message = "whether the run crosses itself anywhere else was not looked at to the end (not proved)."
        told.append(Finding(rule=RULE, severity="caution", message=message, citation="geometry"))
    return tuple(told)


def _finding(place: Meeting, tape: TapeStyle, remedy: bool) -> Finding:
    first, second = place.legs
    legs = f"leg {first}" if first == second else f"legs {first} and {second}"
    at, other = (format_length(station, tape) for station in place.at_mm)
    inside = place.clear_mm < -TOUCH_MM
    if first == second:
        what = f"{legs} {'runs through' if inside else 'touches'} itself"
    else:
        what = f"{legs} {'run through' if inside else 'touch'} each other"
    message = f"{what}: the conduit meets itself {at} and {other} along it from end A."
    return Finding(
        rule=RULE,
        severity="problem",
        message=f"{message} {_remedy(place)}" if remedy else message,
        citation="geometry",
        where=legs,
        measured=place.clear_mm,
        allowed=TOUCH_MM,
        unit="mm",
    )


def _remedy(place: Meeting) -> str:
    apart = said_least(place.halves_mm + TOUCH_MM)
    ways = "other leg lengths, or one leg lifted off by an offset or a gap at its turn"
    if place.crossing >= _ALONG and place.legs[0] != place.legs[1]:
        ways = f"one leg in a saddle over the other, {ways}"
    return f"It clears where the two middle lines pass {apart} apart: {ways}."
