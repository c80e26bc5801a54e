"""The sheet of a class."""

from __future__ import annotations

import csv
import json
from io import StringIO
from typing import Any

from racewright.operations.answer import ask_json


def result(person: str, problem: str, points: float, *, passed: bool = False) -> dict[str, Any]:
    return {"person": person, "problem": problem, "points": points, "full": 100, "passed": passed, "scheme": {}}


def test_the_last_try_counts_and_who_has_none_stays_on_the_list() -> None:
    results = [
        result("Learner A", "7.1 stub", 55),
        {**result("Learner C", "7.1 stub", 90, passed=True), "without_leans": True},
        result("Learner A", "7.2 offset", 60.5),
        result("Learner A", "7.1 stub", 80, passed=True),
    ]
    answer = json.loads(
        ask_json("practice_class", json.dumps({"people": ["Learner A", "Learner B"], "results": results}))
    )
    assert answer["problems"] == ["7.1 stub", "7.2 offset"]
    assert [(r["person"], r["cells"], r["total"], r["passed"], r["tries"]) for r in answer["rows"]] == [
        ("Learner A", ["80", "60.5"], "140.5 of 200", 1, 3),
        ("Learner B", ["", ""], "", 0, 0),
        ("Learner C", ["90, without leans", ""], "90 of 100", 1, 1),
    ]
    read = list(csv.reader(StringIO(answer["csv"])))
    assert read[0] == ["name", "7.1 stub", "7.2 offset", "sum", "passed", "tries", "not all measured: no grade"]
    assert read[1] == ["Learner A", "80", "60.5", "140.5 of 200", "1", "3", ""]
    assert len(read) == 4


def test_a_piece_that_is_not_all_measured_is_no_grade_and_stands_apart() -> None:
    """A dog-leg alone has lost nothing: that is not 100 of 100. A later part does not undo a grade."""
    part = {"whole": False}
    results = [
        {**result("Learner A", "7.1 stub", 100), **part},
        result("Learner A", "7.2 offset", 80, passed=True),
        {**result("Learner A", "7.2 offset", 100), **part},
    ]
    answer = json.loads(ask_json("practice_class", json.dumps({"results": results})))
    (row,) = answer["rows"]
    assert answer["problems"] == ["7.2 offset"]
    assert (row["cells"], row["total"], row["passed"]) == (["80"], "80 of 100", 1)
    assert (row["ungraded"], row["tries"]) == (["7.1 stub"], 3)


def test_the_class_list_tells_when_a_piece_is_passed_as_the_sheet_does() -> None:
    """By the teacher's rules, on a tape of either unit: the words of a graded piece."""
    for units in ("in", "mm"):
        run = json.loads(ask_json("practice", json.dumps({"count": 1, "units": units})))["problems"][0]["survey"]
        for scheme in ({}, {"passes_at": 80, "length": {"within": "1/4 in"}}):
            graded = json.loads(ask_json("practice_grade", json.dumps({"survey": run, "scheme": scheme})))
            answer = json.loads(ask_json("practice_class", json.dumps({"scheme": scheme, "units": units})))
            assert answer["pass_rule"] == graded["pass_rule"]
            assert answer["pass_rule"].startswith(f"Passed from {scheme.get('passes_at', 70)} of 100 points on")


def test_a_grade_that_was_given_by_other_rules_than_they_are_now_says_so() -> None:
    """In its cell, and once above what is taken out; the same figures in another unit are the same rules."""
    now = {"length": {"within": "1/16 in"}, "time": {"minutes": 20}}
    same = {"length": {"within": "1.5875 mm"}, "time": {"minutes": 20.0}, "full": 100}
    others: tuple[Any, ...] = (
        None,
        {},
        {**now, "time": None},
        {**now, "full": 99},
        {**now, "passes_at": 71},
        {**now, "gross_times": 5},
        {**now, "lean": {"within_deg": 1}},
        {**now, "dog_leg": {"most": 19}},
    )

    def asked(*schemes: Any) -> dict[str, Any]:
        results = [
            {**result("Learner A", f"{k}.1 stub", 80, passed=k < 3), "scheme": one} for k, one in enumerate(schemes)
        ]
        return dict(json.loads(ask_json("practice_class", json.dumps({"results": results, "scheme": now}))))

    answer = asked(now, same, *others)
    (row,) = answer["rows"]
    assert row["cells"] == ["80", "80", *(["80, earlier rules"] * len(others))]
    assert (row["total"], row["passed"]) == ("160 of 200; earlier rules: 640 of 800, 1 passed", 2)
    assert asked({}, {})["rows"][0]["total"] == "earlier rules: 160 of 200, 2 passed"
    (finding,) = answer["findings"]
    assert (finding["rule"], finding["severity"]) == ("practice.earlier_rules", "caution")
    assert finding["message"].startswith(f"{len(others)} grades that are kept were given by other rules than these")
    assert "80, earlier rules" in answer["csv"]
    assert asked(now, same)["findings"] == []
    assert asked(now, {**now, "rise": {"step": "wide"}})["error"]["field"] == "results[1].scheme.rise.step"


def test_no_name_is_run_by_a_spreadsheet_or_breaks_a_row() -> None:
    people = ['=HYPERLINK("x")', 'Ann, "the" second\nrow']
    read = list(csv.reader(StringIO(json.loads(ask_json("practice_class", json.dumps({"people": people})))["csv"])))
    assert [row[0] for row in read] == ["name", "'" + people[0], 'Ann, "the" second row']


def test_a_sheet_holds_so_many_people_and_problems() -> None:
    """2,000 people at 2,000 problems would be four million cells."""
    for what, results in (
        ("people", [result(f"p{k}", "7.1 stub", 50) for k in range(201)]),
        ("problems", [result("Learner A", f"{k}.1 stub", 50) for k in range(201)]),
    ):
        error = json.loads(ask_json("practice_class", json.dumps({"results": results})))["error"]
        assert (error["kind"], error["asked"], error["limit"]) == ("limit", 201, 200)
        assert error["message"] == f"the results name 201 {what}; a sheet holds 200."
        kept = json.loads(ask_json("practice_class", json.dumps({"results": results[:200]})))
        assert len(kept["rows" if what == "people" else "problems"]) == 200
