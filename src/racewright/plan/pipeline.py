"""survey -> route -> bends -> pieces in bending order -> marks -> plan, with what every check found beside it."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees

import msgspec

from racewright.assembly.between import coupling_kind, fitted, straight_moves
from racewright.assembly.joints import with_pistons
from racewright.assembly.put_up import put_up
from racewright.bends.model import BentPiece
from racewright.budget import ADVICE, BENDING, CAN_BE_BENT, CUTTING, ORDERS, RUN, Budget
from racewright.errors import Finding, about
from racewright.geometry.chain import Centreline, CornerFit
from racewright.inspection.check_run import RunCheck, check_planned
from racewright.plan.cut_run import bent_run, cut_run
from racewright.plan.digest import with_digest
from racewright.plan.fitting_in import hand_accuracy, with_forecast
from racewright.plan.handling import Budgets, cannot_be_bent
from racewright.plan.layout import LaidOut, lay_out
from racewright.plan.meets_itself import meets_itself, whole_run
from racewright.plan.model import Plan, PlanChecks, PlannedPiece, PlannedPull, PlannedShape, shoe_of
from racewright.plan.more_clearance import with_more_clearance
from racewright.plan.notes import along_lines, note_blocks
from racewright.plan.outside_corner import cut_corners
from racewright.plan.pieces import Pieces, plan_pieces, with_joints
from racewright.plan.recheck import obstacle_views, planned_findings, standing, surface_views
from racewright.plan.steps import job_steps, plan_cautions
from racewright.plan.thumbs import compare_with_thumb
from racewright.route.model import Route, RoutedShape
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile
from racewright.tools.profile_checks import check_profile
from racewright.units.said import said_in
from racewright.units.tape import format_length

#: The bender's own check says it with the shoe's figures.
_TOLD_ALREADY = ("run.radius",)


class MarkedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run laid out, bent, cut into pieces and marked: what is needed at the bender, and what a plan rests on."""

    laid: LaidOut
    fit: CornerFit
    run: BentPiece
    cut: Pieces


def mark_run(
    survey: Survey,
    bender: BenderProfile | None,
    *,
    other_ways: int = 0,
    budgets: Budgets | None = None,
    work: Budget | None = None,
) -> MarkedRun:
    """The marks of a run, without its checks; `budgets`: what the searches of all pieces may take; `work`: what they
    and the split may take together. Raises as `plan_survey`."""
    work = work or Budget(RUN)
    laid = lay_out(survey, bender)
    fit = laid.turned()
    run = bent_run(laid.raceway, laid.route, fit)
    moves = straight_moves(survey, laid.raceway, laid.route, fit)
    cutting, _ = work.parts(CUTTING, BENDING)
    parts = cut_run(survey, laid.raceway, laid.shoe, run, fit.frame, laid.inserts_mm, moves, cutting)
    budgets = budgets or Budgets(*work.parts(ORDERS, CAN_BE_BENT))
    cut = plan_pieces(survey, laid.shoe, parts, other_ways=other_ways, budgets=budgets)
    return MarkedRun(laid=laid, fit=fit, run=run, cut=cut)


def plan_survey(
    survey: Survey,
    bender: BenderProfile | None,
    *,
    choices: bool = True,
    advice: bool = True,
    shop: Iterable[BenderProfile] = (),
    work: Budget | None = None,
) -> Plan:
    """Plan a surveyed run on a bender; a straight run needs none. `shop`: the person's own benders, told where no order
    works on this one and one does on them.

    `choices` False leaves out what only a card tells: other ways to bend a piece, and the forecast; every finding
    stays. `advice` False leaves out what would work where a piece has no bending order: it is bent already. `work`:
    what the searches for its couplings, its bending orders and what would work may take, where other runs want some
    too.

    Raises InputError or LimitError where there is no run to plan (readings that contradict each other, arcs that
    overlap); everything that can be planned comes back as a plan, with findings for what is wrong with it.
    """
    with said_in(survey.tape), about("run"):
        work = work or Budget(RUN)
        marked = mark_run(survey, bender, other_ways=2 if choices else 0, work=work)
        plan = _planned(survey, bender, marked, choices=choices)
        if bender is None or not advice or not any(cannot_be_bent(f) for f in plan.findings):
            return plan
        # of the few plans that want it
        from racewright.plan.advice import with_advice

        return with_advice(plan, survey, bender, shop, _planned_again, *work.parts(ADVICE))


def _planned_again(survey: Survey, bender: BenderProfile, budget: Budget) -> Plan:
    budgets = Budgets(Budget(ORDERS, budget), Budget(CAN_BE_BENT, budget))
    return _planned(survey, bender, mark_run(survey, bender, budgets=budgets), choices=False)


