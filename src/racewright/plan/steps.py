"""The whole job at the bench and on the wall, in the order in which it is done."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from racewright.assembly.joints import Assembly, Joint
from racewright.catalogue.raceways import Raceway
from racewright.cautions import Work, cautions_for, in_order
from racewright.inspection.check_run import RunCheck
from racewright.plan.install_steps import install_steps
from racewright.plan.model import MarkedBend, PlannedPiece, Step, StepKind
from racewright.sequence.care import bending_care, correcting_care, cutting_care
from racewright.sequence.words import bend_name, mark_words, read_words
from racewright.survey.model import Survey
from racewright.tools.benders import BenderProfile
from racewright.units.angle import hand_angle
from racewright.units.said import said_finely
from racewright.units.tape import TapeStyle, format_length, reading

#: What a step at the bench asks to take care of by its kind alone; a bend's says it by its tool.
_CARE: dict[StepKind, tuple[Work, ...]] = {
    "cut": cutting_care(threaded=False),
    "trim": cutting_care(threaded=False),
    "ream": cutting_care(threaded=False),
    "thread": cutting_care(threaded=True),
}


def step_cautions(step: Step) -> tuple[str, ...]:
    """What this one step of a plan asks to take care of, and last who decides."""
    return cautions_for(*in_order(step.care))


def plan_cautions(steps: Sequence[Step]) -> tuple[str, ...]:
    """What a plan of these steps asks to take care of, and last who decides."""
    return cautions_for(*in_order(work for step in steps for work in step.care))


def job_steps(
    survey: Survey,
    raceway: Raceway,
    pieces: Sequence[PlannedPiece],
    joints: Sequence[Joint],
    assembly: Assembly,
    checks: RunCheck,
    bender: BenderProfile,
) -> tuple[Step, ...]:
    """The bench steps of each piece, then what is done on the wall, in the order in which the run is put up; nothing on
    the wall where it cannot be put up, which is said first, and where a piece of it waits for a bending order."""
    bench = [
        msgspec.structs.replace(step, piece=number)
        for number, piece in enumerate(pieces, start=1)
        for step in bench_steps(
            survey,
            raceway,
            piece,
            bender,
            several=len(pieces) > 1,
            made_room=_made_room(joints, pieces, number, survey.tape),
        )
    ]
    if not all(piece.order_known for piece in pieces):
        return (*_stop(assembly), *bench)
    return (*_stop(assembly), *bench, *install_steps(survey, pieces, joints, assembly, checks))


def _stop(assembly: Assembly) -> list[Step]:
    """What comes before everything else where the run cannot be put up: its straps and ends are named all the same."""
    if assembly.possible:
        return []
    title = "Stop: this run cannot be put up as it is"
    why = assembly.why[:1].upper() + assembly.why[1:]
    detail = f"{why} Settle that first: what is cut and bent below is for the run as it is."
    return [Step(kind="stop", title=title, detail=detail, care=("height", "drill", "enclosure"))]


def bench_steps(
    survey: Survey,
    raceway: Raceway,
    piece: PlannedPiece,
    bender: BenderProfile,
    *,
    several: bool,
    made_room: str = "",
) -> tuple[Step, ...]:
    """The steps for one piece at the bench, from stick to reamed ends; where no bending order is known for it, that
    it waits. `made_room`: what its length takes for granted of a joint that has to be measured first."""
    where = f" ({piece.label})" if several else ""
    steps = [
        msgspec.structs.replace(step, care=step.care or _CARE.get(step.kind, ()))
        for step in _made_steps(survey, raceway, piece, bender, where, made_room)
    ]
    return tuple(steps) if piece.order_known else (_no_order(steps, where),)


def _made_steps(
    survey: Survey, raceway: Raceway, piece: PlannedPiece, bender: BenderProfile, where: str, made_room: str
) -> list[Step]:
    tape = survey.tape
    steps = [_cut_first(piece, tape, where, made_room)]
    if not piece.trim_after:
        steps.extend(_threads(piece, tape))
    if piece.pencil_lines:
        lines = ", ".join(f"{line.words} at {reading(line.tape, tape.unit)}" for line in piece.pencil_lines)
        detail = f"{_tape_zero(piece)}: {lines}. Carry each line all around."
        steps.append(Step(kind="lay-out", title=f"Mark it{where}", detail=detail))
    for bend in sorted(piece.bends, key=lambda b: b.order):
        name = bend_name(bend.order, bend.number)
        steps.append(
            Step(
                kind="bend",
                bend=bend.number,
                care=bending_care(bender, (bend.stance,)),
                title=f"{name} at {reading(bend.mark_tape, tape.unit)}: bend to {_pointer(bend)}",
                detail=f"{bend.spin_words}. {_made(bend)}. {bend.look_at}".strip(),
            )
        )
    if piece.bends:
        steps.append(
            Step(
                kind="check",
                care=correcting_care(bender, [bend.stance for bend in piece.bends]),
                title=f"Check it before it {'is cut' if piece.trim_after else 'goes up'}",
                detail="Lay it on a flat floor or sight along it: no daylight, no dog-leg; measure rise and ends"
                " against the side view. If it is off, measure how far and ask for the correction before forcing it.",
            )
        )
    if piece.trim_after:
        steps.append(
            Step(
                kind="trim",
                title=f"Cut it on line{'s' if len(piece.cut_ends) > 1 else ''} {' and '.join(piece.cut_ends)}",
                detail=f"Square; along the bends it is then {reading(piece.cut_length_tape, tape.unit)}.",
            )
        )
        steps.extend(_threads(piece, tape))
    ream = "trim inside and outside" if raceway.family == "PVC" else "ream inside, file the outside edge"
    steps.append(Step(kind="ream", title="Ream both ends", detail=f"{ream.capitalize()}: no edge may touch a wire."))
    return steps


def _made_room(joints: Sequence[Joint], pieces: Sequence[PlannedPiece], number: int, tape: TapeStyle) -> str:
    """What a piece's length takes for granted of a union or an expansion fitting, which is measured before the cut: at
    end B, where no mark counts from, or at the run's end A."""
    piece = pieces[number - 1]
    for joint in joints:
        if (joint.before or joint.after) != number or joint.how not in ("union", "expands"):
            continue
        end = "B" if joint.before == number else "A"
        marks = "; every mark then comes as much nearer to end A" if end == "A" and piece.bends else ""
        if joint.how == "union":
            return (
                f" The length is for a union at end {end} as long as the coupling in its place. Measure the union"
                f" first: by what it is longer, cut end {end} shorter and thread it again{marks}."
            )
        if joint.before is not None and joint.after is not None:
            gap = pieces[joint.after - 1].run_start_mm - piece.run_start_mm - piece.cut_length_mm
            set_as = ""
            if joint.piston is not None:
                out, day = format_length(joint.piston.open_mm, tape), joint.piston.day
                set_as = f", its piston {out} out (conduit at {day})"
            return (
                f" The length is for an expansion fitting at end {end} that keeps the two ends"
                f" {format_length(gap, tape)} apart{set_as}. Set yours and measure it first: by what it is longer,"
                f" cut end {end} shorter."
            )
    return ""


