"""With how much clearance a snug saddle goes straight in past what it goes over, where it hits that on its way.

A piece that is pushed in is held back first, and the slope of its saddle then lies nearer to the thing. More clearance
lifts the whole saddle. The least is found by laying the run out again, at readings of the survey's tape, up to the
depth that the piece goes in by: lifted by that, no slope comes nearer than it is in its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from msgspec.structs import replace

from racewright.assembly.part import Part
from racewright.assembly.put_up import PutUp, put_up, why_not
from racewright.budget import LAID_AGAIN_BENDS
from racewright.errors import Finding, RacewrightError
from racewright.geometry.chain import Centreline
from racewright.plan.cut_run import bent_run, cut_run
from racewright.plan.layout import lay_out
from racewright.plan.recheck import obstacle_views, standing, surface_views
from racewright.route.model import PlacedObstacle
from racewright.survey.model import Saddle, Survey
from racewright.tools.benders import BenderProfile
from racewright.units.tape import format_length


def with_more_clearance(
    up: PutUp,
    survey: Survey,
    bender: BenderProfile | None,
    placed: Sequence[PlacedObstacle],
    parts: Sequence[Part],
) -> PutUp:
    """How a run is put up; what is said of a piece that hits what one of its saddles goes over, with the clearance that
    would do. Of a run of many bends (`LAID_AGAIN_BENDS`) that is not looked for."""
    if sum(len(part.piece.bends) for part in parts) > LAID_AGAIN_BENDS:
        return up
    findings = tuple(_with_clearance(f, survey, bender, placed, parts) for f in up.findings)
    if findings == up.findings:
        return up
    return PutUp(up.joints, replace(up.assembly, why=why_not(findings)), findings)


def _with_clearance(
    finding: Finding,
    survey: Survey,
    bender: BenderProfile | None,
    placed: Sequence[PlacedObstacle],
    parts: Sequence[Part],
) -> Finding:
    if finding.rule != "assembly.path":
        return finding
    name = finding.values["hits"]
    field = next((o.field for o in placed if o.name == name), "")
    saddle = next((f for leg in survey.legs for f in leg.features if f.field == field), None)
    if not isinstance(saddle, Saddle) or saddle.rise_mm is not None:
        return finding
    least = least_clearance_mm(survey, bender, saddle, name, max(depth for part in parts for depth in part.inserts_mm))
    if least is None:
        return finding
    now, more = (format_length(value, survey.tape) for value in (saddle.clearance_mm, least))
    words = f"With a clearance of {more} over {saddle.label} ({now} now) it goes straight in past it."
    return replace(finding, message=f"{finding.message} {words}")


def least_clearance_mm(
    survey: Survey, bender: BenderProfile | None, saddle: Saddle, name: str, depth_mm: float
) -> float | None:
    """The least reading of the tape with which nothing that is pushed in hits the thing of this name; None where not
    even the whole depth more does."""
    step = float(survey.tape.step_mm)
    now = int(saddle.clearance_mm / step + 1e-6)

    def does(steps: int) -> bool:
        return not _hits(_lifted(survey, saddle, (now + steps) * step), bender, name)

    low, high = 0, ceil(depth_mm / step)
    if not does(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if does(middle) else (middle, high)
    return (now + high) * step


def _lifted(survey: Survey, saddle: Saddle, clearance_mm: float) -> Survey:
    legs = tuple(
        replace(
            leg,
            features=tuple(
                replace(f, clearance_mm=clearance_mm) if isinstance(f, Saddle) and f.field == saddle.field else f
                for f in leg.features
            ),
        )
        for leg in survey.legs
    )
    return replace(survey, legs=legs)


def _hits(survey: Survey, bender: BenderProfile | None, name: str) -> bool:
    """Whether a piece of the run, put up in its best order, hits the thing on its straight way in."""
    try:
        laid = lay_out(survey, bender)
        fit = laid.turned()
        run = bent_run(laid.raceway, laid.route, fit)
        cut = cut_run(survey, laid.raceway, laid.shoe, run, fit.frame, laid.inserts_mm)
    except RacewrightError:
        return True
    line, half = Centreline.from_turns(fit.length_mm, fit.turns, fit.frame), 0.5 * run.outside_diameter_mm
    solids = standing(obstacle_views(line, half, laid.route.obstacles), surface_views(line, half, survey, laid.route))
    told = put_up(survey, laid.raceway, cut.parts, cut.joints, solids).findings
    return any(f.rule == "assembly.path" and f.values["hits"] == name for f in told)
