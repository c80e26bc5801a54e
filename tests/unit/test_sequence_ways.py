"""References, reasons and words of the ways."""

from __future__ import annotations

from math import pi, radians
from typing import Any

import pytest

from racewright.bends import roles
from racewright.bends.model import Bend
from racewright.sequence.checks import Rules
from racewright.sequence.machine import HandlingSettings, wrapped
from racewright.sequence.order import find_order
from racewright.sequence.state import Blocked, blocked_words
from racewright.sequence.ways import choose_reference, mark_mm
from racewright.tools.benders import default_bender
from racewright.units.tape import TapeStyle

BENDER = default_bender("EMT", "1/2")
R = BENDER.radius_mm
TAPE = TapeStyle()


def bend(at: float, angle: float, role: str = "", roll: float = 0.0, shape: Any = "x") -> Bend:
    return Bend(arc_start_mm=at, angle_rad=radians(angle), roll_rad=radians(roll), radius_mm=R, shape=shape, role=role)


@pytest.mark.parametrize("role", [roles.STUB, roles.KICK, roles.OFFSET_FIRST, roles.OFFSET_SECOND, roles.SADDLE_FOUR])
def test_most_roles_take_the_arrow(role: str) -> None:
    assert choose_reference(bend(300.0, 30, role), "A", BENDER, TAPE) == "arrow"


def test_back_to_back_takes_the_star_when_the_hook_faces_away_from_the_other_90() -> None:
    pair = [bend(300.0, 90, roles.STUB), bend(900.0, 90, roles.BACK_TO_BACK)]
    assert choose_reference(pair[1], "B", BENDER, TAPE, among=pair) == "star"
    assert choose_reference(pair[1], "A", BENDER, TAPE, among=pair) == "arrow"


def test_a_saddle_pushed_through_is_star_centre_arrow_and_from_the_centre_arrows() -> Any:
    saddle = [
        bend(300.0, 22.5, roles.SADDLE_OUTER),
        bend(530.0, 45, roles.SADDLE_CENTER, 180),
        bend(810.0, 22.5, roles.SADDLE_OUTER),
    ]

    def chosen(hooks: Any) -> Any:
        return [choose_reference(b, h, BENDER, TAPE, among=saddle) for b, h in zip(saddle, hooks, strict=True)]

    assert chosen("AAA") == ["star", "center", "arrow"]
    assert chosen("BBB") == ["arrow", "center", "star"]
    assert chosen("BAA") == ["arrow", "center", "arrow"]


def test_a_bend_without_a_role_takes_the_coarser_reading() -> None:
    inch = 25.4
    # the centre mark would fall on a whole inch, the others would not
    at = 20.0 * inch - BENDER.centre_mm
    assert choose_reference(bend(at, 30), "A", BENDER, TAPE) == "center"
    at = 20.0 * inch - BENDER.star_mm
    assert choose_reference(bend(at, 30), "A", BENDER, TAPE) == "star"


def test_a_mark_off_the_piece_or_on_another_bend_is_not_used() -> None:
    # the star of a bend near end A with the hook toward B would lie before the end
    near_end = bend(0.0, 10, roles.BACK_TO_BACK)
    assert mark_mm(near_end, "B", "star", BENDER) < 0.0
    assert choose_reference(near_end, "B", BENDER, TAPE, cut_length_mm=900.0) != "star"
    # the arrow would lie on the arc next door
    neighbour = bend(297.0 - R * radians(30), 30)
    stub = bend(300.0, 90, roles.STUB)
    assert choose_reference(stub, "A", BENDER, TAPE, among=[neighbour, stub]) != "arrow"


def test_marks_follow_the_hook() -> None:
    b = bend(300.0, 90)
    assert mark_mm(b, "A", "arrow", BENDER) == pytest.approx(300.0 - BENDER.arrow_lead_mm)
    assert mark_mm(b, "B", "star", BENDER) == pytest.approx(300.0 + R * pi / 2 - BENDER.star_mm)


