"""The whole job at the bench and on the wall, in the order in which it is done, and the usual cautions."""

from __future__ import annotations

from racewright.catalogue.model import Raceway
from racewright.plan.model import PlannedPiece, Step
from racewright.survey.model import Survey
from racewright.units.tape import TapeStyle, format_length

CAUTIONS = (
    "Eye protection and gloves when cutting, reaming and bending; burrs and chips cut hands and insulation.",
    "Foot firmly on the shoe, hold the handle through the whole pull: a handle that backs off can throw you.",
    "Ladders, lifts and heights: keep hands free and the load small; never hang a load from the conduit.",
    "Before opening or fishing into an enclosure: de-energise, lock out, test. Fish tape near live parts is a shock"
    " and arc hazard.",
    "Drilling masonry: wet or with extraction; silica dust harms the lungs.",
    "Local codes, the authority having jurisdiction and a licensed person decide; this card does not.",
)


def piece_steps(survey: Survey, raceway: Raceway, piece: PlannedPiece, *, several: bool) -> tuple[Step, ...]:
    """The steps for one piece, from stick to tightened fittings."""
    tape = survey.tape
    where = f" ({piece.label})" if several else ""
    marks = ", ".join(b.tape.text for b in sorted(piece.bends, key=lambda b: b.mark_mm))
    steps = [_cut_first(piece, tape, where)]
    if piece.bends:
        steps.append(
            Step(
                kind="lay-out",
                title=f"Mark it out{where}",
                detail=f"Tape hooked on end A: {marks}. Carry each mark all round; draw one line along the conduit.",
            )
        )
    for bend in sorted(piece.bends, key=lambda b: b.order):
        steps.append(
            Step(
                kind="bend",
                title=f"Bend {bend.order}: {bend.angle_deg:.4g}° at {bend.tape.text}",
                detail=(
                    f"{bend.reference.capitalize()} on the mark, hook toward end {bend.hook}, {bend.stance}."
                    f" {bend.spin_words}. {bend.look_at}"
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
        cuts = " and ".join(t.text for t in piece.trim_marks)
        steps.append(Step(kind="trim", title=f"Trim to {piece.cut_tape.text}", detail=f"Cut square at {cuts}."))
    ream = "trim inside and outside" if raceway.type.startswith("PVC") else "ream inside, file the outside edge"
    steps.append(Step(kind="ream", title="Ream both ends", detail=f"{ream.capitalize()}: no edge may touch a wire."))
    steps.extend(_install(survey, piece, tape))
    return tuple(steps)


def _cut_first(piece: PlannedPiece, tape: TapeStyle, where: str) -> Step:
    if piece.trim_after:
        stock = format_length(piece.least_stock_mm, tape)
        return Step(
            kind="stock",
            title=f"Take a stick of {stock} or more{where}",
            detail="It is cut after bending. All readings count from end A.",
        )
    return Step(
        kind="cut",
        title=f"Cut to {format_length(piece.cut_length_mm, tape)}{where}",
        detail=f"Square cut, exact {piece.cut_length_mm:.2f} mm. Write A and B on the ends.",
    )


def _install(survey: Survey, piece: PlannedPiece, tape: TapeStyle) -> list[Step]:
    steps = []
    for end, fitting, insert in (
        ("A", piece.fitting_a, piece.insert_a_mm),
        ("B", piece.fitting_b, piece.insert_b_mm),
    ):
        if fitting:
            steps.append(
                Step(
                    kind="insert",
                    title=f"End {end} into {fitting}",
                    detail=f"Goes in {format_length(insert, tape)}, to its stop; draw that line before it goes in.",
                )
            )
    strap = survey.strap or "straps"
    steps.append(
        Step(
            kind="strap",
            title="Level, strap, tighten",
            detail=f"Level or plumb it, fix the {strap}, then tighten both fittings.",
        )
    )
    return steps
