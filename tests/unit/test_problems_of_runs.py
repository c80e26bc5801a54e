"""What stands against a run itself is told by every answer that is about the run, not by its plan alone."""

import json
from typing import Any

import pytest
from ask_samples import saddle_survey

from racewright.operations.answer import ask_json

#: Five quarter turns: more than 360 degrees between pull points.
SPIRAL = saddle_survey(
    name="Packing shed, round the fan",
    walk=[{"leg": "40"}]
    + [part for way in ("left", "right", "left", "right", "left") for part in ({"turn": way}, {"leg": "30"})],
)


def asked(operation: str, **request: Any) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(ask_json(operation, json.dumps(request)))
    assert "error" not in answer, answer
    return answer


def a_job() -> dict[str, Any]:
    return {
        "racewright_job": 1,
        "head": {"name": "Orchard cooperative"},
        "runs": [{"key": "PS-4", "survey": SPIRAL}, {"key": "PH-1", "survey": saddle_survey()}],
    }


@pytest.mark.parametrize(
    ("operation", "request_", "where"),
    [
        ("job_bill", {"job": a_job()}, "PS-4"),
        ("job_cut", {"job": a_job()}, "PS-4"),
        ("remark", {"survey": SPIRAL, "made": [{"number": 1, "angle_deg": 90.5}]}, ""),
        ("tweak", {"survey": SPIRAL, "measured": [{"what": "angle", "number": 1, "angle_deg": 91.5}]}, ""),
        ("job_models", {"job": a_job(), "kinds": ["gltf"]}, "PS-4"),
    ],
)
def test_more_than_360_degrees_is_told_with_the_run(operation: str, request_: dict[str, Any], where: str) -> None:
    found = [f for f in asked(operation, **request_)["findings"] if f["rule"] == "run.degrees"]
    assert [(f["severity"], f.get("where", ""), round(f["measured"], 6)) for f in found] == [("problem", where, 450.0)]
