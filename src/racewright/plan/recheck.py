"""What a run, or a piece of it as it is or will be, leaves free of what it goes past, and what stands against it.

The plan asks for its run, `remark` and `tweak` ask for a piece whose bends are made otherwise than planned: one check.
The run must not meet itself either. A thing that the run goes past wants the room that its survey asks for. A wall
wants none: the run lies on it, and goes behind it only where it hits it. A wall that the plan itself goes behind ends
somewhere, and the survey does not say where: of it nothing more is said than that.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.bends.model import BentPiece
from racewright.errors import Finding, Severity
from racewright.fit.accuracy import Tolerance
from racewright.fit.room import UNSEEN_MM, OfRun, Surroundings, Thing
from racewright.fit.way_in import Solid
from racewright.geometry.chain import Centreline
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import HalfSpace, OutsideCorner, Wall
from racewright.plan.meets_itself import RULE as MEETS_ITSELF
from racewright.plan.meets_itself import meets_itself, whole_run
from racewright.plan.model import ObstacleView, Plan, PlannedPiece, SurfaceView
from racewright.plan.outside_corner import PRESSED_MM, Cut
from racewright.plan.slant import slant
from racewright.route.model import PlacedObstacle, Route
from racewright.survey.model import Survey
from racewright.units.tape import TapeStyle, format_length

#: Clearances that differ by less are equal (mm): what the search for the nearest point promises.
SAME_MM = 1e-6
#: Things further away (mm) are none that a piece goes past.
NEAR_MM = 300.0
#: What a bent piece may miss of the room that is wanted and still keeps it (mm; 1/8 in, common practice, no source),
#: never more than half of it; and how much deeper than planned it may be pressed into a wall.
_LESS_MM = 3.175
_DEEPER_MM = Tolerance().length_mm


class Rechecked(msgspec.Struct, frozen=True, kw_only=True):
    """What a piece leaves free, and what is wrong with it. `left_mm`: to each obstacle and then to each surface of the
    plan; `not_checked`: in words."""

    left_mm: tuple[float, ...]
    findings: tuple[Finding, ...]
    not_checked: tuple[str, ...]


def obstacle_views(run: Centreline, half_mm: float, placed: Sequence[PlacedObstacle]) -> tuple[ObstacleView, ...]:
    """What the planned run goes past, with the room that it leaves. `half_mm`: of the conduit's diameter."""
    views = []
    for thing in placed:
        nearest = least_distance(run, thing.solid)
        views.append(
            ObstacleView(
                name=thing.name,
                solid=thing.solid,
                wanted_mm=thing.wanted_mm,
                clearance_mm=nearest.sure_mm - half_mm,
                at=thing.at,
                nearest=nearest.point,
            )
        )
    return tuple(views)


def standing(obstacles: Sequence[ObstacleView], surfaces: Sequence[SurfaceView]) -> list[Solid]:
    """All that stands around a run, for what is moved past it."""
    solids = [Solid(name=o.name, solid=o.solid) for o in obstacles]
    return [*solids, *(Solid(name=wall.name, solid=wall.solid, surface=True) for wall in surfaces)]


def surface_views(run: Centreline, half_mm: float, survey: Survey, route: Route) -> tuple[SurfaceView, ...]:
    """The surfaces behind the planned run. Those that meet at an outside corner end there, and are one."""
    faces = iter([HalfSpace(point=point, normal=normal) for point, normal in route.surfaces])
    walls: list[tuple[list[HalfSpace], list[int]]] = [([next(faces)], [1])]
    for leg, turn in enumerate(survey.turns, start=2):
        if turn.way == "away":
            walls.append(([next(faces)], []))
        elif turn.way == "toward":
            walls[-1][0].append(next(faces))
        walls[-1][1].append(leg)
    views = []
    for wall, legs in walls:
        solid: Wall = wall[0] if len(wall) == 1 else OutsideCorner(faces=tuple(wall))
        clear = least_distance(run, solid).sure_mm - half_mm
        what = "surface behind" if len(wall) == 1 else "outside corner of"
        views.append(SurfaceView(name=f"the {what} {_legs(legs)}", solid=solid, clearance_mm=clear))
    return tuple(views)


def _legs(legs: Sequence[int]) -> str:
    if len(legs) == 1:
        return f"leg {legs[0]}"
    return f"legs {legs[0]} {'and' if len(legs) == 2 else 'to'} {legs[-1]}"


def planned_findings(
    obstacles: Sequence[ObstacleView], surfaces: Sequence[SurfaceView], cuts: Sequence[Cut], tape: TapeStyle
) -> tuple[Finding, ...]:
    """What the planned run hits or passes too close. `cuts`: the outside corners that it lies inside; of their walls
    nothing more is said where the run lies nowhere deeper."""
    found = [_clearance(view, view.clearance_mm, tape) for view in obstacles]
    deepest = min((cut.clearance_mm for cut in cuts), default=0.0)
    for view in surfaces:
        if isinstance(view.solid, HalfSpace) or view.clearance_mm < deepest - SAME_MM:
            found.append(_behind(view, view.clearance_mm, -PRESSED_MM, "caution", tape))
    return (*(cut.finding for cut in cuts), *(finding for finding in found if finding))


