"""The search for the least sticks: quick fillings, the bound, dives through the linear program, and the exact search on
what little remains. It stops as soon as the answer meets the bound."""

from __future__ import annotations

import random
from collections import Counter
from math import floor
from typing import NamedTuple

from racewright.budget import (
    CUT_DIVE_CELLS,
    CUT_DIVES,
    CUT_EXACT_NODES,
    CUT_EXACT_STICKS,
    CUT_FEW_NODES,
    CUT_FEW_PIECES,
    CUT_FIRST_FIT_PIECES,
    CUT_TABLEAU_LENGTHS,
)
from racewright.takeoff.cutting_fill import complete, fill_first_fit, fill_greedily
from racewright.takeoff.cutting_instance import (
    Instance,
    Packed,
    Relaxed,
    cheap_bound,
    relax,
    size_of,
    weight_of,
)


class Found(NamedTuple):
    """The best cut list found, the weight that none can undercut, and how many steps were looked at."""

    packed: list[Packed]
    bound: int
    looked_at: int


def search(instance: Instance, effort: int = 1) -> Found:
    """Least weight. Needs an endless bin for every size; `effort` 0: quick fillings and the cheap bound alone."""
    return _Search(instance, effort).run()


class _Search:
    def __init__(self, instance: Instance, effort: int) -> None:
        self.instance, self.effort = instance, effort
        self.bound = cheap_bound(instance)
        self.best: list[Packed] = []
        self.weight: int | None = None
        self.looked_at = 0
        self.work = 0

    def run(self) -> Found:
        if not self.instance.sizes:
            return Found([], 0, 0)
        self._quick()
        if not self._done() and self.effort > 0:
            self._thorough()
        return Found(self.best, self.bound, self.looked_at)

    def _done(self) -> bool:
        return self.weight is not None and self.weight <= self.bound

    def _take(self, packed: list[Packed] | None) -> None:
        self.looked_at += 1
        if packed is None:
            return
        packed = shrink(self.instance, packed)
        weight = weight_of(self.instance, packed)
        if self.weight is None or weight < self.weight:
            self.best, self.weight = packed, weight

    def _quick(self) -> None:
        for k in self.instance.endless:
            self._take(fill_greedily(self.instance, k))
            if self._done():
                return
            self._take(fill_greedily(self.instance, k, forced=False))
            if sum(self.instance.demand) <= CUT_FIRST_FIT_PIECES:
                self._take(fill_first_fit(self.instance, k))

    def _thorough(self) -> None:
        assert self.weight is not None
        pool: dict[Packed, None] = dict.fromkeys(self.best)
        if self.instance.lines <= CUT_TABLEAU_LENGTHS:
            relaxed = relax(self.instance, pool, stop_at=self.weight)
            self._count(relaxed, self.instance)
            self.bound = max(self.bound, relaxed.bound)
            for seed in range(CUT_DIVES * self.effort):
                if self._done() or self.work > CUT_DIVE_CELLS * self.effort:
                    return
                self._dive(pool, relaxed, random.Random(seed) if seed else None)
                if seed == 1:
                    self._complete_all()
        else:
            self._complete_all()

    def _complete_all(self) -> None:
        """The exact search on the whole list, where it is short and one kind of stick is all there is."""
        inst = self.instance
        if self._done() or len(inst.bins) != 1 or self.weight is None:
            return
        sticks = self.bound // inst.bins[0].weight
        if sticks > CUT_EXACT_STICKS or len(inst.sizes) > 2 * CUT_TABLEAU_LENGTHS:
            return
        answer = complete(inst, 0, sticks, CUT_EXACT_NODES * self.effort)
        self.looked_at += answer.nodes
        if answer.outcome == "found":
            self._take(answer.packed)
        elif answer.outcome == "impossible":
            self.bound += inst.bins[0].weight

    def _dive(self, pool: dict[Packed, None], relaxed: Relaxed, chance: random.Random | None) -> None:
        """Fix whole fillings, solve again for what remains, and so on; what is small is searched exactly."""
        rest, fixed = self.instance, []
        assert self.weight is not None
        while any(rest.demand):
            fresh = _fix(relaxed, rest, chance)
            if not fresh:
                return
            fixed += fresh
            demand = list(rest.demand)
            for p in fresh:
                demand = [d - c for d, c in zip(demand, p.counts, strict=True)]
            rest = self.instance.with_demand(demand, Counter(p.bin for p in fixed))
            so_far = weight_of(self.instance, fixed)
            if not any(demand):
                self._take(fixed)
                return
            if self._finish(rest, fixed, self.weight - so_far):
                return
            small, names = _squeeze(rest)
            inner: dict[Packed, None] = {
                Packed(p.bin, tuple(p.counts[j] for j in names)): None
                for p in pool
                if all(c == 0 or rest.demand[j] for j, c in enumerate(p.counts))
            }
            again = relax(small, inner)
            self._count(again, small)
            relaxed = Relaxed(
                again.bound,
                again.value,
                tuple((x, Packed(p.bin, _spread(p.counts, names, len(demand)))) for x, p in again.used),
                again.pivots,
                again.priced,
            )
            for p in inner:
                pool[Packed(p.bin, _spread(p.counts, names, len(demand)))] = None
            if so_far + again.bound >= self.weight:
                return

    def _count(self, relaxed: Relaxed, instance: Instance) -> None:
        rows = len(instance.sizes) + len(instance.bins)
        self.looked_at += relaxed.pivots
        self.work += relaxed.pivots * rows * rows + relaxed.priced * len(instance.bins) * 40_000

    def _finish(self, rest: Instance, fixed: list[Packed], spare: int) -> bool:
        """Quick and exact ways to cut what remains; True where the bound is met."""
        for k in rest.endless:
            tail = fill_greedily(rest, k)
            if tail is not None:
                self._take(fixed + tail)
        endless = rest.endless
        few = sum(rest.demand) <= CUT_FEW_PIECES and not any(b.limit for b in rest.bins)
        if few and len(endless) == 1 and not self._done():
            cap, weight = rest.bins[endless[0]].cap, rest.bins[endless[0]].weight
            sticks = min((self.bound - weight_of(self.instance, fixed)) // weight, spare // weight - 1)
            if sticks * cap >= rest.total:
                answer = complete(rest, endless[0], sticks, CUT_FEW_NODES)
                self.looked_at += answer.nodes
                if answer.outcome == "found":
                    self._take(fixed + answer.packed)
        return self._done()


def _fix(relaxed: Relaxed, rest: Instance, chance: random.Random | None) -> list[Packed]:
    """The whole parts of the fillings in use; where there are none, one filling: the most used, or by chance."""
    demand = list(rest.demand)
    room = [b.limit for b in rest.bins]
    out: list[Packed] = []

    def take(packed: Packed) -> bool:
        limit = room[packed.bin]
        counts = tuple(min(c, d) for c, d in zip(packed.counts, demand, strict=True))
        if not any(counts) or limit == 0:
            return False
        if limit is not None:
            room[packed.bin] = limit - 1
        demand[:] = [d - c for d, c in zip(demand, counts, strict=True)]
        out.append(Packed(packed.bin, counts))
        return True

    for times, packed in relaxed.used:
        whole = floor(times + 1e-6)
        if chance is not None and whole and chance.random() < 0.3:
            whole -= chance.randrange(whole + 1)
        for _ in range(whole):
            if not take(packed):
                break
    if out:
        return out
    order = sorted(relaxed.used, key=lambda item: -(item[0] - floor(item[0])))
    if chance is not None:
        order.sort(key=lambda item: -(item[0] - floor(item[0])) * chance.uniform(0.4, 1.0))
    wanted = max(1, int(relaxed.value_in_use / 12))
    for _, packed in order:
        take(packed)
        if len(out) >= wanted:
            break
    return out


def _squeeze(rest: Instance) -> tuple[Instance, list[int]]:
    """Without the sizes that are done."""
    names = [j for j, d in enumerate(rest.demand) if d]
    return Instance(tuple(rest.sizes[j] for j in names), tuple(rest.demand[j] for j in names), rest.bins), names


def _spread(counts: tuple[int, ...], names: list[int], m: int) -> tuple[int, ...]:
    out = [0] * m
    for j, c in zip(names, counts, strict=True):
        out[j] = c
    return tuple(out)


def shrink(instance: Instance, packed: list[Packed]) -> list[Packed]:
    """Each new stick as short as its pieces allow, where that costs no more."""
    endless = sorted(instance.endless, key=lambda k: instance.bins[k].cap)
    if len(endless) < 2:
        return packed
    out = []
    for p in packed:
        size, here = size_of(instance, p.counts), instance.bins[p.bin]
        kinds = [k for k in endless if instance.bins[k].cap >= size and instance.bins[k].weight <= here.weight]
        if here.limit is None and kinds:
            p = Packed(min(kinds, key=lambda k: (instance.bins[k].weight, instance.bins[k].cap)), p.counts)
        out.append(p)
    return out
