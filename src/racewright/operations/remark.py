"""Some bends are made: new marks for the rest."""

from __future__ import annotations

from math import degrees, radians
from typing import Annotated

import msgspec

from racewright.bends.model import BentPiece
from racewright.cautions import cautions_for
from racewright.errors import Finding, InputError
from racewright.fit.by_hand import ByHand, in_hand_mm, largest_angle_rad
from racewright.fit.replan import MadeBend, replan
from racewright.marks.mark import arc_start_from_mark_mm, mark_mm
from racewright.operations.common import (
    Answer,
    BendNumber,
    Degrees,
    Length,
    LengthText,
    Part,
    PieceNumber,
    Request,
    SurveyRequest,
    length_of,
)
from racewright.operations.known import Known
from racewright.operations.planned import piece_of
from racewright.plan.model import Plan, PlannedPiece
from racewright.tools.model import HookEnd, Reference
from racewright.units.length import parse_length


class MadeReading(Request, frozen=True, kw_only=True):
    """A bend that is made already, as measured; what is left away is taken from the plan. `mark` is where the
    reference mark of the plan really stood, from end A; `roll_off_deg` how far it is rolled from the plan (right-handed
    about the axis from A to B; a dog-leg)."""

    number: BendNumber
    mark: LengthText = ""
    angle_deg: Degrees | None = None
    roll_off_deg: Degrees | None = None


class RemarkRequest(SurveyRequest, frozen=True, kw_only=True):
    """Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
    `stock`: the length of the piece in hand ("" = as planned)."""

    made: Annotated[tuple[MadeReading, ...], msgspec.Meta(min_length=1, max_length=60)]
    piece: PieceNumber = 1
    cut_free: bool = True
    stock: LengthText = ""


class NewMark(Part, frozen=True, kw_only=True):
    """One bend still to be made, with the plan's hook and reference mark."""

    number: int
    mark: Length
    was: Length
    angle_deg: float
    spin_deg: float
    hook: HookEnd
    reference: Reference


class RemarkAnswer(Answer, frozen=True, kw_only=True):
    """`met`: the end meets its fitting within the tolerance; `words` say what changes, `problems` what of the end is
    not met and what cannot be made by hand; `cautions`: what to take care of, and who decides."""

    met: bool
    marks: tuple[NewMark, ...]
    cut: Length
    words: tuple[str, ...]
    problems: tuple[str, ...]


def remark(request: RemarkRequest, known: Known) -> RemarkAnswer:
    """New marks for the bends that are not made yet, and the new cut length."""
    plan, piece = piece_of(request, request.piece, known)
    unit = request.survey.units
    by_number = {b.number: b for b in piece.bends}
    made = []
    for index, item in enumerate(request.made):
        field = f"made[{index}]"
        bend = by_number.get(item.number)
        if bend is None:
            raise InputError(
                f"bend {item.number} is said to be made, and the piece has {len(piece.bends)} bends.",
                hint="bends count from end A, the first is 1",
                field=f"{field}.number",
            )
        angle = radians(bend.angle_deg if item.angle_deg is None else item.angle_deg)
        mark = float(parse_length(item.mark, unit, field=f"{field}.mark")) if item.mark else bend.mark_mm
        roll = None if item.roll_off_deg is None else radians(bend.roll_deg + item.roll_off_deg)
        start = arc_start_from_mark_mm(mark, angle, bend.hook, bend.reference, plan.shoe)
        made.append(MadeBend(number=item.number, arc_start_mm=start, angle_rad=angle, roll_rad=roll))
    have = in_hand_mm(piece.cut_length_mm, piece.stock_mm, piece.extra_a_mm, piece.trim_after)
    if request.stock:
        have = float(parse_length(request.stock, unit, field="stock", allow_zero=False))
    answer = replan(
        piece.piece,
        made,
        cut_free=request.cut_free,
        stock_length_mm=have,
        largest_angle_rad=largest_angle_rad(piece.piece),
        tape=plan.tape,
    )
    hand = ByHand(answer.piece, plan.shoe, plan.tape, extra_a_mm=piece.extra_a_mm, have_mm=have)
    marks, blocked = _new_marks(plan, piece, answer.piece, {item.number for item in request.made}, hand)
    findings = (*answer.findings, *blocked)
    return RemarkAnswer(
        met=answer.met,
        marks=marks,
        cut=length_of(answer.piece.cut_length_mm, plan.tape),
        words=(*answer.words, *(f.message for f in findings if f.severity != "problem")),
        problems=tuple(f.message for f in findings if f.severity == "problem"),
        cautions=cautions_for("bend", "cut"),
    )


def _new_marks(
    plan: Plan, piece: PlannedPiece, now: BentPiece, made: set[int], hand: ByHand
) -> tuple[tuple[NewMark, ...], list[Finding]]:
    """The bends left in the plan's order, with hook and shoe mark as planned; what of it cannot be made by hand."""
    out = []
    blocked = []
    last_roll: float | None = None
    for bend in sorted(piece.bends, key=lambda b: (b.number not in made, b.order)):
        new = now.bends[bend.number - 1]
        roll = degrees(new.roll_rad)
        spin = 0.0 if last_roll is None else 180.0 - (180.0 - (last_roll - roll)) % 360.0
        last_roll = roll
        if bend.number in made:
            hand.is_made(bend.number)
            continue
        _, refused = hand.next_bend(bend.number, bend.hook, bend.stance)
        blocked += [refused] if refused else []
        at = mark_mm(new.arc_start_mm, new.arc_end_mm, bend.hook, bend.reference, plan.shoe)
        out.append(
            NewMark(
                number=bend.number,
                mark=length_of(at, plan.tape),
                was=length_of(bend.mark_mm, plan.tape),
                angle_deg=round(degrees(new.angle_rad), 6),
                spin_deg=round(spin, 6) + 0.0,
                hook=bend.hook,
                reference=bend.reference,
            )
        )
    return tuple(out), blocked
