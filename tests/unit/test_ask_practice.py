"""Practice sheets: reproducible, of every kind, and right: the answers follow from the shoe's own figures."""

from __future__ import annotations

import json
from math import isclose
from typing import Any

import pytest

from racewright.operations.answer import ask_json
from racewright.operations.practice import KINDS


def sheet(**request: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(ask_json("practice", json.dumps(request)))
    assert "error" not in data, data
    return data


def test_a_seed_makes_the_sheet_again() -> None:
    one = sheet(seed=11, count=7)
    assert one == sheet(seed=11, count=7)
    assert one["problems"] != sheet(seed=12, count=7)["problems"]


def test_a_problem_does_not_depend_on_the_sheet_s_length() -> None:
    assert sheet(seed=5, count=7)["problems"][:2] == sheet(seed=5, count=2)["problems"]


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("raceway", ["EMT 1/2", "EMT 1", "EMT 1-1/4", "RMC 3/4", "IMC 1"])
def test_every_kind_on_every_shoe(raceway: str, units: str) -> None:
    got = sheet(seed=2, count=len(KINDS), raceway=raceway, units=units)
    assert [p["kind"] for p in got["problems"]] == list(KINDS)
    assert len(KINDS) >= 6
    for problem in got["problems"]:
        assert problem["given"]
        assert problem["asked"]
        assert problem["worked"]
        assert problem["results"]
        assert problem["picture"].startswith("<svg")
        assert problem["answer_picture"].startswith("<svg")
        for result in problem["results"]:
            assert result["within"] > 0
            assert result["text"]


def test_no_picture_measures_to_a_fitting_that_is_not_there() -> None:
    """The ends are free: the last leg goes to end B, and where a bend is before it, from that bend's back, as its text
    says."""
    for problem in sheet(seed=3, count=len(KINDS))["problems"]:
        assert "face" not in problem["picture"]
        assert "to end B" in problem["picture"]
        turned = any("turn" in part for part in problem["survey"]["run"]["walk"] if part.get("turn"))
        assert ("to end B, from back" in problem["picture"]) == turned
        assert not turned or "back" in " ".join(problem["given"])


def test_the_key_is_the_planner_s_answer() -> None:
    """Each problem carries its run; planning that run gives the marks of the key."""
    for problem in sheet(seed=4, count=7)["problems"]:
        plan = json.loads(ask_json("plan", json.dumps({"survey": problem["survey"], "pictures": []})))["plan"]
        bends = plan["pieces"][0]["bends"]
        marks = [v for b in bends for v in b["all_marks_mm"].values()]
        for result in problem["results"]:
            if "mark" in result["name"] and "distance" not in result["name"]:
                assert any(isclose(result["value"], mark, abs_tol=1e-6) for mark in marks), (problem, result)
            if result["name"] == "length to cut":
                assert isclose(result["value"], plan["pieces"][0]["cut_length_mm"], abs_tol=1e-6)


def test_stub_by_take_up_and_gain() -> None:
    """A 90: mark = stub - take-up, cut = stub + leg - gain, with the shoe's own figures. To 1e-6 mm."""
    shoe = next(b for b in json.loads(ask_json("catalogue", "{}"))["benders"] if b["name"] == "emt-1/2")
    for problem in sheet(seed=9, count=5, kinds=["stub"], units="mm")["problems"]:
        stub, leg = (
            float(part["leg"].removesuffix(" mm")) for part in problem["survey"]["run"]["walk"] if "leg" in part
        )
        mark, cut = (r["value"] for r in problem["results"])
        assert isclose(mark, stub - shoe["take_up_mm"], abs_tol=1e-6)
        assert isclose(cut, stub + leg - shoe["gain_mm"], abs_tol=1e-6)


def test_rolling_offset_does_not_show_its_answer() -> None:
    for problem in sheet(seed=3, count=4, kinds=["rolling offset"])["problems"]:
        true = next(r["text"] for r in problem["results"] if r["name"] == "true offset")
        assert true.rstrip('"') not in problem["picture"]


def test_heights_and_rises_are_no_textbook_figures() -> None:
    """Whole and half inches, and the eighth before them, are the figures of printed examples: none is asked."""
    kinds = ["saddle 3", "saddle 4", "offset", "rolling offset", "kick"]
    for seed in range(6):
        for problem in sheet(seed=seed, count=10, kinds=kinds)["problems"]:
            (feature,) = problem["survey"]["run"]["walk"][0]["features"]
            (thing,) = feature.values()
            written = [thing[word] for word in ("height", "rise", "shift") if word in thing]
            assert written
            assert all(text.endswith((" 1/8 in", " 1/4 in", " 5/8 in", " 3/4 in")) for text in written), written


def test_a_combined_piece_s_saddle_marks_are_said_to_be_this_piece_s() -> None:
    """They count from end A past the 90: a saddle alone has others."""
    sheet = json.loads(ask_json("practice", json.dumps({"seed": 1, "count": 1, "kinds": ["combined"]})))
    (problem,) = sheet["problems"]
    marks = ", ".join(result["text"] for result in problem["results"][1:4])
    assert f"The saddle's marks in this piece: {marks}." in problem["worked"][2]


@pytest.mark.parametrize("kind", ["saddle 3", "combined"])
def test_a_saddle_is_as_high_as_it_is_given(kind: str) -> None:
    """Where the shoe cannot rise so little the planner makes it higher: such a problem is not set."""
    for seed in range(1, 7):
        sheet = json.loads(ask_json("practice", json.dumps({"seed": seed, "count": 4, "kinds": [kind]})))
        for problem in sheet["problems"]:
            answer = json.loads(ask_json("practice_grade", json.dumps({"survey": problem["survey"]})))
            (rise,) = [c["wanted"] for c in answer["checks"] if c["words"].startswith("rise of the saddle")]
            assert f"{rise.rstrip(chr(34))} in high" in " ".join(problem["given"]), (seed, problem["number"])
