"""From the bent run to pieces with marks: where it is cut, bending order, hook, reference, pointer, what to look at."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees as _degrees

import msgspec

from racewright.assembly.between import longest_mm, sold_mm
from racewright.assembly.joints import Joint, PieceEnd, end_of, fitting_name
from racewright.assembly.part import Part
from racewright.assembly.threads import cut_early, joined_by_thread, no_die_later, thread_findings, with_threads
from racewright.bends.model import BentPiece
from racewright.budget import CAN_BE_BENT, ORDER_OF_A_PIECE, ORDERS, Budget
from racewright.errors import Finding
from racewright.marks.mark import all_marks_mm, mark_mm
from racewright.plan.bench_checks import BenchCheck, bench_checks, checks_after, plane_check
from racewright.plan.cut_run import CutRun, source_of
from racewright.plan.handling import Budgets, Handled, HandledBend, handle_piece, not_looked_for
from racewright.plan.model import MarkedBend, PieceStart, PlannedPiece
from racewright.sequence.machine import Stance
from racewright.sequence.words import line_deg, making_words, rotate_words
from racewright.sticks.model import SAME_MM, WHOLE_MM
from racewright.survey.model import EndFitting, Survey
from racewright.tools.benders import BenderProfile, made_by
from racewright.units.said import said, said_least
from racewright.units.tape import TapeReading, format_length, read_tape

#: Where the budget is less than usual, no order is looked for that would take more: even the narrowest search of so
#: many bends takes about their cube.
_WIDTH = 3


def degrees(angle_rad: float) -> float:
    """Degrees for print and file: what is beyond 1e-10 of a degree is noise of the arithmetic."""
    return round(_degrees(angle_rad), 10) + 0.0


class Pieces(msgspec.Struct, frozen=True, kw_only=True):
    """The planned pieces, the parts that they are the plans of, the joints, and what was found on the way."""

    pieces: tuple[PlannedPiece, ...]
    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    findings: tuple[Finding, ...]


def plan_pieces(
    survey: Survey, bender: BenderProfile, cut: CutRun, *, other_ways: int, budgets: Budgets | None = None
) -> Pieces:
    """The pieces of a run with everything that the person needs at the bender, and what was found on the way.
    `budgets`: what the searches of all pieces may take."""
    findings = [] if cut.too_long is None else [cut.too_long]
    parts, joints = cut.parts, cut.joints
    budgets = budgets or Budgets(Budget(ORDERS), Budget(CAN_BE_BENT))
    planned = []
    taken = {part.offcut for part in parts if part.offcut}
    for number, part in enumerate(parts, start=1):
        label = f"piece {number}"
        bent = sum(1 for later in parts[number - 1 :] if later.piece.bends)
        share = budgets.order.share(bent, ORDER_OF_A_PIECE)
        hopeless = share.less and share.left < len(part.piece.bends) ** _WIDTH
        if hopeless:
            share.take(share.left)
        after, threads = survey.cut_after_bending and bool(part.piece.bends), joined_by_thread(joints, number)
        if hopeless or cut.too_long is not None:
            handled = not_looked_for(bender, part.piece, survey.tape, cut_after=after)
        else:
            early = after and threads[1] and no_die_later(part.piece, part.inserts_mm[1])
            own = Budgets(share, budgets.longer.share(bent))
            handled = _handled(survey, bender, part, label, other_ways, own, cut_after=after, early=early)
        findings.extend(handled.findings)
        part = _long_enough(survey, bender, part, handled, taken)
        if handled.ways and part.stock_mm == 0.0:
            findings.append(_no_stick(survey, part, handled, label))
        made = _planned(survey, bender, part, handled, label, threads)
        ends, trimmed = (made.end_a, made.end_b), _trimmed(part, handled)
        findings.extend(thread_findings(label, part.piece, ends, trimmed=trimmed))
        planned.append(made)
    return Pieces(pieces=tuple(planned), parts=parts, joints=joints, findings=tuple(findings))


def _handled(
    survey: Survey,
    bender: BenderProfile,
    part: Part,
    label: str,
    other_ways: int,
    budgets: Budgets,
    *,
    cut_after: bool,
    early: bool,
) -> Handled:
    """How a piece is made. `early`: its end B is cut before bending where an order is found so, for no die fits on
    afterward."""

    def handled(after: bool, own: Budgets) -> Handled:
        return handle_piece(
            bender,
            part.piece,
            survey.tape,
            cut_after=after,
            stock_mm=part.stock_mm,
            label=label,
            other_ways=other_ways,
            budgets=own,
        )

    if early:
        first = handled(False, Budgets(budgets.order.share(2), budgets.longer))
        if first.ways:
            note = cut_early(label, part.piece, part.inserts_mm[1])
            return msgspec.structs.replace(first, findings=(*first.findings, note))
    return handled(cut_after, budgets)


def with_joints(
    survey: Survey, pieces: Sequence[PlannedPiece], before: Sequence[Joint], joints: Sequence[Joint]
) -> tuple[PlannedPiece, ...]:
    """The pieces, with what gives way named at their ends. `before`: the joints as the pieces name them."""
    replace = msgspec.structs.replace
    out = list(pieces)
    for now, was in zip(joints, before, strict=True):
        if now.kind == was.kind:
            continue
        name = fitting_name(now.kind, end_of(survey, now))
        if now.before is not None:
            a = out[now.before - 1]
            out[now.before - 1] = replace(a, end_b=replace(a.end_b, fitting=name))
        if now.after is not None:
            b = out[now.after - 1]
            out[now.after - 1] = replace(b, end_a=replace(b.end_a, fitting=name))
    return tuple(out)


def _planned(
    survey: Survey, bender: BenderProfile, part: Part, handled: Handled, label: str, threads: tuple[bool, bool]
) -> PlannedPiece:
    piece, trimmed = part.piece, _trimmed(part, handled)
    ends = with_threads(
        (
            _end(part.ends[0], part.inserts_mm[0], survey.start),
            _end(part.ends[1], part.inserts_mm[1], survey.end),
        ),
        piece,
        threads,
        stick_mm=0.0 if part.offcut else part.stock_mm,
        trimmed=trimmed,
    )
    return PlannedPiece(
        label=label,
        cut_length_mm=piece.cut_length_mm,
        cut_length_tape=read_tape(piece.cut_length_mm, survey.tape).text,
        outside_diameter_mm=piece.outside_diameter_mm,
        bend_radius_mm=bender.radius_mm if piece.bends else 0.0,
        bends=marked_bends(survey, bender, piece, handled, trimmed),
        end_a=ends[0],
        end_b=ends[1],
        start=PieceStart(point_mm=part.frame.origin, axis=part.frame.axis, normal=part.frame.normal),
        least_stock_mm=_least_stock_mm(part, handled),
        ways=handled.ways,
        order_proved=handled.proved and bool(handled.ways),
        run_start_mm=part.start_mm,
        forecast=None,
        stock_mm=part.stock_mm,
        offcut=part.offcut,
        extra_a_mm=handled.extra_a_mm,
        extra_b_mm=handled.extra_b_mm,
        trim_after=trimmed[1],
        trim_marks=_trim_marks(survey, piece, handled) if trimmed[1] else (),
    )


def _end(fitting: str, insertion_mm: float, of_run: EndFitting) -> PieceEnd:
    """An end of a piece. Only an end of the run stays open: it has that end's name."""
    return PieceEnd(fitting=fitting, open_at="" if fitting else of_run.name, insertion_mm=insertion_mm)


