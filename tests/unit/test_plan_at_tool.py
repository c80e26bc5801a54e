"""What is asked of a piece at the tool: chance, what to watch, ways to bend it, and the limits that it comes near."""

from __future__ import annotations

from math import radians
from typing import Any

import pytest
from msgspec.structs import replace

from racewright.fit.forecast import StepShare
from racewright.operations.common import NOTHING_KNOWN
from racewright.operations.plan import PlanAnswer, PlanRequest, plan
from racewright.plan.at_tool import PieceAtTool, at_tool
from racewright.plan.model import Plan, PlannedPiece
from racewright.survey.from_data import survey_from_data
from racewright.tools.benders import HookEnd
from racewright.units.tape import style_of


def planned(*walk: dict[str, Any], raceway: str = "EMT 1/2", end: str = "set-screw", **more: str) -> PlanAnswer:
    run = {
        "name": "Packing shed, panel to box",
        "raceway": raceway,
        "start": {"fitting": "none" if more else "set-screw"},
        "end": {"fitting": end},
        "walk": list(walk),
        **more,
    }
    data = {"racewright": 1, "units": "in", "run": run}
    return plan(PlanRequest(survey=survey_from_data(data), pictures=()), NOTHING_KNOWN)


def limits(told: PieceAtTool) -> dict[str, tuple[str, str, str, bool]]:
    return {limit.what: (limit.allows, limit.comes, limit.at, limit.near) for limit in told.limits}


HOOK = "straight for the hook, beside what is bent or the end"
PULL = "straight beyond the bend, to pull on"
HOLD = "straight at the hook, to be held by hand"
ANGLE = "largest angle to bend to"


def test_a_90_by_hand() -> None:
    """A stub of 11 in to the back with the taught EMT 1/2 shoe. To the face of its box; 3/4 in more goes in, so the
    back is 11 3/4 in from end A. Take-up 5, so the arrow at 6 3/4; gain 2 5/8, diameter 0.706 and R = (2.625 - 0.706)
    / 0.4292 = 4.471, so the bend begins at 11.75 - 0.353 - 4.471 = 6.926. The hook, 1 1/2 in, needs 5 - 4.471 - 0.353
    + 1.5 = 1.676."""
    answer = planned({"leg": "11"}, {"turn": "away"}, {"leg": "40"})
    (told,) = answer.at_tool
    found = limits(told)
    assert found[HOOK] == ('1 11/16" or more', '6 15/16"', "mark 1", False)
    assert found[HOLD] == ('8" or more', '6 15/16"', "mark 1", True)
    assert found[ANGLE] == ("93° or less", "90°", "mark 1", False)
    # one bend is made in one way
    assert told.ways == ()


def test_a_limit_that_is_near_says_so() -> None:
    """A stub of 6 in to the back, 6 3/4 with what goes into the fitting: the bend begins at 6.75 - 0.353 - 4.471 =
    1.926, and the hook needs 1.676: less than an inch over. 40 3/4 in beyond the back are 35.93 to the end of the
    arc."""
    (told,) = planned({"leg": "6"}, {"turn": "away"}, {"leg": "40"}).at_tool
    found = limits(told)
    assert found[HOOK] == ('1 11/16" or more', '1 15/16"', "mark 1", True)
    assert found[PULL] == ('8" or more', '35 15/16"', "mark 1", False)


def test_the_way_that_is_planned_stands_first() -> None:
    answer = planned({"leg": "56 1/4", "features": [{"saddle": {"height": "2 7/8", "centre": "26 1/8"}}]})
    (told,) = answer.at_tool
    (piece,) = answer.plan.pieces
    order = [bend.number for bend in sorted(piece.bends, key=lambda bend: bend.order)]
    assert told.ways[0].order == "marks " + ", then ".join(str(number) for number in order)
    assert [way.effort for way in told.ways] == [f"{way.effort:.1f} points of effort" for way in piece.ways]
    assert len(told.ways) > 1
    assert told.fit is not None
    assert piece.forecast is not None
    assert told.fit.chance == f"{piece.forecast.chance * 100:.0f} %"
    assert told.fit.watch[0].startswith(f"the {piece.forecast.by_step[0].step} (")
    # the same words as on the card
    assert (
        piece.forecast.words
        == f"{told.fit.chance} chance that it fits uncorrected. {told.fit.lands} Watch most: "
        + (f"{told.fit.watch[0]}.")
    )
    assert f"{piece.forecast.chance * 100:.0f} go into the fitting at end B" in told.fit.means


