"""A plan's short mark on paper: two sheets that bear the same one say the same of what is cut, bent and put up."""

from __future__ import annotations

from collections.abc import Iterator
from zlib import crc32

import msgspec

from racewright.plan.model import Plan, PlannedPiece
from racewright.units.tape import format_length

#: 32 signs that no hand takes for one another (no 0, 1, I, O).
_SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
_LENGTH = 6


def with_digest(plan: Plan) -> Plan:
    """The plan with its digest in it: of its facts as they are printed, so that the plan read back from its JSON has
    the same, and one that differs by a mark's last fraction another. The run's name is none of them."""
    facts = msgspec.json.encode(tuple(_facts(plan)))
    rest, signs = crc32(facts), ""
    for _ in range(_LENGTH):
        rest, sign = divmod(rest, len(_SIGNS))
        signs += _SIGNS[sign]
    return msgspec.structs.replace(plan, digest=signs)


def _facts(plan: Plan) -> Iterator[object]:
    yield plan.raceway, plan.tape.unit, plan.tape.denominator, plan.bender.name if plan.bender else ""
    for piece in plan.pieces:
        yield from _piece(plan, piece)
    for joint in plan.joints:
        yield format_length(joint.at_mm, plan.tape), joint.kind, joint.how, joint.last
    if plan.assembly is not None:
        yield from ((move.piece, move.act, move.joints) for move in plan.assembly.moves)
    if plan.checks is not None:
        yield tuple(format_length(station, plan.tape) for station in plan.checks.straps_mm)


def _piece(plan: Plan, piece: PlannedPiece) -> Iterator[object]:
    yield piece.cut_length_tape, piece.cut_ends, tuple(mark.text for mark in piece.trim_marks)
    for end in (piece.end_a, piece.end_b):
        yield end.fitting, format_length(end.insertion_mm, plan.tape), end.thread
    for bend in piece.bends:
        yield bend.number, bend.order, bend.mark_tape, bend.reference, bend.hook, bend.stance, bend.end_for_end
        yield tuple(round(angle, 2) for angle in (bend.angle_deg, bend.pointer_deg, bend.roll_deg, bend.spin_deg))
