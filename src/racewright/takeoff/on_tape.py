"""Pieces of runs that were measured on another tape than the job's: what their lengths are on its lists."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import Finding
from racewright.takeoff.bill_model import RacewayCuts
from racewright.units.tape import TapeStyle, format_length

#: So many are named, the rest are counted.
_NAMED = 12


def cards_read(cuts: Sequence[RacewayCuts], style: TapeStyle) -> tuple[Finding, ...]:
    """For each list a note of the pieces whose cards read otherwise, as they are on another tape: none is cut
    shorter."""
    found = []
    for one in cuts:
        pieces = {p.label: p for stick in one.plan.sticks for p in stick.pieces if p.card}
        said = [f"{label} {p.card} (here {format_length(p.length_mm, style)})" for label, p in sorted(pieces.items())]
        if said:
            more = f" and {len(said) - _NAMED} more" if len(said) > _NAMED else ""
            message = (
                f"{one.raceway}: cards on another tape than this list's; lengths are rounded up here:"
                f" {', '.join(said[:_NAMED])}{more}. Where there is a tape of that kind, cut by the card's."
            )
            found.append(Finding(rule="job.other_tape", severity="info", message=message))
    return tuple(found)
