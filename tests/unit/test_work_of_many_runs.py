"""All runs of an order share one bound of work: each that came to the end of its share is told, and none is lost."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from ask_samples import a_job

from racewright.budget import RUN_AT_LEAST, Budget
from racewright.job import plan_job as planning
from racewright.job.plan_job import PlannedRun, plan_job, plan_one
from racewright.operations.answer import ask_json
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.parse import job_from_data
from racewright.survey.from_data import survey_from_data

EXAMPLES = Path(__file__).parents[2] / "examples"


def run(name: str, walk: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    return {"racewright": 1, "units": "in", "run": {"name": name, "raceway": "EMT 1/2", "walk": walk, **more}}


def turning(name: str, count: int, leg: float, **more: Any) -> dict[str, Any]:
    walk: list[dict[str, Any]] = [{"leg": leg}]
    for k in range(count):
        walk += [{"turn": ("right", "left")[k % 2]}, {"leg": leg}]
    return run(name, walk, **more)


#: Thirty turns on one stick, and two in a corner of the pump house.
HARD = turning("pump house, round the tanks", 30, 14.5, stock=["40 ft"])
EASY = turning("pump house, switch", 2, 31.0)
#: Units for all, so that the tests are quick.
FEW = 60_000


def job(*surveys: dict[str, Any]) -> Job:
    runs = (JobRun(key=f"PH-{n}", survey=survey_from_data(data)) for n, data in enumerate(surveys, 1))
    return Job(head=JobHead(name="Pump house"), runs=tuple(runs))


def lengths(planned: PlannedRun) -> list[float]:
    assert planned.plan is not None
    return [piece.cut_length_mm for piece in planned.plan.pieces]


def test_what_is_left_is_dealt_in_proportion_and_a_part_that_had_less_tells_it() -> None:
    whole = Budget(1000)
    first, second = whole.parts(600, 200)
    assert [(b.most, b.less) for b in (first, second)] == [(600, False), (200, False)]
    first.take(600)
    assert first.spent
    assert not whole.cut_short
    third, fourth = whole.parts(600, 200)
    assert [(b.most, b.less) for b in (third, fourth)] == [(300, True), (100, True)]
    third.share(3).take(99)
    assert not whole.cut_short
    fourth.share(2).take(50)
    assert whole.cut_short
    assert not third.cut_short


def test_runs_that_ask_for_too_much_together_are_told_and_none_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    shares: list[Budget] = []

    def kept(most: int, whole: Budget | None = None) -> Budget:
        shares.append(Budget(most, whole))
        return shares[-1]

    monkeypatch.setattr(planning, "Budget", kept)
    monkeypatch.setattr(planning, "RUNS", FEW)
    planned = list(plan_job(job(*[HARD] * 12), choices=False))
    assert [p.cut_short for p in planned][1:] == [True] * 11
    assert all(p.plan is not None for p in planned)
    whole = shares[0]
    # a first split and the narrowest order are looked for in any case
    assert whole.most == FEW + 12 * RUN_AT_LEAST
    assert whole.done <= 1.5 * whole.most


def test_one_run_alone_is_not_told() -> None:
    assert [p.cut_short for p in plan_job(job(HARD), choices=False)] == [False]


def test_the_pieces_of_a_run_that_is_not_told_are_those_of_its_card(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "RUNS", FEW)
    made = job(EASY, HARD, turning("workshop, along the beams", 3, 55.0), *[HARD] * 9, EASY)
    planned = list(plan_job(made, choices=False))
    own = [p for p in planned if not p.cut_short]
    assert {"PH-1", "PH-3", "PH-13"} <= {p.key for p in own}
    for one in own:
        assert lengths(one) == [piece.cut_length_mm for piece in plan_one(one.run, Job(head=JobHead(name="x"))).pieces]


def test_many_easy_runs_have_enough_each() -> None:
    """What is kept for each is more than two bends need, and stays for who needs more."""
    planned = list(plan_job(job(*[EASY] * 99, HARD), choices=False))
    assert not any(p.cut_short for p in planned)


def test_the_demo_job_is_ordered_as_its_cards_are() -> None:
    """One of its forty runs has nine bends on one stick."""
    demo = job_from_data(json.loads((EXAMPLES / "orchard-job.json").read_text(encoding="utf-8")))
    planned = list(plan_job(demo, choices=False))
    assert max(len(piece.bends) for p in planned if p.plan for piece in p.plan.pieces) == 9
    assert not any(p.cut_short for p in planned)


def test_a_bill_names_each_run_that_was_cut_short_and_answers_the_same_again() -> None:
    request = json.dumps({"job": a_job(*((f"k{n}", HARD) for n in range(8)), ("e", EASY)) | {"id": "1" * 32}})
    once = ask_json("job_bill", request)
    told = [f for f in json.loads(once)["findings"] if f["rule"] == "job.search"]
    assert {f["where"] for f in told} <= {f"k{n}" for n in range(8)}
    assert {f["severity"] for f in told} == {"caution"}
    # the last has besides what the others left of theirs
    assert len(told) == 7
    assert ask_json("job_bill", request) == once
