"""Each check of a card at the last bend that it needs, whatever the order; the forecast knows which bend is first."""

from __future__ import annotations

from itertools import permutations
from math import pi

import msgspec
import pytest

from racewright.bends import roles
from racewright.bends.model import Bend, BentPiece
from racewright.cards.text.bend_card import text_card
from racewright.plan.bench_checks import bench_checks, checks_after
from racewright.plan.plan_run import plan_run
from racewright.sequence.machine import Stance
from racewright.sequence.words import line_deg, rotate_words
from racewright.store.survey_file import survey_from_text
from racewright.units.tape import TapeStyle, format_length

INCH = 25.4
TAPE = TapeStyle()
FENCE = "PVC-40 3/4\n  bend_radius: 5\n  start: {fitting: socket}\n  end: {fitting: socket}"
LEGS = {
    "U": ("left", "left"),
    "Z": ("left", "right"),
    "twisted": ("left", "away"),
}


def run(walk: str, more: str = "") -> str:
    return f"units: in\nrun:\n  name: Packing shed\n  raceway: EMT 1/2\n{more}  walk:\n{walk}"


def turns(first: str, second: str) -> str:
    return f"    - leg: 20\n    - turn: {first}\n    - leg: 33\n    - turn: {second}\n    - leg: 21\n"


@pytest.mark.parametrize("way", list(LEGS))
def test_only_two_90s_the_same_way_are_back_to_back(way: str) -> None:
    bends = plan_run(survey_from_text(run(turns(*LEGS[way]))).survey).pieces[0].bends
    second = max(bends, key=lambda b: b.order)
    assert (bends[1].role == roles.BACK_TO_BACK) == (way == "U")
    said = second.look_at
    assert ("back to back" in said) == (way == "U")
    assert ("both legs are parallel" in said) == (way == "Z")
    assert ("square to each other" in said) == (way == "twisted")
    assert "legs" not in min(bends, key=lambda b: b.order).look_at


def test_back_to_back_says_what_was_measured_between_the_backs() -> None:
    bends = plan_run(survey_from_text(run(turns("left", "left"))).survey).pieces[0].bends
    assert 'Check 33" back to back' in max(bends, key=lambda b: b.order).look_at


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_a_four_bend_saddle_is_checked_when_it_can_be_in_every_order(order: tuple[int, ...]) -> None:
    starts = (300.0, 420.0, 600.0, 720.0)
    piece = BentPiece(
        cut_length_mm=1200.0,
        outside_diameter_mm=17.9,
        bends=tuple(
            Bend(arc_start_mm=s, angle_rad=0.5, roll_rad=r, radius_mm=110.0, shape="pipe", role=roles.SADDLE_FOUR)
            for s, r in zip(starts, (0.0, 3.1415926, 3.1415926, 0.0), strict=True)
        ),
    )
    checks = bench_checks(piece, TAPE, cut_later=(False, False))
    said = [checks_after(checks, order[: k + 1]) for k in range(4)]
    top = min(max(order.index(a), order.index(b)) for a, b in ((0, 1), (2, 3)))  # either side shows the rise
    assert ["top is parallel" in text for text in said] == [k == top for k in range(4)]
    assert ["one line" in text for text in said] == [False, False, False, True]


def test_a_stub_that_is_cut_later_is_measured_from_its_cut_line() -> None:
    text = run("    - leg: 9\n    - turn: away\n    - leg: 30\n", "  cut: after\n")
    piece = plan_run(survey_from_text(text).survey).pieces[0]
    assert piece.cut_ends == ("B",)
    stub = piece.bends[0].look_at
    assert "from end A to the back" in stub
    assert "from cut line B to the back" in stub


def test_the_forecast_takes_the_bend_made_first_for_the_one_the_others_are_sighted_on() -> None:
    walk = "    - leg: 50\n      features:\n        - kick: {rise: 2, toward: left, starts_at: 22}\n"
    plan = plan_run(survey_from_text(run(walk + "    - turn: away\n    - leg: 24\n")).survey)
    piece = plan.pieces[0]
    assert [b.order for b in piece.bends] == [2, 1]
    assert piece.forecast is not None
    twists = {share.number for share in piece.forecast.by_step if share.kind == "roll"}
    assert twists == {1}
    assert [share.step for share in piece.forecast.by_step if share.kind == "roll"] == ["twist at mark 1"]
    assert msgspec.to_builtins(piece.forecast)["words"].count("bend ") == 0


def test_a_bend_without_a_hand_shoe_has_no_words_of_a_shoe() -> None:
    fence = run("    - leg: 60\n    - turn: left\n    - leg: 34\n").replace("EMT 1/2", FENCE)
    plan = plan_run(survey_from_text(fence).survey)
    bend = plan.pieces[0].bends[0]
    begins, ends = (format_length(s, TAPE) for s in (bend.arc_start_mm, bend.arc_end_mm))
    assert not bend.on_shoe
    card = " ".join(text_card(plan).split())
    assert f"Heat it from {begins} to {ends}, form it, and hold it until it is cool" in card
    assert ("bend begins" if bend.hook == "A" else "bend ends") in card
    for word in ("hook ◂", "hook toward", "on the floor", "to the shoe", "Arrow", "take-up"):
        assert word not in card


@pytest.mark.parametrize(
    ("rolls", "stances", "says"),
    [
        # an offset: opposite bends. Both on the floor: the line goes under. The second over the shoe: it stays on top.
        ((0.0, pi), ("floor", "floor"), "Rotate 180°: line down"),
        ((0.0, pi), ("floor", "upside down"), "Do not rotate: line stays up"),
        ((pi, 0.0), ("upside down", "floor"), "Do not rotate: line stays up"),
        # twice the same way: over the shoe the line comes to lie below
        ((0.0, 0.0), ("floor", "floor"), "Do not rotate: line stays up"),
        ((0.0, 0.0), ("floor", "upside down"), "Rotate 180°: line down"),
        # a bend a quarter round, clockwise seen from A, comes up when the conduit is rotated back
        ((0.0, pi / 2), ("floor", "floor"), "Rotate 90° counterclockwise, seen from A: line at 9 o'clock"),
        ((0.0, pi / 2), ("floor", "upside down"), "Rotate 90° clockwise, seen from A: line at 3 o'clock"),
        (
            (0.0, pi / 5),
            ("floor", "floor"),
            "Rotate 36° counterclockwise, seen from A: line 36° counterclockwise of up",
        ),
    ],
)
def test_the_line_says_how_the_conduit_lies_in_the_room(
    rolls: tuple[float, float], stances: tuple[Stance, Stance], says: str
) -> None:
    faces = line_deg(rolls[0], stances[0], rolls[1], stances[1])
    assert rotate_words(0.0, faces, first=False) == says
