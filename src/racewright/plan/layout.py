"""Laying out a run: from the survey to its corners in the room, and from corners to straights and arcs."""

from __future__ import annotations

import re
from itertools import pairwise
from math import atan2, tan

import msgspec

from racewright.bends import roles
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import Raceway, find_raceway
from racewright.errors import InputError, LimitError, about
from racewright.geometry.chain import CornerFit, corners_to_turns
from racewright.geometry.vector import cross, dot, norm, sub, unit
from racewright.route.model import BendLimits, Route
from racewright.route.walk import route_survey
from racewright.survey.model import EndFitting, Survey
from racewright.tools.benders import BenderProfile, radius_only_profile
from racewright.units.said import said_least, said_most


class LaidOut(msgspec.Struct, frozen=True):
    """A routed run: its raceway, the shoe (a stand-in where nothing is bent), what the shoe needs, how far the conduit
    goes into each end's fitting, and the corners."""

    raceway: Raceway
    shoe: BenderProfile
    limits: BendLimits
    inserts_mm: tuple[float, float]
    route: Route

    def turned(self) -> CornerFit:
        """The straights and arcs. Raises LimitError where arcs have no room, in the survey's words."""
        return _turns(self.route, self.shoe)


def lay_out(survey: Survey, bender: BenderProfile | None) -> LaidOut:
    """The corners of a surveyed run. Raises InputError or LimitError where there is no run to lay out."""
    with about("run.raceway"):
        raceway = find_raceway(survey.raceway_type, survey.trade_size)
    with about("run.start.fitting"):
        insert_a = _insertion(survey.start, raceway)
    with about("run.end.fitting"):
        insert_b = _insertion(survey.end, raceway)
    shoe = bender or _no_shoe(survey, raceway)
    limits = BendLimits(shoe.radius_mm, shoe.least_straight_mm)
    route = route_survey(survey, raceway, limits, insert_a_mm=insert_a, insert_b_mm=insert_b)
    return LaidOut(raceway, shoe, limits, (insert_a, insert_b), route)


def _no_shoe(survey: Survey, raceway: Raceway) -> BenderProfile:
    """Stands in where nothing is bent: none of its figures reaches the plan. Raises InputError where something is."""
    if not survey.straight:
        raise InputError(f"no bender for {raceway.name} was given.", hint="name one, or give the bend's radius")
    return radius_only_profile(raceway, raceway.outside_diameter_mm)


def _insertion(end: EndFitting, raceway: Raceway) -> float:
    fitting = find_fitting(end.kind, raceway)
    return fitting.insertion_mm if end.insertion_mm is None else end.insertion_mm


def _turns(route: Route, bender: BenderProfile) -> CornerFit:
    """Corners to turns; where arcs have no room the error names what stands too close, in the survey's words."""
    try:
        fit = corners_to_turns(route.points, bender.radius_mm)
    except LimitError as err:
        why, field = _too_close(route, bender)
        raise LimitError(
            why or err.message,
            hint="move them apart, use flatter angles, or go another way round",
            quantity=err.quantity,
            asked=err.asked,
            limit=err.limit,
            unit=err.unit,
            field=field,
        ) from None
    if len(fit.turns) != len(route.corners):
        raise LimitError(
            "two bends of the run cancel each other: one of its corners lies in a straight line.",
            hint="leave one of the two features out of the survey",
        )
    return fit


#: A bend of a shape that has several, by its role.
_WHICH = {
    roles.OFFSET_FIRST: "the first bend of {}",
    roles.OFFSET_SECOND: "the second bend of {}",
    roles.SADDLE_OUTER: "an outer bend of {}",
    roles.SADDLE_CENTER: "the middle bend of {}",
    roles.SADDLE_FOUR: "a bend of {}",
}


def _too_close(route: Route, bender: BenderProfile) -> tuple[str, str]:
    """What has no room between two corners, and the survey's field of the one behind."""
    points = route.points
    units = [unit(sub(b, a)) for a, b in pairwise(points) if norm(sub(b, a)) > 1e-9]
    if len(units) != len(points) - 1:
        return "two corners of the run fall on one point.", ""
    setback = [bender.radius_mm * tan(atan2(norm(cross(u, v)), dot(u, v)) / 2.0) for u, v in pairwise(units)]
    names = ["end A", *(_WHICH.get(c.role, "{}").format(c.shape) for c in route.corners), "end B"]
    for i, (a, b) in enumerate(pairwise(points)):
        need = (setback[i - 1] if i else 0.0) + (setback[i] if i < len(setback) else 0.0)
        have = norm(sub(b, a))
        if have < need - 1e-9 * have:
            corner = route.corners[min(i, len(route.corners) - 1)]
            return (
                f"{_leg(route, i)}: between {names[i]} and {names[i + 1]} the bends need {said_least(need)} of run,"
                f" and {said_most(have)} is there.",
                corner.field,
            )
    return "", ""


def _leg(route: Route, stretch: int) -> str:
    """The leg of the walk that the stretch before this corner (from 0; the last: before end B) lies on."""
    behind = route.corners[stretch].field if stretch < len(route.corners) else ""
    number = re.search(r"walk\[(\d+)\]", behind or route.corners[-1].field)
    at = int(number[1]) if number else 0
    return f"leg {(at + 1) // 2 + (not behind or at % 2 == 0)}"
