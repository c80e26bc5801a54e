"""The cut list of one raceway: what is cut now, and apart from it what waits.

A piece that no bending order is known for is not cut: what makes it bendable changes it. It has a stick on the bill, or
the offcut that its plan takes, from which nothing else is cut. A piece that was made by another plan than its run's
present one is there, so long as that plan says: it comes out of no stick.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from racewright.takeoff.bill_model import RacewayCuts
from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules, WantedPiece


def raceway_cuts(
    raceway: str, pieces: Sequence[WantedPiece], rules: CutRules, *, again: bool = True
) -> RacewayCuts | None:
    """All pieces of a raceway cut by the same rules; `again`: those too that are cut already, by their run's present
    plan. None where nothing of them is left to list. Raises InputError, LimitError."""
    gone = [piece for piece in pieces if piece.made_by or (piece.there and not again)]
    left = [piece for piece in pieces if not (piece.made_by or (piece.there and not again))]
    if gone and not left:
        return None
    rules = _without(rules, gone)
    now = [piece for piece in left if not piece.waits]
    waiting = [piece for piece in left if piece.waits]
    if not waiting:
        return RacewayCuts(raceway=raceway, plan=cut_list(now, rules))
    free = _without(rules, waiting)
    kept = tuple(offcut for offcut in rules.run_offcuts if offcut not in free.run_offcuts)
    return RacewayCuts(
        raceway=raceway,
        plan=cut_list(now, free),
        waiting=cut_list(waiting, replace(rules, offcuts_mm=(), run_offcuts=kept)),
    )


def _without(rules: CutRules, pieces: Sequence[WantedPiece]) -> CutRules:
    """Without the offcuts of the runs that the plans of these pieces take."""
    taken = {(piece.run, piece.copy, piece.offcut) for piece in pieces if piece.offcut}
    free = tuple(o for o in rules.run_offcuts if (o.run, o.copy, o.number) not in taken)
    return replace(rules, run_offcuts=free)
