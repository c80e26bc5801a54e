"""The cut list: all pieces of all runs from sticks and offcuts, least new sticks first, then most useful offcuts."""

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
    whether it is at that bound (`proved`); the offcuts are the best that were found, without a proof.
    """
    rules = rules or CutRules()
    rules.check()
    if len(pieces) > CUT_PIECES:
        raise InputError(f"{len(pieces)} pieces are too many at once.", hint=f"up to {CUT_PIECES}", field="pieces")
    for piece in pieces:
        check_length(piece.length_mm, f"piece {piece.label}", "pieces", open_low=True)
    return _Cutting(pieces, rules).plan()


def instance_of(plan: CutPlan) -> Instance:
    """The least-weight problem behind a cut list, for an outside solver: pieces too long for a new stick are left out,
    and every offcut counts whole for all others, so that no plan of all pieces can cost less."""
    pieces = [piece for stick in plan.sticks for piece in stick.pieces]
    return _Cutting(pieces, plan.rules).instance(full=True)[0]


class _Source(NamedTuple):
    """A stick or an offcut in steps. `taken`: the pieces whose plans take it, or a stick of its length as it is.
    `held`: pieces too long for any new stick that were put there beforehand, with their saw cut."""

    length: int
    offcut: int
    taken: tuple[WantedPiece, ...] = ()
    held: tuple[int, ...] = ()


class _Cutting:
    def __init__(self, pieces: Sequence[WantedPiece], rules: CutRules) -> None:
        self.rules = rules
        self.kerf = to_steps(rules.kerf_mm)
        self.stock = sorted({to_steps(s) for s in rules.stock_mm}, reverse=True)
        self.queue: dict[int, list[WantedPiece]] = defaultdict(list)
        self.offcuts = [_Source(to_steps(v), i + 1) for i, v in enumerate(rules.on_hand_mm)]
        numbers = {(o.run, o.copy, o.number): i for i, o in enumerate(rules.run_offcuts, len(rules.offcuts_mm))}
        self.longest = max(self.stock[0], *(o.length for o in self.offcuts), 0)
        self.whole: list[_Source] = []
        for piece in pieces:
            length = to_steps(piece.length_mm)
            if length + self.kerf == 0:
                raise InputError(f"{piece.label} is shorter than 1/320 mm.", hint="is the unit right?", field="pieces")
            if piece.offcut:
                self._take(piece, numbers.get((piece.run, piece.copy, piece.offcut)))
            elif not self._is_pinned(piece):
                self.queue[length + self.kerf].append(piece)
        for piece in filter(self._is_pinned, pieces):
            self._take_whole(piece)
        self.sizes = [size for size in sorted(self.queue, reverse=True) for _ in self.queue[size]]
        self._place_long()

    def _is_pinned(self, piece: WantedPiece) -> bool:
        """Whether it must be kept from a longer length: where there is none it is a whole stick anyway."""
        length = to_steps(piece.length_mm)
        return piece.whole and not piece.offcut and length in self.stock and length < self.longest

    def _take_whole(self, piece: WantedPiece) -> None:
        """A stick as it is: one on hand that no plan takes, else a new one."""
        length = to_steps(piece.length_mm)
        there = next((i for i, o in enumerate(self.offcuts) if o.length == length and not o.taken), None)
        if there is None:
            self.whole.append(_Source(length, 0, taken=(piece,)))
        else:
            self._take(piece, there)

    def _room(self, source: _Source) -> int:
        """What can still be cut from it, a saw cut counted."""
        taken = sum(to_steps(piece.length_mm) + self.kerf for piece in source.taken)
        return source.length + self.kerf - taken - sum(source.held)

    def _take(self, piece: WantedPiece, at: int | None) -> None:
        """A piece from the offcut that its plan takes."""
        if at is None or to_steps(piece.length_mm) + self.kerf > self._room(self.offcuts[at]):
            raise InputError(
                f"{piece.label} comes from offcut {piece.offcut} of its run, which cannot give it.",
                hint="is the offcut named, and named once?",
                field="pieces",
            )
        self.offcuts[at] = self.offcuts[at]._replace(taken=(*self.offcuts[at].taken, piece))

    def _place_long(self) -> None:
        """Pieces longer than every new stick: each into the smallest room on hand that takes it."""
        self.short = [s for s in self.sizes if s <= self.stock[0] + self.kerf]
        self.long = [s for s in self.sizes if s > self.stock[0] + self.kerf]
        for size in self.long:
            fits = [o for o in self.offcuts if self._room(o) >= size]
            if not fits:
                raise self._too_long(size)
            best = min(fits, key=lambda o: (self._room(o), o.offcut))
            self.offcuts[best.offcut - 1] = best._replace(held=(*best.held, size))

    def _too_long(self, size: int) -> LimitError:
        piece = self.queue[size][0]
        return LimitError(
            f"{piece.label} ({piece.run or 'no run named'}) is {said(piece.length_mm)} long; the longest new stick is "
            f"{said(to_mm(self.stock[0]))}, and no offcut that is still free will take it (longest "
            f"{said(to_mm(self.longest))}).",
            hint="split the run with a coupling, or add a longer stock length",
            quantity="piece length",
            asked=piece.length_mm,
            limit=to_mm(self.stock[0]),
        )

    def instance(self, *, full: bool) -> tuple[Instance, int, list[_Source]]:
        """Bins: new sticks by length, then every offcut. `full`: offcuts without what was put there beforehand, and
        what their plans take from them among the pieces."""
        weigh = self.rules.least == "length"
        bins = [Bin(s + self.kerf, s if weigh else 1, None) for s in self.stock]
        sources = [_Source(s, 0) for s in self.stock]
        sizes = self.short
        if full:
            taken = [to_steps(p.length_mm) + self.kerf for o in (*self.offcuts, *self.whole) for p in o.taken]
            sizes = [*sizes, *(size for size in taken if size <= self.stock[0] + self.kerf)]
        smallest = min(sizes, default=0)
        grouped: dict[int, list[_Source]] = defaultdict(list)
        for o in self.offcuts:
            cap = o.length + self.kerf if full else self._room(o)
            if cap >= smallest:
                grouped[cap].append(o)
        for cap, members in sorted(grouped.items()):
            bins.append(Bin(cap, 0, len(members)))
            sources.append(members[0])
        instance, measure = make_instance(sizes, bins)
        self.grouped = {len(self.stock) + i: list(m) for i, (_, m) in enumerate(sorted(grouped.items()))}
        return instance, measure, sources

    def plan(self) -> CutPlan:
        """Search, then the offcuts, then the pieces by name."""
        bound = 0
        beforehand = bool(self.whole) or any(o.taken or o.held for o in self.offcuts)
        if beforehand and (self.short or self.whole):
            # Offcuts whole and the long pieces left out: no plan of all pieces can do with less than this one.
            easier, _, _ = self.instance(full=True)
            bound = cheap_bound(easier)
            if easier.lines <= CUT_TABLEAU_LENGTHS and self.rules.effort:
                bound = max(bound, relax(easier, {}).bound)
        instance, measure, sources = self.instance(full=False)
        found = search(instance, self.rules.effort)
        if not beforehand:
            bound = found.bound
        packed, looked_at = self._tidy(instance, measure, sources, shrink(instance, found.packed))
        sticks = self._name(instance, measure, sources, packed)
        weight = weight_of(instance, packed)
        weight += sum(source.length if self.rules.least == "length" else 1 for source in self.whole)
        return self._answer(sticks, weight, bound, found.looked_at + looked_at)

    def _tidy(
        self, instance: Instance, measure: int, sources: list[_Source], packed: list[Packed]
    ) -> tuple[list[Packed], int]:
        """Offcuts gathered, untouched offcuts taking part with nothing in them."""
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
            loads.append((source, (*source.held, *own)))
        used = {source.offcut for source, _ in loads}
        loads += [(o, o.held) for o in self.offcuts if (o.held or o.taken) and o.offcut not in used]
        loads += [(source, ()) for source in self.whole]
        loads = [(source, tuple(sorted(sizes, reverse=True))) for source, sizes in loads]
        loads.sort(key=lambda item: (item[0].offcut == 0, item[0].offcut, -item[0].length, [-s for s in item[1]]))
        keep = to_steps(self.rules.keep_mm)
        sticks = []
        for number, (source, sizes) in enumerate(loads, 1):
            pieces = [*source.taken, *(waiting[s].pop() for s in sizes)]
            left = max(0, source.length - sum(to_steps(piece.length_mm) + self.kerf for piece in pieces))
            sticks.append(
                CutStick(
                    number=number,
                    source_mm=self._source_mm(source),
                    offcut=source.offcut,
                    named_by=self.rules.named_by(source.offcut),
                    on_hand=self.rules.is_stick(source.offcut),
                    pieces=tuple(sorted(pieces, key=lambda piece: -to_steps(piece.length_mm))),
                    new_offcut_mm=to_mm(left),
                    kept=left > 0 and left >= keep,
                )
            )
        return sticks

    def _source_mm(self, source: _Source) -> float:
        if source.offcut:
            return self.rules.on_hand_mm[source.offcut - 1]
        return next(s for s in self.rules.stock_mm if to_steps(s) == source.length)

    def _answer(self, sticks: list[CutStick], weight: int, bound: int, looked_at: int) -> CutPlan:
        new = [s for s in sticks if s.offcut == 0]
        by_length = self.rules.least == "length"
        used = {s.offcut for s in sticks}
        scrap = sum(to_steps(s.new_offcut_mm) for s in sticks if not s.kept)
        spent = sum(to_steps(s.source_mm) - to_steps(s.new_offcut_mm) for s in sticks)
        pieces = sum(to_steps(p.length_mm) for s in sticks for p in s.pieces)
        return CutPlan(
            sticks=tuple(sticks),
            rules=self.rules,
            new_sticks=len(new),
            new_length_mm=to_mm(sum(to_steps(s.source_mm) for s in new)),
            least_sticks=0 if by_length else bound,
            least_length_mm=to_mm(bound) if by_length else 0.0,
            proved=weight <= bound,
            kept_mm=tuple(sorted((s.new_offcut_mm for s in sticks if s.kept), reverse=True)),
            scrap_mm=to_mm(scrap),
            kerf_total_mm=to_mm(spent - pieces),
            unused_offcuts=tuple(i for i in range(1, len(self.offcuts) + 1) if i not in used),
            looked_at=looked_at,
        )