def test_an_open_end_has_no_chance() -> None:
    (told,) = planned({"leg": "11"}, {"turn": "away"}, {"leg": "40"}, end="none").at_tool
    assert told.fit is not None
    assert (told.fit.chance, told.fit.means) == ("", "End B goes into no fitting.")
    assert told.fit.watch


def test_a_straight_piece_asks_nothing() -> None:
    assert planned({"leg": "71 1/4"}).at_tool == (PieceAtTool(fit=None, ways=(), limits=()),)


def test_of_a_radius_alone_no_limits_are_known() -> None:
    (told,) = planned(
        {"leg": "30"}, {"turn": "away"}, {"leg": "40"}, raceway="PVC-40 1/2", bend_radius="6", end="none"
    ).at_tool
    assert told.limits == ()
    assert told.fit is not None


def test_a_calibrated_shoe_is_held_to_what_its_pointer_must_show() -> None:
    """A 90 that springs back 4 degrees is bent to 94, which is more than the 93 that a shoe goes."""
    made = planned({"leg": "11"}, {"turn": "away"}, {"leg": "40"}).plan
    (piece,) = made.pieces
    over = replace(piece, bends=(replace(piece.bends[0], pointer_deg=94.0, pointer_basis="under load"),))
    assert limits(at_tool(made, over))[ANGLE] == ("93° or less", "94°", "mark 1", True)


#: Each of the three bends takes so much conduit.
ARC_MM = 50.0


def three_bends(
    *,
    extra_a_mm: float = 0.0,
    extra_b_mm: float = 0.0,
    starts_mm: tuple[float, ...] = (100.0, 300.0, 600.0),
    pointers_deg: tuple[float, ...] = (30.0, 30.0, 30.0),
    angle_deg: float = 30.0,
    hook_reach_mm: float = 40.0,
    grip_mm: float = 100.0,
) -> tuple[Plan, PlannedPiece]:
    """A piece of 1000 mm with three bends, on a tape in mm: bent in the order 2, 3, 1, the hook toward A for 1 and 2
    and toward B for 3."""
    plan = planned({"leg": "56 1/4", "features": [{"saddle": {"height": "2 7/8", "centre": "26 1/8"}}]}).plan
    (piece,) = plan.pieces
    ways: tuple[tuple[int, HookEnd], ...] = ((3, "A"), (1, "A"), (2, "B"))
    bends = tuple(
        replace(bend, arc_start_mm=at, angle_deg=angle_deg, order=order, hook=hook, pointer_deg=pointer)
        for bend, at, (order, hook), pointer in zip(piece.bends, starts_mm, ways, pointers_deg, strict=True)
    )
    piece = replace(
        piece,
        cut_length_mm=1000.0,
        bend_radius_mm=ARC_MM / radians(angle_deg),
        bends=bends,
        extra_a_mm=extra_a_mm,
        extra_b_mm=extra_b_mm,
    )
    assert plan.bender is not None
    shoe = replace(plan.bender, hook_reach_mm=hook_reach_mm, arrow_lead_mm=0.0, grip_mm=grip_mm)
    return replace(plan, bender=shoe, tape=style_of("mm"), pieces=(piece,)), piece