def surroundings(plan: Plan, piece: PlannedPiece) -> Surroundings:
    """What stands around a piece of a plan, and how much room it is to leave: to an obstacle what the survey wants, or
    what the plan leaves where it runs into it, to a wall what the plan leaves; and the rest of its run. Walls that the
    plan goes behind, and a run that the plan has meet itself, ask for nothing."""
    half = piece.outside_diameter_mm / 2.0
    things = []
    for o in plan.obstacles:
        deep = least_distance(piece.centreline, o.solid).sure_mm - half if o.clearance_mm < -SAME_MM else 0.0
        own = Thing(o.solid, deep, _DEEPER_MM)
        things.append(own if deep < -SAME_MM else Thing(o.solid, o.wanted_mm, min(0.5 * o.wanted_mm, _LESS_MM)))
    for view in plan.surfaces:
        planned = least_distance(piece.centreline, view.solid).sure_mm - half
        told = view.clearance_mm >= -PRESSED_MM
        things.append(Thing(view.solid, min(0.0, planned), _DEEPER_MM, judged=told))
    run = whole_run(plan.pieces, plan.joints, plan.conduit, plan.shapes)
    judged = all(finding.rule != MEETS_ITSELF for finding in plan.findings)
    return Surroundings(piece.frame, tuple(things), OfRun(run, plan.pieces.index(piece), judged=judged))


def recheck(plan: Plan, piece: PlannedPiece, now: BentPiece) -> Rechecked:
    """The piece of the plan as it is or will be (`now`), with end A in its fitting, held to what the plan is held to.
    An obstacle that is passed too close, by no more than a bent piece may be off, is a caution; a hit is a problem.
    What no tape shows beyond that is no problem: the marks are read on one."""
    around = surroundings(plan, piece)
    if not around.possible(now):
        return Rechecked(left_mm=(), findings=(), not_checked=("What the conduit goes over: its bends overlap.",))
    left, count = around.left_mm(now), len(plan.obstacles)
    unseen_mm = max(UNSEEN_MM, float(plan.tape.step_mm) / 2.0)
    found: list[Finding | None] = []
    for view, clear, thing in zip(plan.obstacles, left, around.things, strict=False):
        if clear < max(view.wanted_mm - UNSEEN_MM, 0.0):
            least = max(view.wanted_mm - thing.give_mm - unseen_mm, -unseen_mm)
            found.append(_clearance(view, clear, plan.tape, least))
    unknown = []
    for wall, clear, thing in zip(plan.surfaces, left[count:], around.things[count:], strict=True):
        if thing.judged:
            least = thing.wanted_mm - thing.give_mm
            severity: Severity = "caution" if clear >= least - unseen_mm else "problem"
            found.append(_behind(wall, clear, least, severity, plan.tape))
        else:
            unknown.append(f"{wall.name[0].upper()}{wall.name[1:]}: the plan itself goes behind it.")
    if around.of_run is not None:
        now_run = around.of_run.run.with_piece(around.of_run.number, now)
        found += meets_itself(now_run, plan.tape, remedy=False)
    found.append(slant(plan, piece, now))
    if not plan.surfaces:
        unknown.append("Walls: the plan was written before they stood in it.")
    return Rechecked(left_mm=left, findings=tuple(f for f in found if f), not_checked=tuple(unknown))


def room_words(plan: Plan, checked: Rechecked) -> tuple[str, ...]:
    """One sentence on the room to what the piece goes past; none where nothing is near, or all near is hit."""
    found = zip(plan.obstacles, checked.left_mm, strict=False)
    near = [f"{format_length(left, plan.tape)} to {view.name}" for view, left in found if 0.0 <= left < NEAR_MM]
    return (f"Room left: {', '.join(near)}.",) if near else ()


def against_the_run(plan: Plan, left_out: Sequence[tuple[str, str]] = ()) -> tuple[Finding, ...]:
    """The problems that the plan of the run has, but for its clearances, which `recheck` tells anew; `left_out`: rules
    and places that are looked at anew as well."""
    anew = {"run.clearance", "run.surface", MEETS_ITSELF}
    return tuple(
        finding
        for finding in plan.findings
        if finding.severity == "problem" and finding.rule not in anew and (finding.rule, finding.where) not in left_out
    )


def _clearance(view: ObstacleView, clear_mm: float, tape: TapeStyle, least_mm: float | None = None) -> Finding | None:
    """`least_mm`: what a bent piece leaves at least for a caution; None: less than is wanted is a problem."""
    if clear_mm >= view.wanted_mm - SAME_MM:
        return None
    near: Severity = "problem" if least_mm is None or clear_mm < least_mm - SAME_MM else "caution"
    wanted = f"{format_length(view.wanted_mm, tape)} wanted"
    if clear_mm < -SAME_MM and near == "caution":
        how = f"comes to touch it, by less than {format_length(tape.step_mm, tape)}: {wanted}"
    elif clear_mm < -SAME_MM:
        how = f"runs into it, {format_length(-clear_mm, tape)} deep: {wanted}"
    else:
        how = f"passes too close: {format_length(clear_mm, tape)} left, {wanted}"
    return Finding(
        rule="run.clearance",
        severity=near,
        message=f"{view.name}: the conduit {how}.",
        citation="geometry",
        where=view.name,
        measured=clear_mm,
        allowed=view.wanted_mm,
        unit="mm",
    )


def _behind(view: SurfaceView, clear_mm: float, least_mm: float, severity: Severity, tape: TapeStyle) -> Finding | None:
    """A wall that is gone behind: less than `least_mm` is left."""
    if clear_mm >= least_mm - SAME_MM:
        return None
    inside = format_length(-clear_mm, tape)
    return Finding(
        rule="run.surface",
        severity=severity,
        message=f"the conduit would lie {inside} inside {view.name}, if that goes on so far.",
        citation="geometry",
        where=view.name,
        measured=clear_mm,
        allowed=least_mm,
        unit="mm",
    )
