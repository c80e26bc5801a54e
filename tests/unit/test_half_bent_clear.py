"""New marks keep the conduit off what it goes past: over, beside and round it; else they say what is hit."""

from __future__ import annotations

import json
from itertools import pairwise
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest
from ask_samples import example_data, saddle_survey

from racewright.cli import main as cli
from racewright.operations.answer import ask_json

INCH = 25.4
EXAMPLES = Path(__file__).parents[2] / "examples"


def remark(survey: dict[str, Any], made: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    answer = json.loads(ask_json("remark", json.dumps({"survey": survey, "made": made, **more})))
    assert "error" not in answer, answer
    return dict(answer)


def loud(answer: dict[str, Any]) -> list[str]:
    return [f["rule"] for f in answer["findings"] if f["severity"] == "problem"]


def test_a_middle_that_is_too_flat_is_made_up_by_the_outer_bends() -> None:
    """The rise by hand from the answer's angles and marks: corners on the far side of the arcs, the apex between."""
    survey = saddle_survey()
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]
    answer = remark(survey, [{"number": 2, "angle_deg": 41.0}])
    assert answer["met"]
    assert loud(answer) == []
    radius = planned["bender"]["radius_mm"]
    arcs = {m["number"]: (m["angle_deg"], _start(m, planned)) for m in answer["marks"]}
    was = planned["pieces"][0]["bends"][1]
    arcs[2] = (41.0, was["arc_start_mm"] if was["hook"] == "A" else was["arc_end_mm"] - radius * radians(41.0))
    height = _apex(arcs, radius)
    assert height == pytest.approx(
        _apex({b["number"]: (b["angle_deg"], b["arc_start_mm"]) for b in planned["pieces"][0]["bends"]}, radius),
        abs=0.1,
    )


def _start(mark: dict[str, Any], plan: dict[str, Any]) -> float:
    """Where the arc begins, from the mark by the shoe's figures."""
    shoe = plan["bender"]
    at = {"arrow": -shoe["arrow_lead_mm"], "center": shoe["center_mm"], "star": shoe["star_mm"]}[mark["reference"]]
    if mark["hook"] == "A":
        return float(mark["mark"]["mm"] - at)
    return float(mark["mark"]["mm"] + at - shoe["radius_mm"] * radians(mark["angle_deg"]))


def _apex(arcs: dict[int, tuple[float, float]], radius: float) -> float:
    """The height of the middle of bend 2 over the first leg, by a walk in the plane."""
    slope, height, at = 0.0, 0.0, 0.0
    for number, sign in ((1, 1.0), (2, -1.0)):
        angle, start = radians(arcs[number][0]), arcs[number][1]
        height += (start - at) * sin(slope)
        turn = angle if number == 1 else angle / 2.0
        height += sign * radius * (cos(slope) - cos(slope + sign * turn))
        slope += sign * turn
        at = start + radius * turn
    return height


def test_a_touch_that_no_tape_shows_is_a_caution(tmp_path: Path) -> None:
    """The plan keeps exactly its room, which is none; a mark that is read half a step off puts the top into the
    pipe."""
    survey = saddle_survey(clearance="0")
    answer = remark(survey, [{"number": 1, "angle_deg": 5.0}])
    assert "run.clearance" not in loud(answer)
    told = next(f for f in answer["findings"] if f["rule"] == "run.clearance")
    assert told["message"] == 'suction pipe: the conduit comes to touch it, by less than 1/16": 0" wanted.'
    assert answer["room"][0]["name"] == "suction pipe"
    assert answer["room"][0]["left"]["mm"] == pytest.approx(told["measured"])
    assert told["measured"] < 0.0
    file = tmp_path / "flat.json"
    file.write_text(json.dumps({"racewright": 1, **survey}), encoding="utf-8")
    assert cli.main(["remark", str(file), "--made", "1: angle 5"]) == 0