def _planned(survey: Survey, bender: BenderProfile | None, marked: MarkedRun, *, choices: bool) -> Plan:
    cut, fit = marked.cut, marked.fit
    raceway, route, shoe = marked.laid.raceway, marked.laid.route, marked.laid.shoe
    centreline = Centreline.from_turns(fit.length_mm, fit.turns, fit.frame)
    half = raceway.outside_diameter_mm / 2.0
    obstacles = obstacle_views(centreline, half, route.obstacles)
    surfaces = surface_views(centreline, half, survey, route)
    cuts = tuple(cut_corners(survey, route, fit, centreline, half))
    clash = planned_findings(obstacles, surfaces, cuts, survey.tape)
    bent = [bend.angle_rad for part in cut.parts for bend in part.piece.bends]
    findings = [*(check_profile(bender, raceway, bent) if bender else ()), *route.findings, *clash, *cut.findings]
    up = put_up(survey, raceway, cut.parts, cut.joints, standing(obstacles, surfaces))
    up = with_more_clearance(up, survey, bender, route.obstacles, cut.parts)
    pieces = with_joints(survey, cut.pieces, cut.joints, up.joints)
    if choices:
        pieces = with_forecast(survey, pieces, cut.parts)
    couplings = fitted(up.joints, raceway, coupling_kind(survey, raceway))
    checks = check_planned(survey, raceway, route, fit, couplings, _bend_names(pieces))
    findings += up.findings
    findings += [f for f in checks.findings if f.rule not in _TOLD_ALREADY]
    joints = with_pistons(up.joints, checks.pistons)
    shapes = tuple(_shape(shape, route) for shape in route.shapes)
    findings += meets_itself(whole_run(pieces, joints, raceway, shapes), survey.tape, remedy=True)
    steps = job_steps(survey, raceway, pieces, joints, up.assembly, checks, shoe)
    plan = Plan(
        name=survey.name,
        tape=survey.tape,
        raceway=raceway.name,
        bender=None if bender is None else shoe_of(bender),
        pieces=pieces,
        corners_mm=route.points,
        obstacles=obstacles,
        surfaces=surfaces,
        dimensions=route.dimensions,
        shapes=shapes,
        rules_of_thumb=compare_with_thumb(survey, route, marked.run, shoe, cut),
        steps=steps,
        cautions=plan_cautions(steps),
        findings=_worst_first(findings),
        measured=_measured(survey),
        notes=note_blocks(pieces),
        along=along_lines(survey, checks, joints, up.assembly),
        checks=_straps_and_pulls(checks),
        joints=joints,
        assembly=up.assembly,
        developed_length_mm=fit.length_mm,
        total_bend_deg=degrees(sum(t.angle_rad for t in fit.turns)),
        hand=hand_accuracy(survey),
    )
    return with_digest(plan)


def _shape(shape: RoutedShape, route: Route) -> PlannedShape:
    return PlannedShape(
        kind=shape.kind,
        label=shape.label,
        field=route.corners[shape.first].field,
        rise_mm=shape.rise_mm,
        flat_mm=shape.flat_mm,
        angle_deg=degrees(shape.angle_rad),
        first=shape.first,
        count=shape.count,
        crossing=shape.crossing,
    )


def _bend_names(pieces: tuple[PlannedPiece, ...]) -> tuple[str, ...]:
    """What the cards call each bend of the run: 'mark 2', or 'piece 1, mark 2' of several."""
    several = len(pieces) > 1
    return tuple(f"{p.label}, {b.name}" if several else b.name for p in pieces for b in p.bends)


def _straps_and_pulls(checks: RunCheck) -> PlanChecks:
    pulls = (
        PlannedPull(from_mm=p.start_mm, to_mm=p.end_mm, feed_from=p.better, tension_n=p.chosen.tension_n)
        for p in checks.pulls
    )
    return PlanChecks(
        straps_mm=checks.supports.stations_mm if checks.supports else (),
        pulls=tuple(pulls),
        guides_mm=checks.holds.guides_mm,
        fast_mm=checks.holds.fast_mm,
        path=checks.path,
        length=checks.length,
    )


def _measured(survey: Survey) -> tuple[str, ...]:
    lines = []
    for index, leg in enumerate(survey.legs):
        start, to = leg.span_words
        lines.append(
            f"{leg.label}: {format_length(leg.length_mm, survey.tape)} from {start} to {to}"
            + (f" ({leg.note})" if leg.note else "")
        )
        if index < len(survey.turns):
            turn = survey.turns[index]
            lines.append(f"turn {index + 1}: {turn.way} {degrees(turn.angle_rad):.4g}°")
    return tuple(lines)


def _worst_first(findings: list[Finding]) -> tuple[Finding, ...]:
    rank = {"problem": 0, "caution": 1, "info": 2}
    return tuple(sorted(findings, key=lambda f: rank[f.severity]))