def _long_enough(survey: Survey, bender: BenderProfile, part: Part, handled: Handled, taken: set[int]) -> Part:
    """The part from a longer stick, or an offcut that is not among those `taken`, where its own is too short for what
    is cut off after bending."""
    least_mm = _least_stock_mm(part, handled)
    if least_mm <= part.stock_mm + SAME_MM:
        return part
    free_mm = [0.0 if number in taken else mm for number, mm in enumerate(survey.offcuts_mm, 1)]
    stock_mm, offcut = source_of(least_mm, sold_mm(survey), free_mm)
    taken.add(offcut)
    return msgspec.structs.replace(part, stock_mm=stock_mm, offcut=offcut)


def _least_stock_mm(part: Part, handled: Handled) -> float:
    return part.piece.cut_length_mm + handled.extra_a_mm + handled.extra_b_mm


def _no_stick(survey: Survey, part: Part, handled: Handled, label: str) -> Finding:
    """That no stick is as long as a piece has to be until it is cut; `plan/advice.py` tells what would work."""
    least_mm, most_mm = _least_stock_mm(part, handled), longest_mm(survey)
    return Finding(
        rule="run.sticks",
        severity="problem",
        message=f"{label} is cut after bending and bent from a stick of {said_least(least_mm)};"
        f" the longest there is is {said(most_mm)}.",
        citation="geometry and the bender's own limits",
        where=label,
        measured=least_mm,
        allowed=most_mm,
        unit="mm",
    )


