"""A half-bent piece that is off by a little is no scrap: it is twisted back, sprung in, or its end stays open. What is
off is told, and by how much."""

from __future__ import annotations

import json
from math import degrees, hypot
from typing import Any

import pytest

from racewright.fit.accuracy import OPEN_END, Capture
from racewright.operations.answer import ask_json

Walk = list[dict[str, Any]]

U_TURN: Walk = [
    {"leg": "26", "from": "face", "to": "back"},
    {"turn": "right"},
    {"leg": "44", "from": "back", "to": "back"},
    {"turn": "right"},
    {"leg": "26", "from": "back", "to": "face"},
]
STUB: Walk = [
    {"leg": "34", "from": "face", "to": "back", "features": [{"box_offset": {"starts_at": "3"}}]},
    {"turn": "away"},
    {"leg": "21", "from": "back", "to": "stop"},
]
OFFSET = {"offset": {"rise": "4", "starts_at": "16", "angle": 30}}
LINE: Walk = [
    {"leg": "58", "from": "face", "to": "back", "features": [OFFSET]},
    {"turn": "left"},
    {"leg": "29", "from": "back", "to": "face"},
]
#: The first bend of the line far out of its plane, once mark 3 is made.
DOG_LEG: Walk = [{"number": 3, "angle_deg": 90}, {"number": 1, "roll_off_deg": 14.0}]


def survey(walk: Walk, *, fitting: str = "set-screw", **run: Any) -> dict[str, Any]:
    start = {"name": "pump starter", "fitting": "set-screw", **({"height": "1"} if walk is STUB else {})}
    end = {"name": "sorting line", "fitting": fitting}
    more = {"surface": "wall", "going": "up", **run}
    whole = {"name": "Packing shed", "raceway": "EMT 1/2", "start": start, "end": end, "walk": walk, **more}
    return {"units": "in", "run": whole}