@pytest.mark.parametrize("toward", ["left", "right"])
def test_a_saddle_beside_a_column_keeps_its_distance(toward: str) -> None:
    column = {"name": "column", "centre": "33", "toward": toward, "reach": "3 1/2", "width": "6", "over": "square"}
    survey = saddle_survey(clearance="1/2", walk=[{"leg": "70", "features": [{"saddle": column}]}])
    answer = remark(survey, [{"number": 2, "angle_deg": 20.0}], stock="80")
    assert loud(answer) == []
    # the exact marks keep all of it; those on the tape are off by half a step
    assert 0.5 * INCH - INCH / 32 <= answer["room"][0]["left"]["mm"] < 0.5 * INCH + INCH / 16
    assert any(abs(mark["mark_rounding_mm"]) > 0.1 for mark in answer["marks"])


def test_a_rise_without_a_thing_to_clear_is_kept_too() -> None:
    rise = {"name": "door head", "centre": "30", "rise": "3 1/4"}
    survey = saddle_survey(walk=[{"leg": "62", "features": [{"saddle": rise}]}])
    answer = remark(survey, [{"number": 2, "angle_deg": 41.0}])
    assert "replan.rise" not in {f["rule"] for f in answer["findings"]}


def test_round_an_outside_corner_the_edge_is_kept_clear() -> None:
    corner = {"turn": "toward", "gap": "1 1/4"}
    walk = [{"leg": "40", "to": "edge"}, corner, {"leg": "40", "from": "edge"}]
    survey = saddle_survey(stand_off="1 1/4", walk=walk)
    survey["run"]["walk"][2]["features"] = [
        {"offset": {"name": "to the box", "rise": "2", "starts_at": "12", "angle": "22.5"}}
    ]
    early = remark(survey, [{"number": 1, "start": "36 3/4"}])
    (told,) = (f for f in early["findings"] if f["rule"] == "run.surface")
    assert not early["scrap"]
    assert -0.706 * INCH < told["measured"] < 0.0
    # past the conduit's own diameter no strap draws it out
    for start in ("36", "31"):
        deep = remark(survey, [{"number": 1, "start": start}])
        assert deep["scrap"]
        assert "runs into the outside corner of legs 1 and 2 by " in deep["findings"][0]["message"]
    late = remark(survey, [{"number": 1, "angle_deg": 88.0}], stock="100")
    assert "run.surface" not in {f["rule"] for f in late["findings"]}


def test_another_order_is_looked_for_where_the_plans_fails() -> None:
    survey = saddle_survey(
        clearance="0", walk=[{"leg": "60", "features": [{"saddle": {"name": "pipe", "centre": "30", "height": "4"}}]}]
    )
    answer = remark(survey, [{"number": 1, "angle_deg": 35.0}])
    assert answer["other_order"]
    (told,) = (f for f in answer["findings"] if f["rule"] == "remark.order")
    assert told["severity"] == "info"
    assert [m["order"] for m in answer["marks"]] == [2, 3]
    for mark in answer["marks"]:
        assert mark["stance"]
        assert abs(mark["mark_rounding_mm"]) <= INCH / 32 + 1e-9
    hooks = [m["hook"] for m in answer["marks"]]
    by_number = {bend["number"]: bend for bend in answer["anew"]["bends"]}
    assert by_number[1]["order"] == 1
    assert by_number[1]["angle_deg"] == pytest.approx(35.0)
    for mark in answer["marks"]:  # the picture's piece, and its words, say what the marks say
        drawn, words = by_number[mark["number"]], answer["bench"][mark["number"] - 1]
        for name in ("order", "hook", "reference", "stance", "angle_deg", "roll_deg", "spin_words"):
            assert drawn[name] == mark[name], name
        assert (drawn["mark_mm"], drawn["mark_tape"]) == (mark["mark"]["mm"], mark["mark"]["tape"])
        assert drawn["all_marks_mm"][f"{mark['hook']} {mark['reference']}"] == pytest.approx(mark["mark"]["mm"])
        assert drawn["end_for_end"] == ("Swap ends" in mark["spin_words"])
        assert words["name"] == mark["name"]
        assert f"bend to {words['bend_to']}, {words['read']}" == mark["bend_to"]
    for (a, b), mark in zip(pairwise(hooks), answer["marks"][1:], strict=True):
        assert ("Swap ends" in mark["spin_words"]) == (a != b)


