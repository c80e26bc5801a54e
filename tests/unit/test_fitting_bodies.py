"""The bodies of expansion fittings: they reach from conduit to conduit, whatever is drawn of them."""

from __future__ import annotations

import msgspec
import pytest

from racewright.cards.side_view import side_view
from racewright.drawing.scene import Box, Polygon
from racewright.exports.tubes import tubes_of
from racewright.geometry.vector import distance, dot, sub, unit
from racewright.operations.common import Known
from racewright.operations.plan import PlanRequest, plan
from racewright.plan.fitting_bodies import expansion_bodies
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

CORNER = "    - {leg: 43 ft, to: back}\n    - turn: right\n    - {leg: 29 ft, from: back}\n"


def text(walk: str, day: str = "51 F", going: str = "right") -> str:
    return (
        f"run:\n  name: Fence, east side\n  raceway: PVC-40 1\n  bend_radius: 7\n  going: {going}\n"
        f"  climate: {{lowest: -11 F, highest: 96 F, install: {day}}}\n"
        "  start: {fitting: socket}\n  end: {fitting: socket}\n  walk:\n" + walk
    )


def planned(walk: str, **more: str) -> Plan:
    return plan_run(survey_from_text(text(walk, **more)).survey)


@pytest.mark.parametrize("going", ["up", "down"])
def test_a_body_holds_both_ends_of_the_conduit_and_its_barrel_lies_where_it_is_told(going: str) -> None:
    made = planned("    - leg: 24 ft\n", going=going)
    (joint,) = [j for j in made.joints if j.piston is not None]
    assert joint.piston is not None
    (body,) = expansion_bodies(made)
    barrel, bare, socket = body.parts
    a, b = made.pieces[(joint.before or 0) - 1], made.pieces[(joint.after or 0) - 1]
    ends = (a.centreline.end_frame.origin, b.frame.origin)
    if joint.piston.barrel == "B":
        ends = ends[::-1]
    depth = a.end_b.insertion_mm
    # the conduit stands in the barrel and in the piston's socket by its depth
    axis = unit(sub(barrel.end, barrel.start))
    assert dot(sub(ends[0], barrel.start), axis) == pytest.approx(depth)
    assert distance(ends[0], barrel.start) == pytest.approx(depth)
    assert distance(ends[1], socket.end) == pytest.approx(depth)
    # one part begins where the one before ends, and the bare piston is as long as it is set out
    assert distance(barrel.end, bare.start) + distance(bare.end, socket.start) < 1e-9
    assert distance(bare.start, bare.end) == pytest.approx(joint.piston.open_mm)
    assert bare.radius_mm < barrel.radius_mm == socket.radius_mm
    # 4 in of travel and an inch, and a socket
    assert distance(barrel.start, barrel.end) == pytest.approx(5 * 25.4 + depth)


def test_a_piston_that_is_all_the_way_in_shows_no_bare_part() -> None:
    hot = planned("    - leg: 47 ft\n", day="96 F")
    assert [len(body.parts) for body in expansion_bodies(hot)] == [2]


def test_each_is_drawn_on_the_side_view_in_the_model_and_in_the_answer() -> None:
    made = planned(CORNER)
    bodies = expansion_bodies(made)
    assert len(bodies) == 2
    bare = msgspec.structs.replace(made, joints=tuple(j for j in made.joints if j.piston is None))
    beside = next(i for i, piece in enumerate(made.pieces) if piece.end_b.fitting == "expansion fitting")
    drawn, without = (
        sum(isinstance(item, Polygon) for item in side_view(shown, beside, Box(0.0, 0.0, 190.0, 110.0)).items)
        for shown in (made, bare)
    )
    assert drawn > without
    assert tubes_of(made).fittings == bodies
    answer = plan(PlanRequest(survey=survey_from_text(text(CORNER)).written), Known())
    assert answer.fittings == bodies
