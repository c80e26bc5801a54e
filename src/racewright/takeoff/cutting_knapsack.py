"""The best filling of one stick: whole values, whole sizes, so many of each. Exact, or with an upper bound that holds.
And the most useful offcuts: with the sticks settled, pieces are dealt anew between two of them at a time.

Notation: v values, s sizes, b how many of each, c capacity; maximise sum v x with sum s x <= c, 0 <= x <= b. r the
offcut of a stick after its last cut; it counts r^2 where r is at least the keep length, nothing below (own measure:
one long end is worth more than two short ones of the same sum).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from racewright.budget import CUT_BITS, CUT_CELLS, CUT_FILL_NODES, CUT_NODES, CUT_PAIRS


class Filling(NamedTuple):
    """Counts of each type, their value, and what no filling can exceed (equal where it is exact)."""

    value: int
    counts: tuple[int, ...]
    upper: int


def best_filling(
    values: Sequence[int], sizes: Sequence[int], limits: Sequence[int], cap: int, most_nodes: int = CUT_NODES
) -> Filling:
    """Branch and bound by value for size; where that takes too long, dynamic programming over the capacity, which
    on a very fine measure is coarsened so that its value is an upper bound."""
    found, value, counts = _branch(values, sizes, limits, cap, most_nodes)
    if found:
        return Filling(value, counts, value)
    step = -(-cap // CUT_CELLS)
    upper, other = _table(values, [s // step for s in sizes], limits, cap // step, keep=step == 1)
    if step == 1:
        return Filling(upper, other, upper)
    return Filling(value, counts, upper)


def fullest_filling(sizes: Sequence[int], limits: Sequence[int], cap: int) -> tuple[int, ...]:
    """The filling that leaves least of the capacity: long pieces first by branch and bound; where that takes too long,
    every sum that can be reached is one bit of a whole number (exact up to a fine measure, else the best found)."""
    exact, value, counts = _branch(sizes, sizes, limits, cap, CUT_FILL_NODES)
    if exact or value == cap or cap > CUT_BITS:
        return counts
    types = [j for j, (s, b) in enumerate(zip(sizes, limits, strict=True)) for _ in range(min(b, cap // s))]
    out = [0] * len(sizes)
    for i in _fullest([sizes[j] for j in types], cap):
        out[types[i]] += 1
    return tuple(out)


def _fullest(items: Sequence[int], cap: int) -> list[int]:
    """Places of the items that fill `cap` most, in order: every sum that can be reached is one bit of a number."""
    mask = (1 << (cap + 1)) - 1
    reach = [1]
    for size in items:
        reach.append((reach[-1] | (reach[-1] << size)) & mask)
        if reach[-1] >> cap:
            break
    at = reach[-1].bit_length() - 1
    chosen = []
    for i in range(len(reach) - 2, -1, -1):
        if not (reach[i] >> at) & 1:
            chosen.append(i)
            at -= items[i]
    return chosen[::-1]


def _branch(
    values: Sequence[int], sizes: Sequence[int], limits: Sequence[int], cap: int, most_nodes: int
) -> tuple[bool, int, tuple[int, ...]]:
    """Types in order of value for size, as many as fit first, then one fewer at a time (Martello and Toth, Knapsack
    Problems, 1990, section 3.5: bound by the next type's value for size; from memory)."""
    order = [j for j in range(len(sizes)) if values[j] > 0 and limits[j] > 0 and sizes[j] <= cap]
    order.sort(key=lambda j: (-values[j] / sizes[j], -sizes[j]))
    v, s, b = [values[j] for j in order], [sizes[j] for j in order], [limits[j] for j in order]
    n = len(order)
    counts = [0] * n
    best, best_counts = 0, [0] * n
    i, room, value, nodes = 0, cap, 0, 0
    whole = True
    while True:
        while i < n and value + room * v[i] // s[i] > best:
            take = min(b[i], room // s[i])
            counts[i] = take
            room -= take * s[i]
            value += take * v[i]
            i += 1
            nodes += 1
        if value > best:
            best, best_counts = value, counts[:i] + [0] * (n - i)
        i -= 1
        while i >= 0 and counts[i] == 0:
            i -= 1
        if i < 0:
            break
        if nodes > most_nodes:
            whole = False
            break
        counts[i] -= 1
        room += s[i]
        value -= v[i]
        i += 1
    out = [0] * len(sizes)
    for j, c in zip(order, best_counts, strict=True):
        out[j] = c
    return whole, best, tuple(out)


def _table(
    values: Sequence[int], sizes: Sequence[int], limits: Sequence[int], cap: int, *, keep: bool
) -> tuple[int, tuple[int, ...]]:
    """Best value for every capacity, type by type in lots of 1, 2, 4 ..., then read backwards."""
    best = [0] * (cap + 1)
    layers: list[tuple[int, int, list[int]]] = []
    free = 0
    for j, (v, s, b) in enumerate(zip(values, sizes, limits, strict=True)):
        if v <= 0:
            continue
        if s == 0:
            free += v * b
            continue
        left = min(b, cap // s)
        lot = 1
        while left > 0:
            n = min(lot, left)
            left, lot = left - n, lot * 2
            if keep:
                layers.append((j, n, best))
            w, gain = n * s, n * v
            best = best[:w] + [a if a >= c + gain else c + gain for a, c in zip(best[w:], best, strict=False)]
    counts = [0] * len(sizes)
    room = cap
    for j, n, before in reversed(layers):
        if best[room] != before[room]:
            counts[j] += n
            room -= n * sizes[j]
        best = before
    return free + (best[cap] if not layers else _top(values, counts)), tuple(counts)


def _top(values: Sequence[int], counts: Sequence[int]) -> int:
    return sum(v * c for v, c in zip(values, counts, strict=True))


class Dealt:
    """Sticks as lists of sizes, in the measure of the instance; `caps` their capacities, `kerf` and `keep` likewise."""

    def __init__(self, caps: list[int], loads: list[list[int]], kerf: int, keep: int) -> None:
        self.caps, self.loads, self.kerf, self.keep = caps, [sorted(load, reverse=True) for load in loads], kerf, keep
        self.rooms = [cap - sum(load) for cap, load in zip(caps, loads, strict=True)]
        self.looked_at = 0

    def worth(self, room: int) -> int:
        """r^2 where the offcut is kept."""
        left = room - self.kerf
        return left * left if left > 0 and left >= self.keep else 0

    def improve(self, most_pairs: int = CUT_PAIRS) -> None:
        """Pairs in order of room, until none brings more or the limit is reached."""
        seen: set[tuple[object, ...]] = set()
        better = True
        while better and self.looked_at < most_pairs:
            better = False
            order = sorted(range(len(self.caps)), key=lambda i: -self.rooms[i])
            for place, i in enumerate(order):
                if self.rooms[i] <= 0:
                    break
                for j in order[place + 1 :]:
                    if self.rooms[j] <= 0 or self.looked_at >= most_pairs:
                        break
                    name = (self.caps[i], tuple(self.loads[i]), self.caps[j], tuple(self.loads[j]))
                    if name in seen:
                        continue
                    seen.add(name)
                    self.looked_at += 1
                    better = self._deal(i, j) or better

    def _deal(self, i: int, j: int) -> bool:
        """Fill one of the two as full as it goes, the rest into the other; kept where it is worth more."""
        items = sorted(self.loads[i] + self.loads[j], reverse=True)
        total = sum(items)
        now = self.worth(self.rooms[i]) + self.worth(self.rooms[j])
        best, choice = now, None
        for full, other in ((i, j), (j, i)):
            chosen = _fullest(items, self.caps[full])
            size = sum(items[i] for i in chosen)
            if total - size > self.caps[other]:
                continue
            worth = self.worth(self.caps[full] - size) + self.worth(self.caps[other] - total + size)
            if worth > best:
                best, choice = worth, (full, other, chosen)
        if choice is None:
            return False
        full, other, chosen = choice
        for k, taken in ((full, True), (other, False)):
            self.loads[k] = [size for i, size in enumerate(items) if (i in chosen) == taken]
            self.rooms[k] = self.caps[k] - sum(self.loads[k])
        return True