def test_bends_made_too_small_are_bent_further_first_and_the_rest_stays_as_planned() -> None:
    survey = saddle_survey(clearance="0")
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]["bends"]
    answer = remark(survey, [{"number": 1, "angle_deg": planned[0]["angle_deg"] - 2.5}])
    assert answer["met"]
    assert answer["notes"][:3] == [
        "Bend mark 1 another 2 1/2°.",
        f"Mark 1: set the shoe on it as when it was bent, hook toward end {planned[0]['hook']}, and pull on to 22 1/2°;"
        f" the arc goes on toward end {'B' if planned[0]['hook'] == 'A' else 'A'} from where it ends.",
        "The rest is bent as planned.",
    ]
    assert (answer["marks"][0]["number"], answer["marks"][0]["further_deg"]) == (1, pytest.approx(2.5))
    assert sum("little at a time" in caution for caution in answer["cautions"]) == 1
    as_planned = remark(survey, [{"number": 1, "angle_deg": planned[0]["angle_deg"]}])
    assert not [caution for caution in as_planned["cautions"] if "little at a time" in caution]
    for mark in answer["marks"]:
        was = planned[mark["number"] - 1]
        assert mark["mark"]["mm"] == pytest.approx(was["mark_mm"], abs=1e-6)
        assert mark["angle_deg"] == pytest.approx(was["angle_deg"])


def test_a_bend_that_is_there_is_bent_further_before_the_rest(capsys: pytest.CaptureFixture[str]) -> None:
    """The middle of a saddle first, too small: the outer bends find it bent when they are made."""
    assert cli.main(["remark", str(EXAMPLES / "pump-house-saddle.yaml"), "--made", "2: angle 42"]) == 0
    rows = [line.split()[:2] for line in capsys.readouterr().out.splitlines() if line.startswith("  ")]
    firsts = [row for row in rows if row[0] in {"again", "1st", "2nd", "3rd"}]
    assert firsts[0] == ["again", "2"]
    assert {number for _, number in firsts[1:]} == {"1", "3"}
    answer = remark(saddle_survey(clearance="0"), [{"number": 1, "angle_deg": 5.0}, {"number": 3, "angle_deg": 5.0}])
    assert answer["scrap"]
    assert "mark 2, with marks 1 and 3 bent" in answer["findings"][0]["message"]


def test_a_bend_between_others_is_closed_a_little_without_a_shoe() -> None:
    """All of a saddle is bent, so the shoe has no room at its middle: a little is closed as on a finished piece, and
    more is not."""
    outer = [{"number": 1, "angle_deg": 22.5}, {"number": 3, "angle_deg": 22.5}]
    little = remark(saddle_survey(clearance="0"), [*outer, {"number": 2, "angle_deg": 34.0}])
    assert not little["scrap"]
    (mark,) = little["marks"]
    assert (mark["number"], mark["stance"]) == (2, None)
    closed = "Mark 2: what is bent leaves the shoe no room there; close it to 45° as a finished piece is corrected."
    assert closed in little["notes"]
    assert little["bent_on"][0]["bend"]["look_at"] == closed
    assert any("Open or close a bend a little at a time" in caution for caution in little["cautions"])
    much = remark(saddle_survey(clearance="0"), [*outer, {"number": 2, "angle_deg": 24.0}])
    assert much["scrap"]
    assert "with the hook the other way, mark 2" in much["findings"][0]["message"]


