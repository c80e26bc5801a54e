"""The parts of the search, each against a plain count."""

from __future__ import annotations

import random
from itertools import product

import pytest
from cutting_factory import is_whole

from racewright.takeoff.cutting_fill import complete, fill_first_fit, fill_greedily
from racewright.takeoff.cutting_instance import (
    Bin,
    bound_by_values,
    cheap_bound,
    l2_bound,
    make_instance,
    relax,
    weight_of,
)
from racewright.takeoff.cutting_knapsack import Dealt, best_filling


@pytest.mark.parametrize("nodes", [0, 6000])  # 0: the table does it
def test_best_filling_against_all_fillings(nodes: int) -> None:
    rng = random.Random(1)
    for _ in range(60):
        n = rng.randint(1, 4)
        sizes = [rng.randint(1, 20) for _ in range(n)]
        values = [rng.randint(0, 30) for _ in range(n)]
        limits = [rng.randint(0, 3) for _ in range(n)]
        cap = rng.randint(1, 50)
        best = max(
            sum(v * x for v, x in zip(values, xs, strict=True))
            for xs in product(*(range(b + 1) for b in limits))
            if sum(s * x for s, x in zip(sizes, xs, strict=True)) <= cap
        )
        found = best_filling(values, sizes, limits, cap, nodes)
        assert found.value == found.upper == best
        assert sum(v * x for v, x in zip(values, found.counts, strict=True)) == best
        assert sum(s * x for s, x in zip(sizes, found.counts, strict=True)) <= cap
        assert all(x <= b for x, b in zip(found.counts, limits, strict=True))


def test_coarse_filling_bounds_from_above() -> None:
    rng = random.Random(2)
    sizes = [rng.randint(50_000, 400_000) for _ in range(14)]
    values = [s + rng.randint(0, 3) for s in sizes]
    exact = best_filling(values, sizes, [2] * 14, 975_360, 10_000_000)
    coarse = best_filling(values, sizes, [2] * 14, 975_360, 5)
    assert coarse.value <= exact.value <= coarse.upper


def test_common_measure_is_divided_out() -> None:
    instance, measure = make_instance([508 * 3, 508 * 5, 508 * 3], [Bin(508 * 7 + 100, 1, None)])
    assert measure == 508
    assert instance.sizes == (5, 3)
    assert instance.demand == (1, 2)
    assert instance.bins[0].cap == 7


def test_l2_bound_by_hand() -> None:
    six_four, _ = make_instance([6, 6, 6, 4, 4, 4, 1], [Bin(10, 1, None)])
    assert l2_bound(six_four, 10) == 4  # 31 in tens: the length alone says 4
    six_five, _ = make_instance([6, 6, 6, 5, 5, 5], [Bin(10, 1, None)])
    # Three of 6 stand alone, three of 5 go two to a stick; the length alone, 33, says 4.
    assert l2_bound(six_five, 10) == 5
    assert cheap_bound(six_five) == 5


def test_bound_by_any_values_holds() -> None:
    instance, _ = make_instance([6, 6, 6, 5, 5, 5], [Bin(10, 1, None), Bin(6, 0, 1)])
    # Values 1 for 6, 0 for 5: one in a stick, one in the offcut, so 3 - 1 = 2.
    assert bound_by_values(instance, [1, 0], [1, 1]) == 2


def test_linear_program_by_hand() -> None:
    # 44 of 3 and 11 of 7 in 10: every stick takes 7 + 3 or 3 + 3 + 3: 11 + 33 / 3 = 22.
    instance, _ = make_instance([7] * 11 + [3] * 44, [Bin(10, 1, None)])
    answer = relax(instance, {})
    assert answer.bound == 22
    assert answer.value == pytest.approx(22.0, abs=1e-6)


def test_completion_proves_impossible_and_finds() -> None:
    instance, _ = make_instance([6, 6, 4, 4], [Bin(10, 1, None)])
    found = complete(instance, 0, 2)
    assert found.outcome == "found"
    assert is_whole(instance, found.packed)
    five, _ = make_instance([7, 7, 4, 2], [Bin(10, 1, None)])  # 20 in all, and 7 + 2 leaves 4 to 7
    assert complete(five, 0, 2).outcome == "impossible"
    assert complete(five, 0, 3).outcome == "found"


def test_completion_gives_up_at_its_limit() -> None:
    rng = random.Random(4)
    instance, _ = make_instance([rng.randint(150, 400) for _ in range(60)], [Bin(1000, 1, None)])
    answer = complete(instance, 0, -(-instance.total // 1000), 1)
    assert answer.outcome in ("found", "gave up")
    assert answer.nodes <= 40


def test_quick_fillings_are_whole() -> None:
    rng = random.Random(3)
    for _ in range(20):
        instance, _ = make_instance(
            [rng.randint(5, 90) for _ in range(rng.randint(1, 50))], [Bin(100, 1, None), Bin(60, 0, 2)]
        )
        for packed in (
            fill_greedily(instance, 0),
            fill_greedily(instance, 0, forced=False),
            fill_first_fit(instance, 0),
        ):
            assert packed is not None
            assert is_whole(instance, packed)
            assert weight_of(instance, packed) >= cheap_bound(instance)


def test_dealing_anew_never_loses_worth_or_pieces() -> None:
    rng = random.Random(6)
    for _ in range(20):
        loads = [[rng.randint(5, 30) for _ in range(3)] for _ in range(5)]
        dealt = Dealt([100] * 5 + [40], [*loads, []], 1, 20)
        before = sum(map(dealt.worth, dealt.rooms))
        pieces = sorted(s for load in dealt.loads for s in load)
        dealt.improve()
        assert sum(map(dealt.worth, dealt.rooms)) >= before
        assert sorted(s for load in dealt.loads for s in load) == pieces
        assert all(sum(load) <= cap for load, cap in zip(dealt.loads, dealt.caps, strict=True))
