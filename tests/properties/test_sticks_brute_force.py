"""The split against brute force: every place on a grid that holds all the data, every order of bending.

Lengths are whole multiples of 10 mm, so the grid of 5 mm holds some best split (all places where a verdict can
change, the middles of straights, and all full sticks from them, lie on it). The brute force shares no code with the
search.
"""

from functools import cache
from itertools import pairwise, permutations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.sticks.model import Required, StickRules, Weights
from racewright.sticks.sticks import split_run

STEP = 10
INF = float("inf")


def by_all_orders(arcs: Any, length: Any, hook: Any, grip: Any) -> Any:
    """(most bends that some order can make from the last backwards left over, fewest turns) over all orders."""
    least_left, fewest = len(arcs), None
    for order in permutations(range(len(arcs))):
        # bend order[0] is made last, with all others standing
        standing = set(range(len(arcs)))
        ways = []
        for i in order:
            left = arcs[i][0] - max([arcs[k][1] for k in standing if k < i], default=0)
            right = min([arcs[k][0] for k in standing if k > i], default=length) - arcs[i][1]
            toward_a, toward_b = left >= hook and right >= grip, left >= grip and right >= hook
            ways.append({w for w, ok in (("A", toward_a), ("B", toward_b)) if ok})
            if not ways[-1]:
                ways.pop()
                break
            standing.discard(i)
        least_left = min(least_left, len(standing))
        if not standing:
            cost: dict[str, float] = {"A": 0, "B": 0}
            for can in ways:
                cost = {w: min(cost[v] + (v != w) for v in cost if cost[v] < INF) if w in can else INF for w in "AB"}
                if min(cost.values()) == INF:
                    break
            best = min(cost.values())
            if best < INF and (fewest is None or best < fewest):
                fewest = best
    return least_left, fewest


def near_cost(c: Any, length: Any, arcs: Any, rules: Any) -> Any:
    """What a coupling costs for standing less than a hand's width from a bend, read from the docs: nothing where it
    does not; a little less in the middle of a straight that has no better place than beside it."""
    before = max((e for _, e in arcs if e <= c), default=None)
    after = min((s for s, _ in arcs if s >= c), default=None)
    want, room, least = rules.coupling_mm / 2 + rules.hand_mm, rules.room_mm, rules.least_piece_mm
    far = (before is None or c - before >= want) and (after is None or after - c >= want)
    if far:
        return 0.0
    low = least if before is None else max(least, before + room)
    high = length - least if after is None else min(length - least, after - room)
    best_low = low if before is None else max(low, before + want)
    best_high = high if after is None else min(high, after - want)
    middle = best_low > best_high and 2 * c == low + high
    return rules.weights.near_bend * (1.0 if middle else 1.25)


