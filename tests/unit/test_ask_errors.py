"""What goes wrong comes back as data that names the field and what would work; nothing is ever raised."""

from __future__ import annotations

import json
from typing import Any, NoReturn

import pytest
from ask_samples import saddle_survey

from racewright.errors import InputError
from racewright.operations import answer as answer_module
from racewright.operations.answer import answer, ask_json
from racewright.operations.common import Refused
from racewright.operations.operations import OPERATIONS
from racewright.units.said import said


def trouble(operation: str, request: Any) -> dict[str, Any]:
    data = json.loads(ask_json(operation, json.dumps(request)))
    assert set(data) == {"error"}, data
    error: dict[str, Any] = data["error"]
    assert "Traceback" not in error["message"]
    assert error["message"]
    return error


def with_leg(leg: Any) -> dict[str, Any]:
    survey = saddle_survey()
    survey["run"]["walk"][0]["leg"] = leg
    return survey


#: a take-up and a gain that no one shoe can have
TWO_SHOES = {"raceway": "EMT", "size": "1/2", "take_up": "40 in", "gain": "2.6 in"}


@pytest.mark.parametrize(
    ("operation", "request_", "kind", "field"),
    [
        ("plan", {"survey": with_leg("54x")}, "input", "survey.run.walk[0].leg"),
        ("plan", {"survey": with_leg("1/0")}, "input", "survey.run.walk[0].leg"),
        ("plan", {"survey": with_leg(None)}, "input", ""),
        ("plan", {"survey": saddle_survey(raceway="EMT 9")}, "unknown name", "survey.run.raceway"),
        ("plan", {"survey": saddle_survey(raceway="hose")}, "input", "survey.run.raceway"),
        ("plan", {"survey": saddle_survey(clearance="-1")}, "input", ""),
        ("plan", {"survey": saddle_survey(colour="red")}, "input", "survey.run.colour"),
        ("plan", {}, "input", "survey"),
        ("plan", {"survey": saddle_survey(), "fraction": 7}, "input", "fraction"),
        ("plan", {"survey": saddle_survey(), "bender_name": "no such"}, "unknown name", "bender_name"),
        ("plan", {"survey": saddle_survey(), "side_width_mm": 1e9}, "input", "side_width_mm"),
        ("plan", {"survey": saddle_survey(), "bender": {"raceway": "EMT", "size": "1/2"}}, "input", ""),
        (
            "plan",
            {"survey": saddle_survey(), "bender": {"raceway": "EMT", "size": "1/2", "gain": "x", "take_up": "5 in"}},
            "input",
            "bender.gain",
        ),
        ("parse_length", {"text": "31 5/1x", "field": "centre"}, "input", "centre"),
        ("tweak", {"survey": saddle_survey(), "measured": []}, "input", "measured"),
        (
            "tweak",
            {"survey": saddle_survey(), "measured": [{"what": "off", "way": "up", "off": "?"}]},
            "input",
            "measured[0].off",
        ),
        (
            "tweak",
            {"survey": saddle_survey(), "measured": [{"what": "off", "way": "up", "off": "1"}], "piece": 4},
            "input",
            "piece",
        ),
        ("remark", {"survey": saddle_survey(), "made": [{"number": 9}]}, "input", "made[0].number"),
        (
            "plan",
            {
                "survey": saddle_survey(),
                "bender": TWO_SHOES,
            },
            "input",
            "bender.take_up",
        ),
        ("practice", {"kinds": ["knitting"]}, "unknown name", "kinds"),
        ("practice", {"raceway": "EMT 77"}, "unknown name", "raceway"),
        ("practice", {"count": 4000}, "input", "count"),
        ("nothing of the kind", {}, "unknown name", "operation"),
        ("plan", [], "input", ""),
        ("plan", None, "input", ""),
    ],
)
def test_troubles_are_named(operation: str, request_: Any, kind: str, field: str) -> None:
    error = trouble(operation, request_)
    assert error["kind"] == kind, error
    if field:
        assert error["field"] == field, error
    assert error["hint"] or kind == "limit"


UP = {"what": "off", "way": "up", "off": "1/4"}


@pytest.mark.parametrize(
    ("operation", "request_", "field"),
    [
        ("tweak", {"measured": [UP]}, "survey"),
        ("tweak", {"survey": saddle_survey(), "plan": {}, "measured": [UP]}, "survey"),
        ("tweak", {"plan": {}, "bender_name": "emt-1/2", "measured": [UP]}, "bender_name"),
        ("tweak", {"plan": {"format": "racewright plan 9"}, "measured": [UP]}, "plan.format"),
        ("tweak", {"plan": {"format": "racewright plan 2"}, "measured": [UP]}, "plan"),
        ("tweak", {"survey": with_leg("54x"), "measured": [UP]}, "survey.run.walk[0].leg"),
        ("tweak", {"survey": saddle_survey(), "measured": [{**UP, "way": "forward"}]}, "measured[0].way"),
        ("tweak", {"survey": saddle_survey(), "measured": [UP, {**UP, "station": "40 ft"}]}, "measured[1].station"),
        (
            "tweak",
            {"survey": saddle_survey(), "measured": [{"what": "angle", "number": 4, "angle_deg": 40}]},
            "measured[0].number",
        ),
        ("remark", {"survey": saddle_survey(), "made": [{"number": 1}, {"number": 1}]}, "made[1].number"),
        ("remark", {"survey": saddle_survey(), "made": [{"number": 1, "angle_deg": -5}]}, "made[0].angle_deg"),
        ("remark", {"survey": saddle_survey(), "made": [{"number": 1, "mark": "18", "start": "17"}]}, "made[0].start"),
        ("remark", {"survey": saddle_survey(), "made": [{"number": 1}], "stock": "0"}, "stock"),
        ("diagnose", {"pieces": [{"survey": with_leg("54x"), "measured": []}]}, "pieces[0].survey.run.walk[0].leg"),
        ("diagnose", {"pieces": [{"survey": saddle_survey(), "piece": 3, "measured": []}]}, "pieces[0].piece"),
        (
            "diagnose",
            {"pieces": [{"survey": saddle_survey(), "measured": [{**UP, "off": "some"}]}]},
            "pieces[0].measured[0].off",
        ),
        ("diagnose", {"pieces": [{"survey": saddle_survey(), "measured": []}], "doubt_deg": 0}, "doubt_deg"),
    ],
)
def test_a_question_about_a_bent_piece_names_what_it_cannot_take(operation: str, request_: Any, field: str) -> None:
    error = trouble(operation, request_)
    assert error["kind"] == "input", error
    assert error["field"].startswith(field) if field == "plan" else error["field"] == field, error
    assert error["hint"]


