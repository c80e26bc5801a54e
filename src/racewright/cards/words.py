"""The words that the paper card and the terminal card share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from racewright.cautions import DECIDES
from racewright.tools.benders import is_taught
from racewright.units.angle import format_degrees
from racewright.units.tape import TapeStyle, format_length, reading

if TYPE_CHECKING:
    from racewright.plan.model import MarkedBend, PieceEnd, Plan, PlannedPiece

REFERENCE_WORDS = {"arrow": "arrow", "center": "center mark", "star": "star"}
SEVERITY_WORDS = {"problem": "PROBLEM", "caution": "CAUTION", "info": "NOTE"}
FOOTER = f"{DECIDES} Check every tape reading on the conduit before the first bend."
TAUGHT_SHOE = "Exact for a shoe with these taught figures; calibrate yours."
_ENDINGS = {1: "st", 2: "nd", 3: "rd"}


def ordinal(number: int) -> str:
    """'1st', '2nd', '11th'."""
    ending = "th" if number % 100 in (11, 12, 13) else _ENDINGS.get(number % 10, "th")
    return f"{number}{ending}"


def hook_arrow(bend: MarkedBend) -> str:
    """'◂ A' or 'B ▸': which end the hook points at, as seen with end A on the left."""
    return "◂ A" if bend.hook == "A" else "B ▸"


def long_length(length_mm: float, tape: TapeStyle) -> str:
    """A length to order by: feet and tenths, or metres and hundredths."""
    return f"{length_mm / 304.8:,.1f} ft" if tape.unit == "in" else f"{length_mm / 1000.0:,.2f} m"


def pull_words(bend: MarkedBend) -> str:
    """When the pointer must show the angle, and what it leaves."""
    if bend.pointer_basis == "under load":
        return f"while pulling; leaves {format_degrees(bend.angle_deg)}"
    return "read after letting go"


def bend_names(bend: MarkedBend) -> str:
    """'saddle 1, centre'."""
    kind = bend.shape.rstrip("0123456789 ")
    role = bend.role.removeprefix(kind).strip() if kind and bend.role != kind else bend.role
    return ", ".join(part for part in (bend.shape, "" if role == kind else role) if part)


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
    take_up = format_length(bender.take_up_mm, plan.tape)
    gain = format_length(bender.gain_mm, plan.tape)
    words = f"{bender.name}: take-up {take_up}, gain of a 90 {gain}"
    return f"{words}. {TAUGHT_SHOE}" if is_taught(bender) else words


def piece_words(plan: Plan, index: int) -> str:
    """'piece 1 of 2', or '' for the only piece."""
    return f"{plan.pieces[index].label} of {len(plan.pieces)}" if len(plan.pieces) > 1 else ""


def stock_zero_mm(piece: PlannedPiece) -> float:
    """How far from the stock's end the piece's end A lies: readings count from there. 0 unless end A is cut later."""
    return piece.trim_marks[0].shown_mm if piece.trim_after and len(piece.trim_marks) > 1 else 0.0


def tape_words(piece: PlannedPiece, style: TapeStyle) -> str:
    """Where the tape is hooked."""
    if stock_zero_mm(piece) > 0.0:
        cut = reading(piece.trim_marks[0].text, style.unit)
        return f"draw a cut line {cut} from the stock's end: that is end A, every reading counts from that line"
    return "hook the tape on end A; every reading counts from there; arrowheads show where the hook faces"


def end_words(piece: PlannedPiece, style: TapeStyle) -> tuple[str, str]:
    """What each end goes into, and how deep."""

    def one(end: PieceEnd) -> str:
        if not end.fitting:
            return "free end"
        deep = f", {format_length(end.insertion_mm, style)} deep" if end.insertion_mm > 0 else ""
        return f"into {end.fitting}{deep}"

    return one(piece.end_a), one(piece.end_b)
