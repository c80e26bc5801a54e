"""The rule of thumb beside the card: one bend has one exact mark, and the taught way is told where it differs."""

from __future__ import annotations

import re
from math import pi, radians, sin, tan
from pathlib import Path
from typing import Any

import pytest

from racewright.cards.text.bend_card import text_card
from racewright.marks import thumb
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.plan.model import Plan, ThumbComparison
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file, survey_from_text
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.units.length import parse_length

INCH = 25.4
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
FREE = {"fitting": "none"}


def planned(*walk: dict[str, Any], raceway: str = "EMT 1/2", **run: Any) -> Plan:
    data = {"name": "Packing shed", "raceway": raceway, "start": FREE, "end": FREE, "walk": list(walk), **run}
    return plan_run(read_survey(survey_from_data({"units": "in", "run": data})))


def leg(length: str, **feature: Any) -> dict[str, Any]:
    return {"leg": length, "features": [feature]}


HEADER_BEAM = {"name": "header", "centre": "47", "over": "square", "height": "8", "width": "5"}
RUNS = {
    "four bends under a beam": lambda: planned(leg("96", saddle=HEADER_BEAM), raceway="RMC 1", clearance="1"),
    "saddle": lambda: planned(leg("80", saddle={"rise": "2-3/4", "centre": "33"})),
    "saddle at the short end": lambda: planned(leg("60", saddle={"rise": "2-3/4", "centre": "49"})),
    "offset": lambda: planned(leg("70", offset={"rise": "4-1/2", "done_by": "31"})),
    "offset at the far end": lambda: planned(leg("40", offset={"rise": "4-1/2", "done_by": "35"})),
    "rolling offset": lambda: planned(leg("70", offset={"rise": "3", "shift": "4", "done_by": "36"})),
    "two stubs": lambda: planned({"leg": "14"}, {"turn": "left"}, {"leg": "52"}, {"turn": "left"}, {"leg": "17"}),
    "long stub first": lambda: planned({"leg": "41"}, {"turn": "left"}, {"leg": "9"}),
}


def exact_marks(plan: Plan) -> set[tuple[str, str, str]]:
    return {(b.reference, b.hook, b.mark_tape) for p in plan.pieces for b in p.bends}


