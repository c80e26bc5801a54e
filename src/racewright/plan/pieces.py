"""From the bent run to pieces with marks: bending order, hook, reference, pointer, spin, what to look at."""

from __future__ import annotations

from math import degrees as _degrees

from racewright.bends.model import Bend, BentPiece
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.model import BenderProfile, Raceway
from racewright.errors import Finding
from racewright.geometry.frame import Frame
from racewright.marks.mark import all_marks_mm, mark_mm
from racewright.plan.handling import Handled, half_turn, handle_piece
from racewright.plan.model import MarkedBend, PlannedPiece
from racewright.survey.model import EndFitting, Survey
from racewright.units.tape import TapeReading, read_tape


def degrees(angle_rad: float) -> float:
    """Degrees for print and file: what is beyond 1e-10 of a degree is noise of the arithmetic."""
    return round(_degrees(angle_rad), 10) + 0.0


def plan_pieces(
    survey: Survey,
    raceway: Raceway,
    bender: BenderProfile,
    run: BentPiece,
    frame: Frame,
    insert_a_mm: float,
    insert_b_mm: float,
) -> tuple[tuple[PlannedPiece, ...], tuple[Finding, ...]]:
    """The pieces of a run with everything that the person needs at the bender, and what was found on the way."""
    handled = handle_piece(bender, run, survey.tape, cut_after=survey.cut_after_bending)
    findings = list(handled.findings)
    stick = raceway.stock_length_mm
    if run.cut_length_mm > stick + 1e-6:
        findings.append(
            Finding(
                rule="run.stick",
                severity="problem",
                message=(
                    f"The piece is {read_tape(run.cut_length_mm, survey.tape).text} long and a stick"
                    f" {read_tape(stick, survey.tape).text}: it needs a coupling."
                ),
                citation=raceway.source,
                measured=run.cut_length_mm,
                allowed=stick,
                unit="mm",
            )
        )
    piece = PlannedPiece(
        label="piece 1",
        cut_length_mm=run.cut_length_mm,
        cut_tape=read_tape(run.cut_length_mm, survey.tape),
        outside_diameter_mm=run.outside_diameter_mm,
        bend_radius_mm=bender.radius_mm,
        bends=marked_bends(survey, bender, run, handled),
        piece=run,
        fitting_a=_fitting_name(survey.start, raceway),
        fitting_b=_fitting_name(survey.end, raceway),
        insert_a_mm=insert_a_mm,
        insert_b_mm=insert_b_mm,
        start_point=frame.origin,
        start_axis=frame.axis,
        start_normal=frame.normal,
        least_stock_mm=run.cut_length_mm + handled.extra_a_mm + handled.extra_b_mm,
        ways=handled.ways,
        order_proved=handled.proved and bool(handled.ways),
        extra_a_mm=handled.extra_a_mm,
        extra_b_mm=handled.extra_b_mm,
        trim_after=survey.cut_after_bending,
        trim_marks=_trim_marks(survey, run, handled),
    )
    return (piece,), tuple(findings)


def _trim_marks(survey: Survey, run: BentPiece, handled: Handled) -> tuple[TapeReading, ...]:
    if not survey.cut_after_bending:
        return ()
    ends = [handled.extra_a_mm] if handled.extra_a_mm else []
    ends.append(handled.extra_a_mm + run.cut_length_mm)
    return tuple(read_tape(e, survey.tape) for e in ends)


def _fitting_name(end: EndFitting, raceway: Raceway) -> str:
    if end.kind == "none":
        return end.name
    kind = find_fitting(end.kind, raceway).kind
    return f"{end.name} ({kind})" if end.name else f"{kind} fitting"


def marked_bends(survey: Survey, bender: BenderProfile, piece: BentPiece, handled: Handled) -> tuple[MarkedBend, ...]:
    """Every bend of a piece with its exact mark and its reading, in material order."""
    out: list[MarkedBend] = []
    for way in handled.steps:
        bend = piece.bends[way.index]
        exact = mark_mm(bend.arc_start_mm, bend.arc_end_mm, way.hook, way.reference, bender)
        pointer = bender.pointer_rad(bend.angle_rad)
        spin = degrees(way.spin_rad)
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
                tape=read_tape(exact, survey.tape),
                pointer_deg=degrees(bend.angle_rad if pointer is None else pointer),
                pointer_basis="relaxed" if pointer is None else "under load",
                spin_deg=spin,
                spin_words=("Turn it end for end. " if way.end_for_end else "") + spin_words(spin, first=way.order == 1),
                stance=way.stance,
                end_for_end=way.end_for_end,
                look_at=_look_at(bend, way.order, half_turn(way.spin_rad)),
                all_marks_mm=all_marks_mm(bend.arc_start_mm, bend.arc_end_mm, bender),
            )
        )
    return tuple(sorted(out, key=lambda b: b.number))


def spin_words(spin_deg: float, *, first: bool) -> str:
    """How to turn the conduit since the bend before, in words; positive is clockwise looking from A toward B."""
    if first:
        return "First bend: draw a line along the conduit on the side that faces up"
    size = abs(spin_deg)
    if size < 0.05:
        return "No spin: same side up"
    if abs(size - 180.0) < 0.05:
        return "Spin half a turn"
    amount = "a quarter turn" if abs(size - 90.0) < 0.05 else f"{size:.1f}°"
    way = "clockwise" if spin_deg > 0 else "counter-clockwise"
    return f"Spin {amount} {way}, looking from A toward B"


def _look_at(bend: Bend, order: int, half_turn: bool) -> str:
    notes = {
        "stub": "Check the stub with a level: plumb, and its height to the back.",
        "back-to-back": "Check back to back with the tape, and that both stubs stand parallel.",
        "saddle centre": "Check the angle with a protractor: this bend sets the rise.",
        "offset second": "Check that both legs are parallel, and the rise.",
    }
    text = notes.get(bend.role, "")
    if order > 1:
        sight = "Sight along it for a dog-leg" + (" before pulling" if half_turn else "") + "."
        text = f"{sight} {text}".strip()
    return text or "Line the mark up square; check the angle after letting go."
