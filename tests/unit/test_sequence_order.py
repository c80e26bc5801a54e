"""The search on pieces whose answer is known by hand."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, radians
from typing import Any

import msgspec
import pytest

from racewright.bends.model import Bend
from racewright.budget import PROVED_BENDS, Budget
from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.machine import STANCES, Effort, HandlingSettings
from racewright.sequence.order import find_order, solve
from racewright.sequence.state import OrderAnswer, Piece
from racewright.sequence.ways import way_cost
from racewright.tools.benders import BenderProfile, default_bender, radius_only_profile

BENDER = default_bender("EMT", "1/2")
D = BENDER.outside_diameter_mm
HOOK_NEED = BENDER.arrow_lead_mm + BENDER.hook_reach_mm


def piece(
    straights: Sequence[float],
    angles: Sequence[float],
    rolls: Sequence[float],
    radius: float = BENDER.radius_mm,
    shape: Any = "x",
    roles: Any = None,
) -> tuple[list[Bend], float]:
    at, bends = 0.0, []
    for k, (straight, angle, roll) in enumerate(zip(straights, angles, rolls, strict=False)):
        at += straight
        bends.append(
            Bend(
                arc_start_mm=at,
                angle_rad=radians(angle),
                roll_rad=radians(roll),
                radius_mm=radius,
                shape=shape,
                role=roles[k] if roles else "",
            )
        )
        at = bends[-1].arc_end_mm
    return bends, at + straights[-1]


def order(
    straights: Sequence[float],
    angles: Sequence[float],
    rolls: Sequence[float],
    bender: BenderProfile = BENDER,
    settings: HandlingSettings = HandlingSettings(),  # noqa: B008
    **held: Any,
) -> OrderAnswer:
    bends, length = piece(straights, angles, rolls, radius=bender.radius_mm)
    return find_order(bends, length, bender.outside_diameter_mm, bender, settings, **held)


def test_no_bends_need_no_steps() -> None:
    answer = find_order([], 1000.0, D, BENDER)
    assert answer.proved
    assert answer.ways[0].steps == ()


def test_a_stub_is_made_on_the_floor_with_the_hook_toward_its_short_end() -> None:
    best = order([300, 1500], [90], [0]).ways[0]
    assert [(s.hook, s.stance) for s in best.steps] == [("A", "floor")]
    assert best.steps[0].hook_room_mm == pytest.approx(300.0)
    assert best.steps[0].grip_room_mm == pytest.approx(1500.0)
    mirrored = order([1500, 300], [90], [0]).ways[0]
    assert mirrored.hooks == "B"


def test_a_stub_needs_the_hook_s_reach_and_no_more() -> None:
    assert order([HOOK_NEED, 1500], [90], [0]).ways
    refused = order([HOOK_NEED - 0.01, BENDER.grip_mm], [90], [0])
    assert refused.proved
    assert refused.ways == ()
    assert refused.impossible[0].limit == "hook reach"
    assert refused.impossible[0].measured_mm == pytest.approx(HOOK_NEED - 0.01)
    assert refused.impossible[0].needed_mm == pytest.approx(HOOK_NEED)


def test_with_a_short_end_the_hook_goes_to_it() -> None:
    assert order([HOOK_NEED, 1500], [90], [0]).ways[0].hooks == "A"
    assert order([1500, HOOK_NEED], [90], [0]).ways[0].hooks == "B"


def test_a_stub_with_both_ends_shorter_than_a_grip_is_impossible() -> None:
    refused = order([150, 160], [90], [0])
    assert refused.proved
    assert [(b.limit, b.hook, b.measured_mm) for b in refused.impossible] == [("grip", "A", pytest.approx(160.0))]


def test_two_opposed_nineties_nearer_than_the_hook_s_reach_are_impossible() -> None:
    refused = order([600, 30, 600], [90, 90], [0, 180])
    assert refused.proved
    assert refused.ways == ()
    binding = refused.impossible[0]
    assert binding.limit == "hook reach"
    assert binding.measured_mm == pytest.approx(30.0)
    assert binding.needed_mm == pytest.approx(HOOK_NEED)
    assert len(binding.made) == 1


def test_a_tight_u_with_long_legs_meets_the_handle() -> None:
    # first leg upright, 300 + 114 high, 100 + 114 off the shoe's centre: the handle at 45 degrees passes through it
    refused = order([300, 100, 300], [90, 90], [0, 0])
    assert refused.proved
    assert refused.ways == ()
    assert refused.impossible[0].limit == "handle"
    assert refused.impossible[0].measured_mm < refused.impossible[0].needed_mm
    assert order([300, 400, 300], [90, 90], [0, 0]).ways


def test_a_tight_u_with_legs_shorter_than_a_grip_names_the_grip() -> None:
    refused = order([100, 100, 100], [90, 90], [0, 0])
    assert refused.proved
    assert {b.limit for b in refused.impossible} == {"grip"}


def test_conduit_that_would_run_through_itself_is_impossible() -> None:
    # four 90s the same way and short straights: end meets beginning
    bends, length = piece([250, 300, 300, 300, 400], [90] * 4, [0] * 4)
    heat = radius_only_profile(find_raceway("EMT", "1/2"), BENDER.radius_mm)
    refused = find_order(bends, length, D, heat)
    assert refused.proved
    assert refused.ways == ()
    assert refused.impossible[0].limit == "conduit itself"
    assert "hits the conduit itself" in refused.impossible[0].words


def test_without_hook_and_grip_there_is_no_bender_to_hit() -> None:
    heat = radius_only_profile(find_raceway("EMT", "1/2"), BENDER.radius_mm)
    best = order([300, 20, 300], [90, 90], [0, 180], bender=heat).ways[0]
    assert {step.stance for step in best.steps} == {"floor"}


def test_the_second_bend_of_an_offset_is_made_in_the_air() -> None:
    best = order([300, 200, 800], [30, 30], [0, 180]).ways[0]
    assert best.order == (0, 1)
    assert [s.stance for s in best.steps] == ["floor", "upside down"]
    assert best.steps[1].spin_rad == pytest.approx(radians(180))
    assert best.steps[1].push_mm == pytest.approx(200 + BENDER.radius_mm * radians(30))


def test_an_offset_held_to_the_floor_meets_the_floor() -> None:
    settings = HandlingSettings(stances=("floor",))
    refused = order([300, 200, 800], [30, 30], [0, 180], settings=settings)
    assert refused.proved
    assert refused.impossible[0].limit == "floor"
    assert refused.impossible[0].stance == "floor"
    assert "below the floor" in refused.impossible[0].words


def test_long_conduit_meets_the_ground_in_the_air() -> None:
    # the hook's side hangs at 45 degrees from 38 in: 80 in do not fit, whichever end
    settings = HandlingSettings(stances=("upside down",))
    refused = order([2000, 2000], [30], [0], settings=settings)
    assert refused.proved
    assert refused.impossible[0].limit == "floor"
    assert order([1200, 2000], [30], [0], settings=settings).ways


def test_fixed_order_and_hooks_are_kept() -> None:
    straights, angles, rolls = [400, 300, 400, 500], [30, 30, 45], [0, 90, 0]
    answer = order(straights, angles, rolls, rules=Rules(((0,), (0, 1), (1,)), (2, 0, 1)))
    assert answer.proved
    for way in answer.ways:
        assert way.order == (2, 0, 1)
        hooks = dict(zip(way.order, way.hooks, strict=True))
        assert hooks[0] == "A"
        assert hooks[2] == "B"
    free = order(straights, angles, rolls)
    assert free.ways[0].cost <= answer.ways[0].cost


def test_the_weights_decide() -> None:
    straights, angles, rolls = [400, 400, 400], [45, 45], [0, 0]
    plain = order(straights, angles, rolls).ways[0]
    assert not any(s.swap_ends for s in plain.steps)
    lifting = HandlingSettings(effort=Effort(swap_ends=0.1, lift_per_m=20.0))
    turned = order(straights, angles, rolls, settings=lifting).ways[0]
    assert any(s.swap_ends for s in turned.steps)
    assert turned.hooks != plain.hooks


def test_cost_is_the_sum_of_its_parts() -> None:
    effort = Effort(
        push_per_m=1.0,
        rotate_half_turn=10.0,
        swap_ends=100.0,
        stance_change=1000.0,
        upside_down_bend=1e4,
        lift_per_m=0.0,
    )
    settings = HandlingSettings(effort=effort)
    arc = BENDER.radius_mm * radians(30)
    # from the floor to upside down the opposite bend is not rotated in the room at all
    for roll, rotated in ((180, 0.0), (150, -30.0)):
        way = order([300, 200, 800], [30, 30], [0, roll], settings=settings, rules=Rules(((0,), (0,)))).ways[0]
        assert [step.stance for step in way.steps] == ["floor", "upside down"]
        assert degrees(way.steps[1].rotated_rad) == pytest.approx(-rotated)
        assert way.cost == pytest.approx((200 + arc) / 1000 + 10.0 * abs(rotated) / 180 + 1000.0 + 1e4)
        assert way.cost == way_cost(way.steps, effort)


def test_beyond_eight_bends_the_answer_says_that_it_is_not_proved() -> None:
    count = PROVED_BENDS + 2
    answer = order([250] + [260] * (count - 1) + [300], [30] * count, [0, 180] * (count // 2))
    assert not answer.proved
    assert sorted(answer.ways[0].order) == list(range(count))
    assert "not proved" in answer.ways[0].reasons[0]


def test_beyond_eight_bends_a_hopeless_bend_is_still_proved_impossible() -> None:
    count = PROVED_BENDS + 1
    bends, _ = piece([20] + [300] * count, [30] * count, [0] * count)
    small = msgspec.structs.replace(BENDER, grip_mm=5000.0)
    refused = find_order(bends, bends[-1].arc_end_mm + 300.0, D, small)
    assert refused.proved
    assert refused.ways == ()


def test_a_search_cut_short_says_so() -> None:
    straights = [250] + [260] * 5 + [300]
    answer = order(straights, [30] * 6, [0, 180, 90, 0, 180, 45], budget=Budget(3))
    assert not answer.proved
    # and is still an order: the first that was found
    assert sorted(answer.ways[0].order) == list(range(6))
    assert "not proved" in answer.ways[0].reasons[0]


class _MiddleOnTheFloor(Checks):
    """Every bend but mark 2 goes upside down alone."""

    def ground_mm(self, made: int, option: int) -> float:
        """As if the floor were in the way."""
        return -100.0 if option >> 2 != 1 and not option & 1 else super().ground_mm(made, option)


def test_of_ways_that_cost_the_same_the_one_with_more_bends_on_the_floor_goes_first() -> None:
    # upside down, floor, upside down costs two changes and two bends: as much as three bends upside down
    effort = Effort(stance_change=0.5, upside_down_bend=1.0, push_per_m=0.0, rotate_half_turn=0.0, lift_per_m=0.0)
    bends, length = piece([300, 300, 300, 300], [30, 30, 30], [0, 0, 0])
    checks = _MiddleOnTheFloor(Piece(bends, length, D, BENDER, HandlingSettings(effort=effort)))
    found = solve(checks, effort, Rules(((0,),) * 3, (0, 1, 2)))
    assert found.options is not None
    assert [STANCES[option & 1] for option in found.options] == ["upside down", "floor", "upside down"]
    assert found.cost == pytest.approx(3.0)


def test_bends_out_of_order_are_refused() -> None:
    bends, length = piece([300, 300, 300], [30, 30], [0, 0])
    with pytest.raises(InputError):
        find_order(bends[::-1], length, D, BENDER)
    with pytest.raises(InputError):
        find_order(bends, bends[-1].arc_end_mm - 1.0, D, BENDER)


def test_rolling_the_whole_piece_changes_nothing() -> None:
    first = order([300, 250, 260, 400], [30, 45, 60], [0, 100, 250])
    rolled = order([300, 250, 260, 400], [30, 45, 60], [70, 170, 320])
    assert rolled.ways[0].cost == pytest.approx(first.ways[0].cost)
    assert rolled.ways[0].order == first.ways[0].order
    assert rolled.ways[0].hooks == first.ways[0].hooks


def test_naming_the_ends_the_other_way_round_changes_nothing() -> None:
    bends, length = piece([300, 250, 260, 400], [30, 45, 60], [0, 100, 250])
    # seen from B to A a right-handed roll turns the other way
    swapped = [
        Bend(arc_start_mm=length - b.arc_end_mm, angle_rad=b.angle_rad, roll_rad=-b.roll_rad, radius_mm=b.radius_mm)
        for b in reversed(bends)
    ]
    one = find_order(bends, length, D, BENDER).ways[0]
    assert find_order(swapped, length, D, BENDER).ways[0].cost == pytest.approx(one.cost)
    # the same way, step by step, costs the same there
    hooks = dict(zip(one.order, ("BA".index(end) for end in one.hooks), strict=True))
    rules = Rules(tuple((hooks[2 - i],) for i in range(3)), tuple(2 - i for i in one.order))
    held = find_order(swapped, length, D, BENDER, rules=rules).ways[0]
    assert held.cost == pytest.approx(one.cost)
    assert [s.stance for s in held.steps] == [s.stance for s in one.steps]


def test_settings_without_a_stance_are_refused() -> None:
    with pytest.raises(InputError):
        order([300, 900], [30], [0], settings=HandlingSettings(stances=()))
