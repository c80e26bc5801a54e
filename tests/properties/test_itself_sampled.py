"""Where a run meets itself, against its middle line sampled every few mm by kinematics of its own: random chains of
straights and arcs, flat ones and ones that leave their plane."""

from __future__ import annotations

from math import asin, cos, dist, pi, radians, sin
from random import Random

import pytest

from racewright.budget import Budget
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.itself import TOLERANCE_MM, Meeting, Tube, meetings

Point = tuple[float, float, float]
RADIUS, OD, UNDER = 110.0, 18.0, 0.8
STEP = 2.5


def random_chain(rng: Random) -> tuple[float, list[Turn]]:
    """Lengths on a coarse grid, so that legs cross, run along each other and touch."""
    turns, s = [], 0.0
    plane = rng.choice((0.0, 0.0, 90.0))
    for k in range(rng.randint(3, 9)):
        s += rng.choice((40.0, 120.0, 260.0, 400.0, 900.0))
        angle = radians(rng.choice((90.0, 90.0, 90.0, 45.0, 120.0, 150.0)))
        roll = radians(rng.choice((0.0, 0.0, 180.0, plane, 3.0 if k else 0.0)))
        turns.append(Turn(s, angle, roll, RADIUS))
        s += RADIUS * angle
    return s + rng.choice((40.0, 500.0, 1500.0)), turns


def sampled(length: float, turns: list[Turn]) -> list[Point]:
    """The middle line every STEP mm, by turning a frame a little at each step: no closed form of an arc."""
    out: list[Point] = []
    x, u, n = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    count = int(length / STEP)
    for k in range(count + 1):
        out.append(x)
        left = STEP
        s = k * STEP
        while left > 1e-12:
            now = next((t for t in turns if t[0] - 1e-9 <= s < t[0] + t[3] * t[1] - 1e-9), None)
            ends = [t[0] for t in turns if t[0] > s + 1e-9] + [t[0] + t[3] * t[1] for t in turns if now is t]
            go = min([left, *(end - s for end in ends)])
            if now is None:
                x = move(x, u, go)
            else:
                b = cross(u, n)
                side = mix(n, cos(now[2]), b, sin(now[2]))
                over = cross(u, side)
                a = go / now[3]
                x = move(move(x, u, now[3] * sin(a)), side, now[3] * (1.0 - cos(a)))
                u, side = mix(u, cos(a), side, sin(a)), mix(side, cos(a), u, -sin(a))
                n = mix(side, cos(now[2]), over, -sin(now[2]))
            s, left = s + go, left - go
    return out


def move(p: Point, way: Point, by: float) -> Point:
    return (p[0] + way[0] * by, p[1] + way[1] * by, p[2] + way[2] * by)


def mix(a: Point, ca: float, b: Point, cb: float) -> Point:
    return (ca * a[0] + cb * b[0], ca * a[1] + cb * b[1], ca * a[2] + cb * b[2])