def test_an_arc_that_is_bent_further_goes_on_from_where_it_ends() -> None:
    """Its own kinematics: the conduit as a chain of half millimetres, each of which turns once the shoe has rolled over
    it. Those that were bent stay bent, the next ones away from the hook bend now: the shape is that of the answer."""
    for walk in (
        [{"leg": "30", "to": "back"}, {"turn": "left"}, {"leg": "28"}],
        [{"leg": "70", "features": [{"saddle": {"name": "door head", "centre": "33", "rise": "3 1/4"}}]}],
    ):
        survey = saddle_survey(walk=walk)
        planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]
        radius = planned["bender"]["radius_mm"]
        for bend in planned["pieces"][0]["bends"]:
            if bend["order"] != 1:
                continue
            small = bend["angle_deg"] - 3.0
            answer = remark(survey, [{"number": bend["number"], "angle_deg": small}])
            again = next(mark for mark in answer["marks"] if mark["number"] == bend["number"])
            assert again["further_deg"] == pytest.approx(3.0)
            assert again["mark"]["mm"] == pytest.approx(bend["mark_mm"], abs=1e-6)
            start = _start({**again, "angle_deg": small}, planned)
            forward = bend["hook"] == "A"
            bent = _rolled(radius, start if forward else start + radius * radians(small), small, forward)
            further = _rolled(radius, bent[1], 3.0, forward)
            arc = sorted((bent[0], further[1]))
            mine = _chain(1500.0, [(min(bent), max(bent)), (min(further), max(further))], radius)
            theirs = _chain(
                1500.0,
                [(_start(again, planned), _start(again, planned) + radius * radians(again["angle_deg"]))],
                radius,
            )
            assert arc[0] == pytest.approx(_start(again, planned), abs=1e-6)
            assert mine == pytest.approx(theirs, abs=0.5)


def _rolled(radius: float, at: float, angle_deg: float, forward: bool) -> tuple[float, float]:
    """From where to where the shoe rolls for an angle, away from its hook."""
    long = radius * radians(angle_deg)
    return at, at + long if forward else at - long


def _chain(length: float, arcs: list[tuple[float, float]], radius: float) -> tuple[float, float, float]:
    """Where a chain of half millimetres ends, and which way it goes there."""
    x = y = slope = 0.0
    step = 0.5
    for k in range(round(length / step)):
        middle = (k + 0.5) * step
        turn = step / radius if any(a <= middle < b for a, b in arcs) else 0.0
        x, y, slope = x + step * cos(slope + turn / 2), y + step * sin(slope + turn / 2), slope + turn
    return x, y, 100.0 * slope


def test_a_piece_that_nothing_makes_fit_is_scrap_and_says_what_can_be_saved(tmp_path: Path) -> None:
    survey = saddle_survey()
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]
    made = [{"number": 1, "angle_deg": 24.0}, {"number": 2, "angle_deg": 66.0}]
    answer = remark(survey, made)
    told = answer["findings"][0]
    assert (told["rule"], told["severity"]) == ("replan.scrap", "problem")
    # by hand: the straights of what is bent so far, the arcs from the marks by the shoe's figures
    bends, radius = planned["pieces"][0]["bends"], planned["bender"]["radius_mm"]
    arcs = []
    for bend, item in zip(bends, made, strict=False):
        start = _start({**bend, "mark": {"mm": bend["mark_mm"]}, "angle_deg": item["angle_deg"]}, planned)
        arcs.append((start, start + radius * radians(item["angle_deg"])))
    straights = [arcs[0][0], arcs[1][0] - arcs[0][1], planned["pieces"][0]["cut_length_mm"] - arcs[1][1]]
    assert told["measured"] == pytest.approx(max(straights), abs=1e-6)
    where = ("at end A", "between its bends", "at end B")[straights.index(max(straights))]
    assert where in told["message"]
    assert answer["notes"][-1].startswith("Make a new piece as planned: cut ")
    file = tmp_path / "scrap.json"
    file.write_text(json.dumps({"racewright": 1, **survey}), encoding="utf-8")
    assert cli.main(["remark", str(file), "--made", "1: angle 24", "--made", "2: angle 66"]) == 1
    assert "replan.scrap" not in loud(remark(survey, [{"number": 1, "angle_deg": 20.0}]))


def test_scrap_says_one_thing(capsys: pytest.CaptureFixture[str]) -> None:
    """Nine bends, four of them far off: what would meet the fitting goes through a pipe, and no marks are given."""
    made = ("3: angle 80", "4: angle 12", "8: angle 12", "9: angle 82")
    asked = ["remark", str(EXAMPLES / "packing-shed-two-turns.yaml"), "--have", "20 ft"]
    assert cli.main([*asked, *(part for text in made for part in ("--made", text))]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert out.count("problem: ") == 1
    assert "what would meet its fitting runs into water pipe by " in out
    assert "Make a new piece as planned: cut " in out
    for promise in ("far end meets", "after letting go", "Cut length", "bent as planned", "Straps"):
        assert promise not in out


def test_a_piece_made_as_planned_is_no_scrap_where_the_plan_itself_hits() -> None:
    """What the plan runs into is the plan's problem: the piece becomes the planned one."""
    post = {"name": "post", "centre": "46", "height": "2", "width": "3"}
    survey = saddle_survey()
    survey["run"]["walk"][0]["features"].append({"keep_clear": post})
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]
    hit = [o for o in planned["obstacles"] if o["name"] == "post"]
    assert hit[0]["clearance_mm"] < 0.0
    answer = remark(survey, [{"number": 1}])
    assert not answer["scrap"]
    assert [f["where"] for f in answer["findings"] if f["rule"] == "run.clearance"] == ["post"]


