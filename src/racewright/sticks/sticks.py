"""Where a run is cut into pieces: couplings on straight parts only, each piece from one stick, each bendable."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import inf

from racewright.bends.model import Bend
from racewright.budget import OFFCUTS_USED, RUN, SPLIT, SPLIT_AROUND, SPLIT_ASKED, SPLIT_FIRST, Budget
from racewright.geometry.chain import Turn
from racewright.sticks.model import Bendable, Ease, RunPiece, Split, StickRules, Verdict, straight_ease
from racewright.sticks.refusal import no_split
from racewright.sticks.search import Search

#: Offcuts with which a sweep ends in time.
_FEW_OFFCUTS = 3


def split_run(
    length_mm: float,
    turns: Sequence[Turn],
    rules: StickRules | None = None,
    *,
    bendable: Callable[[tuple[Bend, ...], float], bool | None] | None = None,
    work: Budget | None = None,
) -> Split:
    """Split a run of this developed length (from cut end to cut end, insertions included) at least cost.

    Pieces are judged by their straights. `bendable`: a fuller test, which every piece with bends has to pass as well;
    a piece of which it cannot tell (None) is taken only where there is no split without such.
    Every piece is counted with a stick or offcut of its own: what is left of a stick is waste here, and the cutting
    list may still use it. Raises LimitError where no split exists, and says why.
    Bounded in work, of `work` where it is given; a unit is a way to saw one piece, or a piece that cannot be.
    """
    rules = rules or StickRules()
    rules.check()
    sweeps, *around = (work or Budget(RUN)).parts(SPLIT, SPLIT_AROUND, SPLIT_AROUND)
    search, found = _cheapest(length_mm, turns, rules, sweeps)
    if found is None:
        raise no_split(length_mm, turns, rules, search)
    if bendable is None:
        return found
    untold = False

    def passes(bends: tuple[Bend, ...], piece_mm: float, *, strict: bool) -> bool:
        nonlocal untold
        told = bendable(bends, piece_mm)
        untold = untold or told is None
        return told or (told is None and not strict)

    for strict, budget in zip((True, False), around, strict=True):
        test = partial(passes, strict=strict)
        search.refused.clear()
        split = passing(search, found, test, budget.share(2)) or _asked(length_mm, turns, rules, test, budget)
        if split is not None:
            return split
        if not untold:
            break
    raise no_split(length_mm, turns, rules, search, asked=True)


def _cheapest(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, budget: Budget
) -> tuple[Search, Split | None]:
    """The cheapest split by straights, and the search that found it, or that came to no end. Each search bounds the
    next: a quick one, one over all places, one with the few longest offcuts, one with them all."""
    quick = Search(length_mm, turns, rules, most_offcuts=0, quick=True)
    # a first split is looked for in any case
    best = quick.run(Budget(max(SPLIT_FIRST, budget.left // 4), budget))
    search = Search(length_mm, turns, rules, most_offcuts=0, bound=inf if best is None else best.cost)
    found = search.run(budget.share(2))
    if found is None and best is not None:
        search, found = quick, best
    for most in (_FEW_OFFCUTS, OFFCUTS_USED):
        bound = inf if found is None else found.cost
        other = Search(length_mm, turns, rules, most_offcuts=most, bound=bound)
        if not any(stick.offcut for stick in other.sticks):
            break
        split = other.run(budget.share(1 if most == OFFCUTS_USED else 2))
        if split is not None or found is None:
            search, found = other, split
        if len(other.sticks) < len(set(rules.stock_mm)) + most:
            break  # these were all
    return search, found


def passing(search: Search, found: Split, bendable: Bendable, budget: Budget) -> Split | None:
    """The split, or other ones that are good by straights, until all pieces pass a caller's test. One that passes at
    once is still the cheapest of all. None where there is none left, or the budget is spent."""
    split: Split | None = found
    while split is not None:
        failed = [k for k, piece in enumerate(split.pieces) if piece.bends and not _passes(bendable, piece)]
        if not failed:
            return split
        for k in failed:
            search.refuse(k)
        split = None
        for quick in (True, False):
            if split is None and not budget.spent:
                search = search.round_refused(quick=quick)
                split = search.run(budget)
    return None


def _passes(bendable: Bendable, piece: RunPiece) -> bool:
    return bendable(piece.bends, piece.cut_length_mm)


def _asked(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, bendable: Bendable, budget: Budget
) -> Split | None:
    """The cheapest of the splits whose every piece passes a caller's test, of the places that are tried."""
    return Search(length_mm, turns, rules, _asking(rules, bendable)).run(budget)


def _asking(rules: StickRules, bendable: Bendable) -> Verdict:
    """The verdict by straights, and where that is good a caller's test, asked a bounded number of times."""
    left = SPLIT_ASKED
    straight = straight_ease(rules)

    def verdict(bends: tuple[Bend, ...], length_mm: float) -> Ease | None:
        nonlocal left
        ease = straight(bends, length_mm)
        if ease is None or left <= 0:
            return None
        left -= 1
        return ease if bendable(bends, length_mm) else None

    return verdict
