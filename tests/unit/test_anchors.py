"""What holds the parts of a run with expansion fittings: which strap, and what is told where none can."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan
from typing import Literal

import msgspec
import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import Finding
from racewright.geometry.chain import Turn
from racewright.inspection.anchors import Reach, Unheld, anchor_findings, strap_holds, wanted_straps
from racewright.inspection.check_run import check_run
from racewright.inspection.expansion import settings_between, swept_bodies
from racewright.inspection.supports import NEAR_MM, Wanted, plan_supports
from racewright.route.run_line import Coupling, RunShape
from racewright.survey.model import Climate
from racewright.wires.pull_path import parse_path

EDITION = load_edition(DEFAULT_EDITION)
PVC = find_raceway("PVC-40", "1")
FT = 304.8
#: 60 K: 100 ft move 111.3 mm, more than one fitting of 4 in takes.
YEAR = Climate(lowest_c=-20.0, highest_c=40.0, install_c=10.0)
End = Literal["box", "free", "coupling"]


def run(path: str, *fittings_ft: float, start: End = "box", end: End = "box") -> RunShape:
    there = tuple(Coupling(at * FT, 120.0, 150.0, expands=True) for at in fittings_ft)
    return msgspec.structs.replace(parse_path(path, PVC), couplings=there, start=start, end=end)


def told(shape: RunShape, rule: str, climate: Climate = YEAR) -> list[Finding]:
    return [f for f in check_run(shape, edition=EDITION, climate=climate).findings if f.rule == rule]


def test_one_fitting_between_two_boxes_has_guides_alone() -> None:
    holds = strap_holds(run("straight 60", 20.0), [900.0, 8000.0, 17000.0])
    assert holds.guides_mm == (900.0, 8000.0, 17000.0)
    assert holds.fast_mm == ()
    (reach,) = holds.reaches
    assert (reach.low_mm, reach.high_mm) == pytest.approx((0.0, 60 * FT))
    assert (reach.at_mm, reach.held_mm) == (20 * FT, (0.0, 60 * FT))


def test_between_two_the_strap_where_both_take_the_same_holds() -> None:
    """Fittings at 30 and 100 of 120 ft share evenly at 60 ft."""
    shape = run("straight 120", 30.0, 100.0)
    assert wanted_straps(shape) == (Wanted(60 * FT, 30 * FT, 100 * FT),)
    holds = strap_holds(shape, [at * FT for at in (2, 40, 57, 64, 70, 118)])
    assert holds.fast_mm == (57 * FT,)
    assert [(r.low_mm, r.high_mm) for r in holds.reaches] == [(0.0, 57 * FT), (57 * FT, 120 * FT)]


def test_the_plan_of_straps_has_one_where_it_is_wanted_and_no_gap_beside_it() -> None:
    shape = run("straight 120", 30.0, 90.0)
    plan = plan_supports(shape, edition=EDITION, wanted=wanted_straps(shape))
    assert plan is not None
    assert plan.shortfalls == ()
    assert any(at == pytest.approx(60 * FT) for at in plan.stations_mm)
    steps = [b - a for a, b in zip(plan.stations_mm, plan.stations_mm[1:], strict=False)]
    assert min(steps) > 25.0
    assert max(steps) <= 3 * FT + 1e-6
    plain = plan_supports(shape, edition=EDITION)
    assert plain is not None
    assert plain.count <= plan.count <= plain.count + 1


def test_from_the_wanted_strap_on_the_spacing_counts_and_not_the_reach_of_a_box() -> None:
    """PVC 2: 5 ft between straps, 3 ft to a box. To a strap at 57 ft: 3 and ten times 5 ft are 53, near enough."""
    two_inch = find_raceway("PVC-40", "2")
    plan = plan_supports(
        parse_path("straight 114", two_inch), edition=EDITION, wanted=(Wanted(57 * FT, 0.0, 114 * FT),)
    )
    assert plan is not None
    assert plan.shortfalls == ()
    assert plan.count == 11 + 1 + 11


def test_beside_a_wanted_strap_that_stands_by_itself_there_is_a_gap_and_no_second_strap() -> None:
    """The conduit lies on its surface for 20 mm only around the place: short on both sides of it."""
    lone = 30 * FT
    off = ((20 * FT, lone - 22.0), (lone + 22.0, 40 * FT))
    shape = msgspec.structs.replace(run("straight 60"), off_surface_mm=off)
    plan = plan_supports(shape, edition=EDITION, wanted=(Wanted(lone, 0.0, 60 * FT),))
    assert plan is not None
    assert [at for at in plan.stations_mm if 21 * FT < at < 39 * FT] == [lone]
    assert [(short.kind, short.allowed_mm) for short in plan.shortfalls] == [("gap", pytest.approx(3 * FT))] * 2
    assert plan.shortfalls[0].to_mm == plan.shortfalls[1].from_mm == lone


def test_a_wanted_strap_that_is_all_a_short_run_needs_stands_alone() -> None:
    shape = run("straight 5")
    plan = plan_supports(shape, edition=EDITION, wanted=(Wanted(2.5 * FT, 0.0, 5 * FT),))
    assert plan is not None
    assert plan.stations_mm == pytest.approx((2.5 * FT,))


def test_a_strap_from_which_the_next_is_out_of_reach_all_the_same_does_not_stand_on_another() -> None:
    """PVC 1: 3 ft to the box and between straps; from 6 ft 3 in on it lies off its surface for 5 ft. A coupling at
    3 ft leaves no place that both keeps the box and reaches the edge."""
    edge = 6 * FT + 3 * 25.4
    shape = msgspec.structs.replace(
        run("straight 20"), couplings=(Coupling(3 * FT, 30.0, 3.0),), off_surface_mm=((edge, edge + 5 * FT),)
    )
    plan = plan_supports(shape, edition=EDITION)
    assert plan is not None
    first = 3 * FT - 30.0 - 25.4
    assert plan.stations_mm[:3] == pytest.approx((first, first + 3 * FT, edge + 5 * FT + 12.7))
    (short,) = plan.shortfalls
    assert (short.kind, short.from_mm) == ("gap", plan.stations_mm[1])
    # where the edge is far enough on to be worth a strap it has one
    far = msgspec.structs.replace(shape, off_surface_mm=((edge + 300.0, edge + 5 * FT),))
    plan = plan_supports(far, edition=EDITION)
    assert plan is not None
    assert plan.stations_mm[2] == pytest.approx(edge + 300.0 - 12.7)


def test_beside_a_wanted_strap_the_next_stands_off_unless_it_has_to_be_nearer() -> None:
    """40 ft off the surface after the wanted strap: the straps before it are not spread, and none stands on it."""
    lone = 9 * FT + 60.0
    off = ((lone + 100.0, lone + 40 * FT),)
    shape = msgspec.structs.replace(run("straight 60"), off_surface_mm=off)
    plan = plan_supports(shape, edition=EDITION, wanted=(Wanted(lone, 0.0, 60 * FT),))
    assert plan is not None
    steps = [b - a for a, b in zip(plan.stations_mm, plan.stations_mm[1:], strict=False)]
    assert min(steps) >= NEAR_MM
    # nothing but a few mm beside the wanted strap to stand on, and from there alone the one after it is in reach
    ledge = msgspec.structs.replace(run("straight 60"), off_surface_mm=((lone + 75.0, lone + 3 * FT + 20.0),))
    plan = plan_supports(ledge, edition=EDITION, wanted=(Wanted(lone, 0.0, 60 * FT),))
    assert plan is not None
    assert plan.shortfalls == ()
    assert any(0.0 < at - lone < NEAR_MM for at in plan.stations_mm)


@pytest.mark.parametrize(("end", "fast"), [("box", ()), ("free", (59.0 * FT,)), ("coupling", (59.0 * FT,))])
def test_an_end_without_a_box_is_held_by_the_strap_nearest_it(end: End, fast: tuple[float, ...]) -> None:
    holds = strap_holds(run("straight 60", 30.0, end=end), [1 * FT, 45 * FT, 59 * FT])
    assert holds.fast_mm == fast
    assert holds.reaches[0].high_mm == pytest.approx(fast[0] if fast else 60 * FT)


def test_a_bend_between_two_fittings_is_mounted_by_one_strap_beside_it() -> None:
    path = "straight 50, bend 90 r 9.5, straight 40"
    bend_end = 50 * FT + 9.5 * 25.4 * 1.5707963267948966
    near, far = bend_end + 200.0, 49 * FT
    holds = strap_holds(run(path, 25.0, 75.0), [1 * FT, far, near, 80 * FT])
    assert holds.fast_mm == (near,)
    assert holds.reaches[0].high_mm == pytest.approx(50 * FT)
    assert holds.reaches[1].low_mm == near


BEND, RISE_RAD = 240.0, pi / 6
#: A saddle of four bends of 30 degrees: 150 mm of straight on both slopes, 300 on top.
SADDLE_MM = 4 * BEND * RISE_RAD + 2 * 150.0 + 300.0
#: What it covers of the line of its straights: two slopes of 150 mm and twice the setback, leaned; four setbacks flat.
_SETBACK = BEND * tan(RISE_RAD / 2)
CHORD_MM = 2 * (150.0 + 2 * _SETBACK) * cos(RISE_RAD) + 300.0 + 4 * _SETBACK


def saddled(first_ft: float, last_ft: float, *fittings_mm: float) -> RunShape:
    """A run over a saddle, with expansion fittings at these places."""
    turns, at = [], first_ft * FT
    for roll, straight in ((0.0, 150.0), (pi, 300.0), (pi, 150.0), (0.0, 0.0)):
        turns.append(Turn(at, RISE_RAD, roll, BEND))
        at += BEND * RISE_RAD + straight
    there = tuple(Coupling(mm, 120.0, 150.0, expands=True) for mm in fittings_mm)
    off = ((first_ft * FT, at),)
    return RunShape(raceway=PVC, length_mm=at + last_ft * FT, turns=tuple(turns), couplings=there, off_surface_mm=off)


def test_a_saddle_pushes_along_up_to_the_strap_that_holds() -> None:
    """Straights of 20 and 90 ft with one and two fittings: held before the saddle, the second would take all of it."""
    low, high = 20 * FT, 20 * FT + SADDLE_MM
    shape = saddled(20, 90, 8 * FT, high + 22 * FT, high + 67 * FT)
    before, after, middle = low - 60.0, high + 90.0, high + 45 * FT
    holds = strap_holds(shape, [1 * FT, before, after, middle])
    assert holds.fast_mm == (after, middle)
    one, two, _ = holds.reaches
    assert one.high_mm == pytest.approx(low + CHORD_MM + 90.0)
    assert (one.held_mm, two.held_mm) == ((0.0, after), (after, middle))
    assert two.low_mm == pytest.approx(after)
    # with none after it, it is the second that takes all that lies in the saddle
    holds = strap_holds(shape, [1 * FT, before, middle])
    assert holds.fast_mm == (before, middle)
    assert holds.reaches[0].high_mm == pytest.approx(before)
    assert holds.reaches[1].low_mm == pytest.approx(high - CHORD_MM - 60.0)


def test_a_turn_of_45_degrees_pushes_by_what_the_line_of_the_fitting_shows_and_a_sharper_one_holds() -> None:
    for degrees, seen in ((45, 20 * FT + 240.0 * sin(pi / 4) + 700.0 * cos(pi / 4)), (50, 20 * FT)):
        turn = Turn(20 * FT, radians(degrees), 0.0, BEND)
        end = 20 * FT + BEND * radians(degrees)
        there = (Coupling(8 * FT, 120.0, 150.0, expands=True),)
        shape = RunShape(raceway=PVC, length_mm=end + 900.0, turns=(turn,), couplings=there, end="free")
        holds = strap_holds(shape, [1 * FT, end + 700.0])
        # the short leg does not slide: its strap is tight, and is what holds
        assert (holds.guides_mm, holds.fast_mm) == ((1 * FT,), ())
        assert holds.reaches[0].high_mm == pytest.approx(seen)
        assert holds.reaches[0].held_mm[1] == (end + 700.0 if degrees == 45 else 20 * FT)


def test_where_a_saddle_makes_a_fitting_take_more_than_its_travel_it_is_told() -> None:
    """90 ft of 60 K take 100.1 of 101.6 mm; with the saddle and 8 ft before it off the surface, more."""
    high = 20 * FT + SADDLE_MM
    shape = saddled(20, 90, 4 * FT, high + 85 * FT)
    assert told(shape, "run.travel") == []
    off = msgspec.structs.replace(shape, off_surface_mm=((12 * FT, high + 86 * FT),))
    (found,) = told(off, "run.travel")
    plan = check_run(off, edition=EDITION, climate=YEAR)
    (strap,) = plan.holds.fast_mm
    assert strap < 12 * FT
    grows = 90 * FT + CHORD_MM + 20 * FT - strap
    assert found.measured == pytest.approx(grows * 6.084e-5 * 60.0)
    assert found.allowed == pytest.approx(101.6)
    assert found.where.startswith(f"{round(strap / 25.4 * 16) // 16}")


def test_what_nothing_holds_is_told_with_the_place() -> None:
    shape = run("straight 120", 30.0, 90.0)
    holds = strap_holds(shape, [900.0, 119 * FT])
    assert holds.unheld == (Unheld(30 * FT, 90 * FT, 60 * FT),)
    assert holds.guides_mm == (900.0, 119 * FT)
    (found,) = anchor_findings(holds)
    assert (found.rule, found.severity) == ("run.anchor", "caution")
    assert 'near 720"' in found.message
    (open_end,) = anchor_findings(strap_holds(run("straight 60", 30.0, start="free"), []))
    assert "tight near the end, so that" in open_end.message


def test_no_strap_reaches_a_middle_that_lies_off_its_surface() -> None:
    """From 25 to 95 ft nothing carries the conduit: no strap can hold the middle."""
    shape = msgspec.structs.replace(run("straight 120", 30.0, 90.0), off_surface_mm=((25 * FT, 95 * FT),))
    assert [f.severity for f in told(shape, "run.anchor")] == ["caution"]


def test_what_holds_conduit_off_its_surface_is_to_guide_where_it_slides() -> None:
    """Fittings at 30 and 90 ft; off from 25 to 95 ft, where the middle is held tight at one place, and on from there to
    the bend."""
    shape = msgspec.structs.replace(run("straight 120", 30.0, 90.0), off_surface_mm=((25 * FT, 95 * FT),))
    (found,) = told(shape, "run.supports")
    assert 'From 300" to 1140" what holds it is to guide, not tight' in found.message
    assert 'tight only near 720".' in found.message
    bent = run("straight 60, bend 90 r 9.5, straight 3", 30.0)
    off = msgspec.structs.replace(bent, off_surface_mm=((45 * FT, bent.length_mm),))
    (found,) = told(off, "run.supports")
    assert 'From 540" to 720" what holds it is to guide, not tight: it slides' in found.message
    assert "tight only" not in found.message
    still = msgspec.structs.replace(run("straight 60"), off_surface_mm=((25 * FT, 45 * FT),))
    assert all("guide" not in f.message for f in told(still, "run.supports"))


def test_over_a_long_fitting_the_strap_of_its_barrel_stands() -> None:
    """A body of 1.2 m between straps that may be 3 ft apart."""
    long = Coupling(30 * FT, 600.0, 900.0, expands=True)
    (found,) = told(msgspec.structs.replace(run("straight 60"), couplings=(long,)), "run.supports")
    assert found.severity == "caution"
    assert 'barrel stands between: set it within 36" of both' in found.message


def test_a_fitting_beyond_its_travel_is_told_and_one_within_it_is_not() -> None:
    """Off the surface from 31 to 150 ft the only strap of the middle part stands beside the first fitting."""
    assert told(run("straight 170", 42.0, 128.0), "run.travel") == []
    shape = msgspec.structs.replace(run("straight 170", 29.0, 156.0), off_surface_mm=((31 * FT, 153 * FT),))
    (found,) = told(shape, "run.travel")
    assert found.severity == "caution"
    assert found.measured is not None
    assert found.measured > 101.6
    assert found.allowed == pytest.approx(101.6)


def test_each_is_set_by_its_own_share() -> None:
    """Held at 40 of 120 ft, the first takes a third; half of the year's swing is above the day, half below."""
    shape = run("straight 120", 30.0, 90.0)
    held = ((0.0, 40 * FT), (40 * FT, 120 * FT))
    reaches = tuple(Reach(at * FT, *span, span) for at, span in zip((30, 90), held, strict=True))
    one, two = settings_between(shape, YEAR, EDITION, reaches)
    change = 120 * FT * 3.38e-5 * 108
    assert (one.takes_mm, two.takes_mm) == pytest.approx((change / 3, 2 * change / 3))
    assert (one.open_mm, two.open_mm) == pytest.approx((50.8, 50.8))
    assert (one.least_mm, one.most_mm) == pytest.approx((change / 6, 101.6 - change / 6))
    assert (two.least_mm, two.most_mm) == pytest.approx((change / 3, 101.6 - change / 3))
    assert settings_between(shape, None, EDITION, reaches) == ()


