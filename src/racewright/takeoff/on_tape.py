"""Pieces of runs that were measured on another tape than the job's, on its lists."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import Finding
from racewright.takeoff.bill_model import RacewayCuts


def cards_read(cuts: Sequence[RacewayCuts]) -> tuple[Finding, ...]:
    """For each list a note that cards of its pieces read otherwise, as they are on another tape: none is cut
    shorter."""
    found = []
    for one in cuts:
        count = sum(piece.card != "" for stick in one.plan.sticks for piece in stick.pieces)
        if count:
            cards = "the card of 1 piece is" if count == 1 else f"the cards of {count} pieces are"
            message = (
                f"{one.raceway}: {cards} on another tape than this list's: lengths are rounded up here, and what the"
                " card says stands beside them. Where there is a tape of that kind, cut by the card's."
            )
            found.append(Finding(rule="job.other_tape", severity="info", message=message))
    return tuple(found)
