"""Quick cut lists: each stick filled as full as it goes, its longest piece first; and the exact search for few sticks.

Every search here counts what it looked at and stops at its limit, so that the same list gives the same answer.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from racewright.budget import CUT_FILLINGS
from racewright.takeoff.cutting_instance import Counts, Instance, Packed, size_of
from racewright.takeoff.cutting_knapsack import fullest_filling

Outcome = Literal["found", "impossible", "gave up"]


def fill_greedily(instance: Instance, endless: int, *, forced: bool = True) -> list[Packed] | None:
    """Limited bins first, smallest first, then as many of the endless one as it takes. Each is filled as full as it
    goes; with `forced` the longest piece left goes in first. None where a piece fits into nothing."""
    demand = list(instance.demand)
    out: list[Packed] = []
    limited = sorted((k for k, b in enumerate(instance.bins) if b.limit), key=lambda k: (instance.bins[k].cap, k))
    for k in limited:
        for _ in range(instance.bins[k].limit or 0):
            counts = _fill(instance, demand, instance.bins[k].cap, forced=False)
            if any(counts):
                out.append(Packed(k, counts))
                demand = [d - c for d, c in zip(demand, counts, strict=True)]
    cap = instance.bins[endless].cap
    while any(demand):
        counts = _fill(instance, demand, cap, forced=forced)
        if not any(counts):
            return None
        times = min(d // c for d, c in zip(demand, counts, strict=True) if c)
        out += [Packed(endless, counts)] * times
        demand = [d - times * c for d, c in zip(demand, counts, strict=True)]
    return out


def _fill(instance: Instance, demand: list[int], cap: int, *, forced: bool) -> Counts:
    counts = [0] * len(demand)
    left = list(demand)
    if forced:
        first = next((j for j, d in enumerate(demand) if d and instance.sizes[j] <= cap), None)
        if first is not None:
            counts[first] += 1
            left[first] -= 1
            cap -= instance.sizes[first]
    filling = fullest_filling(instance.sizes, left, cap)
    return tuple(a + b for a, b in zip(counts, filling, strict=True))


def fill_first_fit(instance: Instance, endless: int) -> list[Packed] | None:
    """First fit, longest first: the trade's way, and a check on the rest."""
    rooms: list[int] = []
    kinds: list[int] = []
    filled: list[list[int]] = []
    for k, b in sorted(enumerate(instance.bins), key=lambda item: item[1].cap):
        if b.limit:
            rooms += [b.cap] * b.limit
            kinds += [k] * b.limit
            filled += [[0] * len(instance.sizes) for _ in range(b.limit)]
    cap = instance.bins[endless].cap
    for j, (size, want) in enumerate(zip(instance.sizes, instance.demand, strict=True)):
        start = 0
        for _ in range(want):
            i = next((i for i in range(start, len(rooms)) if rooms[i] >= size), None)
            if i is None:
                if size > cap:
                    return None
                i = len(rooms)
                rooms.append(cap)
                kinds.append(endless)
                filled.append([0] * len(instance.sizes))
            rooms[i] -= size
            filled[i][j] += 1
            start = i
    return [Packed(k, tuple(c)) for k, c in zip(kinds, filled, strict=True) if any(c)]


class Completed(NamedTuple):
    """What the exact search says about this many sticks; `packed` where it found them."""

    outcome: Outcome
    packed: list[Packed]
    nodes: int


class _TooMany(Exception):
    pass


def complete(instance: Instance, endless: int, sticks: int, most_nodes: int = 20_000) -> Completed:
    """Can the demand be cut from this many sticks of one kind? Stick by stick: the longest piece left goes in, with
    every set of others that leaves no room for a further piece, least waste first (bin completion: Korf, AAAI 2002;
    from memory). 'impossible' is a proof; 'gave up' is none."""
    return _Completion(instance, endless, most_nodes).run(sticks)


class _Completion:
    def __init__(self, instance: Instance, endless: int, most_nodes: int) -> None:
        self.instance, self.endless, self.most_nodes = instance, endless, most_nodes
        self.cap = instance.bins[endless].cap
        self.nodes = 0
        self.cut_short = False
        self.failed: dict[Counts, int] = {}

    def run(self, sticks: int) -> Completed:
        try:
            found = self._search(self.instance.demand, sticks)
        except _TooMany:
            return Completed("gave up", [], self.nodes)
        if found is None:
            return Completed("gave up" if self.cut_short else "impossible", [], self.nodes)
        return Completed("found", found, self.nodes)

    def _search(self, demand: Counts, sticks: int) -> list[Packed] | None:
        if not any(demand):
            return []
        slack = sticks * self.cap - size_of(self.instance, demand)
        if sticks <= 0 or slack < 0 or self.failed.get(demand, -1) >= sticks:
            return None
        self.nodes += 1
        if self.nodes > self.most_nodes:
            raise _TooMany
        for counts in self._fillings(demand, slack):
            rest = tuple(d - c for d, c in zip(demand, counts, strict=True))
            found = self._search(rest, sticks - 1)
            if found is not None:
                return [Packed(self.endless, counts), *found]
        self.failed[demand] = sticks
        return None

    def _fillings(self, demand: Counts, slack: int) -> list[Counts]:
        """Fillings with the longest piece, waste within the slack, no room for a further piece; least waste first."""
        sizes = self.instance.sizes
        first = next(j for j, d in enumerate(demand) if d)
        types = [j for j in range(first, len(sizes)) if demand[j] - (j == first) > 0]
        limits = [demand[j] - (j == first) for j in types]
        behind = [0] * (len(types) + 1)
        for i in range(len(types) - 1, -1, -1):
            behind[i] = behind[i + 1] + sizes[types[i]] * limits[i]
        out: list[tuple[int, Counts]] = []
        counts = [0] * len(sizes)
        counts[first] = 1

        def walk(i: int, room: int, spare: int) -> None:
            # spare: the smallest type of which a piece was left out; the filling is whole if it no longer fits
            self.nodes += 1
            if self.nodes > self.most_nodes * 20:
                raise _TooMany
            if len(out) >= CUT_FILLINGS:
                self.cut_short = True
                return
            if room - behind[i] > slack:
                return
            if i == len(types):
                if spare > room:
                    out.append((room, tuple(counts)))
                return
            size = sizes[types[i]]
            most = min(limits[i], room // size)
            for n in range(most, -1, -1):
                counts[types[i]] += n
                walk(i + 1, room - n * size, size if n < limits[i] else spare)
                counts[types[i]] -= n

        walk(0, self.cap - sizes[first], self.cap + 1)
        out.sort(key=lambda item: item[0])
        return [c for _, c in out]