def test_a_list_that_is_too_long_is_told_how_long_it_may_be() -> None:
    error = trouble("remark", {"survey": saddle_survey(), "made": [{"number": 1}] * 121})
    assert "expected a list of at most 120 items, each item with a dash of its own." in error["message"]
    assert error["hint"].startswith("change what stands there")


def test_a_limit_gives_its_numbers() -> None:
    survey = saddle_survey()
    survey["run"]["walk"][0]["features"][0]["saddle"]["centre"] = "2"
    error = trouble("plan", {"survey": survey})
    assert error["kind"] in ("limit", "input")
    assert error["hint"]


def test_what_is_not_json_is_said() -> None:
    for text in ("", "{", "nul", "[" * 100_000, b"\xff\xfe"):
        data = json.loads(ask_json("schema" if text == "" else "plan", text))
        assert ("error" in data) == (text != "")


def test_deep_nesting_is_refused() -> None:
    deep: Any = "x"
    for _ in range(400):
        deep = {"run": deep}
    assert trouble("plan", {"survey": deep})["kind"] == "input"


def test_a_fault_of_the_program_is_data_without_a_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> Any:
        raise ZeroDivisionError("secret /home/someone")

    monkeypatch.setattr(answer_module, "_request", broken)
    got = answer("schema", {})
    assert isinstance(got, Refused)
    assert got.error.kind == "engine"
    assert "secret" not in got.error.message
    assert "ZeroDivisionError" in got.error.message


def test_names_are_escaped_in_pictures() -> None:
    evil = "<script>alert(1)</script>\"'&"
    survey = saddle_survey(name=evil, strap=evil, start={"name": evil}, end={"name": evil})
    survey["run"]["walk"][0]["note"] = evil
    survey["run"]["walk"][0]["features"][0]["saddle"]["name"] = evil
    got = json.loads(ask_json("plan", json.dumps({"survey": survey, "pictures": ["side", "card", "strip"]})))
    pictures = [*got["card"], *got["strip"], *(side["svg"] for side in got["side"])]
    assert pictures
    assert not any("<script" in svg for svg in pictures)
    assert any("&lt;script" in svg for svg in pictures), "the name itself is shown"


def test_a_run_too_long_to_plan_in_time_is_refused_at_once() -> None:
    walk = [part for _ in range(500) for part in ({"leg": "30"}, {"turn": "left"})]
    error = trouble("plan", {"survey": saddle_survey(walk=[*walk, {"leg": "30"}])})
    assert error["kind"] == "limit"
    assert (error["asked"], error["limit"]) == (1001, 81)
    features = [{"saddle": {"centre": str(k), "height": "1"}} for k in range(5000)]
    assert trouble("plan", {"survey": saddle_survey(walk=[{"leg": "30", "features": features}])})["kind"] == "limit"


@pytest.mark.parametrize(
    ("asked", "own", "told"), [(None, None, '3 5/16"'), (None, 4, '3 1/4"'), (None, 32, '3 9/32"'), (2, 32, '3 1/2"')]
)
def test_a_refusal_reads_to_the_fraction_of_the_request_or_else_of_its_survey(
    asked: int | None, own: int | None, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """3.29 in, as the surveyor's own tape shows it."""

    def refuse(*_: object) -> NoReturn:
        raise InputError(said(3.29 * 25.4))

    asks_for = OPERATIONS["plan"]
    assert asks_for.request  # known before its function is exchanged
    monkeypatch.setitem(asks_for.__dict__, "work_out", refuse)
    got = answer("plan", {"survey": saddle_survey() | {"fraction": own}, "fraction": asked})
    assert isinstance(got, Refused)
    assert got.error.message == told


@pytest.mark.parametrize("half", [rb"\ud800", rb"\udc00", rb"\ud83d x", rb"\ude00\ud83d", b"\xed\xa0\x80"])
def test_half_a_character_is_named(half: bytes) -> None:
    told = json.loads(ask_json("catalogue", b'{"a": "' + half + b'"}'))["error"]
    assert (told["message"], told["kind"]) == ("half a character stands in it.", "input")


def test_whole_characters_are_read_and_what_is_no_json_is_called_so() -> None:
    assert "half" not in ask_json("catalogue", b'{"a": "\\ud83d\\ude00"}')
    for text in (b"{", b'{"a": NaN}', b'{"a": "\xff"}'):
        assert json.loads(ask_json("catalogue", text))["error"]["message"].startswith("this is not JSON: ")
