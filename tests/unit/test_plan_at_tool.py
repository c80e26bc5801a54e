"""What is asked of a piece at the tool: chance, what to watch, ways to bend it, and the limits that it comes near."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from racewright.operations.common import NOTHING_KNOWN
from racewright.operations.plan import PlanAnswer, PlanRequest, plan
from racewright.plan.at_tool import PieceAtTool, at_tool
from racewright.survey.from_data import survey_from_data


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