@pytest.mark.parametrize("name", RUNS)
def test_the_exact_mark_beside_the_rule_is_the_cards_own(name: str) -> None:
    plan = RUNS[name]()
    assert plan.rules_of_thumb
    for comparison in plan.rules_of_thumb:
        for mark in comparison.marks:
            way = re.search(r"\((\w+), hook ([AB])\)$", mark.label)
            assert way is not None
            assert (way[1], way[2], mark.exact_tape) in exact_marks(plan)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_no_example_calls_two_marks_of_one_bend_exact(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    read = {tape for _, _, tape in exact_marks(plan)}
    assert {m.exact_tape for c in plan.rules_of_thumb for m in c.marks} <= read


def test_where_the_card_bends_another_way_the_taught_way_is_told_with_its_marks() -> None:
    plan = RUNS["four bends under a beam"]()
    bends = plan.pieces[0].bends
    assert [b.hook for b in bends] == ["A"] * 4
    told = plan.rules_of_thumb[0].rule
    assert "another way than the trade teaches" in told
    taught = re.findall(r"(outer near A|top near [AB]|outer near B) [\d /]+\", arrow, hook B", told)
    assert taught == ["outer near A", "top near A"]
    assert told in re.sub(r"\s+", " ", text_card(plan))


def test_where_the_card_bends_as_it_is_taught_nothing_more_is_said() -> None:
    assert "another way" not in RUNS["saddle"]().rules_of_thumb[0].rule


@pytest.mark.parametrize(
    ("feature", "rises", "unfold"),
    [
        ({"saddle": {"rise": "3", "centre": "50", "bends": "4", "angle": "20"}}, 3.0, 4),
        ({"offset": {"rise": "5", "done_by": "40", "angle": "20"}}, 5.0, 2),
    ],
)
def test_an_angle_that_nobody_teaches_goes_by_its_sine_and_half_tangent(
    feature: dict[str, Any], rises: float, unfold: int
) -> None:
    plan = planned(leg("110", **feature))
    marks = [m.rule_mm / INCH for m in plan.rules_of_thumb[0].marks]
    assert len(marks) == unfold
    bends = plan.pieces[0].bends
    if bends[0].hook == bends[1].hook:
        assert marks[1] - marks[0] == pytest.approx(rises / sin(radians(20.0)), abs=1e-9)
    rule = thumb.four_bend_rule(rises * INCH, radians(20.0), 30 * INCH, 6 * INCH)
    first, second, third, fourth = (m.mark_mm / INCH for m in rule.marks)
    assert second == pytest.approx(30.0 + rises * tan(radians(10.0)))
    assert second - first == pytest.approx(rises / sin(radians(20.0)))
    assert third - second == pytest.approx(6.0)
    assert fourth - third == pytest.approx(rises / sin(radians(20.0)))


@pytest.mark.parametrize("name", ["offset", "offset at the far end"])
def test_the_card_counts_the_rule_from_where_the_offset_must_be_done_as_the_tape_was_read(name: str) -> None:
    plan = RUNS[name]()
    done = float({"offset": 31, "offset at the far end": 35}[name])
    shrink, times = {15.0: (1 / 8, 3.9), 22.5: (3 / 16, 2.6), 30.0: (1 / 4, 2.0), 45.0: (3 / 8, 1.4)}[
        round(plan.pieces[0].bends[0].angle_deg, 6)
    ]
    second = done + 4.5 * shrink
    assert [m.rule_mm / INCH for m in plan.rules_of_thumb[0].marks] == pytest.approx([second - 4.5 * times, second])


def test_the_card_counts_a_four_bend_saddle_from_its_straight_on_top() -> None:
    plan = planned(leg("110", saddle={"rise": "3", "centre": "50", "bends": "4", "angle": "30"}))
    marks = [m.mark_mm for m in _taught_rule(plan).marks]
    made = [
        arc_start_from_mark_mm(m.rule_mm, radians(30.0), b.hook, b.reference, plan.shoe)
        for m, b in zip(plan.rules_of_thumb[0].marks, plan.pieces[0].bends, strict=True)
    ]
    taught = [b.arc_start_mm for b in thumb.bends_of_rule(_taught_rule(plan), plan.shoe)]
    assert made == pytest.approx(taught)
    assert marks == sorted(marks)


def _taught_rule(plan: Plan) -> thumb.Rule:
    """Worked apart: 50 in to the middle, the straight on top read off the planned bends."""
    bends = plan.pieces[0].bends
    flat = bends[2].arc_start_mm - bends[1].arc_end_mm
    return thumb.four_bend_rule(3 * INCH, radians(30.0), 50 * INCH - flat / 2.0, flat)


# On the second leg the rule counts from the end of the bend before it: the tape reading from the middle of the turn,
# less the bend's setback, laid on after the bend's own length of conduit.
FIRST_TO_CORNER = 21.0


def second_leg(*features: dict[str, Any]) -> Plan:
    first = {"leg": "21", "to": "center"}
    return planned(first, {"turn": "left"}, {"leg": "83", "from": "center", "features": list(features)})


def after_the_turn(plan: Plan, reading: float) -> float:
    """Inches of conduit from end A to a reading of the second leg's tape, straight all the way."""
    radius = plan.bender.radius_mm / INCH
    return FIRST_TO_CORNER - radius + radius * pi / 2.0 + reading - radius


def rule_of(plan: Plan, shape: str) -> tuple[ThumbComparison, list[float]]:
    (found,) = (c for c in plan.rules_of_thumb if c.shape == shape)
    return found, [m.rule_mm / INCH for m in found.marks]


def test_the_rule_for_an_offset_behind_a_turn_counts_from_the_end_of_that_bend() -> None:
    plan = second_leg({"offset": {"rise": "4", "done_by": "30", "angle": "30"}})
    second = after_the_turn(plan, 30.0) + 4 / 4  # 30 degrees: shrink 1/4, spacing twice the rise
    told, marks = rule_of(plan, "offset 1")
    assert marks == pytest.approx([second - 8.0, second])
    assert "from the bend before" in told.landing_rule


def test_the_rule_for_a_saddle_behind_a_turn_counts_from_the_end_of_that_bend() -> None:
    plan = second_leg({"saddle": {"rise": "2", "centre": "30", "angle": "22.5", "bends": "3"}})
    middle = after_the_turn(plan, 30.0) + 2 * 3 / 16  # 22 1/2 degrees: shrink 3/16, 2.5 of the rise each way
    _, marks = rule_of(plan, "saddle 1")
    assert marks == pytest.approx([middle - 5.0, middle, middle + 5.0])


def test_the_rule_for_a_saddle_behind_an_offset_counts_from_the_end_of_that_offset() -> None:
    offset = {"offset": {"rise": "4", "done_by": "25", "angle": "30"}}
    plan = second_leg(offset, {"saddle": {"rise": "2", "centre": "52", "angle": "22.5", "bends": "3"}})
    # two bends of 30 degrees take more conduit than floor: the slope and both arcs for its shadow
    radius, angle = plan.bender.radius_mm / INCH, radians(30.0)
    gained = 4 / sin(angle) - 4 / tan(angle) + 2 * radius * angle - 4 * radius * tan(angle / 2.0)
    middle = after_the_turn(plan, 52.0) + gained + 2 * 3 / 16
    _, marks = rule_of(plan, "saddle 1")
    assert marks == pytest.approx([middle - 5.0, middle, middle + 5.0])


def test_as_taught_behind_a_turn_the_marks_are_told_from_end_a() -> None:
    plan = second_leg({"saddle": {"rise": "3", "centre": "30", "angle": "30", "bends": "4"}})
    bends = plan.pieces[0].bends
    flat = (bends[3].arc_start_mm - bends[2].arc_end_mm) / INCH
    second = after_the_turn(plan, 30.0) - flat / 2 + 3 / 4
    told, _ = rule_of(plan, "saddle 1")
    taught = {
        n: float(parse_length(at)) / INCH for n, at in re.findall(r"(outer|top) near A ([\d /]+\"), arrow", told.rule)
    }
    assert taught == pytest.approx({"outer": second - 6.0, "top": second}, abs=1 / 32)


def test_behind_a_turn_that_is_no_90_no_star_is_shown() -> None:
    """The star's rule tapes from the back of a 90; behind a 45 it would put the second mark far off."""
    walk = "    - leg: 40\n    - turn: right\n      angle: {}\n    - leg: 36\n    - turn: right\n    - leg: 30\n"
    head = "run:\n  name: Cold store, to the fan\n  raceway: EMT 1/2\n  walk:\n"
    for angle, shown in ((90, True), (45, False), (30, False)):
        plan = plan_run(survey_from_text(head + walk.format(angle)).survey)
        assert any("star" in rule.rule for rule in plan.rules_of_thumb) == shown
