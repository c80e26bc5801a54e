"""Readings to the axis, each worked by hand from the drawing in docs/survey-file.md. D = 0.706 in, R from the shoe."""

import re
from math import cos, hypot, pi, radians, sin, tan
from typing import Any

import pytest

from racewright.errors import InputError, LimitError
from racewright.geometry.solids import Box
from racewright.geometry.vector import distance, norm
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

IN = 25.4
HALF = 0.706 / 2 * IN


def planned(walk: str, **run: Any) -> Plan:
    head = {"name": "x", "raceway": "EMT 1/2", "start": "{fitting: none}", "end": "{fitting: none}"} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    return plan_run(survey_from_text(f"run:\n{fields}  walk:\n{walk}").survey)


def legs(plan: Plan) -> list[float]:
    return [distance(a, b) / IN for a, b in zip(plan.corners_mm, plan.corners_mm[1:], strict=False)]


@pytest.mark.parametrize(
    ("to", "start", "first", "second"),
    [
        ("back", "back", 30 - 0.353, 20 - 0.353),
        ("centre", "centre", 30, 20),
        ("inside", "inside", 30 + 0.353, 20 + 0.353),
        ("wall", "back", 30 - 0.353 - 0.25, 20 - 0.353),
        ("back", "wall", 30 - 0.353, 20 - 0.353 - 0.25),
    ],
)
def test_a_leg_knows_what_it_was_measured_to(to: str, start: str, first: float, second: float) -> None:
    plan = planned(
        f"    - {{leg: 30, to: {to}}}\n    - turn: away\n    - {{leg: 20, from: {start}}}\n", stand_off="1/4"
    )
    assert legs(plan) == pytest.approx([first, second], abs=1e-9)


def test_an_outside_corner_is_measured_to_its_edge() -> None:
    plan = planned("    - {leg: 30, to: edge}\n    - turn: toward\n    - {leg: 20, from: edge}\n", stand_off="1/4")
    assert legs(plan) == pytest.approx([30 + 0.603, 20 + 0.603], abs=1e-9)
    assert plan.corners_mm[-1][2] < plan.corners_mm[0][2]


def test_back_of_a_flat_turn_is_where_the_outer_lines_meet() -> None:
    plan = planned("    - {leg: 30, to: back}\n    - {turn: left, angle: 45}\n    - {leg: 20, from: back}\n")
    reach = 0.353 * tan(radians(22.5))
    assert legs(plan) == pytest.approx([30 - reach, 20 - reach], abs=1e-9)


def test_insertion_counts_from_the_face_and_not_from_the_stop() -> None:
    walk = "    - {leg: 50, from: face, to: stop}\n"
    plan = planned(walk, start="{fitting: set-screw, insertion: 7/8}", end="{fitting: set-screw, insertion: 1}")
    assert plan.pieces[0].cut_length_mm == pytest.approx(50.875 * IN, abs=1e-9)


def test_turns_go_where_they_say() -> None:
    plan = planned("    - leg: 30\n    - turn: left\n    - leg: 20\n    - turn: away\n    - leg: 10\n")
    a, b, c, d = plan.corners_mm
    assert b[0] > a[0]
    assert c[1] > b[1]
    assert d[2] > c[2]
    assert (b[1], b[2]) == pytest.approx((a[1], a[2]))
    mirrored = planned("    - leg: 30\n    - turn: right\n    - leg: 20\n    - turn: away\n    - leg: 10\n")
    assert mirrored.corners_mm[2][1] == pytest.approx(-c[1])


