import json
from typing import Any

import pytest
from ask_samples import saddle_survey

from racewright.job.plan_job import plan_job
from racewright.operations.answer import ask_json
from racewright.records.parse import job_from_data


def asked(**request: Any) -> Any:
    return json.loads(ask_json("order", json.dumps(request)))


def test_two_runs_are_billed_and_cut_from_one_stick() -> None:
    runs = [{"key": "A", "survey": saddle_survey()}, {"key": "B", "survey": saddle_survey(name="Second")}]
    answer = asked(runs=runs)
    assert answer["findings"] == []
    bought = {row[0]: row[1:] for row in answer["bill"]["rows"]}
    assert bought["EMT 1/2, 10 ft"][0] == "1"
    assert bought["EMT 1/2 set-screw connector"][0] == "4"
    # 58 7/8 twice and two saw cuts of 1/16 come out of 120
    assert [row[4] for row in answer["cuts"]["rows"]] == ["58 7/8", "58 7/8"]
    assert answer["cuts"]["rows"][1][5] == "117 13/16"
    assert "no plan can do with fewer" in answer["sums"]["rows"][0][1]


def test_what_is_cut_already_stays_in_the_bill_and_leaves_the_cut_list() -> None:
    answer = asked(runs=[{"key": "A", "survey": saddle_survey(), "status": "in"}])
    assert answer["cuts"]["rows"] == []
    assert any(row[0].startswith("EMT 1/2") for row in answer["bill"]["rows"])


def test_a_run_without_a_plan_is_named_and_the_others_go_on() -> None:
    broken = saddle_survey(name="Too short", walk=[{"leg": "3"}, {"turn": "left"}, {"leg": "40"}])
    answer = asked(runs=[{"key": "A", "survey": saddle_survey()}, {"key": "B", "survey": broken}])
    (lost,) = answer["findings"]
    assert (lost["rule"], lost["severity"], lost["where"]) == ("job.no_plan", "problem", "Too short")
    assert len(answer["cuts"]["rows"]) == 1


@pytest.mark.parametrize(
    ("runs", "said"), [([], "runs"), ([{"key": "A", "survey": saddle_survey()}] * 2, "two runs are called 'A'")]
)
def test_senseless_orders_are_refused_in_words(runs: list[dict[str, Any]], said: str) -> None:
    error = asked(runs=runs)["error"]
    assert said in f"{error['message']} {error['field']}"


def test_an_own_bender_cuts_its_own_lengths() -> None:
    own = {"raceway": "EMT", "size": "1/2", "take_up": "9", "gain": "5"}
    usual = asked(runs=[{"key": "A", "survey": saddle_survey()}])
    mine = asked(runs=[{"key": "A", "survey": saddle_survey(), "bender": own}])
    alone = json.loads(ask_json("plan", json.dumps({"survey": saddle_survey(), "bender": own})))
    assert mine["cuts"]["rows"][0][4] == alone["plan"]["pieces"][0]["cut_length_tape"]
    assert mine["cuts"]["rows"][0][4] != usual["cuts"]["rows"][0][4]


def test_a_bend_radius_of_the_survey_goes_before_the_own_bender_kept_for_the_raceway() -> None:
    own = {"raceway": "EMT", "size": "1/2", "take_up": "9", "gain": "5"}
    survey = saddle_survey(bend_radius="6")
    cuts = []
    for more in ({}, {"bender": own}):
        for operation in ("plan", "sketch", "card", "check"):
            told = [json.loads(ask_json(operation, json.dumps({"survey": survey} | x))) for x in ({}, more)]
            assert told[0] == told[1], operation
        answer = asked(runs=[{"key": "A", "survey": survey} | more])
        assert answer["findings"] == []
        cuts.append(answer["cuts"])
    assert cuts[0] == cuts[1]
    named = json.loads(ask_json("plan", json.dumps({"survey": survey, "bender_name": "emt-1/2"})))
    assert named["bender_words"].startswith("emt-1/2: take-up 5")


@pytest.mark.parametrize(("stock", "leg"), [("500 ft", "4"), ("500 ft", "350 ft"), ("3000 ft", "1200 ft")])
def test_a_stick_of_any_length_that_a_run_may_name_is_cut_from(stock: str, leg: str) -> None:
    long = saddle_survey(stock=[stock], walk=[{"leg": leg}])
    answer = asked(runs=[{"key": "A", "survey": long}])
    assert answer["findings"] == []
    (cut,) = answer["cuts"]["rows"]
    alone = json.loads(ask_json("plan", json.dumps({"survey": long})))
    assert cut[4] == alone["plan"]["pieces"][0]["cut_length_tape"]


def test_a_stick_longer_than_any_run_is_told_by_its_field_with_the_limit() -> None:
    survey = saddle_survey(stock=["10 ft", "4000 ft"])
    error = json.loads(ask_json("plan", json.dumps({"survey": survey})))["error"]
    assert error["field"] == "survey.run.stock[1]"
    (lost,) = asked(runs=[{"key": "A", "survey": survey}])["findings"]
    assert lost["where"] == survey["run"]["name"]
    for told in (error["message"], lost["message"]):
        assert "run.stock[1]" in told
        assert "it is 4000 ft, and the most taken is 3280.84 ft" in told
        assert "_mm" not in told


def test_an_order_takes_what_the_cards_say_without_what_only_a_card_tells() -> None:
    job = job_from_data(
        {"racewright_job": 1, "head": {"name": "orchard"}, "runs": [{"key": "A", "survey": saddle_survey()}]}
    )
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
    runs = [{"key": "A", "survey": far}, {"key": "B", "survey": saddle_survey()}]
    answer = asked(runs=runs)
    assert answer["not_included"][0].startswith(
        "Far end: no stick is long enough, so nothing of it is counted or cut. "
    )
    assert {f["rule"] for f in answer["findings"] if f["where"] == "Far end"} >= {"run.sticks"}
    (cut,) = answer["cuts"]["rows"]
    assert "B" in cut
