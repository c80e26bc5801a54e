"""Why a run has no split into pieces."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.sticks.model import SAME_MM, StickRules
from racewright.sticks.search import Search
from racewright.units.said import said


class NoSplit(LimitError):
    """There is no split."""


def no_split(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, search: Search, *, asked: bool = False
) -> NoSplit:
    """The refusal in words. `search`: that which found nothing; `asked`: a caller's own test stands in the way."""
    why, needed, limit = _why(length_mm, turns, rules, search, told=asked)
    hint = "move the bends apart or make their angles smaller, or split the run where a box or a pull fitting stands"
    return NoSplit(why, hint=hint, quantity="stretch without a coupling", asked=needed, limit=limit)


def _why(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, search: Search, *, told: bool
) -> tuple[str, float, float]:
    longest, farthest = search.longest, search.farthest_mm
    if told:
        why = "there is no split: each that the straights allow has a piece that no bending order was found for."
        return why, length_mm, longest
    if search.cut_short:
        why = f"no split was found before the search was stopped; it came as far as {_place(farthest)}."
        return why, length_mm, longest
    stretches = search.places.stretches
    ahead = [max(s.low, farthest) for s in stretches if s.high > farthest + rules.least_piece_mm]
    target = min(ahead, default=length_mm)
    bends = [t.arc_start_mm for t in turns if farthest - 1e-6 <= t.arc_start_mm and t.arc_start_mm < target + 1e-6]
    named = f"the bends from {said(bends[0])} to {said(bends[-1])}" if len(bends) > 1 else _named(bends, "no bend")
    stretch = target - farthest
    if stretch > longest + 1e-6:
        return (
            f"there is no split: from {_place(farthest)} on ({named}) no straight has room for a coupling "
            f"within {said(stretch)}, and the longest stick is {said(longest)}.",
            stretch,
            longest,
        )
    if not bends:
        named = _named([t.arc_start_mm for t in turns if t.arc_start_mm >= farthest - 1e-6], "the last straight")
    return (
        f"there is no split: from {_place(farthest)} on ({named}) every piece that one stick allows leaves some "
        f"bend without its straight ({said(rules.hook_need_mm)} for the hook on one side, "
        f"{said(rules.grip_mm)} to hold on the other).",
        stretch,
        longest,
    )


def _place(at_mm: float) -> str:
    """A place along the run; its beginning by its name."""
    return said(at_mm) if at_mm > SAME_MM else "end A"


def _named(starts_mm: list[float], none: str) -> str:
    """The first of these bends by where it begins along the run."""
    return f"the bend at {said(starts_mm[0])}" if starts_mm else none
