"""A plan that was written as "racewright plan 1" before the format became 2: read still, and the same plan."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from racewright.plan.from_json import read_plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

ROOT = Path(__file__).parents[2]
WRITTEN = Path(__file__).parent / "plan-1-pump-house-saddle.json"


def test_a_plan_of_format_1_is_the_plan_of_its_survey() -> None:
    old = json.loads(WRITTEN.read_text(encoding="utf-8"))
    assert old["format"] == "racewright plan 1"
    got, now = read_plan(old), plan_run(read_survey_file(ROOT / "examples" / "pump-house-saddle.yaml").survey)
    assert [b.reference for b in got.pieces[0].bends] == [b.reference for b in now.pieces[0].bends]
    assert [b.role for b in got.pieces[0].bends] == [b.role for b in now.pieces[0].bends]
    assert [(b.order, b.stance, b.line_deg) for b in got.pieces[0].bends] == [
        (b.order, b.stance, b.line_deg) for b in now.pieces[0].bends
    ]
    assert [b.line_deg for b in got.pieces[0].bends] == [0.0, 0.0, 180.0]  # on the floor, then twice over the shoe
    for one, two in zip(got.pieces[0].bends, now.pieces[0].bends, strict=True):
        assert one.all_marks_mm == pytest.approx(two.all_marks_mm, abs=1e-9)
    assert msgspec.structs.asdict(got.shoe) == pytest.approx(msgspec.structs.asdict(now.shoe))
    assert got.dimensions == ()
    # its straps stood in a block among the notes
    assert got.along == ('2 straps at 11 1/16", 47 7/8" along the conduit.',)
    assert [block.title for block in got.notes] == ["Will it fit", "Ways to bend it"]
