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
    # 1/16 over: 2, but an angle of 2 degrees more makes it; 7/16 over: 14, of which 9 at most; 10 and 5 as before
    assert of(stricter, "deduction") == {"length 1": 0.0, "length 2": 9.0, "angle 1": 10.0, "dog-leg": 5.0}
    assert of(stricter, "counted_at")["length 1"] == "angle at mark 1"
    assert stricter["words"] == (
        "76 of 100 points: below 80, not passed. Off by more than 6 times what it may be: the back of the 90 at mark 1"
        " to end B."
    )


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
    assert answer["whole"] is False
    assert answer["words"] == "No grade: not all is measured. So far 0 of 100 points are lost."
    assert "angle at mark 1" in answer["not_included"][0]


def test_a_timed_piece_without_its_minutes_is_no_grade() -> None:
    reads = {"length 1": "13 1/4", "length 2": "35", "angle 1": "90", "dog-leg": "0"}
    answer = grade(STUB, reads, scheme={"time": {"minutes": 10}})
    assert (answer["passed"], answer["whole"]) == (False, False)
    assert answer["words"] == "No grade: the time is not told. So far 0 of 100 points are lost."


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
            "side 2": "yes",
            "lean 2": "0",
            "dog-leg": "0",
        },
    )
    said = of(answer, "cause")
    assert said["length 2"] == 'the bend at mark 2 stands 2 5/8" too far from end A (about the gain: was it left out?)'
    assert said["length 3"] == said["length 2"]


def test_the_cut() -> None:
    answer = grade(STUB, {"length 1": "13 1/4", "length 2": "34 1/2", "angle 1": "90", "dog-leg": "0"})
    assert of(answer, "cause")["length 2"] == 'the piece is cut 1/2" too short'


def offset_reads(first_deg: float, second_deg: float, twist_deg: float = 0.0, along_in: float = 0.0) -> dict[str, str]:
    """An offset's readings by its own kinematics (in), hook toward A: each arc begins where it is marked (both marks
    `along_in` too far), R as taught for EMT 1/2. x along the first leg, y the rise, z out of the plane."""
    radius = (2.625 - 0.706) / (2.0 - 3.141592653589793 / 2.0)
    rise, start, wanted = 8.75, 22.25, radians(45.0)
    # from corner to corner rise / sin, less a tangent at each end; then along the first arc
    tangent = radius * tan(wanted / 2.0)
    one = start + along_in
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
        "place 1": f"{one + radius * tan(a / 2.0):.3f}",
        "rise 2": f"{end[1]:.3f}",
        "angle 1": f"{first_deg:g}",
        "angle 2": f"{second_deg:g}",
        "lean 2": f"{abs(twist_deg):g}",
        "dog-leg": f"{abs(tip[2]):.3f}",
    }


def test_the_offset_s_own_kinematics_meet_the_wanted_figures() -> None:
    answer = grade(OFFSET, offset_reads(45.0, 45.0))
    assert (answer["points"], answer["causes"]) == (100.0, [])