def test_the_finding_of_a_straight_gives_settings_that_do_for_each_of_its_fittings() -> None:
    """The middle lies off its surface, so the strap stands nearer to the first: the second takes more than half."""
    shape = msgspec.structs.replace(run("straight 120", 30.0, 90.0), off_surface_mm=((50 * FT, 89 * FT),))
    (found,) = told(shape, "run.expansion")
    more = 70 / 120 * 120 * 12 * 3.38e-5 * 108 / 2
    assert (round(16 * more), round(16 * (4 - more))) == (25, 39)
    assert 'from 1 9/16" to 2 7/16" will do' in found.message


def test_a_coupling_that_moves_has_the_room_for_it_both_ways() -> None:
    """PVC 1, 40 K below the day and 20 K above it: at 50 of 60 ft from its box a coupling moves 50 ft times 6.084e-5
    times 40 toward it, and half as far away from it; the fitting's barrel toward its box as well, its piston the other
    way. Straps stood 12.7 mm from what stood still."""
    day = Climate(lowest_c=-20.0, highest_c=40.0, install_c=20.0, travel_mm=200.0)
    shape = run("straight 70", 60.0)
    coupling = Coupling(50 * FT, 28.6, 3.0)
    shape = msgspec.structs.replace(shape, couplings=(coupling, *shape.couplings))
    holds = strap_holds(shape, [1 * FT])
    one, fitting = swept_bodies(shape, day, EDITION, holds.reaches)
    faces = (50 * FT - 28.6, 50 * FT + 28.6)
    assert one == pytest.approx((faces[0] * (1.0 - 6.084e-5 * 40.0), faces[1] * (1.0 + 6.084e-5 * 20.0)), rel=1e-9)
    assert fitting == pytest.approx(
        (60 * FT - 120.0 - 60 * FT * 6.084e-5 * 40.0, 60 * FT + 120.0 + 10 * FT * 6.084e-5 * 40.0)
    )
    plan = check_run(shape, edition=EDITION, climate=day).supports
    assert plan is not None
    for low, high in (one, fitting):
        assert not [s for s in plan.stations_mm if low - 25.4 < s < high + 25.4]
    still = check_run(shape, edition=EDITION).supports
    assert still is not None
    assert len(still.stations_mm) <= len(plan.stations_mm)
    assert swept_bodies(shape, None, EDITION, holds.reaches)[0] == (50 * FT - 28.6, 50 * FT + 28.6)