def test_a_piece_of_many_bends_is_answered_and_scrap_is_not_called_proved() -> None:
    """Sixty bends on one piece: the searches are cut short, and what they did not find is not said to be nowhere."""
    features = [{"saddle": {"name": f"rib {k}", "centre": str(30 * k + 30), "rise": "2"}} for k in range(20)]
    survey = saddle_survey(walk=[{"leg": "640", "features": features}], stock=["60 ft"])
    answer = remark(survey, [{"number": 1, "angle_deg": 31.0}, {"number": 2, "angle_deg": 30.0}])
    assert answer["scrap"]
    assert "scrap, as far as was tried" in answer["findings"][0]["message"]
    served = remark(survey, [{"number": 1, "angle_deg": 22.0}])
    assert not served["scrap"]
    assert len(served["marks"]) >= 59


@pytest.mark.parametrize(("leg", "fits"), [("7 1/2", False), ("30", True)])
def test_a_threaded_end_is_cut_back_only_where_a_die_has_room(leg: str, fits: bool) -> None:
    walk = [{"leg": leg, "to": "back"}, {"turn": "left"}, {"leg": "28"}]
    survey = saddle_survey(walk=walk, cut="after")
    survey["run"] |= {"raceway": "RMC 1/2"}
    survey["run"] |= {"start": {"fitting": "threaded"}, "end": {"fitting": "threaded"}}
    plan = json.loads(ask_json("plan", json.dumps({"survey": survey})))
    assert "error" not in plan, plan
    piece = plan["plan"]["pieces"][0]
    assert piece["end_a"]["thread"]
    mark = piece["bends"][0]["mark_mm"]
    answer = remark(survey, [{"number": 1, "mark": f"{mark + 14.0:.4f} mm"}])
    told = [f for f in answer["findings"] if f["rule"] == "replan.thread"]
    assert (answer["trim_a_mm"] > 0.0) == fits
    assert (told == []) == fits
    if not fits:
        assert "Thread end B once it is cut." in answer["notes"]
        assert told[0]["allowed"] == pytest.approx(piece["end_a"]["insertion_mm"] + 75.0)
        assert told[0]["measured"] < told[0]["allowed"]
    else:
        assert "Thread ends A and B once they are cut." in answer["notes"]


def test_the_plane_of_the_first_bend_made_is_no_error() -> None:
    """The piece turns in its fitting; the line was drawn before, so it faces as much otherwise."""
    survey = saddle_survey()
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]["bends"]
    first = min(planned, key=lambda b: b["order"])
    plain, off = (remark(survey, [{"number": first["number"], "roll_off_deg": roll}]) for roll in (0.0, 3.0))
    assert off["met"]
    assert off["turned_deg"] == -3.0
    for ours, theirs in zip(off["marks"], plain["marks"], strict=True):
        assert ours["mark"] == theirs["mark"]
        assert ours["angle_deg"] == pytest.approx(theirs["angle_deg"])
        assert ours["spin_deg"] == pytest.approx(theirs["spin_deg"])
        assert ours["line_deg"] == pytest.approx(theirs["line_deg"] - 3.0)


