"""The cut list as whole numbers: sizes with their saw cut, how many of each, and the bins to cut from.

Notation: a piece of length l takes l + kerf; a stick of length S offers S + kerf, since after the last piece no cut
is needed when it ends at the stick's end. So pieces fit if and only if the sum of sizes is at most the capacity.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import reduce
from math import gcd
from typing import NamedTuple

Counts = tuple[int, ...]


class Bin(NamedTuple):
    """One kind of stick: capacity, weight in what is minimised, how many there are (None: as many as needed)."""

    cap: int
    weight: int
    limit: int | None


class Packed(NamedTuple):
    """One stick in a solution: which kind of bin, and how many pieces of each size."""

    bin: int
    counts: Counts


class Instance(NamedTuple):
    """Sizes, longest first, how many of each are wanted, and the bins."""

    sizes: Counts
    demand: Counts
    bins: tuple[Bin, ...]

    @property
    def total(self) -> int:
        """Everything wanted, end to end."""
        return sum(s * d for s, d in zip(self.sizes, self.demand, strict=True))

    @property
    def endless(self) -> tuple[int, ...]:
        """The bins without limit, longest first."""
        return tuple(sorted((k for k, b in enumerate(self.bins) if b.limit is None), key=lambda k: -self.bins[k].cap))

    def with_demand(self, demand: Sequence[int], used: Counter[int]) -> Instance:
        """What remains: this demand, and the bins less those used."""
        bins = tuple(b if b.limit is None else b._replace(limit=b.limit - used[k]) for k, b in enumerate(self.bins))
        return Instance(self.sizes, tuple(demand), bins)


def make_instance(sizes: Iterable[int], bins: Iterable[Bin]) -> tuple[Instance, int]:
    """Pieces of the same size together, all divided by their common measure, which is returned too."""
    wanted = Counter(sizes)
    measure = reduce(gcd, wanted, 0) or 1
    keys = sorted(wanted, reverse=True)
    small = tuple(Bin(b.cap // measure, b.weight, b.limit) for b in bins)
    return Instance(tuple(k // measure for k in keys), tuple(wanted[k] for k in keys), small), measure


def weight_of(instance: Instance, packed: Iterable[Packed]) -> int:
    """What a solution costs."""
    return sum(instance.bins[p.bin].weight for p in packed)


def size_of(instance: Instance, counts: Sequence[int]) -> int:
    """What the pieces of one stick take."""
    return sum(s * c for s, c in zip(instance.sizes, counts, strict=True) if c)