def test_straights_are_those_there_in_the_bending_order() -> None:
    """The arcs are 100 to 150, 300 to 350, 600 to 650. Mark 2, hook A: 300, and 650 to pull on. Mark 3, hook B: 350 to
    the end, 250 to arc 2. Mark 1, hook A: 100 to the end, 150 to arc 2, which is made by then."""
    found = limits(at_tool(*three_bends()))
    assert found[HOOK] == ("40 mm or more", "100 mm", "mark 1", False)
    assert found[PULL] == ("100 mm or more", "150 mm", "mark 1", False)
    # 150 are less than an inch over 125
    assert limits(at_tool(*three_bends(grip_mm=125.0)))[PULL] == ("125 mm or more", "150 mm", "mark 1", True)


def test_what_is_left_on_beyond_an_end_can_be_held() -> None:
    """300 more at A, 20 at B: mark 1 has 400 for the hook, mark 2 600, mark 3 350 + 20. At A 20 and B 300: mark 1 has
    120."""
    assert limits(at_tool(*three_bends(extra_a_mm=300.0, extra_b_mm=20.0)))[HOOK][1:3] == ("370 mm", "mark 3")
    assert limits(at_tool(*three_bends(extra_a_mm=20.0, extra_b_mm=300.0)))[HOOK][1:3] == ("120 mm", "mark 1")


@pytest.mark.parametrize(
    ("start_mm", "near", "held"),
    [(124.0, True, True), (125.4, False, True), (128.0, False, True), (131.0, False, False)],
)
def test_an_inch_over_the_least_is_near_and_a_hand_holds_from_its_grip_on(
    start_mm: float, near: bool, held: bool
) -> None:
    """The hook needs 100: to 125.4 it is near. A hand wants 130, and no inch over."""
    plan, piece = three_bends(starts_mm=(start_mm, 400.0, 700.0), hook_reach_mm=100.0, grip_mm=130.0)
    found = limits(at_tool(plan, piece))
    assert (found[HOOK][3], found[HOLD][3]) == (near, held)


def test_what_is_exactly_enough_is_enough() -> None:
    """The hook 100 + 25.4, the grip 250 - 125.4 = 124.6 where 99.2 are wanted, and 125.4 are held where 125.4 are."""
    starts = (125.4, 300.0, 600.0)
    found = limits(at_tool(*three_bends(starts_mm=starts, hook_reach_mm=100.0, grip_mm=99.2)))
    assert (found[HOOK][1:], found[PULL][1:]) == (("125 mm", "mark 1", False), ("125 mm", "mark 1", False))
    assert not limits(at_tool(*three_bends(starts_mm=starts, hook_reach_mm=100.0, grip_mm=125.4)))[HOLD][3]


@pytest.mark.parametrize(("pointer_deg", "near"), [(90.5, False), (90.9, False), (91.1, True), (93.0, True)])
def test_within_2_degrees_of_what_the_shoe_goes_is_near(pointer_deg: float, near: bool) -> None:
    found = limits(at_tool(*three_bends(pointers_deg=(20.0, pointer_deg, 45.0))))
    assert found[ANGLE][0] == "93° or less"
    assert found[ANGLE][2:] == ("mark 2", near)


def test_of_pointers_alike_the_first_mark_is_told() -> None:
    assert limits(at_tool(*three_bends(pointers_deg=(20.0, 60.0, 60.0))))[ANGLE][1:] == ("60°", "mark 2", False)


def test_a_planned_bend_makes_the_shoe_go_no_further() -> None:
    found = limits(at_tool(*three_bends(angle_deg=120.0, pointers_deg=(20.0, 120.0, 45.0))))
    assert found[ANGLE] == ("93° or less", "120°", "mark 2", True)


def test_a_plane_is_sighted_against_the_bend_that_is_made_first() -> None:
    plan, piece = three_bends()
    assert piece.forecast is not None
    step = StepShare(step="plane of mark 3", kind="roll", number=3, sd_mm=4.0, share=0.6)
    told = at_tool(plan, replace(piece, forecast=replace(piece.forecast, by_step=(step,)))).fit
    assert told is not None
    assert [line.split(": ")[1].split(",")[0] for line in told.watch] == ["sight it against mark 2"]
