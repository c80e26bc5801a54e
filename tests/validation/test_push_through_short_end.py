"""The trade's fact: a three-bend saddle pushed through with the hook toward the short end needs a few inches of end;
made from the centre outward with the hook facing the centre, the short end must offer a whole grip.

Source: common practice, no source (hook reach 1 1/2 in and grip 8 in are common practice too). The engine has no rule
for it: both least ends come out of the same search, over the same piece with ever shorter ends, once left free and
once held to the order and hooks of the other habit.
"""

from __future__ import annotations

from math import radians

import pytest

from racewright.bends.model import Bend
from racewright.bends.roles import SADDLE_CENTER, SADDLE_OUTER
from racewright.sequence.checks import Rules
from racewright.sequence.order import find_order
from racewright.sequence.state import OrderAnswer
from racewright.tools.benders import BenderProfile, default_bender

INCH = 25.4
# the hand holds 1/16 in at best; the bisection is much finer
TOLERANCE_MM = 0.01


def saddle(end_mm: float, bender: BenderProfile) -> tuple[list[Bend], float]:
    """22.5 - 45 - 22.5 over 3 1/4 in, straights of 6 11/16 in between the arcs (1/2 EMT), a long far leg."""
    at, bends = end_mm, []
    for angle, roll, role in ((22.5, 0, SADDLE_OUTER), (45, 180, SADDLE_CENTER), (22.5, 0, SADDLE_OUTER)):
        bends.append(
            Bend(
                arc_start_mm=at,
                angle_rad=radians(angle),
                roll_rad=radians(roll),
                radius_mm=bender.radius_mm,
                shape="saddle",
                role=role,
            )
        )
        at = bends[-1].arc_end_mm + 6.714 * INCH
    return bends, bends[-1].arc_end_mm + 24.0 * INCH


def answer(end_mm: float, bender: BenderProfile, held: Rules | None = None) -> OrderAnswer:
    bends, length = saddle(end_mm, bender)
    return find_order(bends, length, bender.outside_diameter_mm, bender, rules=held)


def least_end_mm(bender: BenderProfile, held: Rules | None = None) -> float:
    low, high = 0.0, 20.0 * INCH
    assert answer(high, bender, held).ways
    assert not answer(low, bender, held).ways
    while high - low > TOLERANCE_MM / 4:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if answer(middle, bender, held).ways else (middle, high)
    return high


@pytest.fixture
def bender() -> BenderProfile:
    return default_bender("EMT", "1/2")


# centre first, then either outer bend, the hook facing the centre: toward B at A's side, toward A at B's side
CENTRE_OUT = [
    Rules(((1,), (0, 1), (0,)), (1, 0, 2)),
    Rules(((1,), (0, 1), (0,)), (1, 2, 0)),
]


def test_pushing_through_needs_only_the_hook_s_reach(bender: BenderProfile) -> None:
    free = least_end_mm(bender)
    assert free == pytest.approx(bender.arrow_lead_mm + bender.hook_reach_mm, abs=TOLERANCE_MM)
    assert 1.5 * INCH < free < 2.0 * INCH


@pytest.mark.parametrize("held", CENTRE_OUT)
def test_from_the_centre_outward_the_short_end_must_offer_a_whole_grip(bender: BenderProfile, held: Rules) -> None:
    assert least_end_mm(bender, held) == pytest.approx(bender.grip_mm, abs=TOLERANCE_MM)


def test_how_much_shorter_the_end_may_be(bender: BenderProfile) -> None:
    gained = least_end_mm(bender, CENTRE_OUT[0]) - least_end_mm(bender)
    # 8 in less 1 1/2 in less the arrow's lead of 0.176 in
    assert gained / INCH == pytest.approx(8.0 - 1.5 - 0.1759, abs=0.001)


def test_the_search_finds_the_push_through_by_itself(bender: BenderProfile) -> None:
    best = answer(2.5 * INCH, bender).ways[0]
    assert best.order == (0, 1, 2)
    assert best.hooks == "AAA"
    assert [step.reference for step in best.steps] == ["star", "center", "arrow"]
    assert not any(step.swap_ends for step in best.steps)
    (told,) = (reason for reason in best.reasons if "too short to hold" in reason)
    assert told == (
        'at mark 1 the hook is on the short end: 2 1/2", too short to hold (8" needed): hold the conduit on B\'s side,'
        ' or leave 5 1/2" more on beyond end A and cut it off after bending, marks counted from cut line A'
    )


def test_with_so_much_more_on_beyond_the_short_end_the_same_way_has_enough_to_hold_there(bender: BenderProfile) -> None:
    bends, length = saddle((2.5 + 5.5) * INCH, bender)
    same = find_order(
        bends, length + 5.5 * INCH, bender.outside_diameter_mm, bender, rules=Rules(((0,), (0,), (0,)), (0, 1, 2))
    )
    assert not same.ways[0].steps[0].hook_is_short
    assert same.ways[0].hooks == "AAA"


def test_from_the_centre_outward_the_grip_is_named_as_what_binds(bender: BenderProfile) -> None:
    refused = answer(5.0 * INCH, bender, CENTRE_OUT[0])
    assert refused.ways == ()
    assert refused.proved
    worst = refused.impossible[0]
    assert (worst.bend_index, worst.limit, worst.hook) == (0, "grip", "B")
    assert worst.measured_mm == pytest.approx(5.0 * INCH)
    assert worst.needed_mm == pytest.approx(8.0 * INCH)
    assert worst.words == 'mark 1, hook toward B: 5" of straight conduit to grip, 8" needed'


def test_a_mirrored_piece_is_pushed_through_the_other_way(bender: BenderProfile) -> None:
    bends, length = saddle(2.5 * INCH, bender)
    mirrored = [
        Bend(
            arc_start_mm=length - b.arc_end_mm,
            angle_rad=b.angle_rad,
            roll_rad=-b.roll_rad,
            radius_mm=b.radius_mm,
            shape=b.shape,
            role=b.role,
        )
        for b in reversed(bends)
    ]
    best = find_order(mirrored, length, bender.outside_diameter_mm, bender).ways[0]
    assert best.order == (2, 1, 0)
    assert best.hooks == "BBB"
    assert [step.reference for step in best.steps] == ["star", "center", "arrow"]
