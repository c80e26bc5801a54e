"""Operations on bent conduit: the least correction of a finished piece, and new marks for one half bent."""

from __future__ import annotations

from math import degrees, radians

from racewright.bends.model import BentPiece
from racewright.cautions import cautions_for
from racewright.drawing.project import trace
from racewright.errors import Finding, InputError
from racewright.fit import measured as fit
from racewright.fit.by_hand import ByHand, in_hand_mm, largest_angle_rad
from racewright.fit.replan import MadeBend, replan
from racewright.fit.tweak import tweak as least_correction
from racewright.fit.tweak_words import after_words
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.frame import Frame
from racewright.geometry.vector import Vec
from racewright.marks.mark import arc_start_from_mark_mm, mark_mm
from racewright.operations import messages as m
from racewright.operations.common import SurveyRequest
from racewright.operations.operations import OwnBenders
from racewright.operations.runs import planned
from racewright.operations.tables import length_of
from racewright.plan.model import Plan, PlannedPiece
from racewright.units.length import parse_length
from racewright.units.tape import TapeUnit


def tweak(request: m.TweakRequest, own: OwnBenders) -> m.TweakAnswer:
    """What to correct. Raises InputError for readings that are not on the piece, LimitError where nothing helps."""
    plan, piece = _piece_of(request, request.piece, own)
    unit = request.survey.units
    readings = [_reading(item, unit, f"measured[{i}]") for i, item in enumerate(request.measured)]
    hooks = tuple(b.hook for b in sorted(piece.bends, key=lambda b: b.number))
    answer = least_correction(piece.piece, readings, hooks=hooks, may_spin=request.may_spin)
    return m.TweakAnswer(
        nothing_to_do=not answer.moves,
        moves=tuple(m.MoveData(number=v.number, what=v.kind, by_deg=round(degrees(v.by_rad), 9)) for v in answer.moves),
        words=(
            *answer.words,
            *(
                after_words(answer.end_mm, answer.lean_rad, answer.left_mm, answer.left_rad, plan.tape)
                if answer.moves
                else ()
            ),
        ),
        left_mm=answer.left_mm,
        left_deg=degrees(answer.left_rad),
        planned=_axis(piece.piece, piece),
        corrected=_axis(answer.piece, piece),
        cautions=cautions_for("correct"),
    )


def _piece_of(request: SurveyRequest, number: int, own: OwnBenders) -> tuple[Plan, PlannedPiece]:
    made = planned(request, own)
    if number > len(made.pieces):
        raise InputError(
            f"piece {number} was asked, and the run has {len(made.pieces)}.",
            hint="pieces count from end A, the first is 1",
            field="piece",
        )
    return made, made.pieces[number - 1]


def _reading(item: m.Reading, unit: TapeUnit, field: str) -> fit.Measured:
    if isinstance(item, m.OffReading):
        off = parse_length(item.off, unit, field=f"{field}.off", allow_negative=True)
        station = parse_length(item.station, unit, field=f"{field}.station") if item.station else None
        return fit.OffAt(way=item.way, off_mm=float(off), station_mm=None if station is None else float(station))
    if isinstance(item, m.RiseReading):
        rise = parse_length(item.rise, unit, field=f"{field}.rise", allow_negative=True)
        return fit.ApexRise(rise_mm=float(rise), number=item.number)
    if isinstance(item, m.LeanReading):
        return fit.LegLean(way=item.way, lean_rad=radians(item.lean_deg))
    return fit.BendAngle(number=item.number, angle_rad=radians(item.angle_deg))


def _axis(bent: BentPiece, piece: PlannedPiece) -> tuple[Vec, ...]:
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in bent.bends]
    frame = Frame(piece.start_point, piece.start_axis, piece.start_normal)
    return trace(Centreline.from_turns(bent.cut_length_mm, turns, frame), step_deg=5.0)


def remark(request: m.RemarkRequest, own: OwnBenders) -> m.RemarkAnswer:
    """New marks for the bends that are not made yet, and the new cut length."""
    plan, piece = _piece_of(request, request.piece, own)
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
    return m.RemarkAnswer(
        met=answer.met,
        marks=marks,
        cut=length_of(answer.piece.cut_length_mm, plan.tape),
        words=(*answer.words, *(f.message for f in findings if f.severity != "problem")),
        problems=tuple(f.message for f in findings if f.severity == "problem"),
        cautions=cautions_for("bend", "cut"),
    )


def _new_marks(
    plan: Plan, piece: PlannedPiece, now: BentPiece, made: set[int], hand: ByHand
) -> tuple[tuple[m.NewMark, ...], list[Finding]]:
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
            m.NewMark(
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
