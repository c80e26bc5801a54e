"""A job file of the page is read as the structs say, and every reading comes back as text."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from ask_samples import EXAMPLES, example_data, saddle_survey

from racewright.operations.answer import ask_json
from racewright.records.model import JOB_FORMAT


def read(job: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(ask_json("read_job", json.dumps({"job": job})))
    return data


def job_of(*surveys: Any, **more: Any) -> dict[str, Any]:
    return {
        "format": "racewright job 1",
        "runs": [{"survey": s, "status": "bent", "changed": ""} | more for s in surveys],
    }


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_an_example_comes_back_and_plans_the_same(path: Path) -> None:
    survey = example_data(path)
    runs = read(job_of(survey))["runs"]
    plans = [json.loads(ask_json("plan", json.dumps({"survey": s}))) for s in (survey, runs[0]["survey"])]
    assert runs[0]["status"] == "bent"
    assert plans[0] == plans[1]
    assert read(survey)["runs"][0] == {"survey": runs[0]["survey"], "status": "measured"}


def test_numbers_become_text_and_center_is_read_like_centre() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0] = {"leg": 56.25, "to": None, "features": [{"saddle": {"center": 26, "height": 2.875}}]}
    leg = read(survey)["runs"][0]["survey"]["run"]["walk"][0]
    assert leg == {"leg": "56.25", "features": [{"saddle": {"centre": "26", "height": "2.875"}}]}


@pytest.mark.parametrize(("before", "now"), [("bending", "planned"), ("in-place", "in"), ("wired", "wired")])
def test_a_status_is_one_of_a_jobs_also_from_a_file_saved_before(before: str, now: str) -> None:
    assert read(job_of(saddle_survey(), status=before))["runs"][0]["status"] == now


def test_readings_not_taken_yet_stay() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0]["leg"] = ""
    assert read(job_of(survey))["runs"][0]["survey"]["run"]["walk"][0]["leg"] == ""


@pytest.mark.parametrize(
    ("job", "field"),
    [
        ({}, "job"),
        ({"format": "racewright job 2", "runs": []}, "job"),
        (job_of({}), "job.runs[0].survey.run"),
        (job_of(saddle_survey(walk=[])), "job.runs[0].survey.run.walk"),
        (job_of(saddle_survey(walk=[{}])), "job.runs[0].survey.run.walk"),
        (job_of(saddle_survey(), status="lost"), "job.runs[0]"),
        (job_of(saddle_survey(), status=["bent"]), "job.runs[0]"),
        (job_of(saddle_survey(colour="red")), "job.runs[0].survey.run.colour"),
        ({"format": "racewright job 1", "runs": ["a"]}, "job.runs[0]"),
    ],
)
def test_what_cannot_be_taken_is_named(job: Any, field: str) -> None:
    error = read(job)["error"]
    assert error["kind"] == "input"
    assert error["field"] == field


def test_a_job_file_comes_back_as_it_is_kept_now() -> None:
    survey, draft = saddle_survey(), saddle_survey()
    draft["run"]["walk"][0]["leg"] = ""
    runs = [{"key": "PH-1", "survey": survey, "status": "bent"}, {"key": "PH-2", "survey": draft}]
    job = read({"racewright_job": 1, "head": {"name": "Orchard"}, "runs": runs})["job"]
    assert (job["head"]["name"], [run["key"] for run in job["runs"]]) == ("Orchard", ["PH-1", "PH-2"])
    assert [(one["run"], one["what"]) for one in job["entries"]] == [
        (job["runs"][0]["id"], {"kind": "status", "status": "bent"})
    ]
    assert read(job | {"racewright_job": JOB_FORMAT})["job"] == job


def test_a_job_file_that_cannot_be_taken_is_refused_at_its_field() -> None:
    error = read({"racewright_job": 2, "head": {"name": "Orchard"}, "runs": [{"key": "PH-1", "surveys": {}}]})["error"]
    assert error["field"].startswith("job.runs[0]")
    assert "format 9" in read({"racewright_job": 9, "head": {"name": "Orchard"}})["error"]["message"]