@pytest.mark.parametrize(
    ("place", "where"), [("starts_at: 10", "start"), ("middle_at: 20", "middle"), ("done_by: 30", "end")]
)
def test_an_offset_stands_where_it_was_placed(place: str, where: str) -> None:
    plan = planned(f"    - leg: 60\n      features:\n        - offset: {{rise: 4, angle: 30, {place}}}\n")
    first, second = plan.pieces[0].piece.bends
    run_between = (plan.corners_mm[2][0] - plan.corners_mm[1][0]) / IN
    assert run_between == pytest.approx(4 / tan(radians(30)), abs=1e-9)
    assert (plan.corners_mm[2][2] - plan.corners_mm[1][2]) / IN == pytest.approx(4, abs=1e-9)
    if where == "start":
        assert first.arc_start_mm / IN == pytest.approx(10, abs=1e-9)
    elif where == "middle":
        assert (plan.corners_mm[1][0] + plan.corners_mm[2][0]) / 2 / IN == pytest.approx(20, abs=1e-9)
    else:
        setback = second.radius_mm * tan(radians(15))
        assert (plan.corners_mm[2][0] + setback) / IN == pytest.approx(30, abs=1e-9)


def test_a_rolling_offset_moves_both_ways_and_rolls_by_their_ratio() -> None:
    plan = planned(
        "    - leg: 60\n      features:\n"
        "        - offset: {rise: 6, shift: 8, side: right, angle: 30, starts_at: 10}\n"
        "    - turn: away\n    - leg: 20\n"
    )
    end = plan.corners_mm[2]
    start = plan.corners_mm[1]
    assert (end[2] - start[2]) / IN == pytest.approx(6, abs=1e-9)
    assert (end[1] - start[1]) / IN == pytest.approx(-8, abs=1e-9)
    assert hypot(end[2] - start[2], end[1] - start[1]) / IN == pytest.approx(10, abs=1e-9)
    # the stub turns straight away from the surface: its plane is rolled back by atan(8/6) from the offset's plane
    bends = plan.pieces[0].bends
    turned = (bends[2].roll_deg - bends[0].roll_deg) % 360
    assert min(turned, 360 - turned) == pytest.approx(53.13010235, abs=1e-6)


def test_a_saddle_meets_the_rise_at_the_apex_of_the_arc() -> None:
    plan = planned("    - leg: 56\n      features:\n        - saddle: {rise: 3 1/4, centre: 23, angle: 22.5}\n")
    piece = plan.pieces[0].piece
    radius = piece.bends[0].radius_mm
    corner = plan.corners_mm[2]
    apex = corner[2] - radius * (1 / cos(radians(22.5)) - 1)
    assert (apex - plan.corners_mm[0][2]) / IN == pytest.approx(3.25, abs=1e-9)
    assert corner[0] / IN == pytest.approx(23, abs=1e-9)
    straight = piece.bends[1].arc_start_mm - piece.bends[0].arc_end_mm
    assert straight == pytest.approx((3.25 * IN - 2 * radius * (1 - cos(pi / 8))) / sin(pi / 8), abs=1e-9)


def test_a_kick_is_aside_by_its_rise_at_the_turn_and_leaves_the_turn_square() -> None:
    plan = planned(
        "    - leg: 60\n      to: centre\n      features:\n        - kick: {rise: 4, toward: left, starts_at: 30}\n"
        "    - turn: away\n    - leg: 20\n"
    )
    kick, stub = plan.pieces[0].piece.bends
    assert kick.arc_start_mm / IN == pytest.approx(30, abs=1e-9)
    assert plan.corners_mm[2][1] / IN == pytest.approx(4, abs=1e-9)
    assert stub.angle_rad == pytest.approx(pi / 2, abs=1e-12)


def test_behind_a_kick_the_next_leg_counts_from_the_back_of_the_bend_that_is_made() -> None:
    kick = "kick: {rise: 4, toward: left, angle: 15}"
    walk = f"    - leg: 60\n      features:\n        - {kick}\n    - turn: left\n    - {{leg: 20, from: back}}\n"
    plan = planned(walk)
    bent = plan.pieces[0].piece.bends[-1].angle_rad
    assert bent == pytest.approx(radians(75), abs=1e-12)
    assert legs(plan)[-1] == pytest.approx(20 - 0.353 * tan(bent / 2), abs=1e-9)
    slanted = walk.replace("turn: left\n", "{turn: left, angle: 60}\n")
    with pytest.raises(InputError, match="behind a kick"):
        planned(slanted)
    planned(slanted.replace("leg: 60\n", "leg: 60\n      to: center\n"))