def test_the_line_stays_behind_where_what_it_was_drawn_on_is_twisted_beyond() -> None:
    """The line was drawn at the bend nearest to end B, which is twisted; on the side of end A, where the rest is bent,
    it lies as off against the bend before it as that was bent off against the line."""
    survey = example_data(EXAMPLES / "workshop-bench-u.yaml")
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]["bends"]
    was = {bend["number"]: bend for bend in planned}
    assert [bend["number"] for bend in sorted(planned, key=lambda bend: bend["order"])] == [4, 3, 1, 2]
    answer = remark(survey, [{"number": 4}, {"number": 3, "roll_off_deg": 4.0}])
    assert [(one["number"], one["by_deg"]) for one in answer["twisted"]] == [(4, 4.0)]
    assert [one["number"] for one in answer["marks"]] == [1, 2]
    for mark in answer["marks"]:
        assert mark["roll_deg"] == pytest.approx(was[mark["number"]]["roll_deg"], abs=0.5)
        off = (mark["line_deg"] - was[mark["number"]]["line_deg"]) % 360.0
        assert off == pytest.approx(356.0, abs=0.5)


def test_a_bend_too_far_along_is_brought_to_its_place_by_end_a() -> None:
    walk = [{"leg": "30", "to": "back"}, {"turn": "left"}, {"leg": "28"}]
    survey = saddle_survey(walk=walk, cut="after")
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]
    mark = planned["bends"][0]["mark_mm"]
    answer = remark(survey, [{"number": 1, "mark": f"{mark + 14.0:.4f} mm"}])
    assert answer["met"]
    assert answer["trim_a_mm"] == pytest.approx(14.0, abs=1e-3)
    assert answer["cut"]["mm"] == pytest.approx(planned["cut_length_mm"], abs=1e-3)
    look = 'Measure first: mark 1 stands 33 11/16" from end A until it is cut, then 33 1/8".'
    assert answer["notes"][0] == f'Cut 9/16" more off at end A. {look}'
    # cut already, at end B too: nothing is cut off that leaves the end off
    for cut, more in (("after", {"cut_free": False}), ("before", {})):
        kept = remark(saddle_survey(walk=walk, cut=cut), [{"number": 1, "mark": f"{mark + 14.0:.4f} mm"}], **more)
        assert (kept["met"], kept["trim_a_mm"]) == (False, 0.0)


def test_what_is_left_on_beyond_end_a_is_told_until_it_is_cut() -> None:
    """Nothing is cut first there: what the new marks want off comes off with it."""
    walk = [{"leg": "6"}, {"turn": "left"}, {"leg": "30"}, {"turn": "left"}, {"leg": "7"}]
    survey = saddle_survey(
        walk=walk, cut="after", raceway="EMT 3/4", start={"fitting": "none"}, end={"fitting": "none"}
    )
    piece = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]
    assert (piece["extra_a_mm"], piece["bends"][1]["order"]) == (39.0, 1)
    for off_mm, beyond in ((0.0, '1 9/16"'), (14.0, '2 1/16"')):
        answer = remark(survey, [{"number": 2, "mark": f"{piece['bends'][1]['mark_mm'] + off_mm:.4f} mm"}])
        assert answer["trim_a_mm"] == pytest.approx(off_mm, abs=1e-3)
        told = f"Marks count from where end A will be; {beyond} is left on beyond it until it is cut."
        assert told in answer["notes"]
        assert not any("irst cut" in words for words in answer["before"])


def test_bends_that_the_plan_makes_before_are_asked_for() -> None:
    survey = saddle_survey()
    planned = json.loads(ask_json("plan", json.dumps({"survey": survey})))["plan"]["pieces"][0]["bends"]
    last = max(planned, key=lambda b: b["order"])["number"]
    told = [f for f in remark(survey, [{"number": last}])["findings"] if f["rule"] == "remark.made"]
    assert [f["severity"] for f in told] == ["caution"]
    assert "taken as not bent" in told[0]["message"]
    first = min(planned, key=lambda b: b["order"])["number"]
    assert "remark.made" not in {f["rule"] for f in remark(survey, [{"number": first}])["findings"]}


def test_what_stands_against_the_run_is_told_with_the_marks() -> None:
    ways = ("left", "right", "left", "right", "left")
    walk = [{"leg": "24"}, *(part for way in ways for part in ({"turn": way}, {"leg": "18"}))]
    answer = remark(saddle_survey(walk=walk), [{"number": 1, "angle_deg": 90.0}])
    assert "run.degrees" in loud(answer)
