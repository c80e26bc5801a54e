"""The strap placement against brute force: on whole-number problems a smallest set, if there is one, has a smallest
set on whole numbers too, so a breadth-first search over whole numbers is exact."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.geometry.chain import Turn
from racewright.inspection.supports import SupportSettings, fewest, plan_supports, strap_places
from racewright.route.run_line import Coupling, RunShape

EDITION = load_edition(DEFAULT_EDITION)
Spans = list[tuple[int, int]]


@st.composite
def problems(draw: st.DrawFn) -> tuple[Spans, int, int, int, int]:
    """Places, length, first, last, spacing: all whole numbers."""
    length = draw(st.integers(4, 60))
    cuts = sorted(draw(st.sets(st.integers(0, length), min_size=2, max_size=12)))
    places = [(cuts[i], cuts[i + 1]) for i in range(0, len(cuts) - 1, 2)]
    return places, length, draw(st.integers(1, 12)), draw(st.integers(1, 12)), draw(st.integers(2, 15))


def _brute(places: Spans, length: int, first: int, last: int, reach: list[int]) -> int | None:
    spots = [x for a, b in places for x in range(a, b + 1)]
    layer, count, seen = {x for x in spots if x <= first}, 1, set[int]()
    while layer:
        if any(length - x <= last for x in layer):
            return count
        seen |= layer
        layer = {y for y in spots if y not in seen and any(x < y <= reach[x] for x in layer)}
        count += 1
    return None


@given(problems())
@settings(max_examples=400, deadline=None)
def test_fewest_equals_brute_force(problem: tuple[Spans, int, int, int, int]) -> None:
    places, length, first, last, spacing = problem
    stations, short = fewest(places, 0.0, length, first, last, lambda x: x + spacing)
    best = _brute(places, length, first, last, [x + spacing for x in range(length + 1)])
    if best is None:
        assert short
        return
    assert not short
    assert len(stations) == best
    assert stations[0] <= first + 1e-6
    assert length - stations[-1] <= last + 1e-6
    assert all(0 < b - a <= spacing + 1e-6 for a, b in pairwise(stations))
    assert all(any(a - 1e-6 <= x <= b + 1e-6 for a, b in places) for x in stations)


@given(problems(), st.integers(0, 20), st.integers(5, 55))
@settings(max_examples=400, deadline=None)
def test_wider_spacing_on_straights_equals_brute_force(
    problem: tuple[Spans, int, int, int, int], extra: int, bend: int
) -> None:
    # Two straights with a bend between; on one straight the wider spacing holds.
    places, length, first, last, spacing = problem
    bend = min(bend, length - 1)
    straights = ((0, bend), (bend + 1, length))

    def reach(x: float) -> float:
        far = x + spacing
        for a, b in straights:
            if a <= x <= b:
                far = max(far, min(x + spacing + extra, b))
        return far

    cut = [(max(a, lo), min(b, hi)) for a, b in places for lo, hi in straights if max(a, lo) <= min(b, hi)]
    stations, short = fewest(cut, 0.0, length, first, last, reach)
    best = _brute(cut, length, first, last, [int(reach(x)) for x in range(length + 1)])
    assert (best is None) == bool(short)
    if best is not None:
        assert len(stations) == best


@given(
    st.floats(300.0, 30000.0),
    st.lists(st.floats(0.02, 0.98), max_size=4),
    st.lists(st.floats(0.02, 0.98), max_size=6),
    st.sampled_from(["EMT", "RMC", "PVC-40"]),
    st.booleans(),
)
@settings(max_examples=150, deadline=None)
def test_plan_keeps_every_limit(
    length: float, bends: list[float], couplings: list[float], kind: str, threaded: bool
) -> None:
    turns: list[Turn] = []
    at = 0.0
    for share in sorted(bends):
        start, arc = share * length, 150.0 * 0.7
        if start > at and start + arc < length:
            turns.append(Turn(start, 0.7, 0.0, 150.0))
            at = start + arc
    shape = RunShape(
        raceway=find_raceway(kind, "1"),
        length_mm=length,
        turns=tuple(turns),
        couplings=tuple(Coupling(s * length, 31.75) for s in couplings),
        threaded_couplings=threaded,
    )
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    assert list(plan.stations_mm) == sorted(plan.stations_mm)
    places = strap_places(shape, SupportSettings())
    assert all(any(a - 1e-5 <= x <= b + 1e-5 for a, b in places) for x in plan.stations_mm)
    if plan.shortfalls or not plan.stations_mm:
        return
    rule = plan.rule
    widest = (rule.straight_threaded_mm or rule.spacing_mm) if threaded else rule.spacing_mm
    assert plan.stations_mm[0] <= rule.first_mm + 1e-5
    assert length - plan.stations_mm[-1] <= rule.first_mm + 1e-5
    assert max((b - a for a, b in pairwise(plan.stations_mm)), default=0.0) <= widest + 1e-5