def test_between_two_fittings_a_coupling_moves_from_the_strap_that_holds_it() -> None:
    """At 57 of 120 ft the strap; a coupling at 47 and one at 67 ft move alike, each its own way."""
    shape = run("straight 120", 30.0, 90.0)
    there = tuple(Coupling(at * FT, 20.0, 3.0) for at in (47, 67))
    shape = msgspec.structs.replace(shape, couplings=(shape.couplings[0], *there, shape.couplings[1]))
    reaches = strap_holds(shape, [57 * FT]).reaches
    _, low, high, _ = swept_bodies(shape, YEAR, EDITION, reaches)
    # each face by its own way to the strap, 30 K up and down
    far, near = (10 * FT + 20.0) * (1.0 + 6.084e-5 * 30.0), (10 * FT - 20.0) * (1.0 - 6.084e-5 * 30.0)
    assert low == pytest.approx((57 * FT - far, 57 * FT - near), rel=1e-9)
    assert high == pytest.approx((57 * FT + near, 57 * FT + far), rel=1e-9)


def test_a_run_without_expansion_fittings_is_left_as_it_is() -> None:
    assert strap_holds(run("straight 60"), [900.0, 17000.0]) == strap_holds(run("straight 60"), [])
    assert wanted_straps(run("straight 60")) == ()