def test_spin_brings_the_next_bend_to_where_the_last_one_was() -> None:
    # right-handed about A to B: a bend rolled +90 comes to roll 0 by a turn of -90
    bends = [bend(400.0, 30, roll=0.0), bend(900.0, 30, roll=90.0)]
    way = find_order(bends, 1800.0, BENDER.outside_diameter_mm, BENDER, rules=Rules(((0, 1), (0, 1)), (0, 1))).ways[0]
    assert way.steps[1].spin_rad == pytest.approx(-pi / 2)


@pytest.mark.parametrize(
    ("angle", "expected"),
    [(0.0, 0.0), (pi, pi), (-pi, pi), (3 * pi, pi), (2 * pi, 0.0), (1.5 * pi, -0.5 * pi), (-0.25, -0.25)],
)
def test_turns_are_wrapped(angle: float, expected: float) -> None:
    assert wrapped(angle) == pytest.approx(expected)


def test_blocked_words_name_limit_measured_and_needed() -> None:
    base: dict[str, Any] = {
        "bend_index": 1,
        "measured_mm": 25.4,
        "needed_mm": 50.8,
        "hook": "A",
        "stance": "upside down",
        "made": (0, 2),
    }
    text = blocked_words(Blocked(limit="hook reach", **base), TAPE)
    assert text == 'mark 2, with marks 1 and 3 bent, hook toward A: 1" of straight conduit for the hook, 2" needed'
    text = blocked_words(Blocked(limit="shoe", **base), TAPE)
    assert text == (
        "mark 2, with marks 1 and 3 bent, hook toward A, bender upside down, handle on the floor:"
        ' what is bent already passes the bender\'s shoe by 1", 2" wanted'
    )
    under = blocked_words(Blocked(limit="floor", **(base | {"measured_mm": -25.4, "needed_mm": -1.0})), TAPE)
    assert under.endswith('a part would be 1" below the floor')
    metric = blocked_words(Blocked(limit="grip", **base), TapeStyle("mm", 1))
    assert metric.endswith("25 mm of straight conduit to grip, 51 mm needed")


def test_the_reverse_order_is_offered_where_it_is_another_way() -> None:
    bends = [bend(320.0, 30), bend(1900.0, 90, roll=90.0)]
    best, *others = find_order(bends, 2600.0, BENDER.outside_diameter_mm, BENDER).ways
    (back,) = [way for way in others if "the same bends in the reverse order" in way.reasons]
    assert back.order == best.order[::-1] != best.order


def test_two_or_three_ways_differ_and_say_why() -> None:
    bends = [bend(300.0, 30, roll=0.0), bend(560.0, 30, roll=180.0), bend(1200.0, 45, roll=90.0)]
    ways = find_order(bends, 2000.0, BENDER.outside_diameter_mm, BENDER).ways
    assert 2 <= len(ways) <= 3
    assert len({(w.order, w.hooks) for w in ways}) == len(ways)
    assert all(w.reasons for w in ways)
    assert ways[0].reasons[0] == "least effort (proved: no other order costs less)"
    assert ways[0].cost == min(w.cost for w in ways)
    only = find_order(bends, 2000.0, BENDER.outside_diameter_mm, BENDER, HandlingSettings(other_ways=0)).ways
    assert len(only) == 1


def test_between_bends_no_longer_stick_helps_and_the_other_side_is_held() -> None:
    pair = [bend(508.0, 22.5), bend(750.0, 90, roll=180.0)]
    (told,) = (
        r for r in find_order(pair, 1300.0, BENDER.outside_diameter_mm, BENDER).ways[0].reasons if "short to" in r
    )
    assert "the hook is on the short straight" in told
    assert told.endswith("'s side")


def test_conduit_that_is_as_long_as_a_hand_holds_is_not_short_by_float_noise() -> None:
    last = bend(508.0, 90)
    (way, *_) = find_order([last], last.arc_end_mm + BENDER.grip_mm - 1e-9, BENDER.outside_diameter_mm, BENDER).ways
    assert way.steps[0].hook_room_mm > BENDER.grip_mm - 1.0
    assert not any("too short to hold" in reason for reason in way.reasons)
