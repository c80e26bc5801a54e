"""Straps along a run: counts, places, what is said where none will do. Arithmetic of the tabled limits."""

from __future__ import annotations

from math import pi

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.geometry.chain import Turn
from racewright.inspection.check_run import check_run
from racewright.inspection.supports import SupportSettings, free_spans, plan_supports
from racewright.route.run_line import Coupling, RunShape

FT = 304.8
EDITION = load_edition(DEFAULT_EDITION)
#: No room taken by hardware: the bare limits of the article.
BARE = SupportSettings(strap_half_width_mm=0.0, clear_mm=0.0, end_clear_mm=0.0)


def _run(kind: str, size: str, feet: float, **more: object) -> RunShape:
    return RunShape(raceway=find_raceway(kind, size), length_mm=feet * FT, **more)  # type: ignore[arg-type]


def _count(shape: RunShape, settings: SupportSettings = BARE) -> int:
    plan = plan_supports(shape, settings, edition=EDITION)
    assert plan is not None
    assert plan.shortfalls == ()
    return plan.count


def test_emt_87_ft_ten_straps() -> None:
    # 87 - 2 x 3 = 81 ft in gaps of 10 ft: 9 gaps, 10 straps.
    assert _count(_run("EMT", "1/2", 87)) == 10


def test_pvc_50_ft_sixteen_straps() -> None:
    # 50 - 2 x 3 = 44 ft in gaps of 3 ft: 15 gaps, 16 straps.
    assert _count(_run("PVC-40", "3/4", 50)) == 16


@pytest.mark.parametrize(("feet", "straps"), [(6.0, 1), (6.01, 2), (16.0, 2), (16.01, 3), (26.0, 3)])
def test_exactly_at_the_limit(feet: float, straps: int) -> None:
    assert _count(_run("EMT", "1/2", feet)) == straps


def test_hardware_never_saves_a_strap() -> None:
    assert _count(_run("EMT", "1/2", 16.0), SupportSettings()) == 2
    crowded = _run("EMT", "1/2", 16.0, couplings=(Coupling(3 * FT, 31.75), Coupling(13 * FT, 31.75)))
    assert _count(crowded, SupportSettings()) == 3


def test_spread_leaves_the_same_share_everywhere() -> None:
    plan = plan_supports(_run("EMT", "1/2", 20.0), BARE, edition=EDITION)
    assert plan is not None
    assert plan.count == 3
    # 2 x 3k + 2 x 10k = 20 ft: k = 20/26.
    assert plan.stations_mm == pytest.approx([60 / 26 * FT, 10 * FT, (20 - 60 / 26) * FT], abs=0.01)


def test_rigid_wider_only_with_threads_and_only_on_one_straight() -> None:
    assert _count(_run("RMC", "3", 46.0)) == 5
    assert _count(_run("RMC", "3", 46.0, threaded_couplings=True)) == 3
    bend = Turn(23 * FT, pi / 2, 0.0, 330.2)
    bent = _run("RMC", "3", 46.0, threaded_couplings=True, turns=(bend,))
    plan = plan_supports(bent, BARE, edition=EDITION)
    assert plan is not None
    ends = (bend.arc_start_mm, bend.arc_start_mm + 330.2 * pi / 2)
    before = max(x for x in plan.stations_mm if x <= ends[0] + 1e-6)
    after = min(x for x in plan.stations_mm if x >= ends[1] - 1e-6)
    assert after - before <= 10 * FT + 1e-5


def test_no_strap_on_a_bend() -> None:
    bend = Turn(2.5 * FT, pi / 2, 0.0, 600.0)
    plan = plan_supports(_run("EMT", "2", 20.0, turns=(bend,)), edition=EDITION)
    assert plan is not None
    for x in plan.stations_mm:
        assert not bend.arc_start_mm - 25.4 < x < bend.arc_start_mm + 600.0 * pi / 2 + 25.4


def test_bend_that_fills_the_first_three_feet() -> None:
    bend = Turn(60.0, pi / 2, 0.0, 800.0)
    shape = _run("EMT", "2", 20.0, turns=(bend,))
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    (short,) = plan.shortfalls
    assert short.kind == "first"
    assert short.allowed_mm == pytest.approx(3 * FT)
    assert short.to_mm == pytest.approx(60.0 + 800.0 * pi / 2 + 25.4)


def test_no_place_at_all() -> None:
    shape = _run("PVC-40", "6", 4.0, turns=(Turn(60.0, 1.12, 0.0, 1000.0),))
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    assert plan.shortfalls


def test_a_short_length_between_two_boxes_gets_its_strap_too() -> None:
    assert _count(_run("EMT", "1/2", 1.25), SupportSettings()) == 1
    assert _count(_run("EMT", "1/2", 1.6), SupportSettings()) == 1


def test_a_length_too_short_for_a_strap_is_left_to_the_inspector() -> None:
    shape = _run("EMT", "1/2", 0.4)
    check = check_run(shape, edition=EDITION)
    (told,) = (f for f in check.findings if f.rule == "run.supports")
    assert told.severity == "caution"
    assert "inspector" in told.message
    assert told.citation == "common practice, no source"


@pytest.mark.parametrize(("inches", "kind"), [(18, "short"), (19, "last"), (35, "last")])
def test_a_length_is_called_short_up_to_18_in(inches: int, kind: str) -> None:
    shape = _run("RMC", "1/2", inches / 12, off_surface_mm=((0.0, inches * 25.4),))
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    assert plan.shortfalls[0].kind == kind


def test_no_strap_where_the_conduit_lies_off_its_surface() -> None:
    shape = _run("EMT", "1/2", 24.0, off_surface_mm=((2 * FT, 9 * FT),))
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    assert plan.shortfalls == ()
    assert all(not 2 * FT - 12.7 < x < 9 * FT + 12.7 for x in plan.stations_mm)
    rack = _run("EMT", "1/2", 24.0, off_surface_mm=((2 * FT, 20 * FT),))
    (told,) = (f for f in check_run(rack, edition=EDITION).findings if f.rule == "run.supports")
    assert told.severity == "caution"
    assert 'From 24" to 240" the conduit does not lie on its surface' in told.message
    assert "358.30" in told.citation


def test_pull_point_is_a_termination() -> None:
    assert _count(_run("EMT", "1/2", 16.0)) == 2
    assert _count(_run("EMT", "1/2", 16.0, pull_points_mm=(8 * FT,))) == 4


def test_coupling_end_counts_by_spacing_only() -> None:
    assert _count(_run("EMT", "1/2", 20.0, end="coupling")) == 2


def test_type_without_a_table() -> None:
    raceway = find_raceway("EMT", "1/2")
    other = type(raceway)(**{f: getattr(raceway, f) for f in raceway.__struct_fields__} | {"type": "FMC"})
    assert plan_supports(RunShape(raceway=other, length_mm=3000.0), edition=EDITION) is None


def test_free_spans() -> None:
    assert free_spans(0.0, 10.0, [(2.0, 3.0), (3.0, 4.0), (9.0, 12.0)]) == ((0.0, 2.0), (3.0, 3.0), (4.0, 9.0))
    assert free_spans(0.0, 10.0, [(-1.0, 11.0)]) == ()
    assert free_spans(0.0, 10.0, []) == ((0.0, 10.0),)
