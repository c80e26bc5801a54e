"""A begun piece that no way of finishing brings into its place: what is told of it, and what can be saved from it."""

from __future__ import annotations

from collections.abc import Collection

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.geometry.vector import even
from racewright.units.tape import TapeStyle, format_length

#: A shorter straight is not worth keeping (mm; our own choice, as for the least piece between couplings).
LEAST_KEPT_MM = 300.0


def longest_straight_mm(piece: BentPiece, made: Collection[int], from_mm: float, to_mm: float) -> tuple[float, float]:
    """Where the longest straight of the conduit in hand begins and ends, from end A of the piece: only the bends `made`
    (by number from 1) are in it, and it goes from `from_mm` to `to_mm`. Of equals the first."""
    at, ends = from_mm, []
    for number, bend in enumerate(piece.bends, start=1):
        if number in made:
            ends.append((at, bend.arc_start_mm))
            at = bend.arc_end_mm
    ends.append((at, to_mm))
    return max(ends, key=lambda part: even(part[1] - part[0]))


def scrap_finding(
    label: str, piece: BentPiece, made: Collection[int], *, from_mm: float, to_mm: float, tape: TapeStyle, proved: bool
) -> Finding:
    """That the piece is scrap, and the straight that can be cut from it; see `longest_straight_mm`. `proved`
    False: the search was cut short."""
    begin, end = longest_straight_mm(piece, made, from_mm, to_mm)
    long = end - begin
    if long < LEAST_KEPT_MM:
        saved = f"no straight of it is worth keeping (the longest is {format_length(max(long, 0.0), tape)})"
    else:
        where = "at end A" if begin == from_mm else "at end B" if end == to_mm else "between its bends"
        saved = f"its straight {where}, {format_length(long, tape)}, can be cut off and used again"
    return Finding(
        rule="replan.scrap",
        severity="problem",
        message=f"{label} is scrap{'' if proved else ', as far as was tried'}: no other marks, bending further, turning"
        " or cutting it back makes it fit, and no correction of the finished piece does. Make it anew;"
        f" {saved}.",
        citation="geometry",
        where=label,
        measured=long,
        allowed=LEAST_KEPT_MM,
        unit="mm",
    )
