"""A fixed slice of `evidence/evidence_assembly.py`: each move of putting a run up can be made; and what catches one
that cannot.

The fitter who follows the moves lives in `evidence/` and shares no code with the program.
"""

from __future__ import annotations

import json
from typing import Any

import msgspec
import pytest

from assembly_facts import hold_assembly
from evidence_assembly import Tally, hold_run
from held import Held
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

FIRST, COUNT, EACH = 4096, 48, 12


@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, EACH))
def test_every_move_can_be_made(first: int) -> None:
    tally = Tally()
    for seed in range(first, first + EACH):
        hold_run(tally, seed)
    assert tally.misses == []
    assert tally.planned >= EACH - 4, tally.refused


def plan_of(raceway: str, fitting: str, leg: int, *, fixed: bool = False) -> dict[str, Any]:
    ends = "".join(f"  {e}: {{fitting: {fitting}{', fixed: true' if fixed else ''}}}\n" for e in ("start", "end"))
    text = f"run:\n  name: pump line\n  raceway: {raceway}\n{ends}  walk:\n    - leg: {leg}\n"
    plan: dict[str, Any] = json.loads(msgspec.json.encode(plan_run(survey_from_text(text).survey)))
    return plan


def misses(plan: dict[str, Any], *, fixed: bool = False) -> list[str]:
    held = Held()
    hold_assembly(held, plan, (fixed or None, fixed or None))
    return held.misses


def test_the_fitter_takes_the_plans_that_are_spoiled_below() -> None:
    assert misses(plan_of("EMT 3/4", "set-screw", 200)) == []
    assert misses(plan_of("RMC 1", "hub", 230)) == []
    assert misses(plan_of("PVC-40 1", "socket", 300)) == []


def test_it_misses_a_fitting_that_never_slid_back() -> None:
    plan = plan_of("EMT 3/4", "set-screw", 200)
    plan["assembly"]["moves"] = [m for m in plan["assembly"]["moves"] if m["act"] != "slide back"]
    assert any("of room at joint" in miss for miss in misses(plan))


def test_it_misses_one_that_slid_back_too_little() -> None:
    plan = plan_of("EMT 3/4", "set-screw", 200)
    move = next(m for m in plan["assembly"]["moves"] if m["act"] == "slide back")
    move["by_mm"] /= 2
    assert any("of room at joint" in miss for miss in misses(plan))


def test_it_misses_a_threaded_coupling_in_place_of_the_union() -> None:
    plan = plan_of("RMC 1", "hub", 230)
    for joint in plan["joints"]:
        if joint["kind"] == "union":
            joint.update(kind="threaded coupling", how="threads")
    assert any("gives no room" in miss for miss in misses(plan))
    assert any("does not close between two parts" in miss for miss in misses(plan))


def test_it_misses_a_piece_that_is_turned_while_its_far_end_is_held() -> None:
    plan = plan_of("RMC 1", "threaded", 230)
    plan["assembly"]["moves"] = [m for m in plan["assembly"]["moves"] if m["act"] != "through"]
    assert any("makes two joints at once" in miss for miss in misses(plan))


def test_it_misses_cement_that_is_pushed_and_a_thread_that_is_not_cut() -> None:
    plan = plan_of("PVC-40 1", "socket", 300)
    plan["assembly"]["moves"][0]["act"] = "push"
    assert any("is no way to make a socket" in miss for miss in misses(plan))
    rigid = plan_of("RMC 1", "hub", 230)
    rigid["pieces"][1]["end_a"]["thread"] = rigid["pieces"][1]["end_b"]["thread"] = ""
    assert sum("threads" in miss for miss in misses(rigid)) >= 2


def test_it_misses_the_wrong_last_joint_and_a_joint_that_stays_open() -> None:
    plan = plan_of("EMT 3/4", "set-screw", 200)
    plan["joints"][0]["last"] = True
    assert any("assembly: last" in miss for miss in misses(plan))
    plan = plan_of("EMT 3/4", "set-screw", 200)
    plan["assembly"]["moves"].pop()
    assert any("all made" in miss for miss in misses(plan))


def test_it_misses_an_end_that_is_fixed_and_slides() -> None:
    plan = plan_of("EMT 3/4", "set-screw", 200)
    assert any("of an end that is fixed" in miss for miss in misses(plan, fixed=True))


def test_it_misses_a_piece_that_is_shut_in_and_nothing_said_of_it() -> None:
    things = "".join(
        f"        - keep_clear: {{over: square, center: 49, width: 3, {thing}}}\n"
        for thing in (
            "name: beam, height: 9, lift: 1 1/2, depth: 28",
            "name: left sill, height: 1, side: 2, depth: 2",
            "name: right sill, height: 1, side: -2, depth: 2",
        )
    )
    ends = "".join(f"  {end}: {{fitting: set-screw, fixed: true}}\n" for end in ("start", "end"))
    text = f"run:\n  name: pump line\n  raceway: EMT 3/4\n{ends}  walk:\n    - leg: 177\n      features:\n{things}"
    plan: dict[str, Any] = json.loads(msgspec.json.encode(plan_run(survey_from_text(text).survey)))
    assert misses(plan, fixed=True) == []
    plan["findings"] = [f for f in plan["findings"] if f["rule"] != "assembly.sideways"]
    assert any("no way in sideways" in miss for miss in misses(plan, fixed=True))


def test_it_misses_one_depth_told_of_two_ends() -> None:
    text = (
        "run:\n  name: sprayer feed\n  raceway: RMC 3/4\n  start: {fitting: threaded, fixed: true}\n"
        "  end: {fitting: set-screw, insertion: 1 1/4, fixed: true}\n  walk:\n    - leg: 22\n    - turn: right\n"
        "    - leg: 37\n    - turn: right\n    - leg: 22\n"
    )
    plan: dict[str, Any] = json.loads(msgspec.json.encode(plan_run(survey_from_text(text).survey)))
    (move,), (step,) = plan["assembly"]["moves"], [s for s in plan["steps"] if s["kind"] == "insert"]
    assert move["joints"] == [1, 2]
    assert misses(plan, fixed=True) == []
    told = step["detail"]
    assert '1 1/4" from end B' in told
    step["detail"] = told.replace('1 1/4" from end B', '9/16" from end B')
    assert [miss for miss in misses(plan, fixed=True) if "end B" in miss]
    step["detail"] = told.replace("through its hole", "to its stop")
    assert [miss for miss in misses(plan, fixed=True) if "end A" in miss]
    step["detail"], move["by_mm"] = told, plan["pieces"][0]["end_a"]["insertion_mm"]
    assert [miss for miss in misses(plan, fixed=True) if "goes in by" in miss]


def test_it_misses_steps_on_the_wall_of_a_run_that_cannot_go_up() -> None:
    plan = plan_of("EMT 3/4", "set-screw", 66, fixed=True)
    assert not plan["assembly"]["possible"]
    assert misses(plan, fixed=True) == []
    plan["steps"].append({"kind": "insert", "piece": 1, "title": "End A into it", "detail": ""})
    assert any("has steps on the wall" in miss for miss in misses(plan, fixed=True))
    plan["steps"] = plan["steps"][1:]
    assert any("the first step says" in miss for miss in misses(plan, fixed=True))