def _trimmed(part: Part, handled: Handled) -> tuple[bool, bool]:
    """Which ends are cut after bending: none of a straight piece, nor of one that takes a whole stick or offcut."""
    spare_mm = part.stock_mm - part.piece.cut_length_mm
    whole = part.stock_mm > 0.0 and spare_mm < WHOLE_MM and not handled.extra_a_mm + handled.extra_b_mm
    late = handled.cut_after and not whole
    return late and handled.extra_a_mm > 0.0, late


def _trim_marks(survey: Survey, piece: BentPiece, handled: Handled) -> tuple[TapeReading, ...]:
    ends = [handled.extra_a_mm] if handled.extra_a_mm else []
    ends.append(handled.extra_a_mm + piece.cut_length_mm)
    return tuple(read_tape(e, survey.tape) for e in ends)


def marked_bends(
    survey: Survey, bender: BenderProfile, piece: BentPiece, handled: Handled, trimmed: tuple[bool, bool]
) -> tuple[MarkedBend, ...]:
    """Every bend of a piece with its exact mark and its reading, in material order."""
    out: list[MarkedBend] = []
    checks = bench_checks(piece, survey.tape, cut_later=trimmed)
    how = made_by(bender)
    line = 0.0
    for way in handled.steps:
        bend = piece.bends[way.index]
        exact = mark_mm(bend.arc_start_mm, bend.arc_end_mm, way.hook, way.reference, bender)
        pointer = bender.pointer_rad(bend.angle_rad)
        spin = degrees(way.spin_rad)
        before, line = line, _line_deg(piece, handled.steps[0], way, by_hand=how == "hand shoe")
        tape = read_tape(exact, survey.tape)
        out.append(
            MarkedBend(
                number=way.index + 1,
                order=way.order,
                shape=bend.shape,
                role=bend.role,
                arc_start_mm=bend.arc_start_mm,
                arc_end_mm=bend.arc_end_mm,
                angle_deg=degrees(bend.angle_rad),
                roll_deg=degrees(bend.roll_rad),
                hook=way.hook,
                reference=way.reference,
                mark_mm=exact,
                mark_tape=tape.text,
                mark_rounding_mm=tape.off_mm,
                pointer_deg=degrees(bend.angle_rad if pointer is None else pointer),
                pointer_basis="relaxed" if pointer is None else "under load",
                spin_deg=spin,
                spin_words=rotate_words(before, line, first=way.order == 1, swap=way.end_for_end),
                line_deg=line,
                stance=way.stance if how == "hand shoe" else "floor",
                stance_words=making_words(
                    how,
                    way.stance,
                    format_length(bend.arc_start_mm, survey.tape),
                    format_length(bend.arc_end_mm, survey.tape),
                ),
                on_shoe=not bender.radius_only,
                end_for_end=way.end_for_end,
                look_at=_look_at(checks, handled, way, spin, on_shoe=not bender.radius_only),
                all_marks_mm=all_marks_mm(bend.arc_start_mm, bend.arc_end_mm, bender),
            )
        )
    return tuple(sorted(out, key=lambda b: b.number))


def _line_deg(piece: BentPiece, first: HandledBend, way: HandledBend, *, by_hand: bool) -> float:
    """Where the line drawn at the first bend faces at this one; without a hand shoe as on the floor."""
    stances: tuple[Stance, Stance] = (first.stance, way.stance) if by_hand else ("floor", "floor")
    return line_deg(piece.bends[first.index].roll_rad, stances[0], piece.bends[way.index].roll_rad, stances[1])


def _look_at(
    checks: Sequence[BenchCheck], handled: Handled, way: HandledBend, spin_deg: float, *, on_shoe: bool
) -> str:
    """Where the hook is on conduit too short to hold; what to look at while and after this bend is made."""
    made = [step.index for step in handled.steps[: way.order]]
    square = "Keep the mark square to the shoe." if on_shoe else ""
    plane = square if way.order == 1 else plane_check(spin_deg)
    return " ".join(part for part in (way.hook_words, plane, checks_after(checks, made)) if part)
