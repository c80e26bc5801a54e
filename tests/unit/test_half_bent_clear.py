"""New marks keep the conduit off what it goes past: over, beside and round it; else they say what is hit."""

from __future__ import annotations

import json
from itertools import pairwise
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest
from ask_samples import saddle_survey

from racewright.cli import main as cli
from racewright.operations.answer import ask_json

INCH = 25.4


def remark(survey: dict[str, Any], made: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    answer = json.loads(ask_json("remark", json.dumps({"survey": survey, "made": made, **more})))
    assert "error" not in answer, answer
    return dict(answer)


def loud(answer: dict[str, Any]) -> list[str]:
    return [f["rule"] for f in answer["findings"] if f["severity"] == "problem"]


def test_a_middle_that_is_too_flat_is_made_up_by_the_outer_bends() -> None:
    """The rise by hand from the answer's angles and marks: corners on the far side of the arcs, the apex between."""
    survey = saddle_survey()
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]
    answer = remark(survey, [{"number": 2, "angle_deg": 41.0}])
    assert answer["met"]
    assert loud(answer) == []
    radius = planned["bender"]["radius_mm"]
    arcs = {m["number"]: (m["angle_deg"], _start(m, planned)) for m in answer["marks"]}
    was = planned["pieces"][0]["bends"][1]
    arcs[2] = (41.0, was["arc_start_mm"] if was["hook"] == "A" else was["arc_end_mm"] - radius * radians(41.0))
    height = _apex(arcs, radius)
    assert height == pytest.approx(
        _apex({b["number"]: (b["angle_deg"], b["arc_start_mm"]) for b in planned["pieces"][0]["bends"]}, radius),
        abs=0.1,
    )


def _start(mark: dict[str, Any], plan: dict[str, Any]) -> float:
    """Where the arc begins, from the mark by the shoe's figures."""
    shoe = plan["bender"]
    at = {"arrow": -shoe["arrow_lead_mm"], "center": shoe["center_mm"], "star": shoe["star_mm"]}[mark["reference"]]
    if mark["hook"] == "A":
        return float(mark["mark"]["mm"] - at)
    return float(mark["mark"]["mm"] + at - shoe["radius_mm"] * radians(mark["angle_deg"]))


def _apex(arcs: dict[int, tuple[float, float]], radius: float) -> float:
    """The height of the middle of bend 2 over the first leg, by a walk in the plane."""
    slope, height, at = 0.0, 0.0, 0.0
    for number, sign in ((1, 1.0), (2, -1.0)):
        angle, start = radians(arcs[number][0]), arcs[number][1]
        height += (start - at) * sin(slope)
        turn = angle if number == 1 else angle / 2.0
        height += sign * radius * (cos(slope) - cos(slope + sign * turn))
        slope += sign * turn
        at = start + radius * turn
    return height


def test_a_first_bend_that_is_too_flat_leaves_a_hit_and_says_so(tmp_path: Path) -> None:
    """The slope that is made already passes too low: no later bend can lift it."""
    survey = saddle_survey(clearance="0")
    answer = remark(survey, [{"number": 1, "angle_deg": 17.5}, {"number": 3, "angle_deg": 17.5}])
    assert "run.clearance" in loud(answer)
    told = next(f for f in answer["findings"] if f["rule"] == "run.clearance")
    assert "suction pipe: the conduit runs into it" in told["message"]
    assert answer["room"][0]["name"] == "suction pipe"
    assert answer["room"][0]["left"]["mm"] == pytest.approx(told["measured"])
    assert told["measured"] < 0.0
    file = tmp_path / "flat.json"
    file.write_text(json.dumps({"racewright": 1, **survey}), encoding="utf-8")
    assert cli.main(["remark", str(file), "--made", "1: angle 17.5", "--made", "3: angle 17.5"]) == 1


@pytest.mark.parametrize("toward", ["left", "right"])
def test_a_saddle_beside_a_column_keeps_its_distance(toward: str) -> None:
    column = {"name": "column", "centre": "33", "toward": toward, "reach": "3 1/2", "width": "6", "over": "square"}
    survey = saddle_survey(clearance="1/2", walk=[{"leg": "70", "features": [{"saddle": column}]}])
    answer = remark(survey, [{"number": 2, "angle_deg": 20.0}], stock="80")
    assert loud(answer) == []
    assert answer["room"][0]["left"]["mm"] >= 0.5 * INCH - 1e-6


def test_a_rise_without_a_thing_to_clear_is_kept_too() -> None:
    rise = {"name": "door head", "centre": "30", "rise": "3 1/4"}
    survey = saddle_survey(walk=[{"leg": "62", "features": [{"saddle": rise}]}])
    answer = remark(survey, [{"number": 2, "angle_deg": 41.0}])
    assert "replan.rise" not in {f["rule"] for f in answer["findings"]}


def test_round_an_outside_corner_the_edge_is_kept_clear() -> None:
    corner = {"turn": "toward", "gap": "1 1/4"}
    walk = [{"leg": "40", "to": "edge"}, corner, {"leg": "40", "from": "edge"}]
    survey = saddle_survey(stand_off="1 1/4", walk=walk)
    survey["run"]["walk"][2]["features"] = [
        {"offset": {"name": "to the box", "rise": "2", "starts_at": "12", "angle": "22.5"}}
    ]
    early = remark(survey, [{"number": 1, "start": "31"}])
    assert [f for f in early["findings"] if f["rule"] == "run.surface"]
    late = remark(survey, [{"number": 1, "angle_deg": 88.0}], stock="100")
    assert "run.surface" not in {f["rule"] for f in late["findings"]}


def test_another_order_is_looked_for_where_the_plans_fails() -> None:
    survey = saddle_survey(
        clearance="0", walk=[{"leg": "60", "features": [{"saddle": {"name": "pipe", "centre": "30", "height": "4"}}]}]
    )
    answer = remark(survey, [{"number": 1, "angle_deg": 20.0}])
    assert answer["other_order"]
    (told,) = (f for f in answer["findings"] if f["rule"] == "remark.order")
    assert told["severity"] == "info"
    assert [m["order"] for m in answer["marks"]] == [2, 3]
    for mark in answer["marks"]:
        assert mark["stance"]
        assert abs(mark["mark_rounding_mm"]) <= INCH / 32 + 1e-9
    hooks = [m["hook"] for m in answer["marks"]]
    for (a, b), mark in zip(pairwise(hooks), answer["marks"][1:], strict=True):
        assert ("Swap ends" in mark["spin_words"]) == (a != b)


def test_what_stands_against_the_run_is_told_with_the_marks() -> None:
    ways = ("left", "right", "left", "right", "left")
    walk = [{"leg": "24"}, *(part for way in ways for part in ({"turn": way}, {"leg": "18"}))]
    answer = remark(saddle_survey(walk=walk), [{"number": 1, "angle_deg": 90.0}])
    assert "run.degrees" in loud(answer)
