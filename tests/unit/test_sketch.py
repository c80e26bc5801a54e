"""The sketch while measuring: the planner's own route, with guesses for what is not read yet."""

from __future__ import annotations

import copy
import itertools
import json
from collections.abc import Iterator
from math import isclose
from pathlib import Path
from typing import Any

import pytest
from ask_samples import EXAMPLES, example_data, saddle_survey

from racewright.operations.answer import ask_json

READINGS = ("leg", "centre", "height", "reach", "width", "rise", "shift", "starts_at", "middle_at", "done_by", "gap")


def sketched(survey: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(ask_json("sketch", json.dumps({"survey": survey})))
    return data


def holders(value: Any) -> Iterator[tuple[dict[str, Any], str]]:
    """Every reading of a survey: where it stands, and its name."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name in READINGS and isinstance(inner, str):
                yield value, name
            yield from holders(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from holders(inner)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_whole_survey_is_sketched_where_the_plan_lies(path: Path) -> None:
    survey = example_data(path)
    got = sketched(survey)
    plan = json.loads(ask_json("plan", json.dumps({"survey": survey, "pictures": []})))["plan"]
    for a, b in ((got["points"][0], plan["corners_mm"][0]), (got["points"][-1], plan["corners_mm"][-1])):
        assert all(isclose(x, y, abs_tol=1e-6) for x, y in zip(a, b, strict=True))
    assert [t["name"] for t in got["things"]] == [o["name"] for o in plan["obstacles"]]
    assert got["wrong"] == []
    legs = [i for i, part in enumerate(survey["run"]["walk"]) if "leg" in part]
    assert [r["field"] for r in got["readings"] if r["field"].endswith(".leg")] == [f"run.walk[{i}].leg" for i in legs]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_run_half_measured_is_drawn(path: Path) -> None:
    """With every set of up to two readings not taken yet, and with none taken at all."""
    whole = example_data(path)
    count = sum(1 for _ in holders(whole))
    sets = [*itertools.combinations(range(count), 1), *itertools.combinations(range(count), 2), tuple(range(count))]
    for empty in sets:
        survey = copy.deepcopy(whole)
        places = list(holders(survey))
        for k in empty:
            places[k][0][places[k][1]] = ""
        got = sketched(survey)
        assert len(got.get("points", ())) >= 2, (empty, got)
        assert got["wrong"] == [], (empty, got["wrong"])


def test_every_reading_that_cannot_be_taken_is_told_at_once() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0]["leg"] = "561/4"
    survey["run"]["walk"][0]["features"][0]["saddle"] |= {"centre": "", "height": "2 7/8 yards"}
    got = sketched(survey)
    assert {w["field"] for w in got["wrong"]} == {"run.walk[0].leg", "run.walk[0].features[0].saddle.height"}
    assert any("56 1/4" in w["message"] for w in got["wrong"])
    assert len(got["things"]) == 1
    assert got["readings"] == []


def test_a_guess_never_makes_a_reading_wrong() -> None:
    """An underside above a top that is only guessed is not refused, and one above a top that was read is."""
    survey = saddle_survey()
    saddle = survey["run"]["walk"][0]["features"][0]["saddle"]
    saddle |= {"over": "square", "width": "4", "lift": "3", "height": ""}
    assert sketched(survey)["wrong"] == []
    saddle["height"] = "2 7/8"
    assert [w["field"] for w in sketched(survey)["wrong"]] == ["run.walk[0].features[0].saddle.lift"]


def test_a_thing_without_room_leaves_the_legs() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0]["features"][0]["saddle"]["centre"] = "1"
    got = sketched(survey)
    assert len(got["points"]) == 2
    assert got["things"] == []


def test_a_metric_tape_keeps_its_examples() -> None:
    survey = saddle_survey() | {"units": "mm"}
    survey["run"]["walk"][0] = {"leg": "14x"}
    assert "mm" in sketched(survey)["wrong"][0]["hint"]


#: A thing on a leg as a form has it, and what is still to be measured of it.
OPEN: list[tuple[dict[str, dict[str, str]], tuple[str, ...]]] = [
    ({"saddle": {"centre": "", "over": "round", "height": " "}}, ("centre", "height")),
    ({"saddle": {"centre": "12", "over": "square", "height": "2"}}, ("width",)),
    ({"saddle": {"centre": "12", "toward": "left"}}, ("reach", "width")),
    ({"saddle": {"centre": "12", "toward": "right", "reach": "2", "width": "3"}}, ()),
    ({"saddle": {"centre": "12", "rise": ""}}, ("rise",)),
    ({"saddle": {"centre": "12x", "over": "round", "height": "2"}}, ()),
    ({"offset": {"rise": "", "starts_at": ""}}, ("starts_at", "rise")),
    ({"offset": {"rise": "2", "middle_at": ""}}, ("middle_at",)),
    ({"offset": {"shift": "", "done_by": "20"}}, ("shift",)),
    ({"offset": {"rise": "", "shift": "", "starts_at": "9"}}, ("rise", "shift")),
    ({"box_offset": {"starts_at": ""}}, ("starts_at",)),
    ({"kick": {"rise": "", "toward": "left", "starts_at": ""}}, ("starts_at", "rise")),
    ({"kick": {"rise": "", "angle": "10"}}, ("rise",)),
    ({"keep_clear": {"centre": "", "over": "square", "height": "", "width": ""}}, ("centre", "height", "width")),
]


@pytest.mark.parametrize(("feature", "names"), OPEN, ids=str)
def test_what_is_still_to_be_measured_of_a_thing(feature: dict[str, dict[str, str]], names: tuple[str, ...]) -> None:
    survey = saddle_survey()
    survey["run"]["start"] = {"height": "1"}  # a box offset takes its rise from it
    survey["run"]["walk"][0]["features"] = [feature]
    at = f"run.walk[0].features[0].{next(iter(feature))}"
    assert sketched(survey)["open"] == [f"{at}.{name}" for name in names]


def test_a_new_run_waits_for_its_name_and_its_leg_and_a_measured_one_for_nothing() -> None:
    survey = saddle_survey()
    assert sketched(survey)["open"] == []
    survey["run"]["name"] = " "
    survey["run"]["walk"] = [{"leg": ""}]
    assert sketched(survey)["open"] == ["run.name", "run.walk[0].leg"]


def test_a_box_offset_waits_for_its_rise_where_no_knockout_gives_it() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0]["features"] = [{"box_offset": {"starts_at": "2"}}]
    assert sketched(survey)["open"] == ["run.walk[0].features[0].box_offset.rise"]