def remark(asked: dict[str, Any], *made: dict[str, Any], **more: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(ask_json("remark", json.dumps({"survey": asked, "made": made, **more})))
    assert "error" not in answer, answer
    return answer


def told(answer: dict[str, Any], rule: str) -> list[dict[str, Any]]:
    return [f for f in answer["findings"] if f["rule"] == rule]


@pytest.mark.parametrize("roll", [-9.0, -1.5, 1.0, 1.5, 8.0])
def test_a_dog_leg_of_two_made_bends_is_twisted_back(roll: float) -> None:
    made = {"number": 1, "angle_deg": 90}, {"number": 2, "angle_deg": 90, "roll_off_deg": roll}
    answer = remark(survey(U_TURN, raceway="EMT 3/4"), *made)
    assert not answer["scrap"]
    assert answer["met"]
    (twist,) = answer["twisted"]
    assert twist["number"] == 2
    # whichever bend is made first, the second is off by as much against the first
    assert twist["by_deg"] == pytest.approx(-roll)
    assert any(note.startswith("Twist it at mark 2 by ") for note in answer["notes"])
    assert any("Open or close a bend a little at a time" in caution for caution in answer["cautions"])


def test_more_twist_than_a_hand_gives_is_scrap() -> None:
    made = {"number": 1, "angle_deg": 90}, {"number": 2, "angle_deg": 90, "roll_off_deg": 14.0}
    answer = remark(survey(U_TURN, raceway="EMT 3/4"), *made)
    assert answer["scrap"]
    assert answer["twisted"] == []


def test_a_bend_off_by_a_degree_and_a_half_with_all_bends_made_is_never_scrap() -> None:
    for number in (1, 2):
        for off in (-1.5, -0.75, 0.75, 1.5):
            for what in ("angle_deg", "roll_off_deg"):
                mine = {"number": number, what: off if what == "roll_off_deg" else 90 + off}
                other = {"number": 3 - number, "angle_deg": 90}
                assert not remark(survey(U_TURN, raceway="EMT 3/4"), mine, other)["scrap"], mine


def test_an_end_that_stays_open_is_told_how_far_it_is_off_and_is_no_scrap() -> None:
    made: Walk = [{"number": 1, "angle_deg": 8}, {"number": 2, "angle_deg": 8}, {"number": 3, "angle_deg": 90}]
    plan = json.loads(ask_json("plan", json.dumps({"survey": survey(STUB, fitting="none")})))["plan"]
    bend = plan["pieces"][0]["bends"][2]
    made[2]["mark"] = f"{bend['mark_mm'] + 8:.2f} mm"
    answer = remark(survey(STUB, fitting="none"), *made)
    assert not answer["scrap"]
    assert not answer["met"]
    (end,) = told(answer, "replan.end")
    assert end["severity"] == "caution"
    assert "stays open" in end["message"]
    assert "spring" not in " ".join(answer["notes"])
    assert remark(survey(STUB, fitting="none"), *made[:2], {**made[2], "angle_deg": 104})["scrap"]


def test_no_chance_to_fit_is_told_of_an_end_without_a_fitting() -> None:
    words = []
    for fitting in ("none", "set-screw"):
        plan = json.loads(ask_json("plan", json.dumps({"survey": survey(STUB, fitting=fitting)})))["plan"]
        forecast = plan["pieces"][0]["forecast"]
        words.append(forecast["words"])
        wide = OPEN_END if fitting == "none" else Capture()
        assert forecast["capture"]["across_mm"] == wide.across_mm
    assert "chance" not in words[0]
    assert words[0].startswith("Two times in three")
    assert words[1].partition("uncorrected. ")[2] == words[0]


def test_what_the_forecast_springs_in_is_no_scrap_and_is_said() -> None:
    answer = remark(survey(LINE), *DOG_LEG)
    assert (answer["scrap"], answer["met"]) == (False, False)
    gap, takes = answer["gap"], Capture()
    assert hypot(*gap["across_mm"]) <= takes.across_mm
    assert abs(gap["along_mm"]) <= takes.along_mm
    assert 0.5 < hypot(*gap["lean_deg"]) <= degrees(takes.angle_rad)
    (end,) = told(answer, "replan.end")
    assert end["severity"] == "caution"
    assert f"{hypot(*gap['lean_deg']):.1f}° out of line: a hand springs so much into its fitting" in end["message"]
    assert any("spring it into its fitting when it is joined" in note for note in answer["notes"])


def test_a_leg_that_comes_to_slant_is_told_with_its_angle() -> None:
    plan = json.loads(ask_json("plan", json.dumps({"survey": survey(LINE)})))["plan"]
    last = plan["pieces"][0]["bends"][2]
    answer = remark(survey(LINE), {"number": 3, "angle_deg": 80, "mark": f"{last['mark_mm'] + 80:.1f} mm"})
    (slant,) = told(answer, "run.slant")
    assert slant["severity"] == "caution"
    assert slant["where"] == "the leg between marks 2 and 3"
    # the leg before mark 3 has to take on what that lacks of its square turn, but for what the end then leans
    lean = hypot(*answer["gap"]["lean_deg"])
    assert slant["measured"] == pytest.approx(10.0, abs=lean)
    assert told(remark(survey(LINE), {"number": 3, "angle_deg": 90}), "run.slant") == []


def test_the_conduit_in_hand_is_said_to_bound_it_only_where_longer_conduit_helps() -> None:
    short = remark(survey(LINE), *DOG_LEG)
    (said,) = (note for note in short["notes"] if note.startswith("The conduit in hand bounds it: with "))
    want = said.partition("with ")[2].partition(" from")[0]
    longer = remark(survey(LINE), *DOG_LEG, stock=want)
    assert longer["met"]
    assert not any("bounds it" in note for note in longer["notes"])
    far = remark(survey(U_TURN, raceway="EMT 3/4"), {"number": 1, "angle_deg": 119}, {"number": 2, "angle_deg": 90})
    assert far["scrap"]
    assert not any("bounds it" in note for note in far["notes"])
