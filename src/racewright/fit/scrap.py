"""A begun piece that no way of finishing brings into its place: why, what can be saved from it, what to do instead.

A piece serves where a hand can finish it so that its end meets its fitting, by its marks, by a small correction once
it is finished or sprung in, and it runs into nothing that its plan keeps clear of. One that passes too close still
serves, and it is told how close. What does not serve is scrap: no marks are given for it, and nothing is promised of
its end.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from racewright.bends.model import BentPiece
from racewright.errors import Finding
from racewright.fit.measured import gap_words
from racewright.fit.replanned import ReplanAnswer, taken_in
from racewright.geometry.vector import even
from racewright.units.tape import TapeStyle, format_length, read_tape

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


def why_words(best: ReplanAnswer, against: Sequence[Finding], tape: TapeStyle) -> str:
    """By how much the best of the ways to finish that can be bent misses: at its end, else at what it runs into
    (`against`: what was found of it there), else at a limit."""
    if not taken_in(open_end=best.open_end).takes(best.gap):
        return f"at best end B comes out {gap_words(best.gap, tape)}"
    hits = [f for f in against if f.severity == "problem"]
    deep_mm = {"run.clearance": 0.0, "run.surface": best.piece.outside_diameter_mm}
    into = [_into(f, tape) for f in hits if f.rule in deep_mm and (f.measured or 0.0) < -deep_mm[f.rule]]
    place = "come to its place" if best.open_end else "meet its fitting"
    if into:
        return f"what would {place} runs into {', and into '.join(into)}"
    found = [f.message.rstrip(".") for f in (*hits, *best.findings) if f.severity == "problem"]
    return f"for its end to {place}, {'; '.join(found)}"


def _into(hit: Finding, tape: TapeStyle) -> str:
    deep_mm = -(hit.measured or 0.0)
    shown = read_tape(deep_mm, tape).shown_mm > 0.0
    by = format_length(deep_mm, tape) if shown else f"less than {format_length(tape.step_mm, tape)}"
    return f"{hit.where} by {by}"


def scrap_finding(
    label: str,
    piece: BentPiece,
    made: Collection[int],
    why: str,
    *,
    from_mm: float,
    to_mm: float,
    tape: TapeStyle,
    proved: bool,
) -> Finding:
    """That the piece is scrap and why, and the straight that can be cut from it; see `longest_straight_mm`. `proved`
    False: the search was cut short."""
    begin, end = longest_straight_mm(piece, made, from_mm, to_mm)
    long = end - begin
    if long < LEAST_KEPT_MM:
        saved = f"No straight of it is worth keeping (the longest is {format_length(max(long, 0.0), tape)})"
    else:
        where = "at end A" if begin == from_mm else "at end B" if end == to_mm else "between its bends"
        saved = f"Its straight {where}, {format_length(long, tape)}, can be cut off and used again"
    return Finding(
        rule="replan.scrap",
        severity="problem",
        message=f"{label} is scrap{'' if proved else ', as far as was tried'}: no other marks, no bending further,"
        " opening, twisting, turning or cutting back makes it fit, and no small correction of the finished piece does;"
        f" {why}. {saved}.",
        citation="geometry",
        where=label,
        measured=long,
        allowed=LEAST_KEPT_MM,
        unit="mm",
    )
