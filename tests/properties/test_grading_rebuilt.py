"""Practice pieces made well or with one slip, measured by kinematics that share no code with the program, and graded.

The kinematics and the readings live in `evidence/graded_pieces.py`.
"""

from __future__ import annotations

import json
import re
from functools import cache
from math import radians
from typing import Any

import pytest

from graded_pieces import INCH, Made, drawn, measured, shapes
from racewright.operations.answer import ask_json

KINDS = ("stub", "back to back", "offset", "saddle 3", "saddle 4", "kick", "rolling offset", "combined")
#: Pieces with a bend that is sighted on another.
TURNED = KINDS[1:]


@cache
def sheet(kind: str) -> tuple[tuple[dict[str, Any], dict[str, Any]], ...]:
    """Two problems: the survey, and its planned piece."""
    asked = json.dumps({"seed": 31, "count": 2, "kinds": [kind], "raceway": "EMT 1/2"})
    surveys = [problem["survey"] for problem in json.loads(ask_json("practice", asked))["problems"]]
    return tuple((s, json.loads(ask_json("plan", json.dumps({"survey": s})))["plan"]["pieces"][0]) for s in surveys)


def graded(survey: dict[str, Any], piece: dict[str, Any], bends: list[Made], more_mm: float = 0.0) -> dict[str, Any]:
    reads = measured(piece, bends, piece["cut_length_mm"] + more_mm)
    readings = [{"key": key, "reads": text} for key, text in reads.items()]
    answer: dict[str, Any] = json.loads(
        ask_json("practice_grade", json.dumps({"survey": survey, "readings": readings}))
    )
    assert "error" not in answer, answer
    assert answer["whole"], answer["words"]
    return answer


def turned(bends: list[Made], marks: range | list[int], by_deg: float) -> list[Made]:
    """`marks` count from 0."""
    return [b._replace(roll=b.roll + radians(by_deg)) if k in marks else b for k, b in enumerate(bends)]


def first_bent(piece: dict[str, Any]) -> int:
    return min(range(len(piece["bends"])), key=lambda k: piece["bends"][k]["order"])


@pytest.mark.parametrize("kind", KINDS)
def test_a_good_piece_loses_nothing(kind: str) -> None:
    for survey, piece in sheet(kind):
        answer = graded(survey, piece, drawn(piece))
        assert (answer["points"], answer["passed"], answer["causes"]) == (100.0, True, [])


@pytest.mark.parametrize("kind", TURNED)
@pytest.mark.parametrize("by_deg", [5.0, -8.0, 20.0])
def test_one_bend_out_of_plane_is_never_whole_and_is_named(kind: str, by_deg: float) -> None:
    for survey, piece in sheet(kind):
        for k in range(len(piece["bends"])):
            answer = graded(survey, piece, turned(drawn(piece), [k], by_deg))
            assert answer["points"] < 100.0
            assert not (abs(by_deg) > 9.0 and answer["passed"]), answer["words"]
            if k != first_bent(piece):
                assert f"for mark {k + 1}" in answer["causes"][0], (k, answer["causes"])


@pytest.mark.parametrize("by_deg", [5.0, 10.0, -30.0, 60.0, 80.0])
def test_a_whole_shape_tipped_or_all_that_follows_turned(by_deg: float) -> None:
    """More than 6 times the 1 1/2 degrees that a plane may lean fails a piece, however few checks show it."""
    for survey, piece in sheet("combined"):
        count = len(piece["bends"])
        ranges = [own for own in shapes(piece) if len(own) > 1] + [list(range(k, count)) for k in range(1, count - 1)]
        for marks in ranges:
            answer = graded(survey, piece, turned(drawn(piece), marks, by_deg))
            assert answer["points"] < 100.0
            assert not (abs(by_deg) > 9.0 and answer["passed"]), answer["words"]
            said = ", ".join(str(k + 1) for k in marks[:-1]) + f" and {marks[-1] + 1}"
            assert f"for marks {said}" in answer["causes"][0], answer["causes"]


