"""The whole job at the bench and on the wall, in the order in which it is done."""

from __future__ import annotations

from racewright.catalogue.raceways import Raceway
from racewright.cautions import Work, cautions_for
from racewright.inspection.check_run import RunCheck
from racewright.plan.model import MarkedBend, PlannedPiece, Step, StepKind
from racewright.sequence.words import REFERENCE_WORDS, bend_name
from racewright.survey.model import Survey
from racewright.units.angle import hand_angle
from racewright.units.said import said_finely
from racewright.units.tape import TapeStyle, format_length

_WORK_OF_STEP: dict[StepKind, tuple[Work, ...]] = {
    "cut": ("cut",),
    "stock": (),
    "lay-out": (),
    "bend": ("bend",),
    "check": ("correct",),
    "trim": ("cut",),
    "ream": ("cut",),
    "loosen": ("install",),
    "insert": ("install",),
    "strap": ("install",),
}


def step_cautions(step: Step) -> tuple[str, ...]:
    """What this one step of a plan asks to take care of, and last who decides."""
    return cautions_for(*_WORK_OF_STEP[step.kind])


def piece_steps(
    survey: Survey, raceway: Raceway, piece: PlannedPiece, checks: RunCheck | None, *, several: bool
) -> tuple[Step, ...]:
    """The steps for one piece, from stick to tightened fittings; which piece it is, the plan says."""
    tape = survey.tape
    where = f" ({piece.label})" if several else ""
    steps = [_cut_first(piece, tape, where)]
    if piece.pencil_lines:
        lines = ", ".join(f"{line.words} at {_reading(line.tape, tape)}" for line in piece.pencil_lines)
        detail = f"{_tape_zero(piece)}: {lines}. Carry each line all round; draw one along the conduit."
        steps.append(Step(kind="lay-out", title=f"Mark it{where}", detail=detail))
    for bend in sorted(piece.bends, key=lambda b: b.order):
        reference = REFERENCE_WORDS[bend.reference].capitalize()
        name = bend_name(bend.order, bend.number)
        steps.append(
            Step(
                kind="bend",
                bend=bend.number,
                title=f"{name} at {_reading(bend.mark_tape, tape)}: bend to {_pointer(bend)}",
                detail=(
                    f"{bend.spin_words}. {reference} on the mark, hook toward {bend.hook}, {bend.stance_words}."
                    f" {bend.look_at}"
                ),
            )
        )
    if piece.bends:
        steps.append(
            Step(
                kind="check",
                title="Check before cutting or going up",
                detail="Lay it on a flat floor or sight along it: no daylight, no dog-leg; measure rise and ends"
                " against the side view. If it is off, measure how far and ask for the correction before forcing it.",
            )
        )
    if piece.trim_after:
        steps.append(
            Step(
                kind="trim",
                title=f"Cut it on line{'s' if len(piece.cut_ends) > 1 else ''} {' and '.join(piece.cut_ends)}",
                detail=f"Square; along the bends it is then {_reading(piece.cut_length_tape, tape)}.",
            )
        )
    ream = "trim inside and outside" if raceway.family == "PVC" else "ream inside, file the outside edge"
    steps.append(Step(kind="ream", title="Ream both ends", detail=f"{ream.capitalize()}: no edge may touch a wire."))
    steps.extend(_install(survey, piece, checks, tape))
    return tuple(steps)


def _cut_first(piece: PlannedPiece, tape: TapeStyle, where: str) -> Step:
    if piece.trim_after:
        stock = format_length(piece.least_stock_mm, tape)
        return Step(
            kind="stock",
            title=f"Take a stick of {stock} or more{where}",
            detail="It is cut after bending."
            + (
                f" Draw cut line A {format_length(piece.extra_a_mm, tape)} from one end."
                if "A" in piece.cut_ends
                else ""
            ),
        )
    return Step(
        kind="cut",
        title=f"Cut to {format_length(piece.cut_length_mm, tape)}{where}",
        detail=f"Square cut, exact {said_finely(piece.cut_length_mm)}. Write A and B on the ends.",
    )


def _pointer(bend: MarkedBend) -> str:
    """What the pointer must show, and when."""
    pointer = hand_angle(bend.pointer_deg)
    if bend.pointer_basis == "under load":
        return f"{pointer} while bending; leaves {hand_angle(bend.angle_deg)}"
    return pointer


def _reading(text: str, tape: TapeStyle) -> str:
    return f'{text}"' if tape.unit == "in" else f"{text} mm"


def _tape_zero(piece: PlannedPiece) -> str:
    return "Tape from cut line A" if "A" in piece.cut_ends else "Tape hooked on end A"


def _install(survey: Survey, piece: PlannedPiece, checks: RunCheck | None, tape: TapeStyle) -> list[Step]:
    steps = []
    if piece.insertion is not None:
        if piece.insertion.loosen:
            steps.append(
                Step(
                    kind="loosen",
                    title=f"Leave the fitting at end {piece.insertion.loosen} loose",
                    detail=f"The piece is captured between its ends. {_sentence(piece.insertion.steps)}",
                )
            )
        else:
            steps.append(Step(kind="insert", title="Put it in", detail=_sentence(piece.insertion.steps)))
    for letter, end in (("A", piece.end_a), ("B", piece.end_b)):
        if end.fitting:
            steps.append(
                Step(
                    kind="insert",
                    title=f"End {letter} into {end.fitting}",
                    detail=f"Goes in {format_length(end.insertion_mm, tape)}, to its stop;"
                    " draw that line before it goes in.",
                )
            )
    strap = survey.strap or "straps"
    steps.append(
        Step(
            kind="strap",
            title="Level, strap, tighten",
            detail=f"Level or plumb, fix the {strap}{_strap_places(piece, checks, tape)}, then tighten the fittings.",
        )
    )
    return steps


def _strap_places(piece: PlannedPiece, checks: RunCheck | None, tape: TapeStyle) -> str:
    if checks is None or checks.supports is None:
        return ""
    first, last = piece.run_start_mm, piece.run_start_mm + piece.cut_length_mm
    own = [s - first for s in checks.supports.stations_mm if first <= s <= last]
    if not own:
        return ""
    return " at " + ", ".join(format_length(s, tape) for s in own) + " along the conduit from end A"


def _sentence(steps: tuple[str, ...]) -> str:
    text = "; ".join(s.rstrip(".") for s in steps)
    return f"{text[:1].upper()}{text[1:]}." if text else ""