def cross(a: Point, b: Point) -> Point:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def least_sampled(points: list[Point]) -> tuple[float, float, float]:
    """The least distance of two samples half a circle or more apart along the run, and their stations."""
    cell = OD + UNDER + 2.0 * STEP
    room: dict[tuple[int, ...], list[int]] = {}
    best = (float("inf"), 0.0, 0.0)
    skip = int(pi * RADIUS / STEP)
    for i, p in enumerate(points):
        at = tuple(int(c // cell) for c in p)
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                for dz in (-1, 0, 1):
                    for j in room.get((at[0] + dx, at[1] + dy, at[2] + dz), ()):
                        if i - j >= skip:
                            best = min(best, (dist(p, points[j]), j * STEP, i * STEP))
        room.setdefault(at, []).append(i)
    return best


def found(length: float, turns: list[Turn], budget: int = 10**7) -> list[Meeting]:
    line = Centreline.from_turns(length, turns)
    tubes = [Tube(part, part.start_s, 0.5 * OD, number) for number, part in enumerate(line.segments)]
    return meetings(tubes, RADIUS, UNDER, Budget(budget))


@pytest.mark.parametrize("first", range(0, 100, 25))
def test_each_meeting_is_found_and_is_one(first: int) -> None:
    met = clear = 0
    for seed in range(first, first + 25):
        length, turns = random_chain(Random(seed))
        line, points = Centreline.from_turns(length, turns), sampled(length, turns)
        assert dist(points[-1], line.point_at((len(points) - 1) * STEP)) < 1e-5
        places = found(length, turns)
        apart, _, _ = least_sampled(points)
        if apart < OD + UNDER:
            assert places, seed
        for place in places:
            real = dist(*(line.point_at(s) for s in place.at_mm))
            assert real - OD == pytest.approx(place.clear_mm, abs=1e-6)
            assert place.clear_mm < UNDER
            assert place.at_mm[1] - place.at_mm[0] >= pi * RADIUS - 4.0 * OD
        if places:
            met += 1
            # samples lie within half a step of any place, to each side
            least = min(place.clear_mm for place in places) + OD
            assert least - TOLERANCE_MM - 1e-6 <= apart <= least + STEP, seed
        else:
            clear += 1
            assert apart > OD + UNDER - TOLERANCE_MM
    assert met >= 5
    assert clear >= 5


@pytest.mark.parametrize("seed", range(60))
def test_nothing_nearer_along_the_run_than_half_a_circle_meets(seed: int) -> None:
    """The theorem that what is left out rests on, on chains that turn as sharply as they may."""
    rng = Random(seed)
    turns, s = [], 0.0
    for _ in range(4):
        turns.append(Turn(s, radians(rng.uniform(20.0, 170.0)), rng.uniform(0.0, 2.0 * pi), RADIUS))
        s += RADIUS * turns[-1][1] + rng.choice((0.0, 0.0, 5.0, 40.0))
    line = Centreline.from_turns(s, turns)
    for _ in range(400):
        a = rng.uniform(0.0, s)
        long = rng.uniform(0.0, min(s - a, pi * RADIUS))
        kept = 2.0 * RADIUS * sin(long / (2.0 * RADIUS))
        assert dist(line.point_at(a), line.point_at(a + long)) >= kept - 1e-9
    assert 2.0 * RADIUS * asin(OD / (2.0 * RADIUS)) < 0.2 * pi * RADIUS


def test_a_search_that_is_cut_short_leaves_nothing_of_its_budget() -> None:
    turns = [Turn(300.0 + k * 472.8, pi / 2.0, 0.0, RADIUS) for k in range(40)]
    length = turns[-1][0] + 500.0
    line = Centreline.from_turns(length, turns)
    tubes = [Tube(part, part.start_s, 0.5 * OD, number) for number, part in enumerate(line.segments)]
    whole, part = Budget(10**7), Budget(300)
    every = meetings(tubes, RADIUS, UNDER, whole)
    some = meetings(tubes, RADIUS, UNDER, part)
    assert part.spent
    assert 300 <= part.done < 400
    assert 0 < len(some) < len(every)
    assert not whole.spent


def test_a_spiral_whose_rounds_lie_on_each_other_is_within_the_budget_of_a_run() -> None:
    """Rounds one above the other, touching along all of their bends: the longest search."""
    lift = radians(0.55)
    turns, s = [], 0.0
    for k in range(40):
        s += 250.0
        turns.append(Turn(s, pi / 2.0, lift * (k % 2), RADIUS))
        s += RADIUS * pi / 2.0
    budget = Budget(100_000)
    line = Centreline.from_turns(s + 200.0, turns)
    tubes = [Tube(part, part.start_s, 0.5 * OD, number) for number, part in enumerate(line.segments)]
    meetings(tubes, RADIUS, UNDER, budget)
    assert budget.done <= 150_000
