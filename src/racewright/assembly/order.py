"""In which order the pieces of a run go up, and which joint is made last.

Facts that it rests on (common practice, no source)
    A run grows from a piece that stands: each next piece goes onto it by the end that faces it.
    Turned in: a threaded piece goes around with all that hangs on it, so its far end must be free, and what it sweeps.
    Cemented: the piece never moves again.
    Through a knockout an end can go farther than it stays, and come back: a straight piece is turned in that way
        with its other end in a knockout; a bent one is not, for it cannot turn there.
    Between two parts that stand the last joint must give way: a fitting taken off its box, a union, a slip coupling,
        an expansion fitting's piston.

A group is a row of pieces that are joined without such a joint. What a joint that gives way costs decides how many
there are; the least sum wins, and of equals the one whose last piece is longest, for it has to swing into place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

import msgspec

from racewright.geometry.vector import even

SeatKind = Literal["free", "seat", "hole"]

#: What a joint that gives way costs in the choice, in couplings bought (our own choice).
COUPLING = 1.0
NOT_POSSIBLE = 100.0


class Body(NamedTuple):
    """One piece: its length, whether it is straight, whether it can be brought in by end A and by end B (pushed, or
    turned with its far end free), and whether one push along a line serves both of its ends."""

    length_mm: float
    straight: bool
    by_a: bool = True
    by_b: bool = True
    one_way: bool = False


class Seat(msgspec.Struct, frozen=True):
    """What stands at an end of the run: nothing, a fitting that the end goes into, or a hole that it goes through; and
    what it costs when that gives way."""

    kind: SeatKind
    gives: float = 0.0


class Group(NamedTuple):
    """Pieces (from 0) in the order in which they go up, of the row `first` to `last`; what holds the row at its two
    ends ('free': nothing, or what is closed last)."""

    first: int
    last: int
    order: tuple[int, ...]
    held: tuple[SeatKind, SeatKind]


class Order(msgspec.Struct, frozen=True):
    """The groups in the order in which they go up. Between two of them the coupling is closed last. `gives`: whether
    the fitting at end A, at end B is closed last. `cost`: 100 or more where something that cannot give way must."""

    groups: tuple[Group, ...]
    gives: tuple[bool, bool]
    cost: float


def find_order(bodies: Sequence[Body], couplings: Sequence[float], seats: tuple[Seat, Seat]) -> Order:
    """The order of least cost. `couplings`: what each costs as a joint that gives way."""
    found: Order | None = None
    key: tuple[float, float] | None = None
    for gives in ((False, False), (False, True), (True, False), (True, True)):
        if any(g and s.kind == "free" for g, s in zip(gives, seats, strict=True)):
            continue
        held = tuple("free" if g else s.kind for g, s in zip(gives, seats, strict=True))
        split = _groups(bodies, couplings, (held[0], held[1]))
        if split is None:
            continue
        cost = split[0] + sum(s.gives for g, s in zip(gives, seats, strict=True) if g)
        if key is None or (even(cost), even(split[1])) < key:
            key = (even(cost), even(split[1]))
            found = Order(_by_turns(split[2], bodies), gives, cost)
    assert found is not None, "with both ends giving way each piece is a group of its own"
    return found


def _by_turns(groups: tuple[Group, ...], bodies: Sequence[Body]) -> tuple[Group, ...]:
    """The groups from end A on or from end B on: so that the shortest piece that has to swing into place beside a joint
    closed last is as long as can be."""
    if len(groups) < 2:
        return groups
    from_a = min(bodies[g.first].length_mm for g in groups[1:])
    from_b = min(bodies[g.last].length_mm for g in groups[:-1])
    return groups[::-1] if even(from_b) > even(from_a) else groups


def _groups(
    bodies: Sequence[Body], couplings: Sequence[float], held: tuple[SeatKind, SeatKind]
) -> tuple[float, float, tuple[Group, ...]] | None:
    """The cheapest split into groups: its cost, minus the lengths beside its joints that give way, the groups."""
    n = len(bodies)
    rows = _Rows(bodies)
    best: list[tuple[float, float, int, Group | None]] = [(0.0, 0.0, -1, None)]
    for end in range(1, n + 1):
        choice: tuple[float, float, int, Group | None] | None = None
        for first in range(end - 1, -1, -1):
            before = best[first]
            if before[3] is None and first:
                continue
            ends: tuple[SeatKind, SeatKind] = (held[0] if first == 0 else "free", held[1] if end == n else "free")
            order = rows.order(first, end - 1, ends)
            if order is None:
                continue
            cost, beside = before[0], before[1]
            if first:
                cost += couplings[first - 1]
                beside -= max(bodies[first - 1].length_mm, bodies[first].length_mm)
            if choice is None or (even(cost), even(beside)) < (even(choice[0]), even(choice[1])):
                choice = (cost, beside, first, Group(first, end - 1, order, ends))
        best.append(choice or (0.0, 0.0, -1, None))
    if best[n][3] is None:
        return None
    groups: list[Group] = []
    at = n
    while at:
        group = best[at][3]
        assert group is not None
        groups.append(group)
        at = best[at][2]
    return best[n][0], best[n][1], tuple(reversed(groups))


class _Rows:
    """Which rows of pieces can be put up without a joint that gives way, and from which piece on."""

    def __init__(self, bodies: Sequence[Body]) -> None:
        self.bodies = bodies
        n = len(bodies)
        # the last piece up to here that cannot come in by its end A, the first from here on that cannot by end B
        self.not_by_a = [-1] * n
        self.not_by_b = [n] * n
        for k in range(n):
            self.not_by_a[k] = k if not bodies[k].by_a else self.not_by_a[k - 1] if k else -1
        for k in range(n - 1, -1, -1):
            self.not_by_b[k] = k if not bodies[k].by_b else self.not_by_b[k + 1] if k < n - 1 else n

    def order(self, first: int, last: int, held: tuple[SeatKind, SeatKind]) -> tuple[int, ...] | None:
        """The pieces first to last in the order in which they go up; None where that cannot be."""
        starts = list(self._starts(first, last, held))
        return _from(first, last, starts[0]) if starts else None

    def _starts(self, first: int, last: int, held: tuple[SeatKind, SeatKind]) -> Iterator[int]:
        """Pieces that may go up first, the best one first."""
        # before the start all come in by end B, behind it by end A
        low, high = max(first, self.not_by_a[last]), min(last, self.not_by_b[first])
        a, b = held
        bodies = self.bodies
        if first == last and a != "free" and b != "free":
            if (bodies[first].straight and "hole" in held) or bodies[first].one_way:
                yield first
            return
        if a == "seat":
            if self.not_by_a[last] < first and (b == "free" or (b == "hole" and bodies[last].straight)):
                yield first
            return
        if b == "seat":
            if self.not_by_b[first] > last and (a == "free" or bodies[first].straight):
                yield last
            return
        for start in range(low, high + 1):
            # an end piece that is not the start comes in with its other end through its hole: a straight one can
            if (a == "free" or start == first or bodies[first].straight) and (
                b == "free" or start == last or bodies[last].straight
            ):
                yield start
                return


def _from(first: int, last: int, start: int) -> tuple[int, ...]:
    return (*range(start, last + 1), *range(start - 1, first - 1, -1))
