"""Why a run has no split into pieces, and which single change would allow one; each suggestion is tried."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from racewright.budget import SPLIT_HINTS_ASKED, Budget
from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.sticks.model import SAME_MM, Bendable, RunPiece, StickRules
from racewright.sticks.search import Search
from racewright.units.said import said, said_least, said_most

_HALVINGS = 8


class NoSplit(LimitError):
    """There is no split; `changes`: each single change of grip, stick or coupling that would allow one, in words."""

    changes: tuple[str, ...] = ()


class _Trials:
    """Tries splits under other rules, with one budget for all of them."""

    def __init__(self, budget: Budget, bendable: Bendable | None) -> None:
        self.budget, self.asked, self.bendable = budget, 0, bendable

    def possible(self, length_mm: float, turns: Sequence[Turn], rules: StickRules) -> bool:
        """Whether a split was found, whose pieces pass the caller's test as well."""
        found = Search(length_mm, turns, rules).run(self.budget)
        return found is not None and all(self._passes(piece) for piece in found.pieces if piece.bends)

    def _passes(self, piece: RunPiece) -> bool:
        if self.bendable is None:
            return True
        self.asked += 1
        return self.asked <= SPLIT_HINTS_ASKED and self.bendable(piece.bends, piece.cut_length_mm)


def no_split(
    length_mm: float,
    turns: Sequence[Turn],
    rules: StickRules,
    search: Search,
    budget: Budget,
    bendable: Bendable | None = None,
) -> NoSplit:
    """The refusal in words. `search`: that which found nothing; `budget`: for what is tried. `bendable`: the
    caller's own test where it stands in the way; where the straights do, a shorter grip is tried as well."""
    why, asked, limit = _why(length_mm, turns, rules, search, told=bendable is not None)
    changes = _changes(length_mm, turns, rules, search.farthest_mm, _Trials(budget, bendable))
    hint = "; or ".join(changes) or "no single change of grip, stick or coupling that was tried is enough"
    refusal = NoSplit(why, hint=hint, quantity="stretch without a coupling", asked=asked, limit=limit)
    refusal.changes = tuple(changes)
    return refusal


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


def _changes(length_mm: float, turns: Sequence[Turn], rules: StickRules, farthest: float, trials: _Trials) -> list[str]:
    def possible(changed: StickRules) -> bool:
        return trials.possible(length_mm, turns, changed)

    def with_grip(grip: float) -> StickRules:
        return msgspec.structs.replace(rules, grip_mm=grip, hook_need_mm=min(rules.hook_need_mm, grip))

    def with_stick(stick: float) -> StickRules:
        return msgspec.structs.replace(rules, stock_mm=(*rules.stock_mm, stick))

    out = []
    if rules.own_grip and trials.bendable is None and possible(with_grip(0.0)):
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
    pulls = _pull_fittings(length_mm, turns, rules, farthest, trials)
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
    length_mm: float, turns: Sequence[Turn], rules: StickRules, farthest: float, trials: _Trials
) -> list[int]:
    """Bends near the place where the search got stuck that a pull fitting could stand for (at most three)."""
    longest = max((*rules.stock_mm, *rules.offcuts_mm))
    out: list[int] = []
    for i, turn in enumerate(turns):
        end = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
        if not farthest - longest <= turn.arc_start_mm <= farthest + longest:
            continue
        parts = [
            (turn.arc_start_mm, turns[:i], _moved(rules, 0.0, turn.arc_start_mm)),
            (
                length_mm - end,
                [t._replace(arc_start_mm=t.arc_start_mm - end) for t in turns[i + 1 :]],
                _moved(rules, end, length_mm),
            ),
        ]
        if all(part > 0.0 and trials.possible(part, bends, own) for part, bends, own in parts):
            out.append(i + 1)
        if len(out) == 3:
            break
    return out


def _moved(rules: StickRules, low: float, high: float) -> StickRules:
    """The rules of a part of the run, with the required joints that lie in it."""
    inside = (r._replace(at_mm=r.at_mm - low) for r in rules.required if low < r.at_mm < high)
    return msgspec.structs.replace(rules, required=tuple(inside))