def brute(length: Any, arcs: Any, rules: Any) -> Any:
    """Least cost over every coupling place of the grid, or None."""
    w = rules.weights
    room = rules.room_mm
    least = rules.least_piece_mm
    offcuts = rules.offcuts_mm
    required = {r.at_mm: r.gap_mm / 2 for r in rules.required}

    def allowed(c: Any) -> Any:
        inside = least <= c <= length - least
        return c in required or (inside and all(c <= s - room or c >= e + room for s, e in arcs))

    places = [0, *[c for c in range(STEP // 2, int(length), STEP // 2) if allowed(c)], length]

    def half(k: Any) -> Any:
        if k in (0, len(places) - 1):
            return 0
        return required.get(places[k], rules.coupling_gap_mm / 2)

    @cache
    def ease(low: Any, high: Any) -> Any:
        mine = [(s - low, e - low) for s, e in arcs if low <= s < high]
        left, turns = by_all_orders(mine, high - low, rules.hook_need_mm, rules.grip_mm)
        if mine and (left or turns is None):
            return None
        hard, _ = by_all_orders(mine, high - low, rules.hook_need_mm, rules.easy_grip_mm)
        return w.hard_bend * hard + w.turn * (turns or 0)

    @cache
    def rest(k: Any, mask: Any) -> Any:
        if k == len(places) - 1:
            return 0.0
        low = places[k] + half(k)
        best = INF
        for j in range(k + 1, len(places)):
            last = j == len(places) - 1
            high = places[j] - half(j)
            # a required joint takes up its gap; a coupling is measured to its middle
            span = high - low
            span += 0 if places[k] in required else half(k)
            span += 0 if places[j] in required else half(j)
            cut = high - low
            whole = k == 0 and last
            long = cut > max((*rules.stock_mm, *offcuts))
            effort = ease(low, high) if (span >= least or whole) and not long else None
            if effort is not None:
                effort += w.short_piece if cut < rules.short_piece_mm and not whole else 0
                if not last and places[j] not in required:
                    effort += w.coupling + near_cost(places[j], length, arcs, rules)
                for stock in rules.stock_mm:
                    if stock >= cut:
                        best = min(best, effort + w.stick + w.waste_per_m * (stock - cut) / 1000 + rest(j, mask))
                for n, stock in enumerate(offcuts):
                    if stock >= cut and not mask >> n & 1:
                        best = min(best, effort + w.waste_per_m * (stock - cut) / 1000 + rest(j, mask | 1 << n))
            if places[j] in required:
                break
        return best

    best = rest(0, 0)
    return None if best == INF else best


@st.composite
def runs(draw: DrawFn) -> Any:
    turns, at, straights = [], 0, []
    for _ in range(draw(st.integers(0, 4))):
        start = at + STEP * draw(st.integers(2, 60))
        straights.append((at, start))
        radius = STEP * draw(st.integers(4, 14))
        turns.append(Turn(float(start), 1.0, 0.0, float(radius)))
        at = start + radius
    length = at + STEP * draw(st.integers(3, 60))
    straights.append((at, length))
    low, high = straights[draw(st.integers(0, len(straights) - 1))]
    middle = (low + high) // (2 * STEP) * STEP
    required = (Required(float(middle), 2.0 * STEP * draw(st.integers(0, 3))),)
    gap = 20.0 * draw(st.integers(0, 1))
    rules = StickRules(
        required=required if high - low >= 200 and draw(st.booleans()) else (),
        hand_mm=10.0 * draw(st.integers(2, 12)),
        hook_need_mm=STEP * draw(st.integers(2, 8)),
        grip_mm=STEP * draw(st.integers(5, 25)),
        easy_grip_mm=STEP * draw(st.integers(25, 35)),
        stock_mm=tuple(float(STEP * v) for v in draw(st.lists(st.integers(40, 90), min_size=1, max_size=2))),
        offcuts_mm=tuple(float(STEP * v) for v in draw(st.lists(st.integers(36, 80), max_size=2))),
        coupling_mm=60.0,
        coupling_spare_mm=10.0 * draw(st.integers(0, 2)),
        coupling_gap_mm=gap,
        least_piece_mm=STEP * draw(st.integers(9, 13)),
        short_piece_mm=STEP * draw(st.integers(13, 18)),
        weights=Weights(
            coupling=draw(st.sampled_from([1.0, 4.0])),
            stick=draw(st.sampled_from([0.5, 3.0])),
            waste_per_m=draw(st.sampled_from([0.0, 2.0, 9.0])),
            hard_bend=draw(st.sampled_from([0.0, 3.0])),
            turn=draw(st.sampled_from([0.0, 1.0])),
            near_bend=draw(st.sampled_from([0.0, 2.0, 60.0])),
            short_piece=draw(st.sampled_from([0.0, 2.0, 60.0])),
        ),
    )
    return float(length), turns, rules


@settings(max_examples=80, deadline=None)
@given(runs())
def test_the_split_costs_what_brute_force_finds(case: Any) -> None:
    length, turns, rules = case
    arcs = [(t.arc_start_mm, t.arc_start_mm + t.radius_mm) for t in turns]
    wanted = brute(length, arcs, rules)
    if wanted is None:
        with pytest.raises(LimitError) as caught:
            split_run(length, turns, rules)
        assert caught.value.hint
        return
    got = split_run(length, turns, rules)
    assert got.proved
    assert abs(got.cost - wanted) < 1e-6
    check_split(got, length, arcs, rules)


def check_split(got: Any, length: Any, arcs: Any, rules: Any) -> None:
    """Whatever the cost: the pieces are a split that the rules allow, and the parts add up to the cost."""
    required = {r.at_mm: r.gap_mm for r in rules.required}
    couplings = [c for c in got.joints_mm if c not in required]
    assert len(couplings) + len(required) == len(got.joints_mm)
    cuts = sum(piece.cut_length_mm for piece in got.pieces)
    assert abs(cuts + rules.coupling_gap_mm * len(couplings) + sum(required.values()) - length) < 1e-6
    assert sum(len(piece.bends) for piece in got.pieces) == len(arcs)
    for c in couplings:
        assert all(c <= s - rules.room_mm + 1e-6 or c >= e + rules.room_mm - 1e-6 for s, e in arcs)
    used = [piece.offcut for piece in got.pieces if piece.offcut]
    assert len(used) == len(set(used))
    w = rules.weights
    cost = w.coupling * len(couplings) + w.stick * got.sticks + w.waste_per_m * got.waste_mm / 1000
    cost += sum(near_cost(round(c, 6), length, arcs, rules) for c in couplings)
    edges = [(0.0, 0.0)]
    for c in got.joints_mm:
        half = required.get(c, rules.coupling_gap_mm) / 2
        edges.append((c - half, c + half))
    edges.append((length, length))
    cuts = [b[0] - a[1] for a, b in pairwise(edges)]
    cost += w.short_piece * sum(cut < rules.short_piece_mm - 1e-6 for cut in cuts) if len(cuts) > 1 else 0.0
    for piece in got.pieces:
        assert piece.stock_mm >= piece.cut_length_mm - 1e-6
        if piece.offcut:
            assert piece.stock_mm == rules.offcuts_mm[piece.offcut - 1]
        cost += w.hard_bend * piece.hard_bends + w.turn * piece.turns
    assert abs(cost - got.cost) < 1e-6
