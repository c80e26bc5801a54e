"""The cut list: all pieces of all runs from sticks and offcuts, least new sticks first, then most useful leftovers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

from racewright.budget import CUT_PAIRS, CUT_PIECES, CUT_TABLEAU_LENGTHS
from racewright.errors import InputError, LimitError
from racewright.takeoff.cutting_instance import (
    Bin,
    Instance,
    Packed,
    cheap_bound,
    make_instance,
    relax,
    weight_of,
)
from racewright.takeoff.cutting_knapsack import Dealt
from racewright.takeoff.cutting_model import CutPlan, CutRules, CutStick, WantedPiece, check_length, to_mm, to_steps
from racewright.takeoff.cutting_search import search, shrink
from racewright.units.said import said


def cut_list(pieces: Sequence[WantedPiece], rules: CutRules | None = None) -> CutPlan:
    """Cut these pieces from the rules' sticks and offcuts.

    Lengths in mm, taken to 1/320 mm. Raises InputError for lengths that make no sense, LimitError where a piece is
    longer than anything there is. The answer says what no plan can do better (`least_sticks`, `least_length_mm`) and
    whether it is at that bound (`proved`); the leftovers are the best that were found, without a proof.
    """
    rules = rules or CutRules()
    rules.check()
    if len(pieces) > CUT_PIECES:
        raise InputError(f"{len(pieces)} pieces are too many at once.", hint=f"up to {CUT_PIECES}", field="pieces")
    for piece in pieces:
        check_length(piece.length_mm, f"piece {piece.label}", "pieces", open_low=True)
    return _Cutting(pieces, rules).plan()


def instance_of(plan: CutPlan) -> Instance:
    """The least-weight problem behind a cut list, for an outside solver: pieces too long for a new stick are left out
    and the offcuts that hold them counted whole, so that no plan of all pieces can cost less."""
    pieces = [piece for stick in plan.sticks for piece in stick.pieces]
    return _Cutting(pieces, plan.rules).instance(full=True)[0]


class _Source(NamedTuple):
    """A stick or an offcut in steps. `held`: a piece too long for any new stick that was put there beforehand."""

    length: int
    offcut: int
    held: tuple[int, ...] = ()


class _Cutting:
    def __init__(self, pieces: Sequence[WantedPiece], rules: CutRules) -> None:
        self.rules = rules
        self.kerf = to_steps(rules.kerf_mm)
        self.stock = sorted({to_steps(s) for s in rules.stock_mm}, reverse=True)
        self.queue: dict[int, list[WantedPiece]] = defaultdict(list)
        for piece in pieces:
            self.queue[to_steps(piece.length_mm) + self.kerf].append(piece)
        if 0 in self.queue:
            raise InputError(
                f"{self.queue[0][0].label} is shorter than 1/320 mm.", hint="is the unit right?", field="pieces"
            )
        self.sizes = [size for size in sorted(self.queue, reverse=True) for _ in self.queue[size]]
        self.offcuts = self._place_long()

    def _place_long(self) -> list[_Source]:
        """Pieces longer than every new stick: each into the smallest room on hand that takes it."""
        offcuts = [_Source(to_steps(v), i + 1) for i, v in enumerate(self.rules.offcuts_mm)]
        self.short = [s for s in self.sizes if s <= self.stock[0] + self.kerf]
        self.long = [s for s in self.sizes if s > self.stock[0] + self.kerf]
        for size in self.long:
            fits = [o for o in offcuts if o.length + self.kerf - sum(o.held) >= size]
            if not fits:
                raise self._too_long(size)
            best = min(fits, key=lambda o: (o.length - sum(o.held), o.offcut))
            offcuts[best.offcut - 1] = best._replace(held=(*best.held, size))
        return offcuts

    def _too_long(self, size: int) -> LimitError:
        piece = self.queue[size][0]
        longest = max(self.stock[0], *(to_steps(v) for v in self.rules.offcuts_mm), 0)
        return LimitError(
            f"{piece.label} ({piece.run or 'no run named'}) is {said(piece.length_mm)} long; the longest new stick is "
            f"{said(to_mm(self.stock[0]))}, and no offcut that is still free will take it (longest "
            f"{said(to_mm(longest))}).",
            hint="split the run with a coupling, or add a longer stock length",
            quantity="piece length",
            asked=piece.length_mm,
            limit=to_mm(self.stock[0]),
        )

    def instance(self, *, full: bool) -> tuple[Instance, int, list[_Source]]:
        """Bins: new sticks by length, then every offcut. `full`: offcuts without what was put there beforehand."""
        weigh = self.rules.least == "length"
        bins = [Bin(s + self.kerf, s if weigh else 1, None) for s in self.stock]
        sources = [_Source(s, 0) for s in self.stock]
        smallest = min(self.short, default=0)
        grouped: dict[int, list[_Source]] = defaultdict(list)
        for o in self.offcuts:
            cap = o.length + self.kerf - (0 if full else sum(o.held))
            if cap >= smallest:
                grouped[cap].append(o)
        for cap, members in sorted(grouped.items()):
            bins.append(Bin(cap, 0, len(members)))
            sources.append(members[0])
        instance, measure = make_instance(self.short, bins)
        self.grouped = {len(self.stock) + i: list(m) for i, (_, m) in enumerate(sorted(grouped.items()))}
        return instance, measure, sources

    def plan(self) -> CutPlan:
        """Search, then the leftovers, then the pieces by name."""
        bound = 0
        if self.long and self.short:
            # Offcuts whole and the long pieces left out: no plan of all pieces can do with less than this one.
            easier, _, _ = self.instance(full=True)
            bound = cheap_bound(easier)
            if len(easier.sizes) <= CUT_TABLEAU_LENGTHS and self.rules.effort:
                bound = max(bound, relax(easier, {}).bound)
        instance, measure, sources = self.instance(full=False)
        found = search(instance, self.rules.effort)
        if not self.long:
            bound = found.bound
        packed, looked_at = self._tidy(instance, measure, sources, shrink(instance, found.packed))
        sticks = self._name(instance, measure, sources, packed)
        return self._answer(sticks, weight_of(instance, packed), bound, found.looked_at + looked_at)

    def _tidy(
        self, instance: Instance, measure: int, sources: list[_Source], packed: list[Packed]
    ) -> tuple[list[Packed], int]:
        """Leftovers gathered, untouched offcuts taking part with nothing in them."""
        if self.rules.effort == 0:
            return packed, 0
        bins = [p.bin for p in packed]
        for k, members in self.grouped.items():
            bins += [k] * (len(members) - bins.count(k))
        loads = [[s for s, c in zip(instance.sizes, p.counts, strict=True) for _ in range(c)] for p in packed]
        loads += [[] for _ in range(len(bins) - len(packed))]
        kerf, keep = -(-self.kerf // measure), -(-to_steps(self.rules.keep_mm) // measure)
        dealt = Dealt([instance.bins[k].cap for k in bins], loads, kerf, keep)
        dealt.improve(CUT_PAIRS * self.rules.effort)
        index = {s: j for j, s in enumerate(instance.sizes)}
        out = []
        for k, load in zip(bins, dealt.loads, strict=True):
            if load:
                counts = [0] * len(index)
                for s in load:
                    counts[index[s]] += 1
                out.append(Packed(k, tuple(counts)))
        return shrink(instance, out), dealt.looked_at

    def _name(self, instance: Instance, measure: int, sources: list[_Source], packed: list[Packed]) -> list[CutStick]:
        """Offcuts first, then new sticks, like ones together; every size handed out in the order given."""
        waiting = {size: list(reversed(pieces)) for size, pieces in self.queue.items()}
        free = {k: list(reversed(members)) for k, members in self.grouped.items()}
        loads: list[tuple[_Source, tuple[int, ...]]] = []
        for p in packed:
            source = free[p.bin].pop() if p.bin in free else sources[p.bin]
            own = [s * measure for s, c in zip(instance.sizes, p.counts, strict=True) for _ in range(c)]
            loads.append((source, tuple(sorted((*source.held, *own), reverse=True))))
        used = {source.offcut for source, _ in loads}
        loads += [(o, o.held) for o in self.offcuts if o.held and o.offcut not in used]
        loads.sort(key=lambda item: (item[0].offcut == 0, item[0].offcut, -item[0].length, [-s for s in item[1]]))
        keep = to_steps(self.rules.keep_mm)
        sticks = []
        for number, (source, sizes) in enumerate(loads, 1):
            left = max(0, source.length - sum(sizes))
            sticks.append(
                CutStick(
                    number=number,
                    source_mm=self._source_mm(source),
                    offcut=source.offcut,
                    pieces=tuple(waiting[s].pop() for s in sizes),
                    leftover_mm=to_mm(left),
                    kept=left > 0 and left >= keep,
                )
            )
        return sticks

    def _source_mm(self, source: _Source) -> float:
        if source.offcut:
            return self.rules.offcuts_mm[source.offcut - 1]
        return next(s for s in self.rules.stock_mm if to_steps(s) == source.length)

    def _answer(self, sticks: list[CutStick], weight: int, bound: int, looked_at: int) -> CutPlan:
        new = [s for s in sticks if s.offcut == 0]
        by_length = self.rules.least == "length"
        used = {s.offcut for s in sticks}
        scrap = sum(to_steps(s.leftover_mm) for s in sticks if not s.kept)
        spent = sum(to_steps(s.source_mm) - to_steps(s.leftover_mm) for s in sticks)
        pieces = sum(to_steps(p.length_mm) for s in sticks for p in s.pieces)
        return CutPlan(
            sticks=tuple(sticks),
            rules=self.rules,
            new_sticks=len(new),
            new_length_mm=to_mm(sum(to_steps(s.source_mm) for s in new)),
            least_sticks=0 if by_length else bound,
            least_length_mm=to_mm(bound) if by_length else 0.0,
            proved=weight <= bound,
            kept_mm=tuple(sorted((s.leftover_mm for s in sticks if s.kept), reverse=True)),
            scrap_mm=to_mm(scrap),
            kerf_total_mm=to_mm(spent - pieces),
            unused_offcuts=tuple(i for i in range(1, len(self.offcuts) + 1) if i not in used),
            looked_at=looked_at,
        )
