"""The search against a plain walk through all orders, hooks and stances, written apart from it.

Room, costs and the walk are done here from the definitions in docs/bending-order.md; whether a given bend hits
something is asked of the package (tests/validation/test_handling_collisions.py checks that against a collision
library).
"""

from __future__ import annotations

import random
from math import inf, pi, radians
from random import Random
from typing import Any

import pytest

from racewright.bends.model import Bend
from racewright.sequence.checks import Checks
from racewright.sequence.machine import Effort, HandlingSettings
from racewright.sequence.order import find_order
from racewright.sequence.state import Piece
from racewright.sequence.ways import way_cost
from racewright.tools.benders import default_bender

BENDER = default_bender("EMT", "1/2")
D = BENDER.outside_diameter_mm


def random_piece(rng: Random) -> tuple[list[Bend], float]:
    count = rng.choices((1, 2, 3, 4, 5, 6), weights=(1, 3, 5, 5, 3, 2))[0]
    spread = rng.choice((120.0, 300.0, 500.0))
    at, bends = rng.uniform(30.0, 2.0 * spread), []
    for _ in range(count):
        bend = Bend(
            arc_start_mm=at,
            angle_rad=radians(rng.choice((10, 22.5, 30, 45, 60, 90))),
            roll_rad=radians(rng.choice((0, 0, 180, 180, 90, 270, rng.uniform(-180, 180)))),
            radius_mm=BENDER.radius_mm,
        )
        bends.append(bend)
        at = bend.arc_end_mm + rng.uniform(30.0, spread)
    return bends, at + rng.uniform(0.0, spread)


def random_settings(rng: Random) -> HandlingSettings:
    return HandlingSettings(
        effort=Effort(
            push_per_m=rng.choice((0.5, 0.0, 2.0)),
            rotate_half_turn=rng.choice((0.5, 1.5)),
            swap_ends=rng.choice((2.0, 0.3)),
            stance_change=rng.choice((0.5, 2.0)),
            upside_down_bend=rng.choice((1.0, 0.1)),
            lift_per_m=rng.choice((0.25, 0.0)),
        ),
        other_ways=rng.choice((0, 2)),
    )


def walk(bends: list[Bend], length: float, settings: HandlingSettings) -> float:
    """Least cost over everything (inf: none), depth first; a branch ends only when it already costs the best."""
    piece = Piece(bends, length, D, BENDER, settings)
    checks = Checks(piece)
    effort = settings.effort
    hits = {}
    best = inf

    def straight(i: Any, done: Any, direction: Any) -> Any:
        others = [bends[j] for j in done]
        if direction == "A":
            ends = [b.arc_end_mm for b in others if b.arc_end_mm <= bends[i].arc_start_mm]
            return bends[i].arc_start_mm - max(ends, default=0.0)
        starts = [b.arc_start_mm for b in others if b.arc_start_mm >= bends[i].arc_end_mm]
        return min(starts, default=length) - bends[i].arc_end_mm

    def possible(i: Any, hook: Any, stance: Any, done: Any) -> Any:
        key = (i, hook, stance, frozenset(done))
        if key not in hits:
            hook_need = BENDER.arrow_lead_mm + BENDER.hook_reach_mm
            room = straight(i, done, hook) >= hook_need - 1e-6
            room = room and straight(i, done, "B" if hook == "A" else "A") >= BENDER.grip_mm - 1e-6
            if room:
                option = i * 4 + "AB".index(hook) * 2 + (stance == "upside down")
                room = checks.collision(sum(1 << j for j in done), option) is None
            hits[key] = room
        return hits[key]

    def go(done: Any, last: Any, cost: Any) -> None:
        nonlocal best
        if cost >= best:
            return
        if len(done) == len(bends):
            best = cost
            return
        for i in range(len(bends)):
            if i in done:
                continue
            for hook in "AB":
                for stance in ("floor", "upside down"):
                    if not possible(i, hook, stance, done):
                        continue
                    tangent = bends[i].arc_start_mm if hook == "A" else bends[i].arc_end_mm
                    side = tangent if hook == "A" else length - tangent
                    more = effort.lift_per_m * side / 1000.0
                    more += effort.upside_down_bend if stance == "upside down" else 0.0
                    if last is not None:
                        j, hook_before, stance_before, tangent_before = last
                        more += effort.push_per_m * abs(tangent - tangent_before) / 1000.0
                        # in the room: upside down the inside of a bend faces down
                        turn = bends[i].roll_rad + (pi if stance == "upside down" else 0.0)
                        turn -= bends[j].roll_rad + (pi if stance_before == "upside down" else 0.0)
                        turn = abs(turn) % (2 * pi)
                        more += effort.rotate_half_turn * min(turn, 2 * pi - turn) / pi
                        more += effort.swap_ends if hook != hook_before else 0.0
                        more += effort.stance_change if stance != stance_before else 0.0
                    go([*done, i], (i, hook, stance, tangent), cost + more)

    go([], None, 0.0)
    return best


@pytest.mark.parametrize("seed", range(8))
def test_the_search_agrees_with_walking_all_orders(seed: int) -> None:
    rng = random.Random(seed)
    made = 0
    for _ in range(40):  # 8 x 40 = 320 pieces
        bends, length = random_piece(rng)
        settings = random_settings(rng)
        expected = walk(bends, length, settings)
        answer = find_order(bends, length, D, BENDER, settings)
        assert answer.proved
        if expected == inf:
            assert answer.ways == ()
            assert answer.impossible
            assert all(b.measured_mm < b.needed_mm for b in answer.impossible)
            assert all(b.words for b in answer.impossible)
            continue
        made += 1
        assert answer.impossible == ()
        assert answer.ways[0].cost == pytest.approx(expected, abs=1e-7)
        assert sorted(answer.ways[0].order) == list(range(len(bends)))
        assert answer.ways[0].cost == way_cost(answer.ways[0].steps, settings.effort)
        assert all(way.cost >= answer.ways[0].cost - 1e-7 for way in answer.ways)
        assert len({(way.order, way.hooks) for way in answer.ways}) == len(answer.ways)
    assert 5 <= made <= 39
