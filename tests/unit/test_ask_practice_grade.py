"""A finished practice piece: points by the teacher's own rules, and the slip that likely made each error."""

from __future__ import annotations

import json
from math import cos, radians, sin, tan
from typing import Any

import pytest

from racewright.operations.answer import ask_json


def survey(*walk: dict[str, Any], units: str = "in") -> dict[str, Any]:
    run = {
        "name": "Practice",
        "raceway": "EMT 1/2",
        "start": {"fitting": "none"},
        "end": {"fitting": "none"},
        "walk": list(walk),
    }
    return {"racewright": 1, "units": units, "run": run}


STUB = survey({"leg": "13 1/4"}, {"turn": "away"}, {"leg": "35"})
U = survey({"leg": "14 1/2"}, {"turn": "away"}, {"leg": "28 7/8"}, {"turn": "away"}, {"leg": "17 3/8"})
OFFSET = survey({"leg": "70", "features": [{"offset": {"rise": "8 3/4", "starts_at": "22 1/4", "angle": "45"}}]})


def grade(run: dict[str, Any], reads: dict[str, str], **request: Any) -> dict[str, Any]:
    readings = [{"key": key, "reads": text} for key, text in reads.items()]
    answer = ask_json("practice_grade", json.dumps({"survey": run, "readings": readings, **request}))
    data: dict[str, Any] = json.loads(answer)
    return data


def of(answer: dict[str, Any], what: str) -> dict[str, Any]:
    return {check["key"]: check[what] for check in answer["checks"]}


def test_without_readings_it_says_what_to_measure() -> None:
    answer = grade(STUB, {})
    assert of(answer, "wanted") == {"length 1": '13 1/4"', "length 2": '35"', "angle 1": "90°", "dog-leg": '0"'}
    assert of(answer, "words")["length 1"] == "end A to the back of the 90 at mark 1"
    assert (answer["graded"], answer["words"], answer["passed"]) == (False, "", False)


def test_a_piece_as_wanted_loses_nothing() -> None:
    answer = grade(STUB, {"length 1": "13 1/4", "length 2": "35", "angle 1": "90", "dog-leg": "0"})
    assert (answer["points"], answer["causes"], answer["words"]) == (100.0, [], "100 of 100 points: passed.")


def test_each_error_by_the_teacher_s_rule() -> None:
    """1/8 and each further 1/8 begun 5 points; 1 degree and each further one 5. 13 3/8 is 1/8 off: nothing. 35 1/2 is
    3/8 over what is allowed: 15. 93 is 2 degrees over: 10. A dog-leg of 3/16 has begun the first 1/8: 5. 70 passes."""
    answer = grade(STUB, {"length 1": "13 3/8", "length 2": "35 1/2", "angle 1": "93", "dog-leg": "3/16"})
    assert of(answer, "deduction") == {"length 1": 0.0, "length 2": 15.0, "angle 1": 10.0, "dog-leg": 5.0}
    assert of(answer, "off") == {
        "length 1": "",
        "length 2": '1/2" too much',
        "angle 1": "3° too much",
        "dog-leg": '3/16"',
    }
    assert answer["words"] == "70 of 100 points: passed."
    stricter = grade(STUB, {"length 1": "13 3/8", "length 2": "35 1/2", "angle 1": "93", "dog-leg": "3/16"}, scheme={
        "length": {"within": "1/16", "step": "1/16", "points": 2, "most": 9}, "passes_at": 80,
    })  # fmt: skip
    # 1/16 over: 2; 7/16 over: 14, of which 9 at most; 10 and 5 as before
    assert of(stricter, "deduction") == {"length 1": 2.0, "length 2": 9.0, "angle 1": 10.0, "dog-leg": 5.0}
    assert stricter["words"] == "74 of 100 points: below 80, not passed."


def test_time_is_graded_where_the_teacher_says_so() -> None:
    reads = {"length 1": "13 1/4", "length 2": "35", "angle 1": "90", "dog-leg": "0"}
    rule = {"time": {"minutes": 10, "points": 2, "most": 9}}
    # 12.5 minutes: two and a begun third over
    late = grade(STUB, reads, minutes=12.5, scheme=rule)
    assert (late["time_deduction"], late["points"], late["time_words"]) == (6.0, 94.0, "12.5 minutes of 10.")
    assert grade(STUB, reads, minutes=9.0, scheme=rule)["points"] == 100.0
    assert grade(STUB, reads, minutes=90.0, scheme=rule)["points"] == 91.0
    assert grade(STUB, reads, minutes=90.0)["points"] == 100.0


def test_what_is_not_measured_is_told_and_nothing_is_passed_by_it() -> None:
    answer = grade(STUB, {"length 1": "13 1/4"})
    assert answer["passed"] is False
    assert answer["words"] == "100 of 100 points so far: not all is measured."
    assert "angle at mark 1" in answer["not_included"][0]


def test_a_mark_in_the_wrong_place() -> None:
    """The stub is 1 inch too long and the other leg 1 too short: the bend stands an inch too far out."""
    answer = grade(STUB, {"length 1": "14 1/4", "length 2": "34", "angle 1": "90", "dog-leg": "0"})
    said = of(answer, "cause")
    assert said["length 1"] == said["length 2"] == 'the bend at mark 1 stands 1" too far from end A'
    assert len(answer["causes"]) == 1


def test_the_gain_left_out() -> None:
    """The middle leg of a U too long by the gain, 2 5/8, and the last too short by as much."""
    answer = grade(
        U,
        {
            "length 1": "14 1/2",
            "length 2": "31 1/2",
            "length 3": "14 3/4",
            "angle 1": "90",
            "angle 2": "90",
            "dog-leg": "0",
        },
    )
    said = of(answer, "cause")
    assert said["length 2"] == 'the bend at mark 2 stands 2 5/8" too far from end A (about the gain: was it left out?)'
    assert said["length 3"] == said["length 2"]


