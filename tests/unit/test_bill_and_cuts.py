"""The bill and the cut list of a job, as the page asks for them: with the whole record."""

import json
from typing import Any

import pytest
from ask_samples import a_job, listed, saddle_survey

from racewright.job.plan_job import plan_job
from racewright.operations.answer import ask_json
from racewright.records.parse import job_from_data

RUN, TOOL = "1" * 32, "2" * 32
OWN = {"raceway": "EMT", "size": "1/2", "take_up": "9", "gain": "5"}


def entry(what: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"run": RUN, "what": what, **more}


def one_run(survey: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A job of one run, whose id is known."""
    job = a_job(("A", survey))
    job["runs"][0] |= {"id": RUN} | more
    return job


def on_own_tool(survey: dict[str, Any]) -> dict[str, Any]:
    tools = [{"id": TOOL, "revision": 1, "name": "blue half", "profile": OWN}]
    return one_run(survey, tool={"id": TOOL, "revision": 1}) | {"tools": tools}


def plan_alone(**request: Any) -> Any:
    return json.loads(ask_json("plan", json.dumps(request)))


def cut_lengths(job: dict[str, Any]) -> list[str]:
    return [row[6] for row in listed("job_cut", job)[1]["Cut list"]]


def test_two_runs_are_billed_and_cut_from_one_stick() -> None:
    job = a_job(("A", saddle_survey()), ("B", saddle_survey(name="Second")))
    (bill, tables), (cuts, cut_tables) = listed("job_bill", job), listed("job_cut", job)
    assert bill["findings"] == cuts["findings"] == []
    bought = {row[1]: row[2] for row in tables["Bill"]}
    assert bought["EMT 1/2, 10 ft"] == "1"
    assert bought["EMT 1/2 set-screw connector"] == "4"
    # 58 7/8 twice and two saw cuts of 1/16 come out of 120
    assert [row[6:8] for row in cut_tables["Cut list"]] == [["58 7/8", "58 7/8"], ["58 7/8", "117 13/16"]]
    assert "no plan can do with fewer" in cut_tables["Cut sums"][0][1]


def test_what_the_record_says_is_on_the_bill() -> None:
    """Wires and items of the run, stock and prices of the job."""
    job = one_run(saddle_survey(), wires=[{"size": "12", "count": 3}], items=[{"item": "4 in square box", "count": 2}])
    job["head"]["stock"] = [{"raceway": "EMT 1/2", "length": "60", "offcut": True}]
    job["prices"] = {"currency": "USD", "items": [{"item": "4 in square box", "price": "3.85"}]}
    told, tables = listed("job_bill", job)
    bill = {row[1]: row for row in tables["Bill"]}
    assert bill["4 in square box"][2:7] == ["2", "each", "3.85", "each", "7.70"]
    assert any("12" in item and row[0] == "wire" for item, row in bill.items())
    assert "EMT 1/2, 10 ft" not in bill  # it is cut from what is on hand
    assert not any(line.startswith("Wire: none") for line in told["not_included"])


def test_what_is_cut_already_stays_in_the_bill_and_leaves_the_cut_list() -> None:
    job = one_run(saddle_survey()) | {"entries": [entry({"kind": "status", "status": "in"})]}
    told, tables = listed("job_cut", job)
    assert tables["Cut list"] == []
    assert told["not_included"][0].startswith("Cut already, so not on the cut list: A (in place). ")
    billed, tables = listed("job_bill", job)
    assert any(row[1].startswith("EMT 1/2") for row in tables["Bill"])
    assert "Bought already, yet on the bill: A (in place). Take off what is there." in billed["not_included"]


def test_a_piece_that_is_begun_is_not_cut_again() -> None:
    made = {"kind": "made", "bends": [{"number": 1}]}
    told, tables = listed("job_cut", one_run(saddle_survey()) | {"entries": [entry(made, piece=1)]})
    assert tables["Cut list"] == []
    assert told["not_included"][0].startswith("Cut already, so not on the cut list: A (begun). Finish it by its card")


def test_a_run_without_a_plan_is_named_and_the_others_go_on() -> None:
    broken = saddle_survey(name="Too short", walk=[{"leg": "3"}, {"turn": "left"}, {"leg": "40"}])
    told, tables = listed("job_cut", a_job(("A", saddle_survey()), ("B", broken)))
    (lost,) = told["findings"]
    assert (lost["rule"], lost["severity"], lost["where"]) == ("job.no_plan", "problem", "B")
    assert len(tables["Cut list"]) == 1


def test_an_own_tool_cuts_its_own_lengths() -> None:
    (usual,), (mine,) = cut_lengths(one_run(saddle_survey())), cut_lengths(on_own_tool(saddle_survey()))
    alone = plan_alone(survey=saddle_survey(), bender=OWN)
    assert mine == alone["plan"]["pieces"][0]["cut_length_tape"]
    assert mine != usual


def test_a_bend_radius_of_the_survey_goes_before_the_own_tool_that_the_run_is_on() -> None:
    survey = saddle_survey(bend_radius="6")
    for operation in ("plan", "sketch", "card", "check"):
        told = [
            json.loads(ask_json(operation, json.dumps({"survey": survey} | more))) for more in ({}, {"bender": OWN})
        ]
        assert told[0] == told[1], operation
    assert cut_lengths(one_run(survey)) == cut_lengths(on_own_tool(survey))
    assert plan_alone(survey=survey, bender_name="emt-1/2")["bender_words"].startswith("emt-1/2: take-up 5")


@pytest.mark.parametrize(("stock", "leg"), [("500 ft", "4"), ("500 ft", "350 ft"), ("3000 ft", "1200 ft")])
def test_a_stick_of_any_length_that_a_run_may_name_is_cut_from(stock: str, leg: str) -> None:
    long = saddle_survey(stock=[stock], walk=[{"leg": leg}])
    told, tables = listed("job_cut", one_run(long))
    assert told["findings"] == []
    (cut,) = tables["Cut list"]
    assert cut[6] == plan_alone(survey=long)["plan"]["pieces"][0]["cut_length_tape"]


def test_a_stick_longer_than_any_run_is_told_by_its_field_with_the_limit() -> None:
    survey = saddle_survey(stock=["10 ft", "4000 ft"])
    error = plan_alone(survey=survey)["error"]
    assert error["field"] == "survey.run.stock[1]"
    (lost,) = listed("job_bill", one_run(survey))[0]["findings"]
    assert lost["where"] == "A"
    for told in (error["message"], lost["message"]):
        assert "run.stock[1]" in told
        assert "it is 4000 ft, and the most taken is 3280.84 ft" in told
        assert "_mm" not in told


def test_a_bill_takes_what_the_cards_say_without_what_only_a_card_tells() -> None:
    job = job_from_data(a_job(("A", saddle_survey())))
    (lean,), (whole,) = plan_job(job, choices=False), plan_job(job)
    assert lean.plan is not None
    assert whole.plan is not None
    assert lean.findings == whole.findings
    assert lean.plan.joints == whole.plan.joints
    assert lean.plan.checks == whole.plan.checks
    for ours, theirs in zip(lean.plan.pieces, whole.plan.pieces, strict=True):
        assert ours.bends == theirs.bends
        assert ours.cut_length_mm == theirs.cut_length_mm
        assert len(ours.ways) == 1 < len(theirs.ways)


def test_a_run_that_no_stick_can_give_is_named_and_the_others_are_cut() -> None:
    far = saddle_survey(name="Far end", raceway="EMT 3/4", stock=["19"])
    told, tables = listed("job_cut", a_job(("A", far), ("B", saddle_survey())))
    assert told["not_included"][0].startswith("A: no stick is long enough, so nothing of it is counted or cut. ")
    assert {f["rule"] for f in told["findings"] if f["where"] == "A"} >= {"run.sticks"}
    assert [row[4] for row in tables["Cut list"]] == ["B"]
