"""The search for the cheapest split of a run: a sweep over the places where joints may be (`places`).

What one step costs does not hang on where exactly a place lies between two changes, so a place is dropped where
another, farther on between the same changes, has used no other offcuts and cost no more. Among splits of equal cost
the one with more uncut sticks is kept, and of those the one whose joints lie farther on; that choice is not part of
the proof.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from heapq import heappop, heappush
from math import ceil, inf

import msgspec

from racewright.bends.model import Bend
from racewright.budget import OFFCUTS_USED, Budget
from racewright.geometry.chain import Turn
from racewright.geometry.vector import even
from racewright.sticks.model import SAME_MM, Ease, RunPiece, Split, StickRules, Verdict, straight_ease
from racewright.sticks.places import Places

_EVEN_COST = 1e-9
_BOUND_SLACK = 1e-6

#: A piece by its bends and between which changes its ends are: one verdict holds for all of them.
PieceKey = tuple[int, int, tuple[int, int], tuple[int, int]]


class _Stick(msgspec.Struct, frozen=True):
    """A source of one piece: its length, which offcut (0: new), its bit in the mask of used offcuts, and the bit of
    the offcut of equal length that is to be used first."""

    length_mm: float
    offcut: int
    bit: int
    after: int


class _Back(msgspec.Struct, frozen=True):
    """The best way to a place: its cost, how many of its pieces are sawn, and the last step."""

    cost: float
    sawn: int
    key: tuple[float, int]
    stick: _Stick | None
    ease: Ease


class _Lane:
    """The best ways to the places between the same changes that have used the same offcuts, by place: what each costs
    and how many of its pieces are sawn."""

    __slots__ = ("costs", "places", "sawn")

    def __init__(self) -> None:
        self.places: list[float] = []
        self.costs: list[float] = []
        self.sawn: list[int] = []

    def put(self, place: float, cost: float, sawn: int) -> None:
        """The way to this place, in the place of the one that was known."""
        k = bisect_left(self.places, place)
        if k == len(self.places) or self.places[k] != place:
            self.places.insert(k, place)
            self.costs.insert(k, cost)
            self.sawn.insert(k, sawn)
        else:
            self.costs[k], self.sawn[k] = cost, sawn

    def has_no_worse(self, after: float, to: float, way: _Back) -> bool:
        """Whether a way to a place beyond `after`, up to `to`, is no worse than this one."""
        low, high = bisect_right(self.places, after), bisect_right(self.places, to)
        if low >= high:
            return False
        costs = self.costs[low:high]
        least = min(costs)
        if abs(least - way.cost) > _EVEN_COST:
            return least < way.cost
        return any(
            sawn <= way.sawn and abs(cost - way.cost) <= _EVEN_COST
            for cost, sawn in zip(costs, self.sawn[low:high], strict=True)
        )


class Search:
    """Dijkstra-like sweep over places, left to right; state: place and which offcuts are used. `bound`: what a known
    split costs; what cannot cost less is left out. `quick`: a split to have such a bound from."""

    def __init__(
        self,
        length_mm: float,
        turns: Sequence[Turn],
        rules: StickRules,
        verdict: Verdict | None = None,
        *,
        most_offcuts: int = OFFCUTS_USED,
        bound: float = inf,
        quick: bool = False,
        refused: Iterable[PieceKey] = (),
    ) -> None:
        self.length, self.turns, self.rules = length_mm, turns, rules
        self.verdict = verdict or straight_ease(rules)
        # another verdict may hang on more than the straights, so it is asked for every piece
        self.steady = verdict is None
        #: Pieces that a caller's own test has refused.
        self.refused = set(refused)
        new = sorted(set(rules.stock_mm))
        # an offcut shorter than two short pieces is not worth a coupling of its own
        kept = [(v, k + 1) for k, v in enumerate(rules.offcuts_mm) if v >= 2.0 * rules.short_piece_mm]
        # the proof wants sticks that two short pieces in a row could be cut from as one
        two_short = 2.0 * rules.short_piece_mm + rules.coupling_gap_mm
        self.sure = not quick and len(kept) <= most_offcuts and min(new, default=inf) >= two_short
        kept = sorted(kept, reverse=True)[:most_offcuts]
        self.sticks = [_Stick(v, 0, 0, 0) for v in new]
        #: Lengths of the new ones, which stand first, ascending.
        self.new_mm = new
        for j, (v, k) in enumerate(kept):
            equal = j > 0 and kept[j - 1][0] == v
            self.sticks.append(_Stick(v, k, 1 << j, 1 << (j - 1) if equal else 0))
        self.longest = max((stick.length_mm for stick in self.sticks), default=0.0)
        # the farthest that one piece and the gap of its joint can reach
        self.reach = self.longest + max((rules.coupling_gap_mm, *(joint.gap_mm for joint in rules.required)))
        self.shortest = min((stick.length_mm for stick in self.sticks), default=0.0)
        self.bound = bound + rules.weights.waste_per_m * length_mm / 1000.0 + _BOUND_SLACK
        slack = 0.0 if quick or not self.sticks else self.bound - self._rest(0.0)
        self.places = Places(length_mm, turns, rules, slack=slack, quick=quick)
        self.shorts = slack >= rules.weights.short_piece
        self.seen: dict[PieceKey, Ease | None] = {}
        self.looked_at = 0
        self.budget = Budget(0)
        self.farthest_mm, self.cut_short = 0.0, False

    def run(self, budget: Budget) -> Split | None:
        """The cheapest split, or None where there is none (`farthest_mm` then says how far the sweep came), or where
        the budget was spent before one was found (`cut_short`)."""
        self.budget = budget
        start = (0.0, 0)
        self.best = {start: _Back(0.0, 0, start, None, Ease())}
        self.masks: dict[float, set[int]] = {0.0: {0}}
        #: By stretch between changes and by offcuts used.
        self.lanes: dict[int, dict[int, _Lane]] = {}
        waiting = [0.0]
        looked = 0
        while waiting and not budget.spent:
            place = heappop(waiting)
            if place >= self.length - SAME_MM:
                break
            kept = [(mask, self.best[(place, mask)]) for mask in self._undominated(place)]
            if not kept:
                continue
            looked += 1
            self.farthest_mm = max(self.farthest_mm, place)
            for target in self._fixed_targets(place):
                budget.take(self._step(waiting, place, kept, target))
            for stick in self.sticks:
                full = self._full_stick(place, stick.length_mm)
                if full is not None:
                    budget.take(self._step(waiting, place, kept, full, stick))
        ends = [key for key in self.best if key[0] >= self.length - SAME_MM]
        self.cut_short = budget.spent
        if not ends:
            return None
        last = min(ends, key=lambda key: (even(self.best[key].cost), self.best[key].sawn, key[1]))
        return self._split(last, looked, proved=self.sure and not budget.spent and self.steady and not self.refused)

    def _step(
        self,
        waiting: list[float],
        place: float,
        kept: Sequence[tuple[int, _Back]],
        target: float,
        only: _Stick | None = None,
    ) -> int:
        """One piece from `place` to `target`, from every stick that is long enough and still there, or from this one
        only; how many ways. Of the new sticks that is the shortest: a longer one only costs more."""
        piece = self._piece(place, target)
        if piece is None:
            return 1
        cut, ease, short = piece
        weights = self.rules.weights
        there = self.places.at(target)
        extra = weights.hard_bend * ease.hard_bends + weights.turn * ease.turns + there.cost
        extra += weights.short_piece if short else 0.0
        most = self.bound - self._rest(target)
        lanes = self.lanes.setdefault(there.spot[0], {})
        ways, new = 0, len(self.new_mm)
        first = bisect_left(self.new_mm, cut - SAME_MM)
        for stick in (only,) if only else (*self.sticks[first : min(first + 1, new)], *self.sticks[new:]):
            if stick.length_mm < cut - SAME_MM:
                continue
            # the meter of conduit that stays in the run is counted as well: it is the same for every split, up to
            # the gaps, and makes costs at different places comparable
            cost = extra + (weights.stick if stick.offcut == 0 else 0.0)
            cost += weights.waste_per_m * (stick.length_mm - cut + target - place) / 1000.0
            sawn = int(stick.length_mm > cut + SAME_MM)
            for mask, before in kept:
                if stick.bit & mask or (stick.after & mask) != stick.after:
                    continue
                ways += 1
                total, used = before.cost + cost, mask | stick.bit
                if total > most:
                    continue
                old = self.best.get((target, used))
                if old is None:
                    self._reach(waiting, target, used)
                elif not _better(total, before.sawn + sawn, place, old):
                    continue
                self.best[(target, used)] = _Back(total, before.sawn + sawn, (place, mask), stick, ease)
                lanes.setdefault(used, _Lane()).put(target, total, before.sawn + sawn)
        return ways + 1

    def _rest(self, place: float) -> float:
        """The least that the run from this place on can cost, the run itself counted."""
        left = self.length - place
        if left <= SAME_MM:
            return 0.0
        weights = self.rules.weights
        pieces = ceil((left - SAME_MM) / self.reach)
        joints = pieces - 1 - len(self.rules.required)
        opened = pieces - (len(self.sticks) - len(self.new_mm))
        cost = weights.coupling * max(0, joints) + weights.stick * max(0, opened)
        return cost + weights.waste_per_m * left / 1000.0

    def _reach(self, waiting: list[float], place: float, used: int) -> None:
        if place not in self.masks:
            self.masks[place] = set()
            heappush(waiting, place)
        self.masks[place].add(used)

    def _undominated(self, place: float) -> list[int]:
        """Used-up offcuts of this place that matter. One does not where a place as far or farther on between the same
        changes has used no other offcuts and cost no more: whatever follows here can follow there, unless a piece
        would be too short, or short, only from there."""
        rules = self.rules
        # so near that a full stick from here still ends far enough beyond the other place
        near = place + self.shortest - rules.short_piece_mm
        spans = (rules.least_piece_mm, *rules.short_spans_mm)
        near = min(near, *(self.places.edge_from(place + span) - span for span in spans))
        lanes = {} if place in self.places.before_uncut else self.lanes.get(self.places.at(place).spot[0], {})
        kept: list[int] = []
        for mask in sorted(self.masks[place], key=lambda m: (m.bit_count(), m)):
            mine = self.best[(place, mask)]
            if any(other & mask == other and _no_worse(self.best[(place, other)], mine) for other in kept):
                continue
            if not any(
                other & mask == other and lane.has_no_worse(place, near + SAME_MM, mine)
                for other, lane in lanes.items()
            ):
                kept.append(mask)
        return kept

    def _fixed_targets(self, place: float) -> list[float]:
        """Fixed places that one piece can reach from here, no farther than the next required joint, or the end."""
        here, fixed = self.places.at(place), self.places.fixed
        stop = self.places.next_required(place)
        reach = place + here.half_gap + self.longest + 0.5 * self.rules.coupling_gap_mm
        low = bisect_left(fixed, here.after + self.rules.least_piece_mm - SAME_MM)
        out = fixed[low : bisect_left(fixed, min(reach + SAME_MM, stop - SAME_MM))]
        if self.places.at(stop).before - place - here.half_gap <= self.longest + SAME_MM:
            out.append(stop)
        return out

    def _full_stick(self, place: float, stick_mm: float) -> float | None:
        full = round(place + self.places.at(place).half_gap + stick_mm + 0.5 * self.rules.coupling_gap_mm, 9)
        if full >= self.places.next_required(place) - SAME_MM or not self.places.is_allowed(full):
            return None
        return full

    def _piece(self, place: float, target: float) -> tuple[float, Ease, bool] | None:
        """Cut length and ease of the piece between two places, and whether it is short; None where it cannot be: too
        short between two joints, or not to be bent."""
        here, there = self.places.at(place), self.places.at(target)
        span = there.before - here.after
        whole = place == 0.0 and target >= self.length - SAME_MM
        if span < self.rules.least_piece_mm - SAME_MM and not whole:
            return None
        low = place + here.half_gap
        length = target - there.half_gap - low
        short = length < self.rules.short_piece_mm - SAME_MM and not whole
        if short and not self.shorts:
            return None
        if here.bends == there.bends:
            return length, Ease(), short
        key = (here.bends, there.bends, here.spot, there.spot)
        if not self.steady or key not in self.seen:
            self.looked_at += 1
            self.budget.take(there.bends - here.bends)
            self.seen[key] = self.verdict(own_bends(self.turns[here.bends : there.bends], low)[0], length)
        ease = None if key in self.refused else self.seen[key]
        return None if ease is None else (length, ease, short)

    def refuse(self, number: int) -> None:
        """This piece of the last split (from 0) is not to be taken again, nor one with its ends between the same
        changes."""
        low, high = (self.places.at(place) for place in self.last_places[number : number + 2])
        self.refused.add((low.bends, high.bends, low.spot, high.spot))

    def round_refused(self, *, quick: bool) -> Search:
        """A search for splits without the refused pieces, from new sticks."""
        return Search(self.length, self.turns, self.rules, most_offcuts=0, quick=quick, refused=self.refused)

    def _split(self, last: tuple[float, int], looked: int, *, proved: bool) -> Split:
        pieces: list[RunPiece] = []
        key, self.last_places = last, [0.0]
        while key != (0.0, 0):
            back = self.best[key]
            assert back.stick is not None
            here, there = self.places.at(back.key[0]), self.places.at(key[0])
            low, high = back.key[0] + here.half_gap, key[0] - there.half_gap
            bends, roll = own_bends(self.turns[here.bends : there.bends], low)
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
            self.last_places.append(key[0])
            key = back.key
        pieces.reverse()
        self.last_places.sort()
        return Split(
            pieces=tuple(pieces),
            joints_mm=tuple(self.last_places[1:-1]),
            # the run itself was counted as well in `_step`
            cost=self.best[last].cost - self.rules.weights.waste_per_m * self.length / 1000.0,
            sticks=sum(1 for piece in pieces if piece.offcut == 0),
            waste_mm=sum(piece.waste_mm for piece in pieces),
            proved=proved,
            places=looked,
            looked_at=self.looked_at,
        )


def _better(cost: float, sawn: int, place: float, old: _Back) -> bool:
    if abs(cost - old.cost) > _EVEN_COST:
        return cost < old.cost
    return (sawn, -place) < (old.sawn, -old.key[0])


def _no_worse(one: _Back, other: _Back) -> bool:
    if abs(one.cost - other.cost) > _EVEN_COST:
        return one.cost < other.cost
    return one.sawn <= other.sawn


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