def test_a_thing_lower_than_the_conduit_needs_no_bends() -> None:
    plan = planned("    - leg: 50\n      features:\n        - saddle: {height: 1/8, centre: 23}\n", stand_off="1/4")
    assert plan.pieces[0].bends == ()
    assert [f.rule for f in plan.findings if f.rule.startswith("saddle")] == ["saddle.not-needed"]


@pytest.mark.parametrize("toward", ["away", "left", "right"])
@pytest.mark.parametrize("over", ["round", "square"])
@pytest.mark.parametrize("bends", ["3", "4"])
def test_a_saddle_clears_the_whole_thing_by_what_was_wanted(toward: str, over: str, bends: str) -> None:
    size = "height: 3" if toward == "away" else "reach: 3"
    plan = planned(
        "    - leg: 90\n      features:\n"
        f"        - saddle: {{{size}, width: 4, over: {over}, centre: 45, toward: {toward}, bends: {bends}}}\n",
        clearance="3/8",
    )
    assert plan.obstacles[0].clearance_mm == pytest.approx(0.375 * IN, abs=1e-6)
    assert len(plan.pieces[0].bends) == int(bends)


def test_a_wide_thing_gets_four_bends_and_is_told_the_raised_three() -> None:
    plan = planned(
        "    - leg: 90\n      features:\n        - saddle: {height: 3, width: 10, over: square, centre: 45}\n",
        clearance="1/4",
    )
    assert len(plan.pieces[0].bends) == 4
    told = next(f for f in plan.findings if f.rule == "saddle.whole-width")
    assert "Three bends" in told.message
    assert "four bends" in told.message
    assert told.measured < told.allowed


@pytest.mark.parametrize(
    ("walk", "said"),
    [
        ("    - leg: 20\n      features:\n        - saddle: {rise: 3 1/2, centre: 4}\n", "end A"),
        ("    - leg: 30\n      features:\n        - saddle: {rise: 3 1/2, centre: 28}\n", "end B"),
        ("    - leg: 5\n    - turn: left\n    - leg: 6\n    - turn: left\n    - leg: 30\n", "turn 1"),
        ("    - leg: 60\n      features:\n        - offset: {rise: 1/2, angle: 60, starts_at: 9}\n", "least rise"),
        (  # 1.198 in: said as what does, and not as the rise that does not
            "    - leg: 60\n      features:\n        - offset: {rise: 1 3/16, angle: 30, starts_at: 20}\n",
            '1 3/16" is less than the least rise of two 30 degree bends on this bender, 1 1/4".',
        ),
        ("    - leg: 9\n      features:\n        - offset: {rise: 6, starts_at: 2}\n", "no usual angle"),
        (
            "    - leg: 60\n      features:\n        - kick: {rise: 6, toward: left, starts_at: 59}\n",
            "cannot be reached",
        ),
    ],
)
def test_what_has_no_room_says_between_what_and_how_much(walk: str, said: str) -> None:
    with pytest.raises(LimitError) as caught:
        planned(walk)
    assert said in str(caught.value)
    assert caught.value.hint


def test_an_offset_without_room_is_told_the_least_run_that_would_do_once() -> None:
    def offset(leg: str) -> str:
        return f"    - leg: {leg}\n      features:\n        - offset: {{rise: 6, starts_at: 2}}\n"

    with pytest.raises(LimitError, match="no usual angle makes this offset") as caught:
        planned(offset("9"))
    said = caught.value.message
    assert said.count("of the run is free for it, and the shortest, 60°, takes ") == 1
    assert "there" not in said
    need = re.search(r'more room, ([^"]+)" of the run', caught.value.hint)
    assert need is not None
    assert f'takes {need[1]}"' in said
    with pytest.raises(LimitError, match="none of the run is free for it"):
        planned(offset("2"))