def test_the_cut() -> None:
    answer = grade(STUB, {"length 1": "13 1/4", "length 2": "34 1/2", "angle 1": "90", "dog-leg": "0"})
    assert of(answer, "cause")["length 2"] == 'the piece is cut 1/2" too short'


def offset_reads(first_deg: float, second_deg: float, twist_deg: float = 0.0) -> dict[str, str]:
    """An offset's readings by its own kinematics (in), hook toward A: each arc begins where it is marked, R as taught
    for EMT 1/2. x along the first leg, y the rise, z out of the plane."""
    radius = (2.625 - 0.706) / (2.0 - 3.141592653589793 / 2.0)
    rise, start, wanted = 8.75, 22.25, radians(45.0)
    # from corner to corner rise / sin, less a tangent at each end; then along the first arc
    tangent = radius * tan(wanted / 2.0)
    one = start - tangent
    two = one + radius * wanted + rise / sin(wanted) - 2.0 * tangent
    length = 70.0 + rise * (1.0 / sin(wanted) - 1.0 / tan(wanted)) - 2.0 * (2.0 * tangent - radius * wanted)
    a, b, roll = radians(first_deg), radians(second_deg), radians(twist_deg)
    x, y = one + radius * sin(a), radius * (1.0 - cos(a))
    slope = two - one - radius * a
    x, y = x + slope * cos(a), y + slope * sin(a)
    # the second bend turns about the slope's own axis by `roll` from straight back
    forward = radius * sin(b)
    back = radius * (1.0 - cos(b))
    inward = (sin(a) * cos(roll), -cos(a) * cos(roll), sin(roll))
    along = (cos(a), sin(a), 0.0)
    bend = (x, y, 0.0)
    end = [bend[k] + forward * along[k] + back * inward[k] for k in range(3)]
    axis = [cos(b) * along[k] + sin(b) * inward[k] for k in range(3)]
    left = length - two - radius * b
    tip = [end[k] + left * axis[k] for k in range(3)]
    return {
        "length 1": f"{tip[0]:.3f}",
        "rise 2": f"{end[1]:.3f}",
        "angle 1": f"{first_deg:g}",
        "angle 2": f"{second_deg:g}",
        "dog-leg": f"{abs(tip[2]):.3f}",
    }


def test_the_offset_s_own_kinematics_meet_the_wanted_figures() -> None:
    answer = grade(OFFSET, offset_reads(45.0, 45.0))
    assert (answer["points"], answer["causes"]) == (100.0, [])


@pytest.mark.parametrize(
    ("reads", "cause"),
    [
        (offset_reads(48.0, 45.0), "mark 1 was bent 3° too far"),
        (offset_reads(45.0, 42.0), "mark 2 was bent 3° too little"),
        (offset_reads(47.0, 47.0), "every bend came out 2° too large"),
        # mark 2 is bent first, so that mark 1 is the one that was sighted on it
        (offset_reads(45.0, 45.0, 4.0), "the conduit was turned by 4° too much or too little for mark 1"),
    ],
)
def test_one_slip_is_found_among_all_that_it_makes_wrong(reads: dict[str, str], cause: str) -> None:
    answer = grade(OFFSET, reads)
    assert [line.partition(":")[0] for line in answer["causes"]] == [cause]
    wrong = [check for check in answer["checks"] if check["deduction"]]
    assert wrong
    assert {check["cause"] for check in wrong} == {cause}


@pytest.mark.parametrize(
    ("reads", "said"),
    [
        ({"rise 1": "3"}, "is no check of this piece"),
        ({"length 1": "thirteen"}, "thirteen"),
        ({"angle 1": "400"}, "from 0 to 180 degrees"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name(reads: dict[str, str], said: str) -> None:
    error = grade(STUB, reads)["error"]
    assert said in error["message"]
    assert error["field"].startswith("readings[0].")


def test_a_straight_piece_has_nothing_to_grade() -> None:
    assert grade(survey({"leg": "40"}), {})["error"]["field"] == "survey"


@pytest.mark.parametrize(
    "kind", ["stub", "back to back", "offset", "saddle 3", "saddle 4", "kick", "rolling offset", "combined"]
)
def test_every_kind_can_be_graded_in_both_units(kind: str) -> None:
    for units in ("in", "mm"):
        sheet = json.loads(ask_json("practice", json.dumps({"seed": 3, "count": 1, "kinds": [kind], "units": units})))
        run = sheet["problems"][0]["survey"]
        wanted = of(grade(run, {}), "wanted")
        right = grade(run, {key: text.rstrip('"°') for key, text in wanted.items()})
        assert (right["points"], right["passed"]) == (100.0, True), kind


@pytest.mark.parametrize(("offsets", "graded"), [(6, True), (7, False)])
def test_a_piece_of_more_bends_than_any_practice_has_is_not_graded(offsets: int, graded: bool) -> None:
    ways = ("away", "toward")
    over = [
        {"offset": {"rise": "3", "angle": "30", "toward": ways[k % 2], "starts_at": str(12 + 30 * k)}}
        for k in range(offsets)
    ]
    asked = survey({"leg": str(30 * offsets + 20), "features": over})
    asked["run"]["stock"] = ["600"]
    answer = json.loads(ask_json("practice_grade", json.dumps({"survey": asked})))
    if graded:
        assert answer["checks"]
    else:
        assert answer["error"]["message"] == "the piece has 14 bends; one of up to 12 is graded."
