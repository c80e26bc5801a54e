"""A plan's short mark on paper: two sheets that bear the same one say the same of what is cut, bent and put up."""

from __future__ import annotations

from collections.abc import Iterator
from zlib import crc32

import msgspec

from racewright.plan.model import Plan, PlannedPiece
from racewright.units.nearest import HALF_DEG, nearest
from racewright.units.tape import format_length

#: 32 signs that no hand takes for one another (no 0, 1, I, O).
_SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
_LENGTH = 6


def with_digest(plan: Plan) -> Plan:
    """The plan with its digest in it: of its facts as they are printed, so that the plan read back from its JSON has
    the same, and one that differs by a mark's last fraction another. No name is one of them: not the run's, nor what
    stands at an end, nor the tool's; nor how long a stick it is cut from. The one of before holds the last three."""
    return msgspec.structs.replace(
        plan, digest=_signs(_facts(plan, named=False)), digest_before=_signs(_facts(plan, named=True))
    )


def called_now(pinned: str, digest: str, before: str) -> str:
    """What a plan that was pinned is called now: its `digest`, where the plan that bears this bore the pinned one
    `before`."""
    return digest if pinned and pinned == before else pinned


def is_digest(text: str) -> bool:
    """Whether a plan can bear this mark."""
    return len(text) == _LENGTH and all(sign in _SIGNS for sign in text)


def _signs(facts: Iterator[object]) -> str:
    rest, signs = crc32(msgspec.json.encode(tuple(facts))), ""
    for _ in range(_LENGTH):
        rest, sign = divmod(rest, len(_SIGNS))
        signs += _SIGNS[sign]
    return signs


def _facts(plan: Plan, *, named: bool) -> Iterator[object]:
    tape = plan.raceway, plan.tape.unit, plan.tape.denominator
    yield (*tape, plan.bender.name if plan.bender else "") if named else tape
    for piece in plan.pieces:
        yield from _piece(plan, piece, named=named)
    for joint in plan.joints:
        yield _length(plan, joint.at_mm), joint.kind, joint.how, joint.last
        yield None if joint.piston is None else _length(plan, joint.piston.open_mm)
    for move in plan.assembly.moves if plan.assembly is not None else ():
        yield move.piece, move.act, move.joints, _length(plan, move.by_mm), _length(plan, move.past_mm)
    if plan.checks is not None:
        yield tuple(_length(plan, station) for station in plan.checks.straps_mm)


def _length(plan: Plan, value_mm: float) -> str:
    return format_length(value_mm, plan.tape)


def _piece(plan: Plan, piece: PlannedPiece, *, named: bool) -> Iterator[object]:
    yield piece.cut_length_tape, piece.cut_ends, tuple(mark.text for mark in piece.trim_marks)
    least = _length(plan, piece.least_stock_mm)
    yield (_length(plan, piece.stock_mm), least) if named else least  # whatever longer stick it is cut from
    if piece.offcut:
        yield "offcut", piece.offcut
    for end in (piece.end_a, piece.end_b):
        joined = _length(plan, end.insertion_mm), end.thread  # by what, the joints say
        yield (end.fitting or end.open_at, *joined) if named else joined
    for bend in piece.bends:
        yield bend.number, bend.order, bend.mark_tape, bend.reference, bend.hook, bend.stance, bend.end_for_end
        yield _length(plan, bend.arc_start_mm), _length(plan, bend.arc_end_mm), bend.on_shoe
        angles = (bend.angle_deg, bend.pointer_deg, bend.roll_deg, bend.spin_deg)
        yield tuple(nearest(angle * 100.0, 100.0 * HALF_DEG) / 100.0 for angle in angles)
