"""The joints of a run: what stands at its ends and between its pieces, and how each is made."""

from __future__ import annotations

from pathlib import Path

import msgspec

from racewright.assembly.joints import Between, joint_how, joints_of
from racewright.catalogue.fittings import all_fittings
from racewright.plan.from_json import read_plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_every_fitting_of_the_catalogue_is_a_joint_of_some_kind() -> None:
    hows = {f.kind: joint_how(f.kind) for f in all_fittings()}
    assert hows["set-screw coupling"] == hows["compression"] == "slides"
    assert hows["hub"] == hows["threaded coupling"] == "threads"
    # through a knockout, where locknuts hold it
    assert hows["threaded"] == "slides"
    assert hows["socket"] == hows["socket coupling"] == "cemented"


def test_a_free_end_is_no_joint_and_pieces_count_from_end_a() -> None:
    joints = joints_of(5000.0, ("none", "hub"), [Between(3000.0, "threaded coupling")])
    assert [(j.at_mm, j.before, j.after, j.how) for j in joints] == [
        (3000.0, 1, 2, "threads"),
        (5000.0, 2, None, "threads"),
    ]


def test_a_plan_has_its_joints_and_one_written_before_is_read_with_the_same() -> None:
    plan = plan_run(read_survey_file(EXAMPLES / "packing-shed-long-run.yaml").survey)
    places = [p.run_start_mm + p.cut_length_mm for p in plan.pieces[:-1]]
    couplings = [j for j in plan.joints if j.before and j.after]
    assert [(j.before, j.after) for j in couplings] == [(k, k + 1) for k in range(1, len(plan.pieces))]
    assert all(abs(j.at_mm - at) < 5.0 for j, at in zip(couplings, places, strict=True))
    before = msgspec.to_builtins(plan)
    del before["joints"]
    before["couplings_mm"] = [j.at_mm for j in couplings]
    again = read_plan(before)
    unordered = [msgspec.structs.replace(j, last=False) for j in plan.joints]
    assert list(again.joints) == unordered
