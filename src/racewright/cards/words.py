"""The words that the paper card and the terminal card share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from racewright.bends import roles
from racewright.cautions import DECIDES
from racewright.sequence.words import mark_words, ordinal, read_words
from racewright.tools.benders import is_taught
from racewright.units.tape import TapeStyle, format_length, read_tape, reading

if TYPE_CHECKING:
    from racewright.assembly.joints import Joint, PieceEnd
    from racewright.plan.model import MarkedBend, Plan, PlannedPiece

FOOTER = f"{DECIDES} Check every tape reading on the conduit before the first bend."
TAUGHT_SHOE = "Exact for a shoe with these taught figures; calibrate yours."


_FOUR = ("saddle leg near A", "saddle top near A", "saddle top near B", "saddle leg near B")


def hook_arrow(bend: MarkedBend) -> str:
    """'◂ A' or 'B ▸': which end the hook points at, as seen with end A on the left."""
    return "◂ A" if bend.hook == "A" else "B ▸"


def long_length(length_mm: float, tape: TapeStyle) -> str:
    """A length to order by: feet and tenths, or metres and hundredths."""
    return f"{length_mm / 304.8:,.1f} ft" if tape.unit == "in" else f"{length_mm / 1000.0:,.2f} m"


def shoe_words(bend: MarkedBend) -> tuple[str, str]:
    """What stands on a bend's mark, and where the hook points; without a shoe, which end of the bend is there."""
    if not bend.on_shoe:
        return mark_words(bend.reference, bend.hook, on_shoe=False)
    return bend.reference, hook_arrow(bend)


def pull_words(bend: MarkedBend) -> str:
    """When the pointer must show the angle, and what it leaves."""
    return read_words(bend.pointer_basis, bend.angle_deg)


def pull_note(piece: PlannedPiece) -> str:
    """What is true of every angle to bend to that the tool's springback is not known for."""
    if any(bend.pointer_basis == "relaxed" for bend in piece.bends):
        return "read angles after letting go"
    return ""


def bend_names(bend: MarkedBend, piece: PlannedPiece) -> str:
    """'suction pipe, saddle center', 'kick 1', 'pilaster, saddle top near B'."""
    kind = bend.shape.rstrip("0123456789 ")
    role = roles.in_words(bend.role)
    if bend.role == roles.SADDLE_FOUR:
        four = [b.number for b in piece.bends if (b.shape, b.role) == (bend.shape, bend.role)]
        if len(four) == len(_FOUR):  # none is on another piece
            role = _FOUR[four.index(bend.number)]
    first, _, rest = role.partition(" ")
    if kind.endswith(first):  # 'offset 1' and 'offset first': 'offset 1, first'
        role = rest
    return ", ".join(part for part in (bend.shape, role) if part)


def in_bending_order(piece: PlannedPiece) -> tuple[MarkedBend, ...]:
    """The bends as they are made."""
    return tuple(sorted(piece.bends, key=lambda bend: bend.order))


def along_conduit(piece: PlannedPiece) -> tuple[MarkedBend, ...]:
    """The bends as their marks lie from end A."""
    return tuple(sorted(piece.bends, key=lambda bend: (bend.mark_mm, bend.number)))


def bender_name(plan: Plan) -> str:
    """'EMT 1/2, emt-1/2': the raceway and the shoe, where something is bent."""
    return plan.raceway + (f", {plan.bender.name}" if plan.bender else "")


def bender_words(plan: Plan) -> str:
    """The bender's name with the two numbers that fix it; a shoe whose figures are only taught is called so."""
    if plan.bender is None or not any(piece.bends for piece in plan.pieces):
        return "nothing is bent: no bender is needed"
    bender = plan.shoe
    if bender.radius_only:
        return f"{bender.name}: centerline radius {format_length(bender.radius_mm, plan.tape)}, no hand shoe"
    take_up = format_length(bender.take_up_mm, plan.tape)
    gain = format_length(bender.gain_mm, plan.tape)
    words = f"{bender.name}: take-up {take_up}, gain per 90 {gain}"
    return f"{words}. {TAUGHT_SHOE}" if is_taught(bender) else words


def tool_words(plan: Plan) -> str:
    """The tool in a line, and whose figures the marks are for; '' where nothing is bent."""
    if plan.bender is None or not any(piece.bends for piece in plan.pieces):
        return ""
    bender = plan.shoe
    return f"{bender.name}, {'taught figures: calibrate yours' if is_taught(bender) else bender.standing}"


def order_heading(piece: PlannedPiece) -> str:
    """What stands over a piece's bends."""
    return "Bend it, in this order" if piece.ways else "No bending order is known: its bends from A to B"


def order_words(piece: PlannedPiece, bend: MarkedBend) -> str:
    """'1st'; '-' where no bending order is known."""
    return ordinal(bend.order) if piece.ways else "-"


def digest_words(plan: Plan) -> str:
    """'plan K7M2QX': by what stands on a sheet it is told from a sheet of another plan."""
    return f"plan {plan.digest}" if plan.digest else ""


def cut_words(piece: PlannedPiece) -> str:
    """Where a piece that is cut after bending is cut."""
    return f"cut it on line{'s' if len(piece.cut_ends) > 1 else ''} {' and '.join(piece.cut_ends)} after bending"


def piece_words(plan: Plan, index: int) -> str:
    """'piece 1 of 2', or '' for the only piece."""
    return f"{plan.pieces[index].label} of {len(plan.pieces)}" if len(plan.pieces) > 1 else ""