@pytest.mark.parametrize(
    ("reads", "cause"),
    [
        (offset_reads(45.0, 45.0, along_in=1.5), 'all bends stand 1 1/2" too far from end A'),
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


U_READS = {
    "length 1": "14 1/2",
    "length 2": "28 7/8",
    "length 3": "17 3/8",
    "angle 1": "90",
    "angle 2": "90",
    "lean 2": "0",
    "dog-leg": "0",
}


def test_a_z_for_a_u_is_not_passed() -> None:
    """All lengths, angles and the flat floor are right; only the second 90 turns away from the first."""
    assert of(grade(U, {}), "words")["side 2"] == "the 90 at mark 2 turns to the same side as mark 1"
    right = grade(U, {**U_READS, "side 2": "yes"})
    assert (right["points"], right["passed"], right["causes"]) == (100.0, True, [])
    wrong = grade(U, {**U_READS, "side 2": "no"}, scheme={"passes_at": 0})
    assert (wrong["points"], wrong["passed"]) == (0.0, False)
    assert "bent to the wrong side" in wrong["causes"][0]
    assert wrong["words"] == "0 of 100 points: not passed."
    assert "yes or no" in grade(U, {**U_READS, "side 2": "maybe"})["error"]["message"]


def test_a_piece_read_before_leans_were_asked_for_is_graded_without_them_and_told_so() -> None:
    old = {key: text for key, text in U_READS.items() if key != "lean 2"} | {"side 2": "yes"}
    assert grade(U, old)["words"].startswith("No grade: not all is measured.")
    answer = grade(U, {**old, "angle 1": "93"}, before_leans=True)
    assert (answer["whole"], answer["passed"], answer["without_leans"]) == (True, True, True)
    assert answer["words"].endswith("points: passed. It was read before leans were asked for: graded without them.")
    assert answer["not_included"] == []
    # what is missing otherwise is missing still, a lean that is read counts, and a stub has none
    part = grade(U, {"length 1": "14 1/2"}, before_leans=True)
    assert (part["without_leans"], part["words"]) == (
        False,
        "No grade: not all is measured. So far 0 of 100 points are lost.",
    )
    leaning = grade(U, {**old, "lean 2": "10"}, before_leans=True)
    assert (leaning["passed"], leaning["without_leans"]) == (False, False)
    stub = grade(STUB, {"length 1": "13 1/4", "length 2": "35", "angle 1": "90", "dog-leg": "0"}, before_leans=True)
    assert stub["words"] == "100 of 100 points: passed."


def test_a_z_is_asked_as_a_z_and_a_kick_by_hand_side() -> None:
    zed = survey({"leg": "14 1/2"}, {"turn": "away"}, {"leg": "28 7/8"}, {"turn": "toward"}, {"leg": "17 3/8"})
    assert of(grade(zed, {}), "words")["side 2"] == "the 90 at mark 2 turns to the other side than mark 1"
    # A to B along a wall's foot: the kick to the left is laid up, the 90 away from the surface then turns to the right
    words = of(grade(KICK, {}), "words")
    assert words["side 2"] == "the 90 at mark 2 turns to the right (seen toward end B, with mark 1 turning up)"


KICK = survey(
    {"leg": "45", "features": [{"kick": {"rise": "4 1/8", "toward": "left", "starts_at": "16 1/4"}}]},
    {"turn": "away"},
    {"leg": "18 3/8"},
)


def test_no_kick_at_all_is_not_passed() -> None:
    """The kick begins 16 1/4 from A; its corner lies a tangent further. A straight leg and a 90: no rise where 4 1/8 is
    wanted (20 points), no angle (20), and the rest of the leg lies slope - run further out: 28 3/8 less half the
    conduit is its run."""
    wanted = of(grade(KICK, {}), "wanted")
    assert (wanted["place 1"], wanted["rise 1"], wanted["length 1"]) == ('16 9/16"', '4 1/8"', '45"')
    reads = {key: text.rstrip('"°') for key, text in wanted.items()}
    run = 45.0 - 16.25 - 0.706 / 2.0
    longer = (run**2 + 4.125**2) ** 0.5 - run
    answer = grade(KICK, {**reads, "rise 1": "0", "angle 1": "0", "length 1": f"{45.0 + longer:.3f}"})
    taken = of(answer, "deduction")
    assert (taken["rise 1"], taken["angle 1"], taken["length 1"]) == (20.0, 0.0, 0.0)  # one slip: no bend was made
    assert of(answer, "counted_at")["angle 1"] == of(answer, "words")["rise 1"]
    # 20, 20 and 5/16 too long, 10: by its checks it would have 50
    assert answer["words"].startswith(
        "80 of 100 points: not passed. With every check that is out counted it has 50, below 70. Off by more than 6"
    )
    assert answer["passed"] is False


SADDLE = survey(
    {"leg": "70", "features": [{"saddle": {"height": "2 1/4", "bends": "3", "centre": "33", "angle": "22.5"}}]}
)
SADDLE_READS = {
    "length 1": "70",
    "place 1": "33",
    "rise 2": "2 1/4",
    "flat 1": "0",
    "angle 1": "22.5",
    "angle 2": "45",
    "angle 3": "22.5",
    "lean 2": "0",
    "lean 3": "0",
    "dog-leg": "0",
}


def test_a_saddle_s_last_leg_must_lie_flat_and_its_middle_where_it_is_wanted() -> None:
    """The third mark 2 too far: the slope is 2 longer, so the leg after it lies 2 sin 22.5 = 3/4 off, and the piece
    ends 2 (1 - cos 22.5) = 1/8 nearer."""
    assert {key: text.rstrip('"°') for key, text in of(grade(SADDLE, {}), "wanted").items()} == SADDLE_READS | {
        "angle 1": "22 1/2",
        "angle 3": "22 1/2",
    }
    off = grade(SADDLE, {**SADDLE_READS, "length 1": "69 7/8", "flat 1": "3/4"})
    assert of(off, "deduction")["flat 1"] == 20.0
    assert (of(off, "off")["flat 1"], len(off["causes"])) == ('3/4"', 1)
    assert off["causes"][0].startswith('the bend at mark 3 stands 1 15/16" too far from end A')
    moved = grade(SADDLE, {**SADDLE_READS, "place 1": "35"})
    assert (of(moved, "deduction")["place 1"], moved["points"]) == (20.0, 80.0)
    assert moved["causes"][0].startswith('all bends stand 2" too far from end A')


def test_the_slip_nearest_to_zero_is_told() -> None:
    """Half an inch short and nothing else: a mark would have to be moved by 13 inches along the straight to make it."""
    short = grade(SADDLE, {**SADDLE_READS, "length 1": "69 1/2"})
    assert short["causes"] == [
        'the piece is cut 1/2" too short: measure the cut along the straight conduit, and square (15 points)'
    ]


def test_slips_that_make_the_same_readings_are_all_named() -> None:
    """Only the last leg of a U, 1 too short, is measured: the cut and the second mark both make it."""
    answer = grade(U, {"length 3": "16 3/8"})
    assert of(answer, "cause")["length 3"] == (
        'all bends stand 1" too far from end A, or the bend at mark 2 stands 1" too far from end A, '
        'or the piece is cut 1" too short (these cannot be told apart)'
    )


def test_of_more_than_three_planes_that_explain_alike_the_marks_are_told() -> None:
    """Of a stub with a saddle and an offset only end B is measured, 2 off the floor that all of it should lie on."""
    features = [
        {"saddle": {"height": "2 1/4", "bends": "3", "centre": "30", "angle": "22.5"}},
        {"offset": {"rise": "3", "starts_at": "50", "angle": "30"}},
    ]
    run = survey({"leg": "13 1/4"}, {"turn": "away"}, {"leg": "80", "features": features})
    (said,) = grade(run, {"dog-leg": "2"})["causes"]
    words, _, care = said.partition(": ")
    assert words == "the plane of one bend, or of several alike, is out (at one of marks 2, 3, 4, 5 and 6)"
    assert care == "draw a line along the conduit at the first bend and sight along it before each pull (20 points)"


def test_a_plane_that_must_be_far_out_is_named_beside_one_that_need_not() -> None:
    """An offset of 10 right before end B, 1/2 off the floor: tipped by 3 degrees, or its second bend, with but a short
    leg behind it, by many times as much."""
    feature = {"offset": {"rise": "10", "starts_at": "38", "angle": "30"}}
    run = survey({"leg": "13 1/4"}, {"turn": "away"}, {"leg": "60", "features": [feature]})
    (said,) = grade(run, {"dog-leg": "1/2"})["causes"]
    assert said.partition(":")[0] == (
        "the conduit was turned by 2 1/2° too much or too little for mark 2, or the conduit was turned by 3° too much"
        " or too little for marks 2 and 3, or the conduit was turned by 16 1/2° too much or too little for mark 3"
        " (these cannot be told apart)"
    )


def test_a_whole_saddle_tipped_is_one_slip_and_no_pass() -> None:
    """Every length and angle is right; the saddle leans by 30 where it begins, and what follows leans back."""
    features = [
        {"saddle": {"height": "2 1/4", "bends": "3", "centre": "30", "angle": "22.5"}},
        {"offset": {"rise": "3", "starts_at": "50", "angle": "30"}},
    ]
    run = survey({"leg": "13 1/4"}, {"turn": "away"}, {"leg": "80", "features": features})
    reads = {key: text.rstrip('"°') for key, text in of(grade(run, {}), "wanted").items()}
    answer = grade(run, {**reads, "lean 2": "30", "lean 5": "30"}, scheme={"lean": {"most": 5}})
    assert (answer["points"], answer["passed"]) == (95.0, False)
    assert answer["words"] == (
        "95 of 100 points: not passed. Off by more than 6 times what it may be: lean of the saddle at marks 2, 3 and 4,"
        " at mark 2, out of the plane of the bend at mark 1; lean of the offset at marks 5 and 6, at mark 5, out of the"
        " plane of the bend at mark 4."
    )
    assert answer["causes"][0].startswith("the conduit was turned by 30° too much or too little for marks 2, 3 and 4")
    assert answer["causes"][0].endswith("(5 points)")
    assert answer["pass_rule"] == (
        "Passed from 70 of 100 points on, every check that is out counted; a slip that several checks show is taken off"
        " the points once. Not passed, whatever its points, where a shape turns to the wrong side, or"
        ' something is off by more than 6 times what it may be: a length by more than 3/4", a rise by more than 3/4",'
        ' an angle by more than 6°, a lean by more than 9°, the dog-leg by more than 3/4".'
    )
    # the teacher's own: 10 times what may be off, of which a lean may be 3
    mild = grade(run, {**reads, "lean 2": "30", "lean 5": "30"}, scheme={"lean": {"within_deg": 3}, "gross_times": 10})
    assert mild["words"] == "80 of 100 points: not passed. With every check that is out counted it has 60, below 70."
    assert "10 times what it may be" in mild["pass_rule"]
    assert "a lean by more than 30°" in mild["pass_rule"]


def test_leans_are_asked_out_of_the_plane_off_square_and_from_a_skew_one() -> None:
    """A kick with its 90 square to it; an offset of 3 and 3 up and to the left stands at 45 degrees to the 90."""
    assert (
        of(grade(KICK, {}), "words")["lean 2"]
        == "lean of the 90 at mark 2 off square to the plane of the bend at mark 1"
    )
    rolling = {"offset": {"rise": "3", "shift": "3", "starts_at": "30", "angle": "30"}}
    run = survey({"leg": "13 1/4"}, {"turn": "away"}, {"leg": "70", "features": [rolling]})
    asked = grade(run, {})
    assert of(asked, "wanted")["lean 2"] == "45°"
    assert of(asked, "words")["lean 2"] == (
        "lean of the offset at marks 2 and 3, at mark 2, from the plane of the bend at mark 1"
    )
    assert of(asked, "words")["lean 3"] == "lean of the bend at mark 3 out of the plane of the bend at mark 2"
    assert asked["how"].startswith("A lean is read about the leg from one mark to the next")
    assert grade(STUB, {})["how"] == ""


def test_graded_against_the_figure_that_is_shown() -> None:
    """A rolling offset of 5 3/8 and 4 3/8 is 6.930 true, shown as 6 15/16: 6 13/16 is an eighth off, which is allowed,
    as is 7 1/16; a sixteenth more is not."""
    rolling = {"rise": "5 3/8", "shift": "4 3/8", "starts_at": "22", "angle": "45"}
    run = survey({"leg": "75", "features": [{"offset": rolling}]})
    assert of(grade(run, {}), "wanted")["rise 2"] == '6 15/16"'
    taken = [
        of(grade(run, {"rise 2": text}), "deduction")["rise 2"] for text in ("6 3/4", "6 13/16", "7 1/16", "7 1/8")
    ]
    assert taken == [5.0, 0.0, 0.0, 5.0]


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
