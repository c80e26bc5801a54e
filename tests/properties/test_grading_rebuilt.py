"""Practice pieces made well or with one slip, measured by kinematics that share no code with the program, and graded.

The kinematics and the readings live in `evidence/graded_pieces.py`.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from fractions import Fraction
from functools import cache
from math import ceil, radians
from random import Random
from typing import Any

import pytest

from graded_pieces import INCH, Made, drawn, measured, shapes
from racewright.operations.answer import ask_json

pytestmark = pytest.mark.usefixtures("plans_once")
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


#: By the usual rules: what may be off (in, or degrees), and from when on a piece fails by it alone.
WITHIN = {"length": 0.125, "rise": 0.125, "dog-leg": 0.125, "angle": 1.0, "lean": 1.5}
GROSS_TIMES = 6.0


def inches(text: str) -> float:
    return float(sum(Fraction(part) for part in text.strip('"\u00b0').split()))


def over_each(answer: dict[str, Any]) -> list[tuple[float, float, float]]:
    """Of each check that has a figure: the points of its error by itself, its part of what is gross, what is taken."""
    out = []
    for check in answer["checks"]:
        if check["kind"] != "side":
            off, within = abs(inches(check["measured"]) - inches(check["wanted"])), WITHIN[check["kind"]]
            step = 1.0 if check["unit"] == "deg" else 0.125
            over = max(0, ceil(round((off - within) / step, 6)))
            out.append((min(20.0, 5.0 * over), off / (GROSS_TIMES * within), check["deduction"]))
    return out


def by_a_good_hand(draw: Random, bends: list[Made]) -> list[Made]:
    """Each mark within 1/32 in, each angle within 1/4 degree, each plane within half a degree."""
    return [
        Made(
            b.start_mm + draw.uniform(-1.0, 1.0) * INCH / 32.0,
            b.angle + radians(draw.uniform(-0.25, 0.25)),
            b.roll + radians(draw.uniform(-0.5, 0.5)),
        )
        for b in bends
    ]


def slipped(draw: Random, piece: dict[str, Any], bends: list[Made]) -> tuple[list[Made], float]:
    """One slip more, of a size that a hand makes: the bends, and how much longer the cut."""
    k, kind = draw.randrange(len(bends)), draw.choice(("mark", "angle", "twist", "cut"))
    sign, bend = draw.choice((1.0, -1.0)), bends[k]
    if kind == "cut":
        return bends, sign * draw.uniform(0.25, 1.5) * INCH
    if kind == "mark":
        made = bend._replace(start_mm=bend.start_mm + sign * draw.uniform(0.25, 1.5) * INCH)
    elif kind == "twist":
        made = bend._replace(roll=bend.roll + sign * radians(draw.uniform(3.0, 20.0)))
    else:
        by = sign * radians(draw.uniform(2.0, 9.0))
        back = piece["bend_radius_mm"] * by if piece["bends"][k]["hook"] == "B" else 0.0
        made = bend._replace(angle=bend.angle + by, start_mm=bend.start_mm - back)
    return [*bends[:k], made, *bends[k + 1 :]], 0.0


def test_random_pieces_pass_by_their_checks_and_lose_a_slip_once() -> None:
    """200 pieces by a good hand, with no slip, one or two: what passes is what a count of every check by hand lets
    pass, and none loses more than that count, or less than its worst check."""
    draw, seen = Random(11), Counter[str]()
    for n in range(200):
        survey, piece = draw.choice(sheet(KINDS[n % len(KINDS)]))
        bends, more_mm, slips = by_a_good_hand(draw, drawn(piece)), 0.0, n // len(KINDS) % 3
        for _ in range(slips):
            bends, more = slipped(draw, piece, bends)
            more_mm += more
        answer = graded(survey, piece, bends, more_mm)
        checks = over_each(answer)
        sides = all(check["measured"] == check["wanted"] for check in answer["checks"] if check["kind"] == "side")
        by_check = 100.0 - sum(points for points, _, _ in checks)
        good = sides and by_check >= 70.0 and all(part <= 1.0 + 1e-9 for _, part, _ in checks)
        assert answer["passed"] is good, (n, answer["words"])
        assert max(0.0, by_check) <= answer["points"] <= 100.0 - max(points for points, _, _ in checks), n
        assert all(taken <= points for points, _, taken in checks)
        seen[f"{slips} slips, passed"] += good
        seen[f"{slips} slips, taken"] += 100 - int(answer["points"])
        seen[f"{slips} slips, taken by check"] += 100 - int(max(0.0, by_check))
    # docs/page.md tells these: 3.5, 19.5 and 34 points on an average, of 3.5, 34 and 54 by check
    assert [seen[f"{slips} slips, passed"] for slips in range(3)] == [72, 27, 11]
    assert [seen[f"{slips} slips, taken"] for slips in range(3)] == [250, 1250, 2180]
    assert [seen[f"{slips} slips, taken by check"] for slips in range(3)] == [250, 2155, 3485]