def stock_zero_mm(piece: PlannedPiece) -> float:
    """How far from the stock's end the piece's end A lies: readings count from there. 0 unless end A is cut later."""
    return piece.trim_marks[0].shown_mm if "A" in piece.cut_ends else 0.0


def tape_words(piece: PlannedPiece, style: TapeStyle) -> str:
    """Where the tape is hooked."""
    if "A" in piece.cut_ends:
        cut = reading(piece.trim_marks[0].text, style.unit)
        return f"draw cut line A {cut} from the stick's end: every reading counts from that line"
    return "hook the tape on end A; every reading counts from there"


def stick_words(piece: PlannedPiece, style: TapeStyle) -> str:
    """'from a length of 120"' or 'from an offcut of 44 3/4"', what it is cut from; '' where none is known."""
    if not piece.stock_mm:
        return ""
    return f"from {'an offcut' if piece.offcut else 'a length'} of {format_length(piece.stock_mm, style)}"


def _measured_joints(plan: Plan) -> list[Joint]:
    """The unions and expansion fittings, which are measured before the piece before them (else after) is cut."""
    return [joint for joint in plan.joints if joint.how in ("union", "expands")]


def measured_first(plan: Plan) -> tuple[str, ...]:
    """How pieces are cut that wait for a joint to be measured."""
    waiting = {joint.before or joint.after for joint in _measured_joints(plan)}
    told = (step for step in plan.steps if step.kind in ("cut", "stock") and step.piece in waiting)
    return tuple(f"{step.title}. {step.detail}" for step in told)


def cut_of(piece: PlannedPiece, plan: Plan) -> tuple[str, str, str]:
    """'CUT' and the length, 'TAKE' and that of a whole stick, or 'STOCK, at least' and the stick to take; and what goes
    with it. Where no bending order is known, 'STOP', and that it is not to be cut yet."""
    finished = reading(piece.cut_length_tape, plan.tape.unit)
    if not piece.order_known:
        return "STOP", "do not cut or bend it yet", f"as planned {finished}; its problem says what would work"
    if piece.trim_after:
        stock = format_length(piece.least_stock_mm, plan.tape)
        source = f"{stick_words(piece, plan.tape)}, " if piece.offcut else ""
        told = (
            f"cut after bending; {piece.end_b.told}" if piece.end_b.told else f"finished {finished}, {cut_words(piece)}"
        )
        return "STOCK, at least", stock, f"{source}{told}"
    if piece.is_whole:
        waits = next((j for j in _measured_joints(plan) if plan.pieces[(j.before or j.after or 0) - 1] is piece), None)
        cut = "" if waits is None else f"; shorten it only by what the {waits.kind} is longer"
        return "TAKE", finished, f"a whole {'offcut' if piece.offcut else 'length'}{cut}"
    return "CUT", finished, stick_words(piece, plan.tape)


def ends_words(piece: PlannedPiece, plan: Plan) -> str:
    """What both ends go into, in sentences."""
    end_a, end_b = end_words(piece, plan.tape)
    return f"End A {end_a}. End B {end_b}."


def faces_words(plan: Plan) -> str:
    """From where a finished piece is read, beside its readings: the bare piece ends farther on; '' where it does not,
    and of several pieces."""
    if len(plan.pieces) > 1 or not plan.dimensions:
        return ""
    piece = plan.pieces[0]
    deep = [
        (letter, format_length(end.insertion_mm, plan.tape))
        for letter, end in (("A", piece.end_a), ("B", piece.end_b))
        if end.insertion_mm > 0.0
    ]
    if not deep:
        return ""
    if len(deep) == 2 and deep[0][1] == deep[1][1]:
        past = f"both ends go {deep[0][1]} past them"
    else:
        past = " and ".join(f"end {letter} goes {length} past its face" for letter, length in deep)
    return f"Readings count from the faces of its fittings; {past}."


def places_words(piece: PlannedPiece, plan: Plan) -> str:
    """Where straps stand on a piece, from its end A, and which of them only guide; '' for one without."""
    if plan.checks is None:
        return ""
    places, guides = (piece.on_it_mm(row) for row in (plan.checks.straps_mm, plan.checks.guides_mm))
    if len(guides) == len(places):
        return ", ".join(format_length(at, plan.tape) for at in places) + (
            " (all guides)" if len(places) > 1 else " (guide)" if places else ""
        )
    return ", ".join(format_length(at, plan.tape) + (" (guide)" if at in guides else "") for at in places)


def clearance_words(clearance_mm: float, style: TapeStyle) -> str:
    """How far the conduit passes from a thing, or how deep it runs into it, as far as the tape shows it."""
    if read_tape(clearance_mm, style).shown_mm < 0.0:
        return f"conduit runs into it, {format_length(-clearance_mm, style)} deep"
    return f"conduit clears it by {format_length(max(0.0, clearance_mm), style)}"


def end_words(piece: PlannedPiece, style: TapeStyle) -> tuple[str, str]:
    """What each end goes into, how deep, and what new marks want done there."""

    def one(end: PieceEnd) -> str:
        if not end.fitting:
            return f"stays open{f' at {end.open_at}' if end.open_at else ''} (no fitting)"
        deep = f", {format_length(end.insertion_mm, style)} deep" if end.insertion_mm > 0 else ""
        thread = {"cut": ", thread to cut", "own": ", the stick's own thread", "": ""}[end.thread]
        told = f"; {end.told}" if end.told else ""
        return f"into {end.fitting}{deep}{thread}{told}"

    return one(piece.end_a), one(piece.end_b)
