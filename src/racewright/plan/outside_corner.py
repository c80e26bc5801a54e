"""Whether the bend around an outside corner clears it, and how far off the walls it would.

Notation (lengths mm, the angle A of the turn is that between the normals of the two walls)
    s1, s2   heights of the conduit's axis over the wall before the turn and over the wall behind it
    R, d     radius of the bend, half the conduit's diameter; q = R - d is the radius of its inner side
    h1, h2   how deep the bend's center lies below the two walls: R - s1, R - s2
The edge is sqrt(h1^2 + h2^2 - 2 h1 h2 cos A) / sin A from the center, and clears where that is q at most. So the
greatest h2 is h1 cos A + sin A sqrt(q^2 - h1^2); with equal heights h is q cos(A/2).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, sin, sqrt

import msgspec

from racewright.errors import Finding
from racewright.geometry.chain import Arc, Centreline, CornerFit
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import HalfSpace, OutsideCorner
from racewright.geometry.vector import Frame, cross, dot, norm, sub
from racewright.route.model import Route
from racewright.survey.model import Survey
from racewright.survey.model import Turn as SurveyTurn
from racewright.units.said import said, said_least

#: A wall's edge is no knife: rounded by 3/4 in it stands back from its sharp corner by 5/16 in at a right angle (mm;
#: common practice, no source). What lies deeper inside cannot be built.
EDGE_RADIUS_MM = 19.05
SET_BACK_MM = EDGE_RADIUS_MM * (sqrt(2.0) - 1.0)
#: What a hand presses a conduit aside with its straps (mm; common practice, no source).
PRESSED_MM = 0.5
#: The bend lies in the corner's own plane within this (sine).
_IN_PLANE = 1e-6


class Cut(msgspec.Struct, frozen=True):
    """A corner that the run lies inside, by how much (the clearance, below 0), and what is said of it."""

    clearance_mm: float
    finding: Finding


class _Corner(msgspec.Struct, frozen=True):
    turn: SurveyTurn
    before: HalfSpace
    behind: HalfSpace
    bend: int


def cut_corners(survey: Survey, route: Route, fit: CornerFit, run: Centreline, half_mm: float) -> Iterator[Cut]:
    """Every outside corner that the run lies inside. `half_mm`: of the conduit's diameter."""
    for corner in _corners(survey, route):
        start = fit.turns[corner.bend].arc_start_mm
        arc = next(s for s in run.segments if isinstance(s, Arc) and abs(s.start_s - start) < 1e-6)
        line = Centreline((arc,), arc.frame_at(arc.end_s))
        clear = least_distance(line, OutsideCorner(faces=(corner.before, corner.behind))).distance_mm - half_mm
        if clear < -PRESSED_MM:
            yield Cut(clear, _finding(survey, corner, arc, clear, half_mm))


def _corners(survey: Survey, route: Route) -> Iterator[_Corner]:
    """The turns toward, with the walls that meet there and their places among the run's bends."""
    faces = [HalfSpace(point=point, normal=normal) for point, normal in route.surfaces]
    fields = [corner.field for corner in route.corners]
    wall = 0
    for turn in survey.turns:
        if turn.way in ("away", "toward"):
            wall += 1
        if turn.way == "toward":
            yield _Corner(turn, faces[wall - 1], faces[wall], fields.index(turn.field))


def _finding(survey: Survey, corner: _Corner, arc: Arc, clear_mm: float, half_mm: float) -> Finding:
    number = survey.turns.index(corner.turn) + 1
    return Finding(
        rule="run.corner",
        severity="problem" if -clear_mm > SET_BACK_MM else "caution",
        message=f"turn {number}: the bend lies {said(-clear_mm)} inside the outside corner that it goes around."
        + _remedy(survey, corner, arc, half_mm),
        citation="geometry",
        where=f"turn {number}",
        measured=clear_mm,
        allowed=-PRESSED_MM,
        unit="mm",
    )


def _remedy(survey: Survey, corner: _Corner, arc: Arc, half_mm: float) -> str:
    came, goes = arc.frame_at(arc.start_s), arc.frame_at(arc.end_s)
    edge = cross(corner.before.normal, corner.behind.normal)
    tilt = max(abs(dot(came.axis, edge)), abs(dot(goes.axis, edge)), abs(dot(came.axis, corner.before.normal)))
    if tilt > _IN_PLANE or norm(edge) < _IN_PLANE:
        return " Bring it around the corner square to the edge, on its wall before and behind; or set a box there."
    inner, angle = arc.radius_mm - half_mm, corner.turn.angle_rad
    before = _height(came, corner.before)
    deep = arc.radius_mm - before
    gap = inner - deep * cos(angle) - sin(angle) * sqrt(max(0.0, inner * inner - deep * deep))
    each = inner * (1.0 - cos(0.5 * angle))
    both = f" Or {said_least(each)} from wall to conduit on both walls ("
    both += "stand_off)." if corner.turn.gap_mm is None else "stand_off, and gap at the turn)."
    now = before - half_mm
    lies = f", where the conduit lies {said(now)} off the wall before it" if now > PRESSED_MM else ""
    plain = abs(now - survey.stand_off_mm) < PRESSED_MM
    return f" It clears with a gap of {said_least(gap)} behind the turn{lies}.{both if plain else ''}"


def _height(at: Frame, wall: HalfSpace) -> float:
    return dot(sub(at.origin, wall.point), wall.normal)
