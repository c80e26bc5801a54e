"""Every operation answers, and answers what the command line answers."""

from __future__ import annotations

import json
import re
from math import isclose
from pathlib import Path
from typing import Any

import msgspec
import pytest
from ask_samples import EXAMPLES, example_data, saddle_survey
from door_requests import one_of_each

from racewright.browser import warm_up
from racewright.cards.text.bend_card import text_card
from racewright.cli.main import main as command
from racewright.operations.answer import answer, ask_json
from racewright.operations.common import Refused
from racewright.operations.operations import OPERATIONS
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file


def asked(operation: str, **request: Any) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(ask_json(operation, json.dumps(request)))
    assert "error" not in data, data
    return data


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_plan_is_the_plan_of_the_command_line(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    got = asked("plan", survey=example_data(path), pictures=["side", "card", "strip", "text"])
    assert got["plan"] == json.loads(msgspec.json.encode(plan))
    assert got["text"] == text_card(plan, colour=False)
    assert len(got["side"]) == len(got["paths"]) == len(plan.pieces)
    assert all(svg.startswith("<svg") for svg in (*got["card"], *got["strip"], *(s["svg"] for s in got["side"])))


def test_paths_end_where_the_plan_ends() -> None:
    got = asked("plan", survey=saddle_survey(), pictures=[])
    path, corners = got["paths"][0], got["plan"]["corners_mm"]
    assert got["side"] == []
    assert got["card"] == []
    for a, b in ((path["points"][0], corners[0]), (path["points"][-1], corners[-1])):
        assert all(isclose(x, y, abs_tol=1e-6) for x, y in zip(a, b, strict=True))
    assert len(path["bend_middles"]) == 3


def test_own_bender_moves_the_marks_by_its_take_up() -> None:
    """A longer take-up at the same gain moves every arrow mark by the difference, to 1e-9 mm."""
    usual = asked("plan", survey=saddle_survey())["plan"]
    own = {"raceway": "EMT", "size": "1/2", "take_up": "5 1/4 in", "gain": "2 5/8 in"}
    got = asked("plan", survey=saddle_survey(), bender=own)["plan"]
    shift = 25.4 / 4.0
    for a, b in zip(usual["pieces"][0]["bends"], got["pieces"][0]["bends"], strict=True):
        assert isclose(a["all_marks_mm"]["A arrow"] - b["all_marks_mm"]["A arrow"], shift, abs_tol=1e-9)


def test_fraction_rounds_marks() -> None:
    got = asked("plan", survey=saddle_survey(), fraction=2)["plan"]
    for bend in got["pieces"][0]["bends"]:
        assert bend["mark_tape"].split(" ")[-1].split("/")[-1] in ("2", bend["mark_tape"])
        assert abs(bend["mark_rounding_mm"]) <= 25.4 / 4.0 + 1e-9


def test_card_has_pages_of_the_paper() -> None:
    got = asked("card", survey=saddle_survey(), what="strip", paper="a4")
    assert (got["width_mm"], got["height_mm"]) in ((210.0, 297.0), (297.0, 210.0))
    assert got["pages"][0].startswith("<svg")


def test_parse_length_is_exact_and_says_both_units() -> None:
    got = asked("parse_length", text="2 ft 3 5/16")
    assert got["mm"] == pytest.approx((27 + 5 / 16) * 25.4, abs=1e-12)
    assert (got["tape"], got["inches"], got["millimetres"], got["off_mm"]) == ("27 5/16", '27 5/16"', "694 mm", 0.0)


def test_choices_agree_with_the_shape() -> None:
    """6 in of rise at 30 degrees: the rule's 12 in from mark to mark, less what the arcs save (under 1/8 in)."""
    rows = asked("shape", shape={"name": "offset", "rise": "6"})["choices"]["rows"]
    row = next(r for r in rows if r["angle_deg"] == 30.0)
    assert row["possible"]
    assert 12 * 25.4 - 3.2 < row["spacing"]["mm"] < 12 * 25.4
    steep = asked("shape", shape={"name": "offset", "rise": "1/2", "angle": "10"})["choices"]["rows"][-1]
    assert not steep["possible"]
    assert steep["spacing"] is None
    assert "rise" in steep["reason"]


def test_tweak_brings_the_far_end_back() -> None:
    got = asked("tweak", survey=saddle_survey(), measured=[{"what": "off", "way": "up", "off": "3/8"}])
    assert got["moves"]
    moves, _, room = got["words"]
    assert all(move["words"] for move in got["moves"])
    assert re.match(r'The far end moves .*" down', moves)
    assert room.startswith("Room left: ")
    off = got["corrected"][-1][2] - got["planned"][-1][2]
    assert abs(off) < 4.0, "the hand's step of half a degree leaves up to 4 mm"


def test_tweak_of_a_good_piece_does_nothing() -> None:
    got = asked("tweak", survey=saddle_survey(), measured=[{"what": "off", "way": "up", "off": "0"}])
    assert got["moves"] == []
    assert got["words"] == [
        'Leave it. What you measured is right within 1/16" and 1/4°.',
        'Room left: 1/4" to suction pipe.',
    ]


@pytest.mark.parametrize(
    ("run", "why"),
    [
        ({}, 'Each way alone it is within 1/16"; a fitting takes an end that is off by 3/4" across and 3/8" along.'),
        (
            {"end": {"fitting": "none"}},
            'Each way alone it is within 1/16"; an open end may be off by 1" across and 1" along.',
        ),
    ],
)
def test_a_piece_that_is_left_is_told_why_where_it_is_off_by_more_than_a_correction_leaves(
    run: dict[str, Any], why: str
) -> None:
    survey = saddle_survey()
    survey["run"] |= run
    ways = [{"what": "off", "way": way, "off": "1.5 mm"} for way in ("up", "left", "long")]
    got = asked("tweak", survey=survey, measured=ways)
    assert got["moves"] == []
    assert got["words"][0] == f'Leave it. What you measured is right within 1/8" and 1/4°. {why}'


def test_remark_keeps_marks_when_all_went_to_plan() -> None:
    got = asked("remark", survey=saddle_survey(), made=[{"number": 1}])
    assert got["met"]
    assert sorted(m["number"] for m in got["marks"]) == [2, 3]
    for mark in got["marks"]:
        assert isclose(mark["mark"]["mm"], mark["was"]["mm"], abs_tol=0.05)


def test_remark_after_an_overbend_meets_the_fitting() -> None:
    got = asked("remark", survey=saddle_survey(), made=[{"number": 1, "angle_deg": 24.5}])
    assert got["met"]
    assert any(abs(m["mark"]["mm"] - m["was"]["mm"]) > 1.0 for m in got["marks"])


def test_catalogue_names_are_taken_back() -> None:
    got = asked("catalogue")
    for raceway in got["raceways"][:6]:
        if raceway["bender"]:
            asked("shape", shape={"name": "offset", "rise": "12"}, bender_name=raceway["bender"])
    assert "none" in got["end_fittings"]
    assert "set-screw" in got["end_fittings"]
    assert [u["unit"] for u in got["units"]] == ["in", "mm"]


def test_schema_is_the_published_one() -> None:
    assert "run" in json.dumps(asked("schema")["survey"])


def test_every_operation_takes_what_it_says() -> None:
    """Every answer is of its declared type (round trip through it)."""
    requests = one_of_each()
    for name, operation in OPERATIONS.items():
        got = answer(name, requests[name])
        assert not isinstance(got, Refused), (name, got)
        msgspec.json.decode(msgspec.json.encode(got), type=operation.answer)


def test_warm_up_gives_the_same_answer_whenever_it_is_asked() -> None:
    first = warm_up()
    assert first == ask_json("catalogue", "{}") == warm_up()
    assert "error" not in json.loads(first)


def test_a_correction_says_what_it_does_to_the_far_end_and_what_it_leaves_off(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The page's answer has the sentences of the command, after the moves."""
    survey = next(path for path in EXAMPLES if path.stem == "pump-house-saddle")
    assert command(["tweak", str(survey), "--angle", "1=21"]) == 0
    said = capsys.readouterr().out.splitlines()
    got = asked("tweak", survey=example_data(survey), measured=[{"what": "angle", "number": 1, "angle_deg": 21}])
    end, left, *_ = got["words"]
    assert set(got["words"]) <= set(said)
    assert re.fullmatch(r"The far end .*, and the last leg turns by .*°\.", end)
    assert re.fullmatch(r"What you measured is then right within .*\.", left)


def test_new_marks_that_no_hand_can_make_are_a_problem_in_the_words_of_the_command(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What would bring the end right swings a part through the floor."""
    survey = next(path for path in EXAMPLES if path.stem == "packing-shed-two-turns")
    made = {1: 70, 2: 30, 5: 32.5}
    told = [part for number, angle in made.items() for part in ("--made", f"{number}: angle {angle}")]
    assert command(["remark", str(survey), *told, "--have", "20 ft"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    readings = [{"number": number, "angle_deg": angle} for number, angle in made.items()]
    got = asked("remark", survey=example_data(survey), made=readings, stock="20 ft")
    problems = [f for f in got["findings"] if f["severity"] == "problem"]
    assert all(f"{f['message']} [{f['rule']}; {f['citation']}]" in said for f in problems)
    assert said.count("problem: ") == len(problems)
    assert any("cannot be bent by hand" in f["message"] and "below the floor" in f["message"] for f in problems)


@pytest.mark.parametrize("stock", [{}, {"stock": "58 7/8"}])
def test_new_marks_stay_within_the_conduit_in_hand(stock: dict[str, str]) -> None:
    """A first bend far too sharp asks for more conduit than was cut: told or not, no mark relies on it."""
    got = asked("remark", survey=saddle_survey(), made=[{"number": 1, "angle_deg": 60}], **stock)
    assert got["cut"]["mm"] <= asked("plan", survey=saddle_survey())["plan"]["pieces"][0]["cut_length_mm"] + 1.0


def test_the_list_of_shoes_tells_each_ones_hook_reach() -> None:
    reach = {shoe["raceway"]: shoe["hook_reach_mm"] / 25.4 for shoe in asked("catalogue")["benders"]}
    assert reach["EMT 3/4"] == pytest.approx(1.5)
    assert reach["EMT 1"] == pytest.approx(2.0)
    assert reach["EMT 1-1/4"] == pytest.approx(3.0)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_the_plan_has_its_shapes_at_other_angles_and_each_step_names_its_bend(path: Path) -> None:
    survey = example_data(path)
    got = asked("plan", survey=survey, pictures=[])
    plan = got["plan"]
    bends = {(n, b["number"]): b for n, p in enumerate(plan["pieces"], start=1) for b in p["bends"]}
    steps = [(s["piece"], s["bend"]) for s in plan["steps"] if s["kind"] == "bend"]
    assert steps == sorted(bends, key=lambda key: (key[0], bends[key]["order"]))
    assert all(s["bend"] is None for s in plan["steps"] if s["kind"] != "bend")
    assert {s["piece"] for s in plan["steps"]} == set(range(1, len(plan["pieces"]) + 1))
    tables = {table["field"]: table for table in got["angles"]}
    for shape in plan["shapes"]:
        own = [b for b in bends.values() if b["shape"] == shape["label"]]
        assert own
        assert isclose(own[0]["angle_deg"], shape["angle_deg"], abs_tol=1e-9)
        if shape["kind"] in ("turn", "kick"):
            assert shape["field"] not in tables
            continue
        table = tables.pop(shape["field"])
        kind = {"saddle 3": "saddle", "saddle 4": "four-bend-saddle"}.get(shape["kind"], "offset")
        flat = {"flat": f"{shape['flat_mm']:.9f} mm"} if kind == "four-bend-saddle" else {}
        size = survey["run"]["raceway"].partition(" ")
        same = asked(
            "shape",
            shape={"name": kind, "rise": f"{shape['rise_mm']:.9f} mm", "angle": f"{shape['angle_deg']:.9f}", **flat},
            raceway=size[0],
            size=size[2],
            bender_name=survey["run"].get("bender", ""),
            unit=plan["tape"]["unit"],
            fraction=plan["tape"]["denominator"],
        )["choices"]
        others = {row["angle_deg"]: row for row in same["rows"]}
        for number, mine in enumerate(table["rows"]):
            if shape["crossing"] is not None and number != table["planned"]:
                continue  # raised, or flat on top, as far as that angle needs to clear what it goes over
            other = others[mine["angle_deg"]]
            assert [mine[k] and mine[k]["mm"] for k in ("spacing", "shrink", "room")] == pytest.approx(
                [other[k] and other[k]["mm"] for k in ("spacing", "shrink", "room")], abs=1e-6
            )
            # only the run knows what room is there
            assert mine["limit"] == "room" or mine["reason"] == other["reason"]
        assert isclose(table["rows"][table["planned"]]["angle_deg"], shape["angle_deg"], abs_tol=0.05)
    assert not tables