@pytest.mark.parametrize(
    ("walk", "said"),
    [
        ("    - {leg: 30, to: wall}\n    - turn: left\n    - leg: 20\n", "gap"),
        ("    - {leg: 30, to: wall}\n    - {turn: away, angle: 45}\n    - leg: 20\n", "not square"),
        ("    - {leg: 30, to: edge}\n    - turn: away\n    - leg: 20\n", "outside corner"),
        ("    - leg: 30\n    - turn: left\n    - {leg: 20, from: wall}\n", "does not go with a turn left"),
        ("    - leg: 60\n      features:\n        - kick: {rise: 2, angle: 10}\n"
         "        - offset: {rise: 2, starts_at: 5}\n    - turn: away\n    - leg: 20\n", "follow a kick"),
        ("    - leg: 60\n      features:\n        - box_offset: {starts_at: 5}\n", "no knockout's height"),
    ],
)  # fmt: skip
def test_contradictions_name_the_field_and_a_way_out(walk: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        planned(walk)
    assert said in str(caught.value)
    assert caught.value.hint


def heights(plan: Plan) -> list[float]:
    """How far each point of the path lies off the first surface, in inches."""
    return [p[2] / IN for p in plan.corners_mm]


RACK = "offset: {rise: 3, starts_at: 14, angle: 30}"


def test_a_box_offset_at_end_b_goes_from_where_the_run_lies_to_the_knockout() -> None:
    end = "{fitting: set-screw, height: 3 3/4}"
    walk = f"    - leg: 80\n      features:\n        - {RACK}\n        - box_offset: {{done_by: 78}}\n"
    plan = planned(walk, end=end)
    assert heights(plan)[2:4] == pytest.approx([3.353] * 2, abs=1e-9)
    assert heights(plan)[-2:] == pytest.approx([3.75, 3.75], abs=1e-9)
    assert "run.end-height" not in [f.rule for f in plan.findings]


def test_a_run_that_misses_its_knockout_is_a_problem_where_it_cannot_be_sprung_in() -> None:
    """Common practice, no source: 3/4 in is sprung, 5 5/8 in is not."""
    missed = planned("    - leg: 60\n", end="{fitting: set-screw, height: 6}")
    (told,) = (f for f in missed.findings if f.rule == "run.end-height")
    assert told.severity == "problem"
    assert 'misses the knockout by 5 5/8"' in told.message
    near = planned("    - leg: 60\n", end="{fitting: set-screw, height: 1}")
    (told,) = (f for f in near.findings if f.rule == "run.end-height")
    assert told.severity == "caution"
    assert 'by 5/8"' in told.message


@pytest.mark.parametrize("rise", ["1/64", "0.01"])
def test_an_offset_too_small_to_bend_is_refused_and_not_dropped(rise: str) -> None:
    with pytest.raises(LimitError, match="offset"):
        planned(f"    - leg: 60\n      features:\n        - offset: {{rise: {rise}, starts_at: 20}}\n")
    box = "    - leg: 60\n      features:\n        - box_offset: {done_by: 58}\n"
    with pytest.raises(InputError, match="nothing to offset"):
        planned(box, end="{height: 0.36}")


def test_a_box_offset_at_end_b_counts_from_the_gap_that_the_last_wall_was_given() -> None:
    walk = (
        "    - {leg: 33, to: wall}\n    - {turn: away, gap: 3/8}\n"
        "    - leg: 44\n      features:\n        - box_offset: {done_by: 42}\n"
    )
    plan = planned(walk, end="{fitting: set-screw, height: 1 1/8}")
    wall = 33 * IN
    assert wall - plan.corners_mm[-1][0] == pytest.approx(1.125 * IN, abs=1e-9)
    assert wall - plan.corners_mm[2][0] == pytest.approx((0.375 + 0.353) * IN, abs=1e-9)


def test_a_box_offset_at_end_a_takes_out_the_knockout_and_leaves_the_rack() -> None:
    start = "{fitting: set-screw, height: 1}"
    box, rack = "        - box_offset: {starts_at: 2}\n", "        - offset: {rise: 3, starts_at: 30, angle: 30}\n"
    plan = planned(f"    - leg: 80\n      features:\n{box}{rack}", start=start)
    assert heights(plan)[:2] == pytest.approx([1.0, 1.0], abs=1e-9)
    assert heights(plan)[2:4] == pytest.approx([0.353] * 2, abs=1e-9)
    assert heights(plan)[-1] == pytest.approx(3.353, abs=1e-9)
    early = planned(
        f"    - leg: 80\n      features:\n        - {RACK}\n        - box_offset: {{starts_at: 40}}\n", start=start
    )
    assert heights(early)[-1] == pytest.approx(3.353, abs=1e-9)


def test_each_end_has_its_own_box_offset_and_a_lone_one_goes_from_knockout_to_knockout() -> None:
    ends = {"start": "{fitting: set-screw, height: 1}", "end": "{fitting: set-screw, height: 1 1/4}"}
    box = "        - box_offset: {starts_at: 2}\n"
    both = planned(
        f"    - leg: 80\n      features:\n{box}        - box_offset: {{done_by: 78}}\n", stand_off="1/8", **ends
    )
    assert heights(both)[:3] == pytest.approx([1.0, 1.0, 0.478], abs=1e-9)
    assert heights(both)[-1] == pytest.approx(1.25, abs=1e-9)
    assert "run.end-height" not in [f.rule for f in both.findings]
    lone = planned(f"    - leg: 80\n      features:\n{box}", stand_off="1/8", **ends)
    assert heights(lone)[-1] == pytest.approx(1.25, abs=1e-9)
    told = [f.where for f in lone.findings if f.rule == "run.end-height"]
    assert told == ["start"]


@pytest.mark.parametrize(("toward", "height"), [("away", 2.0 + 0.375), ("toward", 2.0 - 0.375)])
def test_a_box_offset_with_its_own_rise_goes_the_way_it_says(toward: str, height: float) -> None:
    walk = f"    - leg: 60\n      features:\n        - box_offset: {{rise: 3/8, toward: {toward}, starts_at: 20}}\n"
    plan = planned(walk, start="{fitting: set-screw, height: 2}")
    assert heights(plan)[-1] == pytest.approx(height, abs=1e-9)


@pytest.mark.parametrize(
    ("walk", "run"),
    [
        ("    - leg: 60\n      features:\n        - box_offset: {done_by: 58}\n", {"end": "{height: 0.353}"}),
        ("    - leg: 60\n      features:\n        - box_offset: {starts_at: 2}\n", {"start": "{height: 0.353}"}),
    ],
)
def test_a_box_offset_with_nothing_to_take_out_is_refused(walk: str, run: dict[str, str]) -> None:
    with pytest.raises(InputError, match="nothing to offset"):
        planned(walk, **run)


def test_an_outside_corner_with_its_own_gap_goes_round_its_edge_by_that_gap() -> None:
    walk = "    - {leg: 30, to: edge}\n    - {turn: toward, gap: 1/2}\n    - {leg: 20, from: edge}\n"
    plan = planned(walk, stand_off="1/4")
    assert legs(plan) == pytest.approx([30 + 0.5 + 0.353, 20 + 0.25 + 0.353], abs=1e-9)


PIPE = "keep_clear: {{over: round, centre: 30, height: 6, width: 2{more}}}"


def test_a_round_thing_hangs_where_its_lift_says() -> None:
    plain, told = (
        planned(f"    - leg: 60\n      features:\n        - {PIPE.format(more=m)}\n") for m in ("", ", lift: 4")
    )
    assert plain.obstacles[0].clearance_mm == pytest.approx((4 - 0.706) * IN, abs=1e-6)
    assert told.obstacles[0].clearance_mm == pytest.approx(plain.obstacles[0].clearance_mm, abs=1e-9)


@pytest.mark.parametrize("lift", ["3/16", "0", "5 1/4"])
@pytest.mark.parametrize("feature", [PIPE, PIPE.replace("keep_clear", "saddle")])
def test_a_round_thing_whose_lift_contradicts_height_and_width_is_refused(lift: str, feature: str) -> None:
    with pytest.raises(InputError, match="cannot have its underside") as caught:
        planned(f"    - leg: 60\n      features:\n        - {feature.format(more=f', lift: {lift}')}\n")
    assert caught.value.field.endswith("lift")
    assert '4"' in caught.value.hint


@pytest.mark.parametrize("kind", ["saddle", "keep_clear"])
def test_a_round_thing_wider_than_high_is_asked_about(kind: str) -> None:
    thing = f"{kind}: {{over: round, centre: 40, height: 3, width: "
    walk = f"    - leg: 80\n      features:\n        - {thing}"
    (told,) = (f for f in planned(walk + "4}\n").findings if f.rule == "run.sunk")
    assert 'sunk 1" into the surface' in told.message
    assert "run.sunk" not in [f.rule for f in planned(walk + "3}\n").findings]


def test_a_round_thing_measured_a_tape_fraction_off_is_taken_at_its_larger() -> None:
    walk = f"    - leg: 60\n      features:\n        - {PIPE.format(more=', lift: 3 15/16')}\n"
    assert planned(walk).obstacles[0].clearance_mm == pytest.approx((3.9375 - 0.706) * IN, abs=1e-6)


@pytest.mark.parametrize(
    ("saddle", "field"),
    [
        ("height: 2, reach: 1", "reach"),
        ("reach: 2, width: 2, toward: left, height: 4", "height"),
        ("reach: 2, width: 2, toward: left, lift: 1", "lift"),
        ("rise: 2, lift: 1", "lift"),
        ("rise: 2, width: 3", "width"),
        ("reach: 2, toward: right", "width"),
    ],
)
def test_no_reading_of_a_saddle_is_dropped(saddle: str, field: str) -> None:
    with pytest.raises(InputError) as caught:
        planned(f"    - leg: 60\n      features:\n        - saddle: {{centre: 30, {saddle}}}\n")
    assert caught.value.field.endswith(f"saddle.{field}")


def test_a_thing_whose_underside_is_above_its_top_is_refused() -> None:
    walk = "    - leg: 60\n      features:\n        - keep_clear: {centre: 30, height: 3, width: 2, lift: 4}\n"
    with pytest.raises(InputError, match="lower than the top"):
        planned(walk)


def test_a_knockout_off_the_strap_height_is_told_and_a_box_offset_settles_it() -> None:
    start = "{fitting: set-screw, height: 15/16}"
    plain = planned("    - leg: 40\n", start=start)
    assert "run.end-height" in [f.rule for f in plain.findings]
    bent = planned("    - leg: 40\n      features:\n        - box_offset: {starts_at: 2}\n", start=start)
    assert "run.end-height" not in [f.rule for f in bent.findings]
    assert bent.corners_mm[-1][2] == pytest.approx(HALF, abs=1e-9)


def test_a_knockout_at_end_b_off_the_strap_height_is_told() -> None:
    plan = planned("    - leg: 40\n", end="{fitting: set-screw, height: 15/16}")
    (told,) = (f for f in plan.findings if f.rule == "run.end-height")
    assert told.where == "end"
    assert told.message.startswith('The knockout at the end sits 15/16" off the surface')
    assert (told.measured, told.allowed) == pytest.approx((15 / 16 * IN, HALF))


@pytest.mark.parametrize(("toward", "foot_to_top"), [("away", 0.353 + 6 + 12), ("toward", 6.353 + 12)])
def test_a_thing_beside_the_run_stands_a_foot_over_leg_and_conduit(toward: Any, foot_to_top: Any) -> None:
    """Off its surface by 6 in or brought down by 6 in, the conduit goes round the thing and not over its top."""
    walk = (
        f"    - leg: 110\n      features:\n        - offset: {{rise: 6, toward: {toward}, done_by: 40, angle: 30}}\n"
        "        - saddle: {reach: 2, width: 3, over: square, toward: left, centre: 70}\n"
    )
    plan = planned(walk, stand_off="6" if toward == "toward" else "0")
    (thing,) = plan.obstacles
    assert isinstance(thing.solid, Box)
    assert norm(thing.solid.edge_z) == pytest.approx(foot_to_top * IN)
