"""What a run leaves free of walls, and how a bent piece is held to what its plan is held to."""

from __future__ import annotations

import re
from fractions import Fraction
from math import radians, sqrt
from typing import Any

import msgspec
import pytest
from ask_samples import saddle_survey

from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.plan.recheck import recheck
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.units.tape import format_length

INCH = 25.4


def planned(**run: Any) -> Plan:
    return plan_run(read_survey(survey_from_data(saddle_survey(**run))))


def round_the_corner(gap: str) -> Plan:
    corner = {"turn": "toward", "gap": gap}
    return planned(stand_off=gap, walk=[{"leg": "30", "to": "edge"}, corner, {"leg": "40", "from": "edge"}])


@pytest.mark.parametrize(("gap", "inches"), [("0", 0.0), ("1", 1.0), ("1 1/2", 1.5)])
def test_a_bend_that_cuts_an_outside_corner_is_told(gap: str, inches: float) -> None:
    plan = round_the_corner(gap)
    (wall,), (piece,) = plan.surfaces, plan.pieces
    assert wall.name == "the outside corner of legs 1 and 2"
    # by hand: the arc's middle lies R (sqrt 2 - 1) nearer to the edge than the axes' corner; inside, the faces count
    half = piece.outside_diameter_mm / 2.0
    middle = sqrt(2.0) * (inches * INCH + half) - piece.bend_radius_mm * (sqrt(2.0) - 1.0)
    clear = (middle if middle > 0.0 else middle / sqrt(2.0)) - half
    assert wall.clearance_mm == pytest.approx(clear, abs=1e-6)
    assert "run.surface" not in {f.rule for f in plan.findings}
    told = [(f.severity, f.where, f.measured) for f in plan.findings if f.rule == "run.corner"]
    # an edge rounded by 3/4 in stands back 19.05 (sqrt 2 - 1) mm from its sharp corner
    severity = "problem" if clear < -19.05 * (sqrt(2.0) - 1.0) else "caution"
    assert told == ([(severity, "turn 1", pytest.approx(clear, abs=1e-6))] if clear < 0.0 else [])


def told_of_corner(plan: Plan) -> list[str]:
    return [f.message for f in plan.findings if f.rule == "run.corner"]


def test_the_gap_named_clears_the_outside_corner_and_a_bit_less_does_not() -> None:
    walk = [{"leg": "37", "to": "edge"}, {"turn": "toward"}, {"leg": "43", "from": "edge"}]
    (said,) = told_of_corner(planned(stand_off="3/8", walk=walk))
    gap, each = re.findall(r"(?:gap of|Or) ([\d /]+)\"", said)
    for named in (gap, each):
        less = f"{float(sum(map(Fraction, named.split()))) - 0.13:.3f}"
        for value, clears in ((named, True), (less, False)):
            changed = [walk[0], walk[1] | ({"gap": value} if named == gap else {}), walk[2]]
            plan = planned(stand_off="3/8" if named == gap else value, walk=changed)
            assert (told_of_corner(plan) == []) == clears, (named, value)
            assert (plan.surfaces[0].clearance_mm > -0.5) == clears


def test_a_corner_of_any_angle_names_a_gap_that_clears_it() -> None:
    walk = [{"leg": "37", "to": "back"}, {"turn": "toward", "angle": "60"}, {"leg": "43", "from": "back"}]
    (said,) = told_of_corner(planned(walk=walk))
    gap = re.findall(r"gap of ([\d /]+)\"", said)[0]
    assert told_of_corner(planned(walk=[walk[0], walk[1] | {"gap": gap}, walk[2]])) == []


def test_behind_a_kick_off_the_wall_a_corner_has_no_gap_to_name() -> None:
    kick = {"kick": {"rise": "1", "starts_at": "20"}}
    walk = [{"leg": "37", "to": "center", "features": [kick]}, {"turn": "toward"}, {"leg": "43", "from": "back"}]
    (said,) = told_of_corner(planned(walk=walk))
    assert "square to the edge" in said


def test_a_run_on_its_wall_touches_it_and_nothing_is_said() -> None:
    plan = planned()
    assert [view.name for view in plan.surfaces] == ["the surface behind leg 1"]
    assert plan.surfaces[0].clearance_mm == pytest.approx(0.0, abs=1e-6)
    assert "run.surface" not in {f.rule for f in plan.findings}


def test_each_leg_is_told_with_the_surface_that_carries_it() -> None:
    walk = [{"leg": "30"}, {"turn": "left"}, {"leg": "30"}, {"turn": "away"}, {"leg": "30"}, {"turn": "right"}]
    plan = planned(walk=[*walk, {"leg": "30"}])
    names = [view.name for view in plan.surfaces]
    assert names == ["the surface behind legs 1 and 2", "the surface behind legs 3 and 4"]
    assert [view.clearance_mm for view in plan.surfaces] == pytest.approx([0.0, 0.0], abs=1e-6)


def bent(plan: Plan, number: int, **change: float) -> Any:
    piece = plan.pieces[0].piece
    bends = list(piece.bends)
    bends[number - 1] = msgspec.structs.replace(bends[number - 1], **change)
    return msgspec.structs.replace(piece, bends=tuple(bends))


def test_the_planned_piece_keeps_what_the_plan_keeps() -> None:
    plan = planned()
    checked = recheck(plan, plan.pieces[0], plan.pieces[0].piece)
    assert checked.findings == checked.not_checked == ()
    wanted = [*(o.clearance_mm for o in plan.obstacles), *(s.clearance_mm for s in plan.surfaces)]
    assert checked.left_mm == pytest.approx(wanted, abs=1e-6)


def test_a_middle_bend_that_is_too_flat_hits_the_wall_beyond() -> None:
    """The saddle's middle bend 4 degrees short: the far leg rises off the wall. 4 degrees more: it goes into it."""
    plan = planned()
    piece = plan.pieces[0]
    short = recheck(plan, piece, bent(plan, 2, angle_rad=piece.piece.bends[1].angle_rad - radians(4.0)))
    assert "run.surface" not in {f.rule for f in short.findings}
    more = recheck(plan, piece, bent(plan, 2, angle_rad=piece.piece.bends[1].angle_rad + radians(4.0)))
    assert [(f.rule, f.severity) for f in more.findings][-1] == ("run.surface", "problem")


def test_a_saddle_that_is_too_low_by_less_than_an_end_may_be_off_is_a_caution_and_a_hit_a_problem() -> None:
    plan = planned()
    piece = plan.pieces[0]
    moved = [bent(plan, 1, arc_start_mm=piece.piece.bends[0].arc_start_mm + by) for by in (2.0, 5.0, 30.0)]
    unseen, near, hit = (recheck(plan, piece, now).findings for now in moved)
    assert "run.clearance" not in {f.rule for f in unseen}, "no tape shows it"
    assert [(f.rule, f.severity) for f in near if f.rule == "run.clearance"] == [("run.clearance", "caution")]
    (told,) = (f for f in hit if f.rule == "run.clearance")
    assert told.severity == "problem"
    assert told.measured is not None
    assert told.measured < -1.0
    assert f"runs into it, {format_length(-told.measured, plan.tape)} deep: " in told.message


def test_a_plan_that_was_written_before_says_that_walls_are_not_looked_at() -> None:
    plan = msgspec.structs.replace(planned(), surfaces=())
    checked = recheck(plan, plan.pieces[0], plan.pieces[0].piece)
    assert checked.not_checked == ("Walls: the plan was written before they stood in it.",)
