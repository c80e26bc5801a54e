"""Where a joint may be along a run, what a place costs, and which places need be tried.

Notation (mm along the run's centreline, from its first cut end)
    c        place of a coupling's middle
    h        room that a coupling needs beside it on the straight
    L, S     shortest distance between two joints, and the shortest without need
    F        a full stick with the gaps at its two ends

Which places need be tried. Take any split and keep what it is made of: which straight each coupling lies on, between
which changes (of the bender's verdict, of what a place costs), which pieces are shorter than S, and which stick each
piece comes from. Its cost then no longer depends on where exactly the couplings are: all lengths together are the run
less the gaps. Push every coupling as far toward the run's end as it goes. No verdict gets worse (a piece's far
straight grows, its near one stays past its own change), and each coupling stops at one of these: a change, a full stick
beyond the joint before, or L or S before the next joint. Where two pieces of length L or S follow each other they make
one piece without a coupling, which is cheaper, as long as the shortest stick is twice S. So changes, the required
joints, all of them and the run's end less L and less S, and all of these plus any sum of full sticks are enough.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from math import inf
from typing import NamedTuple

import msgspec

from racewright.geometry.chain import Turn
from racewright.sticks.model import SAME_MM, StickRules

#: A place off the middle of a straight that is too short for a hand's width on both sides costs so much more.
_OFF_MIDDLE = 1.25


class Stretch(NamedTuple):
    """Where a coupling's middle may be on one straight, and the best part of that: with a hand's width to the bends, or
    where there is no room for it (`near`) the middle."""

    low: float
    high: float
    best_low: float
    best_high: float
    near: bool


class Place(msgspec.Struct, frozen=True):
    """What the search asks of a place: half the gap that its joint leaves, where the next piece may be measured from
    and the piece before to, between which changes it is or on which (the first of `spot` says in which stretch between
    them, a change with the stretch before it), how many bends begin before it, what it costs in minutes."""

    half_gap: float
    before: float
    after: float
    spot: tuple[int, int]
    bends: int
    cost: float


class Places:
    """The places of one run. `slack`: minutes that a split may cost beyond what any costs; places and short pieces that
    alone cost more are left out. `quick`: few places, for a first split that is no proof."""

    def __init__(
        self, length_mm: float, turns: Sequence[Turn], rules: StickRules, *, slack: float = inf, quick: bool = False
    ) -> None:
        self.length, self.rules, self.slack, self.quick = length_mm, rules, slack, quick
        self.starts = [turn.arc_start_mm for turn in turns]
        self.arcs = [(t.arc_start_mm, t.arc_start_mm + t.radius_mm * t.angle_rad) for t in turns]
        self.required = {round(joint.at_mm, 9): joint for joint in rules.required}
        self.required_at = sorted(self.required)
        self.stretches = self._stretches()
        self._highs = [stretch.high for stretch in self.stretches]
        self.changes = self._changes()
        self._known: dict[float, Place] = {}
        #: From where a full stick ends in a good place. Not needed for the least cost, but so that among equally good
        #: splits there is one with that stick uncut.
        self.before_uncut: set[float] = set()
        self.fixed = self._fixed()
        # what the next piece is measured to, for the question whether it lies too near
        self._edges = sorted({*(self.at(place).before for place in self.fixed), length_mm})

    def at(self, place: float) -> Place:
        """What is known of a place: a joint's middle, or one of the run's ends."""
        known = self._known.get(place)
        if known is None:
            known = self._known[place] = self._look(place)
        return known

    def is_allowed(self, place: float) -> bool:
        """Whether a coupling's middle may be there."""
        k = bisect_left(self._highs, place - SAME_MM)
        return k < len(self._highs) and self.stretches[k].low - SAME_MM <= place

    def next_required(self, place: float) -> float:
        """The required joint after this place, or the run's end."""
        k = bisect_right(self.required_at, place + SAME_MM)
        return self.required_at[k] if k < len(self.required_at) else self.length

    def edge_from(self, place: float) -> float:
        """What the next fixed place from here on, or the run's end, is measured to."""
        at = bisect_left(self._edges, place - SAME_MM)
        return self._edges[at] if at < len(self._edges) else inf

    def _look(self, place: float) -> Place:
        spot = bisect_left(self.changes, place - SAME_MM), bisect_left(self.changes, place + SAME_MM)
        bends = bisect_left(self.starts, place - SAME_MM)
        if place == 0.0 or place >= self.length - SAME_MM:
            return Place(0.0, place, place, spot, bends, 0.0)
        joint = self.required.get(place)
        if joint is not None:
            half = 0.5 * joint.gap_mm
            return Place(half, place - half, place + half, spot, bends, 0.0)
        stretch = self.stretches[bisect_left(self._highs, place - SAME_MM)]
        best = stretch.best_low - SAME_MM <= place <= stretch.best_high + SAME_MM
        near = self.rules.weights.near_bend
        cost = (near if stretch.near else 0.0) if best else near * _OFF_MIDDLE
        return Place(0.5 * self.rules.coupling_gap_mm, place, place, spot, bends, self.rules.weights.coupling + cost)

    def _stretches(self) -> list[Stretch]:
        """Where a coupling's middle may be: on straights, with room to the arcs and to the run's ends."""
        rules, out, last = self.rules, [], 0.0
        for i, (start, end) in enumerate([*self.arcs, (self.length, self.length)]):
            first, final = i == 0, i == len(self.arcs)
            low = max(rules.least_piece_mm, last if first else last + rules.room_mm)
            high = min(self.length - rules.least_piece_mm, start if final else start - rules.room_mm)
            if high >= low - SAME_MM:
                high = max(low, high)
                wanted = (
                    low if first else max(low, last + rules.wanted_room_mm),
                    high if final else min(high, start - rules.wanted_room_mm),
                )
                middle = 0.5 * (low + high)
                near = wanted[1] < wanted[0] - SAME_MM
                best = (middle, middle) if near else (wanted[0], max(wanted))
                out.append(Stretch(low, high, *best, near))
            last = end
        return out

    def _changes(self) -> list[float]:
        """Where something changes: what is allowed, what a place costs, the verdict on a piece."""
        rules = self.rules
        half = 0.5 * rules.coupling_gap_mm
        needs = sorted({rules.hook_need_mm, rules.grip_mm, rules.easy_grip_mm, *rules.changes_mm})
        raw: list[float] = [*self.required]
        for stretch in self.stretches:
            raw += stretch[:4]
        for start, end in self.arcs:
            # the piece that ends at c has its cut end half a gap short of it, the one that begins there half beyond
            raw += [end + need + half for need in needs]
            raw += [start - need - half for need in needs]
        return sorted({round(place, 9) for place in raw})

    def _fixed(self) -> list[float]:
        """The places to try, but for sums of full sticks from them."""
        rules = self.rules
        allowed = [place for place in self.changes if place not in self.required and self.is_allowed(place)]
        edges = [*allowed, *(self.at(place).before for place in self.required), self.length]
        pieces = [] if self.quick else [*rules.short_spans_mm]
        if self.slack >= rules.weights.short_piece:
            pieces.append(rules.least_piece_mm)
        early = [edge - piece for edge in edges for piece in pieces]
        ends = [stretch.best_high for stretch in self.stretches]
        ends += [self.length - rules.short_spans_mm[0], self.length + 0.5 * rules.coupling_gap_mm]
        uncut = [end - stick - rules.coupling_gap_mm for end in ends for stick in rules.stock_mm]
        self.before_uncut = {round(place, 9) for place in uncut}
        early = [round(place, 9) for place in early]
        allowed += [place for place in (*early, *self.before_uncut) if self.is_allowed(place)]
        most = rules.weights.coupling + self.slack
        return sorted({*self.required, *(place for place in allowed if self.at(place).cost <= most)})