def _no_order(held_up: Sequence[Step], where: str) -> Step:
    """What stands in the place of a piece's steps where no bending order is known; their work is named all the same."""
    detail = "No bending order is known for it: its problem says what would work. Nothing of the run goes up before."
    care = in_order(("height", "drill", "enclosure", *(work for step in held_up for work in step.care)))
    return Step(kind="stop", title=f"Do not cut or bend it yet{where}", detail=detail, care=care)


def _cut_first(piece: PlannedPiece, tape: TapeStyle, where: str, made_room: str) -> Step:
    if piece.trim_after:
        stock = f"a stick of {format_length(piece.least_stock_mm, tape)} or more"
        if piece.offcut:
            stock = f"the offcut of {format_length(piece.stock_mm, tape)}"
        return Step(
            kind="stock",
            title=f"Take {stock}{where}",
            detail="It is cut after bending."
            + (
                f" Draw cut line A {format_length(piece.extra_a_mm, tape)} from one end."
                if "A" in piece.cut_ends
                else ""
            )
            + made_room,
        )
    if piece.is_whole:
        length = reading(piece.cut_length_tape, tape.unit)
        detail = f"Write A and B on the ends.{made_room}"
        care: tuple[Work, ...] = ("cut",) if made_room else ()
        whole = "a whole offcut" if piece.offcut else "a whole length"
        return Step(kind="stock", title=f"Take {whole}, {length}{where}", detail=detail, care=care)
    return Step(
        kind="cut",
        title=f"Cut to {format_length(piece.cut_length_mm, tape)}{_from_offcut(piece, tape)}{where}",
        detail=f"Square cut, exact {said_finely(piece.cut_length_mm)}. Write A and B on the ends.{made_room}",
    )


def _from_offcut(piece: PlannedPiece, tape: TapeStyle) -> str:
    return f" from the offcut of {format_length(piece.stock_mm, tape)}" if piece.offcut else ""


def _made(bend: MarkedBend) -> str:
    """What stands on the mark and how the bend is made."""
    if not bend.on_shoe:
        return f"{bend.stance_words[0].upper()}{bend.stance_words[1:]}"
    reference, hook = mark_words(bend.reference, bend.hook, on_shoe=True)
    return f"{reference.capitalize()} on {bend.name}, {hook}, {bend.stance_words}"


def _pointer(bend: MarkedBend) -> str:
    """What the pointer must show, and when."""
    pointer = hand_angle(bend.pointer_deg)
    if bend.pointer_basis == "under load":
        return f"{pointer} {read_words(bend.pointer_basis, bend.angle_deg)}"
    return pointer


def _tape_zero(piece: PlannedPiece) -> str:
    return "Tape from cut line A" if "A" in piece.cut_ends else "Tape hooked on end A"


def _threads(piece: PlannedPiece, tape: TapeStyle) -> list[Step]:
    """Threads to cut on this piece, if any."""
    ends = [(letter, end) for letter, end in (("A", piece.end_a), ("B", piece.end_b)) if end.thread == "cut"]
    if not ends:
        return []
    own = [letter for letter, end in (("A", piece.end_a), ("B", piece.end_b)) if end.thread == "own"]
    keeps = f" End {own[0]} keeps the stick's own; where that end is cut too, thread both." if own else ""
    return [
        Step(
            kind="thread",
            title=" and ".join(f"{'Cut a thread at end' if n == 0 else 'at end'} {e}" for n, (e, _) in enumerate(ends)),
            detail=f"{format_length(ends[0][1].insertion_mm, tape)} long; the cut length holds it.{keeps} Oil the"
            " die, ream the bore, and try the thread with a fitting: it starts by hand and stops before the last"
            " turn.",
        )
    ]