@pytest.mark.parametrize("by_deg", [5.0, 10.0, 20.0, -40.0])
def test_a_turn_that_one_check_alone_shows_fails_where_it_is_gross(by_deg: float) -> None:
    """Three 90s in two planes, the second turned with what follows: all else is right, so 20 points are lost."""
    walk = [{"leg": "20"}, {"turn": "away"}, {"leg": "25"}, {"turn": "left"}, {"leg": "25"}, {"turn": "away"}]
    ends = {"start": {"fitting": "none"}, "end": {"fitting": "none"}}
    run = {"name": "Three", "raceway": "EMT 1/2", **ends, "walk": [*walk, {"leg": "20"}]}
    survey = {"racewright": 1, "units": "in", "run": run}
    (piece,) = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"]
    answer = graded(survey, piece, turned(drawn(piece), [1, 2], by_deg))
    assert [check["key"] for check in answer["checks"] if check["deduction"]] == ["lean 2"]
    assert answer["points"] == 80.0
    assert answer["passed"] is (abs(by_deg) < 9.0)


@pytest.mark.parametrize("kind", ["combined", "saddle 4"])
@pytest.mark.parametrize("by_deg", [5.0, -8.0])
def test_without_leans_the_true_bend_is_among_those_that_cannot_be_told_apart(kind: str, by_deg: float) -> None:
    for survey, piece in sheet(kind):
        for k in range(len(piece["bends"])):
            if k == first_bent(piece):
                continue
            reads = measured(piece, turned(drawn(piece), [k], by_deg), piece["cut_length_mm"])
            readings = [{"key": key, "reads": text} for key, text in reads.items() if "lean" not in key]
            answer = json.loads(ask_json("practice_grade", json.dumps({"survey": survey, "readings": readings})))
            said = re.findall(r"for mark (\d+)|at one of marks ([\d, and]+)", answer["causes"][0])
            assert str(k + 1) in re.findall(r"\d+", str(said)), (k + 1, answer["causes"])


@pytest.mark.parametrize("kind", TURNED)
@pytest.mark.parametrize("by_deg", [90.0, 180.0, -90.0])
def test_a_bend_a_quarter_or_half_round_never_passes(kind: str, by_deg: float) -> None:
    for survey, piece in sheet(kind):
        for k in range(1, len(piece["bends"])):
            answer = graded(survey, piece, turned(drawn(piece), [k], by_deg))
            assert not answer["passed"], (k, answer["words"])


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_one_mark_angle_or_the_cut_off_is_named(kind: str, sign: float) -> None:
    for survey, piece in sheet(kind):
        bends = drawn(piece)
        for k, bend in enumerate(bends):
            moved = bend._replace(start_mm=bend.start_mm + sign * 0.5 * INCH)
            answer = graded(survey, piece, [*bends[:k], moved, *bends[k + 1 :]])
            way = "far from" if sign > 0.0 else "near to"
            assert answer["points"] < 100.0
            assert f"the bend at mark {k + 1} stands" in answer["causes"][0]
            assert f"too {way} end A" in answer["causes"][0]
            by = sign * radians(4.0)
            back = piece["bend_radius_mm"] * by if piece["bends"][k]["hook"] == "B" else 0.0
            bent = bend._replace(angle=bend.angle + by, start_mm=bend.start_mm - back)
            answer = graded(survey, piece, [*bends[:k], bent, *bends[k + 1 :]])
            assert answer["points"] < 100.0
            assert f"mark {k + 1} was bent" in answer["causes"][0]
        answer = graded(survey, piece, bends, sign * 0.75 * INCH)
        assert f'the piece is cut 3/4" too {"long" if sign > 0.0 else "short"}' in answer["causes"][0]


def test_a_u_with_its_last_leg_standing_up_and_a_kick_with_its_90_turned() -> None:
    """The side is as drawn, and one reading alone is off: 20 points, yet by a quarter turn."""
    for kind in ("back to back", "kick"):
        for survey, piece in sheet(kind):
            reads = measured(piece, turned(drawn(piece), [1], 90.0), piece["cut_length_mm"])
            readings = [{"key": key, "reads": "yes" if "side" in key else text} for key, text in reads.items()]
            answer = json.loads(ask_json("practice_grade", json.dumps({"survey": survey, "readings": readings})))
            assert answer["whole"]
            assert not answer["passed"]
            assert "times what it may be" in answer["words"]
