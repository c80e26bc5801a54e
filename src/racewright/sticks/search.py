"""The search for the cheapest split of a run: which places for couplings need be tried, and the sweep over them.

Notation (mm along the run's centreline, from its first cut end)
    c        place of a coupling's middle
    h        room that a coupling needs beside it on the straight
    cap      longest piece that a stick or an offcut gives
    g        gap that a coupling's stop leaves between the two conduit ends

Which places need be tried. Take any split and keep what it is made of: which straight each coupling lies on,
between which of the distances from the arcs at which the bender's verdict changes, and which stick
each piece comes from. Its cost then no longer depends on where exactly the couplings are: all lengths together
are the run less the gaps. Push every coupling as far toward the run's end as it goes. No verdict gets worse (a
piece's far straight grows, its near one stays past its own change), and each coupling stops at one of these: the
end of its allowed interval, a change of verdict, a full stick beyond the coupling before, or the least piece
length before the next. Where two least pieces follow each other they make one piece without a coupling, which is
cheaper. So ends, changes, both less the least piece, and all of them plus any sum of full sticks are enough, and
the search over them is exact.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from heapq import heappop, heappush
from typing import NamedTuple

from racewright.bends.model import Bend
from racewright.geometry.chain import Turn
from racewright.geometry.vector import even
from racewright.sticks.model import SAME_MM, Bendable, Ease, RunPiece, Split, StickRules, straight_ease

MOST_OFFCUTS = 8
_MOST_LABELS = 12_000


class _Stick(NamedTuple):
    """A source of one piece: its length, which offcut (0: new), its bit in the mask of used offcuts, and the bit of
    the offcut of equal length that is to be used first."""

    length_mm: float
    offcut: int
    bit: int
    after: int


class _Back(NamedTuple):
    cost: float
    key: tuple[float, int]
    stick: _Stick | None
    ease: Ease


class Search:
    """Dijkstra-like sweep over places, left to right; state: place and which offcuts are used."""

    def __init__(
        self, length_mm: float, turns: Sequence[Turn], rules: StickRules, bendable: Bendable | None = None
    ) -> None:
        self.length = length_mm
        self.turns = turns
        self.starts = [turn.arc_start_mm for turn in turns]
        self.rules = rules
        self.bendable = bendable or straight_ease(rules)
        # a caller's own verdict may hang on more than the straights, so it is asked for every piece
        self.steady = bendable is None
        new = sorted(set(rules.stock_mm))
        # an offcut shorter than two least pieces is not worth a coupling of its own
        kept = [(v, k + 1) for k, v in enumerate(rules.offcuts_mm) if v >= 2.0 * rules.least_piece_mm]
        self.complete = len(kept) <= MOST_OFFCUTS
        kept = sorted(kept, reverse=True)[:MOST_OFFCUTS]
        self.sticks = [_Stick(v, 0, 0, 0) for v in new]
        for j, (v, k) in enumerate(kept):
            equal = j > 0 and kept[j - 1][0] == v
            self.sticks.append(_Stick(v, k, 1 << j, 1 << (j - 1) if equal else 0))
        self.longest = max((stick.length_mm for stick in self.sticks), default=0.0)
        self.intervals = self._allowed()
        self.changes = self._change_places()
        early = [round(place - rules.least_piece_mm, 9) for place in self.changes if self._is_allowed(place)]
        self.fixed = sorted({place for place in (*self.changes, *early) if self._is_allowed(place)})
        self.seen: dict[tuple[int, int, tuple[int, int], tuple[int, int]], Ease | None] = {}
        self.looked_at = 0
        self.farthest_mm = 0.0

    def _allowed(self) -> list[tuple[float, float]]:
        """Where a coupling's middle may be: on straights, with room to the arcs and to the run's ends."""
        out = []
        last = 0.0
        ends = [(t.arc_start_mm, t.arc_start_mm + t.radius_mm * t.angle_rad) for t in self.turns]
        for i, (start, end) in enumerate([*ends, (self.length, self.length)]):
            low = last + (self.rules.least_piece_mm if i == 0 else self.rules.room_mm)
            high = start - (self.rules.least_piece_mm if i == len(ends) else self.rules.room_mm)
            low = max(low, self.rules.least_piece_mm)
            high = min(high, self.length - self.rules.least_piece_mm)
            if high >= low - SAME_MM:
                out.append((low, max(low, high)))
            last = end
        return out

    def _change_places(self) -> list[float]:
        """Ends of the allowed intervals and changes of verdict."""
        rules = self.rules
        half = 0.5 * rules.coupling_gap_mm
        needs = sorted({rules.hook_need_mm, rules.grip_mm, rules.easy_grip_mm, *rules.changes_mm})
        raw: list[float] = []
        for low, high in self.intervals:
            raw += [low, high]
        for turn in self.turns:
            end = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
            # the piece that ends at c has its cut end half a gap short of it, the one that begins there half beyond
            raw += [end + need + half for need in needs]
            raw += [turn.arc_start_mm - need - half for need in needs]
        return sorted({round(place, 9) for place in raw})

    def _is_allowed(self, place: float) -> bool:
        return any(low - SAME_MM <= place <= high + SAME_MM for low, high in self.intervals)

    def run(self) -> Split | None:
        """The cheapest split, or None where there is none (`farthest_mm` then says how far the sweep came)."""
        start = (0.0, 0)
        self.best = {start: _Back(0.0, start, None, Ease())}
        self.masks: dict[float, set[int]] = {0.0: {0}}
        self.cells: dict[int, list[float]] = {}
        waiting = [0.0]
        looked = labels = 0
        while waiting and labels <= _MOST_LABELS:
            place = heappop(waiting)
            if place >= self.length - SAME_MM:
                break
            kept = self._undominated(place)
            if not kept:
                continue
            looked, labels = looked + 1, labels + len(kept)
            self.farthest_mm = max(self.farthest_mm, place)
            for target in self._fixed_targets(place):
                self._step(waiting, place, kept, target, self.sticks)
            for stick in self.sticks:
                full = self._full_stick(place, stick.length_mm)
                if full is not None:
                    self._step(waiting, place, kept, full, (stick,))
        ends = [key for key in self.best if key[0] >= self.length - SAME_MM]
        self.complete = self.complete and labels <= _MOST_LABELS
        if not ends:
            return None
        last = min(ends, key=lambda key: (even(self.best[key].cost), key[1]))
        return self._split(last, looked, proved=self.complete and self.steady)

    def _step(
        self, waiting: list[float], place: float, kept: Sequence[int], target: float, sticks: Sequence[_Stick]
    ) -> None:
        """One piece from `place` to `target`, from every stick that is long enough and still there."""
        piece = self._piece(place, target)
        if piece is None:
            return
        cut, ease = piece
        weights = self.rules.weights
        extra = weights.hard_bend * ease.hard_bends + weights.turn * ease.turns
        if target < self.length - SAME_MM:
            extra += weights.coupling
        opened = False
        for stick in sticks:
            if stick.length_mm < cut - SAME_MM or (opened and stick.offcut == 0):
                continue
            if stick.offcut == 0:
                # sorted: the shortest new stick that is long enough; a longer one only costs more
                opened = True
                extra_stick = weights.stick
            else:
                extra_stick = 0.0
            # the metre of conduit that stays in the run is counted as well: it is the same for every split, up to
            # the gaps, and makes costs at different places comparable
            cost = extra + extra_stick + weights.waste_per_m * (stick.length_mm - cut + target - place) / 1000.0
            for mask in kept:
                if stick.bit & mask or (stick.after & mask) != stick.after:
                    continue
                key = (target, mask | stick.bit)
                total = self.best[(place, mask)].cost + cost
                old = self.best.get(key)
                if old is None or total < old.cost - 1e-9 or (total < old.cost + 1e-9 and place > old.key[0]):
                    self.best[key] = _Back(total, (place, mask), stick, ease)
                if target not in self.masks:
                    self.masks[target] = set()
                    heappush(waiting, target)
                    self.cells.setdefault(self._cell(target), []).append(target)
                self.masks[target].add(key[1])

    def _cell(self, place: float) -> int:
        """Which stretch between changes of verdict; a change belongs to the stretch before it."""
        return bisect_left(self.changes, place - SAME_MM)

    def _undominated(self, place: float) -> list[int]:
        """Used-up offcuts of this place that matter. One does not where a place as far or farther on in the same
        stretch has used no other offcuts and cost no more: whatever follows here can follow there, unless a fixed
        place lies just near enough to be too near from there."""
        least = self.rules.least_piece_mm
        rivals = [p for p in self.cells.get(self._cell(place), [place]) if p >= place]
        rivals = [p for p in rivals if p == place or not self._between(place + least, p + least)]
        kept: list[int] = []
        for mask in sorted(self.masks[place], key=lambda m: (m.bit_count(), m)):
            cost = self.best[(place, mask)].cost + 1e-9
            if not any(
                other & mask == other and self.best[(rival, other)].cost <= cost
                for rival in rivals
                for other in (self.masks[rival] if rival != place else kept)
            ):
                kept.append(mask)
        return kept

    def _between(self, low: float, high: float) -> bool:
        at = bisect_left(self.fixed, low - SAME_MM)
        return at < len(self.fixed) and self.fixed[at] < high - SAME_MM

    def _fixed_targets(self, place: float) -> list[float]:
        """Fixed places that one piece can reach from here, and the run's end."""
        gap = self.rules.coupling_gap_mm
        behind = 0.0 if place == 0.0 else 0.5 * gap
        reach = place + behind + self.longest + 0.5 * gap
        low = bisect_left(self.fixed, place + self.rules.least_piece_mm - SAME_MM)
        out = self.fixed[low : bisect_left(self.fixed, reach + SAME_MM)]
        if self.length - behind - place <= self.longest + SAME_MM:
            out.append(self.length)
        return out

    def _full_stick(self, place: float, stick_mm: float) -> float | None:
        gap = self.rules.coupling_gap_mm
        full = round(place + (0.0 if place == 0.0 else 0.5 * gap) + stick_mm + 0.5 * gap, 9)
        if full >= self.length - SAME_MM or not self._is_allowed(full):
            return None
        return full

    def _piece(self, place: float, target: float) -> tuple[float, Ease] | None:
        """Cut length and ease of the piece between two places; None where it cannot be bent."""
        low = place + (0.0 if place == 0.0 else 0.5 * self.rules.coupling_gap_mm)
        high = target - (0.0 if target >= self.length - SAME_MM else 0.5 * self.rules.coupling_gap_mm)
        inside = self._inside(low, high)
        if not inside:
            return high - low, Ease()
        first = bisect_left(self.starts, low - SAME_MM)
        key = (first, len(inside), self._spot(place), self._spot(target))
        if not self.steady or key not in self.seen:
            self.looked_at += 1
            self.seen[key] = self.bendable(own_bends(inside, low)[0], high - low)
        ease = self.seen[key]
        return None if ease is None else (high - low, ease)

    def _spot(self, place: float) -> tuple[int, int]:
        """Between which changes of verdict a place is, or on which: there one verdict holds."""
        return bisect_left(self.changes, place - SAME_MM), bisect_left(self.changes, place + SAME_MM)

    def _inside(self, low: float, high: float) -> Sequence[Turn]:
        return self.turns[bisect_left(self.starts, low - SAME_MM) : bisect_left(self.starts, high)]

    def _split(self, last: tuple[float, int], places: int, *, proved: bool) -> Split:
        pieces: list[RunPiece] = []
        key = last
        while key != (0.0, 0):
            back = self.best[key]
            assert back.stick is not None
            low = back.key[0] + (0.0 if back.key[0] == 0.0 else 0.5 * self.rules.coupling_gap_mm)
            at_end = key[0] >= self.length - SAME_MM
            high = key[0] - (0.0 if at_end else 0.5 * self.rules.coupling_gap_mm)
            inside = self._inside(low, high)
            bends, roll = own_bends(inside, low)
            pieces.append(
                RunPiece(
                    start_mm=low,
                    end_mm=high,
                    cut_length_mm=high - low,
                    bends=bends,
                    roll_rad=roll,
                    stock_mm=back.stick.length_mm,
                    offcut=back.stick.offcut,
                    waste_mm=max(0.0, back.stick.length_mm - (high - low)),
                    left_mm=max(0.0, back.stick.length_mm - (high - low) - self.rules.kerf_mm),
                    hard_bends=back.ease.hard_bends,
                    turns=back.ease.turns,
                )
            )
            key = back.key
        pieces.reverse()
        half = 0.5 * self.rules.coupling_gap_mm
        return Split(
            pieces=tuple(pieces),
            couplings_mm=tuple(piece.end_mm + half for piece in pieces[:-1]),
            # the run itself was counted as well in `_step`
            cost=self.best[last].cost - self.rules.weights.waste_per_m * self.length / 1000.0,
            sticks=sum(1 for piece in pieces if piece.offcut == 0),
            waste_mm=sum(piece.waste_mm for piece in pieces),
            proved=proved,
            places=places,
            looked_at=self.looked_at,
        )


def own_bends(inside: Sequence[Turn], low: float) -> tuple[tuple[Bend, ...], float]:
    """The bends of a piece that begins at `low`, rolls counted from its first bend, and that bend's roll."""
    if not inside:
        return (), 0.0
    first = inside[0].roll_rad
    bends = tuple(
        Bend(
            arc_start_mm=t.arc_start_mm - low, angle_rad=t.angle_rad, roll_rad=t.roll_rad - first, radius_mm=t.radius_mm
        )
        for t in inside
    )
    return bends, first
