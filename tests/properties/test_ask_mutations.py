"""Good runs with one or two values spoilt: the answer is a plan or a trouble in words, never a fault of the program."""

from __future__ import annotations

import copy
import json
import re
from pathlib import Path
from typing import Any

import yaml
from door_requests import WIRES
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from racewright.operations.answer import ask_json
from racewright.operations.operations import OPERATIONS

EXAMPLES = [
    yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    for path in sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.yaml"))
]
ODD: list[Any] = [
    "0", "-1", "1/0", "1e9", "999999", "0.000001", "1000000 mm", "", " ", "auto", "180", "120", "1", "89.9999999",
    "EMT 4", "PVC-40 1", "RMC 6", "none", "away", "toward", "left", "right", "after", "round", "square", "3", "4",
    0, 1, -3, 1e308, 1e-308, 5, 45, 2**63, True, None, [], {}, "﷽" * 30, "<b>", "\u0000", "٣", "½", "7' 11 15/16\"",
]  # fmt: skip


def places(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of all values below a node."""
    inside = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [p for key, value in inside for p in ((*at, key), *places(value, (*at, key)))]


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_spoilt_runs_never_break_the_program(data: st.DataObject) -> None:
    survey = copy.deepcopy(data.draw(st.sampled_from(EXAMPLES)))
    for _ in range(data.draw(st.integers(1, 2))):
        path = data.draw(st.sampled_from(places(survey)))
        here = survey
        for key in path[:-1]:
            here = here[key]
        action = data.draw(st.sampled_from(("odd", "odd", "drop", "twice")))
        if action == "drop" and isinstance(here, dict):
            del here[path[-1]]
        elif action == "twice" and isinstance(here, list):
            here.append(copy.deepcopy(here[path[-1]]))
        else:
            here[path[-1]] = data.draw(st.sampled_from(ODD))
    operation = data.draw(st.sampled_from(("plan", "plan", "sketch", "card", "tweak", "remark")))
    request: dict[str, Any] = {"survey": survey}
    if operation == "tweak":
        request["measured"] = [{"what": "off", "way": "up", "off": "1/4"}]
    if operation == "remark":
        request["made"] = [{"number": 1, "angle_deg": 20}]
    answer = json.loads(ask_json(operation, json.dumps(request)))
    if "error" in answer:
        assert answer["error"]["kind"] != "engine", answer["error"]
        assert answer["error"]["message"]


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_spoilt_questions_on_wires_never_break_the_program(data: st.DataObject) -> None:
    """What is refused names a field that the request has."""
    asked = data.draw(st.sampled_from(WIRES))
    request = copy.deepcopy(asked.request)
    for _ in range(data.draw(st.integers(1, 2))):
        *way, last = data.draw(st.sampled_from(places(request)))
        here: Any = request
        for key in way:
            here = here[key]
        here[last] = data.draw(st.sampled_from([*ODD, "12", "3 x 12 THHN", "cable 0.0001 in", "bend 90 r 0", "nan"]))
        if not places(request):
            break
    answer = json.loads(ask_json(asked.operation, json.dumps(request)))
    if "error" in answer:
        assert answer["error"]["kind"] != "engine", answer["error"]
        assert answer["error"]["hint"], answer["error"]
        field = re.split(r"[.\[]", answer["error"]["field"])[0]
        assert field in ("", *OPERATIONS[asked.operation].request.__struct_fields__), answer["error"]
