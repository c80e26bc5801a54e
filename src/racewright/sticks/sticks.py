"""Where a run is cut into pieces: couplings on straight parts only, each piece from one stick, each bendable.
Where there is no split: why, and which single change would allow it; each suggestion is tried, not guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.geometry.vector import even
from racewright.sticks.model import Bendable, Split, StickRules
from racewright.sticks.search import Search
from racewright.units.said import said, said_least, said_most

_SCRAP_MM = 1e-3


def split_run(
    length_mm: float, turns: Sequence[Turn], rules: StickRules | None = None, *, bendable: Bendable | None = None
) -> Split:
    """Split a run of this developed length (from cut end to cut end, insertions included) at least cost.

    `bendable` judges each piece; `straight_ease(rules)` unless told. Every piece is counted with a stick or
    offcut of its own: what is left of a stick is waste here, and the cutting list may still use it.
    Raises LimitError where no split exists: why, and what would help.
    """
    rules = rules or StickRules()
    rules.check()
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


_HALVINGS = 8


def no_split(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, farthest_mm: float, bendable: Bendable | None
) -> LimitError:
    """The refusal in words. `farthest_mm`: the farthest coupling place that the search reached. `bendable`: the
    caller's own verdict, which stays as it is; without one, a shorter grip is tried as well."""
    search = Search(length_mm, turns, rules, bendable)
    why, asked, limit = _why(length_mm, turns, rules, search, farthest_mm)
    changes = _changes(length_mm, turns, rules, farthest_mm, bendable)
    hint = (
        "; or ".join(changes)
        if changes
        else (
            "no single change of grip, stick or coupling is enough: give the bends there a smaller angle (a kick), "
            "move them apart, or set a pull fitting"
        )
    )
    return LimitError(why, hint=hint, quantity="stretch without a coupling", asked=asked, limit=limit)


def _why(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, search: Search, farthest: float
) -> tuple[str, float, float]:
    ahead = [max(low, farthest) for low, high in search.intervals if high > farthest + rules.least_piece_mm]
    target = min(ahead, default=length_mm)
    bends = [t.arc_start_mm for t in turns if farthest - 1e-6 <= t.arc_start_mm and t.arc_start_mm < target + 1e-6]
    named = f"the bends from {said(bends[0])} to {said(bends[-1])}" if len(bends) > 1 else _named(bends, "no bend")
    stretch = target - farthest
    if stretch > search.longest + 1e-6:
        return (
            f"there is no split: from {said(farthest)} on ({named}) no straight has room for a coupling "
            f"within {said(stretch)}, and the longest stick is {said(search.longest)}.",
            stretch,
            search.longest,
        )
    if not bends:
        named = _named([t.arc_start_mm for t in turns if t.arc_start_mm >= farthest - 1e-6], "the last straight")
    return (
        f"there is no split: beyond {said(farthest)} ({named}) every piece that one stick allows leaves some "
        f"bend without its straight ({said(rules.hook_need_mm)} for the hook on one side, "
        f"{said(rules.grip_mm)} to hold on the other).",
        stretch,
        search.longest,
    )


def _named(starts_mm: list[float], none: str) -> str:
    """The first of these bends by where it begins along the run."""
    return f"the bend at {said(starts_mm[0])}" if starts_mm else none


def _changes(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, farthest: float, bendable: Bendable | None
) -> list[str]:
    def possible(changed: StickRules) -> bool:
        return Search(length_mm, turns, changed, bendable).run() is not None

    def with_grip(grip: float) -> StickRules:
        return msgspec.structs.replace(rules, grip_mm=grip, hook_need_mm=min(rules.hook_need_mm, grip))

    def with_stick(stick: float) -> StickRules:
        return msgspec.structs.replace(rules, stock_mm=(*rules.stock_mm, stick))

    out = []
    if bendable is None and possible(with_grip(0.0)):
        grip = _edge(0.0, rules.grip_mm, lambda grip: possible(with_grip(grip)))
        if grip > 25.4:
            out.append(f"a grip of {said_most(grip)} instead of {said(rules.grip_mm)} would do")
        else:
            out.append("a bender that needs no grip beyond the arc (a bench or power bender) would do")
    longest = max((*rules.stock_mm, *rules.offcuts_mm))
    if length_mm > longest and possible(with_stick(length_mm)):
        stick = _edge(length_mm, longest, lambda stick: possible(with_stick(stick)))
        out.append(f"a stick of {said_least(stick)} instead of {said(longest)} would do")
    close = msgspec.structs.replace(rules, coupling_mm=0.0, coupling_spare_mm=0.0)
    if possible(close):
        room = _edge(
            0.0,
            rules.room_mm,
            lambda room: possible(msgspec.structs.replace(rules, coupling_mm=0.0, coupling_spare_mm=room)),
        )
        out.append(
            f"a shorter coupling would do (room {said_most(room)} from its middle to the bend, "
            f"not {said(rules.room_mm)})"
        )
    pulls = _pull_fittings(length_mm, turns, rules, farthest, bendable)
    if pulls:
        named = " or ".join(said(turns[number - 1].arc_start_mm) for number in pulls)
        out.append(f"a pull fitting in place of the bend at {named} would do")
    return out


def _edge(good: float, bad: float, possible: Callable[[float], bool]) -> float:
    """Between a value that works and one that does not: the last that works, to a 250th of the span."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (good + bad)
        if possible(middle):
            good = middle
        else:
            bad = middle
    return good


def _pull_fittings(
    length_mm: float, turns: Sequence[Turn], rules: StickRules, farthest: float, bendable: Bendable | None
) -> list[int]:
    """Bends near the place where the search got stuck that a pull fitting could stand for (at most three)."""
    longest = max((*rules.stock_mm, *rules.offcuts_mm))
    out: list[int] = []
    for i, turn in enumerate(turns):
        end = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
        if not farthest - longest <= turn.arc_start_mm <= farthest + longest:
            continue
        after = [t._replace(arc_start_mm=t.arc_start_mm - end) for t in turns[i + 1 :]]
        parts: list[tuple[float, Sequence[Turn]]] = [(turn.arc_start_mm, turns[:i]), (length_mm - end, after)]
        if all(part > 0.0 and Search(part, bends, rules, bendable).run() is not None for part, bends in parts):
            out.append(i + 1)
        if len(out) == 3:
            break
    return out
