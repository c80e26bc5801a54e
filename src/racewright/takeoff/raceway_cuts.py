"""The cut list of one raceway: what is cut now, and apart from it what waits.

A piece that no bending order is known for is not cut: what makes it bendable changes it. It has a stick on the bill, or
the offcut that its plan takes, from which nothing else is cut.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from racewright.takeoff.bill_model import RacewayCuts
from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules, WantedPiece


def raceway_cuts(raceway: str, pieces: Sequence[WantedPiece], rules: CutRules) -> RacewayCuts:
    """All pieces of a raceway cut by the same rules. Raises InputError, LimitError."""
    now = [piece for piece in pieces if not piece.waits]
    waiting = [piece for piece in pieces if piece.waits]
    if not waiting:
        return RacewayCuts(raceway=raceway, plan=cut_list(now, rules))
    held = {(piece.run, piece.copy, piece.offcut) for piece in waiting if piece.offcut}
    free, kept = (
        tuple(o for o in rules.run_offcuts if ((o.run, o.copy, o.number) in held) is mine) for mine in (False, True)
    )
    return RacewayCuts(
        raceway=raceway,
        plan=cut_list(now, replace(rules, run_offcuts=free)),
        waiting=cut_list(waiting, replace(rules, offcuts_mm=(), run_offcuts=kept)),
    )
