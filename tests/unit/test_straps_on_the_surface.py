"""Straps of whole plans: they stand only where the conduit lies at their height on the surface that carries it."""

from __future__ import annotations

import pytest

from racewright.geometry.chain import Centreline, Turn
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

IN = 25.4
HALF = 0.706 / 2 * IN


def planned(walk: str, **run: str) -> Plan:
    head = {"name": "x", "raceway": "EMT 1/2", "start": "{fitting: set-screw}", "end": "{fitting: set-screw}"} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    return plan_run(survey_from_text(f"run:\n{fields}  walk:\n{walk}").survey)


def strap_points(plan: Plan) -> list[tuple[float, float, float]]:
    """Where each strap's station lies in the room."""
    assert plan.checks is not None
    assert plan.checks is not None
    (piece,) = plan.pieces
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.piece.bends]
    line = Centreline.from_turns(piece.cut_length_mm, turns, piece.frame)
    return [line.frame_at(s).origin for s in plan.checks.straps_mm]


@pytest.mark.parametrize("stand_off", ["0", "1/4"])
@pytest.mark.parametrize(
    "feature",
    [
        "saddle: {centre: 30, height: 3}",
        "saddle: {centre: 40, height: 4, width: 20, over: square}",
        "offset: {rise: 3, starts_at: 24}\n        - offset: {rise: 3, toward: toward, starts_at: 60}",
        "box_offset: {rise: 3/8, starts_at: 30}",
    ],
)
def test_no_strap_on_a_slope_or_a_top(feature: str, stand_off: str) -> None:
    plan = planned(f"    - leg: 110\n      features:\n        - {feature}\n", stand_off=stand_off)
    height = HALF + (0.25 * IN if stand_off == "1/4" else 0.0)
    points = strap_points(plan)
    assert points
    assert [z for _, _, z in points] == pytest.approx([height] * len(points), abs=1e-6)


def test_an_offset_to_the_side_stays_on_its_surface_and_may_be_strapped_on_its_slope() -> None:
    walk = "    - leg: 110\n      features:\n        - offset: {shift: 40, starts_at: 9, angle: 45}\n"
    plan = planned(walk, stock="[20 ft]")
    assert any(y > 1.0 * IN for _, y, _ in strap_points(plan))
    assert not [f for f in plan.findings if f.rule == "run.supports"]


def test_a_rack_off_the_wall_has_no_strap_and_is_told_what_holds_it() -> None:
    walk = "    - leg: 160\n      features:\n        - offset: {rise: 5, starts_at: 20, angle: 30}\n"
    plan = planned(walk, stock="[20 ft]")
    assert [z for _, _, z in strap_points(plan)] == pytest.approx([HALF], abs=1e-6)
    told = [f for f in plan.findings if f.rule == "run.supports"]
    assert told
    assert all(f.severity == "caution" and "strut" in f.message for f in told)


def test_after_a_turn_the_strap_is_sought_on_the_new_wall() -> None:
    plan = planned("    - {leg: 60, to: wall}\n    - turn: away\n    - leg: 50\n")
    climbed = [p for p in strap_points(plan) if p[2] > 5 * IN]
    assert climbed
    assert [60 * IN - x for x, _, _ in climbed] == pytest.approx([HALF] * len(climbed), abs=1e-6)
    gap = planned("    - {leg: 60, to: wall}\n    - {turn: away, gap: 1 1/2}\n    - leg: 50\n")
    assert all(z < 5 * IN for _, _, z in strap_points(gap))
    assert any("does not lie on its surface" in f.message for f in gap.findings)


FREE_ENDS = {"start": "{fitting: none}", "end": "{fitting: none}", "stock": "[20 ft]"}
STRAP_HALF = 0.5 * IN


def round_the_corner(first: int, second: int) -> Plan:
    """A run held 9 in off both faces of an outside corner: each face ends at the edge, the conduit turns beyond it."""
    walk = f"    - {{leg: {first}, to: edge}}\n    - turn: toward\n    - {{leg: {second}, from: edge}}\n"
    return planned(walk, stand_off="9", **FREE_ENDS)


def test_before_an_outside_corner_the_last_strap_ends_at_the_edge() -> None:
    points = strap_points(round_the_corner(3, 60))
    on_the_first = [x for x, _, z in points if z > 0.0]
    # the strap's whole width stands on the face: half a strap before the edge, 3 in from end A
    assert on_the_first == pytest.approx([3 * IN - STRAP_HALF])
    assert all(z <= -STRAP_HALF for x, _, z in points if x > 3 * IN)
    assert len(points) == 2


def test_behind_an_outside_corner_the_first_strap_begins_at_the_edge() -> None:
    points = strap_points(round_the_corner(60, 3))
    on_the_second = [z for x, _, z in points if x > 60 * IN]
    assert on_the_second == pytest.approx([-STRAP_HALF])
    assert all(x <= 60 * IN - STRAP_HALF for x, _, z in points if z > 0.0)
    assert len(points) == 2


def test_a_jog_square_to_the_run_before_an_outside_corner_may_be_strapped() -> None:
    jog = "      features:\n        - offset: {shift: 60, starts_at: 9, angle: 90}\n"
    walk = f"    - leg: 60\n      to: edge\n{jog}    - turn: toward\n    - {{leg: 60, from: edge}}\n"
    points = strap_points(planned(walk, **FREE_ENDS))
    assert any(20 * IN < y < 50 * IN for _, y, _ in points)
