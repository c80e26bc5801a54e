"""How the pieces of a planned run are put up: the order, each move, the joints that give way, what stands in the way.

The joints between pieces are given as ordinary couplings; where one has to give way, it becomes a union (threads) or
a slip coupling. A union is taken to be as long as the coupling in whose place it stands, and the step that cuts the
piece says to measure it first.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import msgspec
from msgspec.structs import replace

from racewright.assembly.between import coupling_kind
from racewright.assembly.findings import (
    SIDEWAYS_CUT_SHORT,
    assembly_findings,
    sideways_findings,
    with_ways_out,
)
from racewright.assembly.going_up import GoingUp, going_up
from racewright.assembly.joints import KNOCKOUT, Assembly, Joint, is_coupling, stays
from racewright.assembly.moves import Ends, Moved, closed_last, is_stuck, moves_of
from racewright.assembly.order import COUPLING, NOT_POSSIBLE, Body, Order, Seat, find_order
from racewright.assembly.part import Part
from racewright.assembly.sideways import held_sideways
from racewright.assembly.ways_out import ways_out
from racewright.budget import PUTTING_UP, Budget
from racewright.catalogue.fittings import Fitting, find_fitting, fitting_kinds
from racewright.catalogue.raceways import Raceway
from racewright.errors import Finding
from racewright.fit.way_in import Solid
from racewright.geometry.vector import dot
from racewright.survey.model import EndFitting, Survey

#: What it costs, in couplings, that a fitting gives way of which the survey says nothing; a hub more than a union.
_UNSAID = {"slides": 0.5, "cemented": 0.5, "threads": 1.5}
#: An expansion fitting that is there anyway gives way for nothing; this keeps a run with one from being split at two.
_THERE = 0.1
#: One whose piston may not go in as far as it would have to: after all else, and the moves then tell (see `is_stuck`).
_TIGHT = 20.0


class PutUp(msgspec.Struct, frozen=True):
    """The joints with those that give way and the last, the way of putting the run up, and what was found."""

    joints: tuple[Joint, ...]
    assembly: Assembly
    findings: tuple[Finding, ...]


class _Tried(msgspec.Struct, frozen=True):
    """A run put up in its best order, whether that can be or not."""

    pieces: list[GoingUp]
    joints: tuple[Joint, ...]
    moved: Moved
    possible: bool


def put_up(
    survey: Survey, raceway: Raceway, parts: Sequence[Part], joints: Sequence[Joint], solids: Sequence[Solid]
) -> PutUp:
    """How the run is put up between its ends, past what stands around it; where it cannot be, what would do."""
    coupling = find_fitting(coupling_kind(survey, raceway), raceway)
    budget, left_out = Budget(PUTTING_UP), False

    def goes_up(survey: Survey, parts: Sequence[Part], joints: Sequence[Joint]) -> bool:
        nonlocal left_out
        left_out = left_out or budget.spent
        return not budget.spent and _tried(survey, raceway, parts, joints, solids, coupling, budget).possible

    # what the run itself needs is looked at in any case, and takes nothing from what else is tried
    tried = _tried(survey, raceway, parts, joints, solids, coupling, Budget(PUTTING_UP))
    findings = tuple(assembly_findings(survey, tried.pieces, tried.joints, tried.moved))
    if tried.possible:
        held = held_sideways(tried.pieces, tried.joints, tried.moved.moves, solids, budget)
        findings = (*findings, *sideways_findings(held))
        if budget.spent:
            findings = (*findings, SIDEWAYS_CUT_SHORT)
    trapped = tuple(k + 1 for k in tried.moved.trapped)
    if tried.possible:
        order = tuple(dict.fromkeys(m.piece for m in tried.moved.moves if m.act not in ("slide back", "close")))
        assembly = Assembly(order=order, trapped=trapped, possible=True, moves=tried.moved.moves)
        return PutUp(tried.joints, assembly, findings)
    ways = tuple(ways_out(survey, parts, joints, coupling, goes_up))
    findings = with_ways_out(findings, ways, joints, left_out=left_out)
    assembly = Assembly(order=(), trapped=trapped, possible=False, moves=(), why=why_not(findings), ways_out=ways)
    return PutUp(tuple(replace(j, last=False) for j in tried.joints), assembly, findings)


def why_not(findings: Sequence[Finding]) -> str:
    """Why a run cannot be put up, in one line; '' where it can."""
    return " ".join(f.message for f in findings if f.severity == "problem")


def _tried(
    survey: Survey,
    raceway: Raceway,
    parts: Sequence[Part],
    joints: Sequence[Joint],
    solids: Sequence[Solid],
    coupling: Fitting,
    budget: Budget,
) -> _Tried:
    pieces = going_up(parts, joints, solids, budget)
    ends = [
        Ends(joints=p.joints, inserts_mm=p.part.inserts_mm, in_line=p.in_line, one_way=dot(*p.ways) > 0.999)
        for p in pieces
    ]
    order = _order(survey, raceway, pieces, ends, joints, solids)
    gap = coupling.gap_mm
    closed = closed_last(order, ends)
    given = [_giving(j, i in closed and not stays(survey, j)) for i, j in enumerate(joints)]
    moved = moves_of(order, ends, given, gap_mm=gap, slip_mm=0.5 * (coupling.length_mm + gap))
    made = tuple(replace(j, last=i == moved.last) for i, j in enumerate(given))
    possible = order.cost < NOT_POSSIBLE and not any(is_stuck(made, move) for move in moved.moves)
    return _Tried(pieces, made, moved, possible)


def _giving(joint: Joint, gives: bool) -> Joint:
    """A coupling that has to give way as what does. A fitting at a box is taken off it."""
    if not gives or not is_coupling(joint) or joint.how == "expands":
        return joint
    if joint.how == "threads":
        return replace(joint, kind="union", how="union")
    return replace(joint, kind="slip coupling")


def _order(
    survey: Survey,
    raceway: Raceway,
    pieces: Sequence[GoingUp],
    ends: Sequence[Ends],
    joints: Sequence[Joint],
    solids: Sequence[Solid],
) -> Order:
    bodies = [
        Body(
            length_mm=p.part.piece.cut_length_mm,
            straight=not p.part.piece.bends,
            by_a=not p.stopped_by[0],
            by_b=not p.stopped_by[1],
            one_way=_one_way(p, joints, solids),
        )
        for p in pieces
    ]
    slip = find_fitting("slip coupling", raceway).length_mm if "slip coupling" in fitting_kinds(raceway) else 0.0
    costs = []
    for (p, p_ends), (after, after_ends) in pairwise(zip(pieces, ends, strict=True)):
        joint = joints[p.joints[1] or 0]
        straight = max(p.part.piece.straights_mm()[-1], after.part.piece.straights_mm()[0])
        if joint.how == "expands":
            # whichever of the two pieces comes last
            room = max(p_ends.room_mm(1, joined=True), after_ends.room_mm(0, joined=True))
            costs.append(_THERE if joint.piston is None or joint.piston.open_mm >= room else _TIGHT)
        else:
            costs.append(COUPLING if straight >= slip else NOT_POSSIBLE)
    seats = (
        _seat(survey.start, pieces[0], 0, joints),
        _seat(survey.end, pieces[-1], 1, joints),
    )
    return find_order(bodies, costs, seats)


def _one_way(piece: GoingUp, joints: Sequence[Joint], solids: Sequence[Solid]) -> bool:
    """Whether one push serves both ends of the piece, and nothing stops it."""
    alike = dot(*piece.ways) > 0.999 and all(j is not None and joints[j].how != "threads" for j in piece.joints)
    return alike and not piece.stopped_on_the_way(0, max(piece.part.inserts_mm), solids)


def _seat(end: EndFitting, piece: GoingUp, side: int, joints: Sequence[Joint]) -> Seat:
    """What stands at an end of the run, and what it costs when it gives way."""
    joint = piece.joints[side]
    if joint is None:
        return Seat("free")
    kind, how = joints[joint].kind, joints[joint].how
    unsaid = COUPLING if is_coupling(joints[joint]) else _UNSAID[how]
    cost = NOT_POSSIBLE if end.fixed else unsaid if end.fixed is None or is_coupling(joints[joint]) else 0.0
    # a hole that the piece cannot go straight through is one that it cannot come in by at all
    return Seat("hole" if kind == KNOCKOUT and not piece.stopped_by[side] else "seat", cost)
