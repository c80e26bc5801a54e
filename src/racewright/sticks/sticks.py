"""Where a run is cut into pieces: couplings on straight parts only, each piece from one stick, each bendable."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import msgspec

from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn
from racewright.geometry.ties import even
from racewright.sticks.model import SAME_MM, Bendable, Split, StickRules
from racewright.sticks.refusal import no_split
from racewright.sticks.search import Search
from racewright.units.said import said

_SCRAP_MM = 1e-3


def split_run(
    length_mm: float,
    turns: Sequence[Turn],
    rules: StickRules | None = None,
    *,
    bendable: Bendable | None = None,
) -> Split:
    """Split a run of this developed length (from cut end to cut end, insertions included) at least cost.

    `bendable` judges each piece; `straight_ease(rules)` unless told. Every piece is counted with a stick or
    offcut of its own: what is left of a stick is waste here, and the cutting list may still use it.
    Raises InputError for lengths that make no sense, LimitError where no split exists: why, and what would help.
    """
    rules = rules or StickRules()
    rules.check()
    _check_run(length_mm, turns)
    search = Search(length_mm, turns, rules, bendable)
    found = search.run()
    if not search.complete:
        # many offcuts: the sweep stopped at its bound; a sweep with the few longest ones is quick, so weigh it too
        fewer = msgspec.structs.replace(rules, offcuts_mm=_longest_kept(rules.offcuts_mm))
        again = Search(length_mm, turns, fewer, bendable).run()
        both = [item for item in (found, again) if item is not None]
        if both:
            return msgspec.structs.replace(min(both, key=lambda item: even(item.cost)), proved=False)
    if found is None:
        raise no_split(length_mm, turns, rules, search.farthest_mm, bendable)
    return found


def _longest_kept(offcuts_mm: Sequence[float]) -> tuple[float, ...]:
    """The three longest in their places; the rest as zero-worth scraps that the search leaves out."""
    longest = sorted(range(len(offcuts_mm)), key=lambda k: -offcuts_mm[k])[:3]
    return tuple(value if k in longest else _SCRAP_MM for k, value in enumerate(offcuts_mm))


def _check_run(length_mm: float, turns: Sequence[Turn]) -> None:
    if not 0.0 < length_mm < inf:
        raise InputError(
            f"a run of {said(length_mm)} cannot be split.", hint="give a length above zero", field="length_mm"
        )
    last = 0.0
    for i, turn in enumerate(turns):
        if turn.arc_start_mm < last - SAME_MM:
            raise LimitError(
                f"bend {i + 1} of the run begins {said(last - turn.arc_start_mm)} before the one before it ends.",
                hint="plan the run first, then split it",
                quantity="straight",
                asked=turn.arc_start_mm - last,
                limit=0.0,
            )
        last = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
    if last > length_mm + SAME_MM:
        raise LimitError(
            f"the last bend ends {said(last - length_mm)} beyond the run's end.",
            hint="plan the run first, then split it",
            quantity="length",
            asked=last,
            limit=length_mm,
        )
