"""New marks for the rest of a piece: exact at the end, near the plan, honest where it cannot be."""

import random
from collections.abc import Sequence
from functools import partial
from math import cos, degrees, pi, radians, sin
from typing import Any

import msgspec
import pytest
from piece_factory import R, bent_piece

from racewright.bends.model import BentPiece
from racewright.errors import InputError
from racewright.fit.finishing import HalfBent, corrected_so, finished
from racewright.fit.jacobian import walk
from racewright.fit.made import Begun, EndA, Further, MadeBend, begun
from racewright.fit.measured import end_gap
from racewright.fit.nearest import Free, Task, equations, slopes, value_of, with_values
from racewright.fit.replan import corrected_later
from racewright.fit.replan import replan as ways_of
from racewright.fit.replanned import ReplanAnswer
from racewright.fit.room import NOTHING_AROUND
from racewright.fit.words import Move
from racewright.geometry.vector import Frame
from racewright.tools.benders import HookEnd
from racewright.units.tape import TapeStyle


def all_ways(plan: BentPiece, made: Sequence[MadeBend], **more: Any) -> tuple[ReplanAnswer, ...]:
    return ways_of(HalfBent(plan, made, **more))


def replan(*asked: Any, **more: Any) -> ReplanAnswer:
    """The best way that leaves what is made as it is."""
    return next(way for way in all_ways(*asked, **more) if not way.further)


piece = partial(bent_piece, length=1300.0)
SADDLE = piece((200.0, 22.5, 0.0), (430.0, 45.0, 180.0), (710.0, 22.5, 0.0))


def test_a_piece_made_as_planned_stays_as_it_is() -> None:
    answer = replan(SADDLE, [MadeBend(number=1)])
    assert answer.met
    assert answer.words == ()
    for old, new in zip(SADDLE.bends, answer.piece.bends, strict=True):
        assert new.arc_start_mm == pytest.approx(old.arc_start_mm, abs=1e-6)
        assert new.angle_rad == pytest.approx(old.angle_rad, abs=1e-9)


@pytest.mark.parametrize("error_deg", [3.0, -2.0])
@pytest.mark.parametrize("roll_deg", [0.0, 2.0])
def test_the_end_is_met_after_a_wrong_first_bend(error_deg: float, roll_deg: float) -> None:
    made = MadeBend(number=1, angle_rad=radians(22.5 + error_deg), arc_start_mm=203.0, roll_rad=radians(roll_deg))
    answer = replan(SADDLE, [made])
    assert answer.met
    gap = end_gap(walk(SADDLE).end, walk(answer.piece).end)
    assert max(abs(g) for g in gap) < 1e-5
    assert answer.piece.bends[0].angle_rad == pytest.approx(radians(22.5 + error_deg))
    assert min(answer.piece.straights_mm()) >= 0.0
    assert answer.words


@pytest.mark.oracle
def test_nearest_to_the_plan_beats_random_answers_that_also_meet_the_end() -> None:
    """Independent check by scipy's SLSQP: least scaled change under the same equations."""
    optimize = pytest.importorskip("scipy.optimize")
    made = MadeBend(number=1, angle_rad=radians(25.0))
    answer = replan(SADDLE, [made])
    target = walk(SADDLE).end

    def built(y: Any) -> BentPiece:
        bends = [msgspec.structs.replace(SADDLE.bends[0], angle_rad=radians(25.0))]
        for k, old in enumerate(SADDLE.bends[1:]):
            bends.append(
                msgspec.structs.replace(
                    old,
                    arc_start_mm=old.arc_start_mm + 25.0 * y[3 * k],
                    angle_rad=old.angle_rad + radians(5.0) * y[3 * k + 1],
                    roll_rad=old.roll_rad + radians(5.0) * y[3 * k + 2],
                )
            )
        return msgspec.structs.replace(SADDLE, bends=tuple(bends), cut_length_mm=SADDLE.cut_length_mm + 25.0 * y[6])

    best = optimize.minimize(
        lambda y: float((y**2).sum()),
        [0.0] * 7,
        constraints={"type": "eq", "fun": lambda y: end_gap(target, walk(built(y)).end)},
        method="SLSQP",
        options={"ftol": 1e-14, "maxiter": 500},
    )
    ours = 0.0
    for old, new in zip(SADDLE.bends[1:], answer.piece.bends[1:], strict=True):
        ours += ((new.arc_start_mm - old.arc_start_mm) / 25.0) ** 2
        ours += ((new.angle_rad - old.angle_rad) / radians(5.0)) ** 2
        ours += ((new.roll_rad - old.roll_rad) / radians(5.0)) ** 2
    ours += ((answer.piece.cut_length_mm - SADDLE.cut_length_mm) / 25.0) ** 2
    assert ours == pytest.approx(best.fun, rel=0.02)


def test_when_only_the_cut_is_left_what_can_be_met_is_said() -> None:
    made = [MadeBend(number=1), MadeBend(number=2, angle_rad=radians(49.0)), MadeBend(number=3)]
    answer = replan(SADDLE, made)
    assert not answer.met
    assert [item.rule for item in answer.findings] == ["replan.end"]
    assert "out of line" in answer.findings[0].message
    target = walk(SADDLE).end

    def off(cut_mm: float) -> float:
        gap = end_gap(target, walk(msgspec.structs.replace(answer.piece, cut_length_mm=cut_mm)).end)
        return sum(g * g for g in gap[:3])

    cut = answer.piece.cut_length_mm
    assert off(cut) < off(cut - 1.0)
    assert off(cut) < off(cut + 1.0)


def test_nothing_left_at_all() -> None:
    made = [MadeBend(number=1, angle_rad=radians(25.0)), MadeBend(number=2), MadeBend(number=3)]
    answer = replan(SADDLE, made, cut_free=False)
    assert not answer.met
    assert answer.piece.cut_length_mm == SADDLE.cut_length_mm


def test_the_stock_bounds_the_cut() -> None:
    made = [MadeBend(number=1, arc_start_mm=260.0)]
    free = replan(SADDLE, made)
    assert free.piece.cut_length_mm > SADDLE.cut_length_mm - 100.0
    short = replan(SADDLE, made, stock_length_mm=free.piece.cut_length_mm - 1.0)
    assert short.piece.cut_length_mm <= free.piece.cut_length_mm - 1.0 + 0.05


def test_two_arcs_are_kept_apart() -> None:
    answer = replan(SADDLE, [MadeBend(number=1, arc_start_mm=520.0)])
    assert min(answer.piece.straights_mm()) == pytest.approx(0.0, abs=0.15)


def test_a_top_that_cannot_keep_its_height_is_told() -> None:
    """Both outer bends are made 2 degrees flat, as far from the middle as planned: the end is met, the top is lower."""
    roles = ("saddle outer", "saddle center", "saddle outer")
    bends = [msgspec.structs.replace(b, role=role) for b, role in zip(SADDLE.bends, roles, strict=True)]
    middle = SADDLE.bends[1].arc_start_mm + R * radians(22.5)
    third = 2.0 * middle - 200.0 - R * radians(22.5)
    bends[2] = msgspec.structs.replace(bends[2], arc_start_mm=third)
    flat = radians(20.5)
    made = [
        MadeBend(number=1, angle_rad=flat),
        MadeBend(number=3, angle_rad=flat, arc_start_mm=third + R * radians(2.0)),
    ]
    answer = replan(msgspec.structs.replace(SADDLE, bends=tuple(bends)), made, tape=TapeStyle("mm", 1))
    assert answer.met
    # by hand: two arcs up to the middle at the slope of the first, with the straight between them
    rises = []
    for angle in (radians(22.5), flat):
        straight = middle - 200.0 - 2.0 * R * angle
        rises.append(2.0 * R * (1.0 - cos(angle)) + straight * sin(angle))
    assert answer.rise_off_mm == pytest.approx(rises[1] - rises[0], abs=1e-3)
    (told,) = answer.findings
    assert (told.rule, told.severity, told.where) == ("replan.rise", "caution", "mark 2")
    assert told.message == f"the top of the saddle comes to lie {rises[0] - rises[1]:.0f} mm lower than planned."


def test_an_unknown_bend_is_refused() -> None:
    with pytest.raises(InputError, match="mark 4"):
        replan(SADDLE, [MadeBend(number=4)])


def test_the_derivative_in_closed_form_is_the_one_by_differences() -> None:
    """Central differences of what must vanish, with a straight and a roll held, to 1e-6 of the largest entry."""
    bent = piece((200.0, 40.0, 0.0), (420.0, 65.0, 75.0), (700.0, 25.0, -120.0), length=1000.0)
    target = walk(msgspec.structs.replace(bent, cut_length_mm=1010.0)).end
    free = [Free("start", 0, 25.0), Free("angle", 1, 0.1), Free("roll", 1, 0.1), Free("roll", 2, 0.1)]
    free += [Free("start", 2, 25.0), Free("cut", -1, 25.0)]
    task = Task(bent, Frame(), target, free, {1: 0.0, 3: 2.0}, [(free[2], 1.2)], NOTHING_AROUND, [], ())

    def rest(k: int, step: float) -> list[float]:
        values = [value_of(bent, item) + (step * item.scale if j == k else 0.0) for j, item in enumerate(free)]
        return equations(task, with_values(bent, free, values))

    got = slopes(task, bent)
    for k in range(len(free)):
        differences = [(a - b) / 2e-5 for a, b in zip(rest(k, 1e-5), rest(k, -1e-5), strict=True)]
        for row, by_differences in zip(got, differences, strict=True):
            assert row[k] == pytest.approx(by_differences, abs=1e-5, rel=1e-6)


def test_a_bend_that_is_left_out_keeps_its_plane_and_none_winds_round() -> None:
    """Where a bend goes to nothing its plane means nothing: it is not turned about, once or many times."""
    draw, gone = random.Random(4), 0
    for _ in range(60):
        bends: list[tuple[float, float, float]] = []
        at = 200.0
        for roll in (0.0, draw.choice([0.0, 90.0, 180.0]), draw.choice([0.0, 90.0, 180.0])):
            angle = draw.choice([5.0, 10.0, 15.0, 30.0])
            bends.append((at, angle, roll))
            at += R * radians(angle) + draw.uniform(50.0, 400.0)
        planned = piece(*bends, length=at + 200.0)
        made = MadeBend(number=3, angle_rad=radians(bends[2][1] + draw.choice([-4.0, -8.0, 5.0, 8.0])))
        for way in all_ways(planned, [made], stock_length_mm=planned.cut_length_mm):
            for old, new in zip(planned.bends, way.piece.bends, strict=True):
                assert abs(new.roll_rad - old.roll_rad) <= pi
                if abs(new.angle_rad) < 1e-4:
                    gone += 1
                    assert new.roll_rad == pytest.approx(old.roll_rad, abs=1e-3)
    assert gone > 3


RISER = piece((872.0, 10.0, 0.0), (1465.0, 10.0, 180.0), (2294.0, 90.0, 0.0), length=3048.0)


def test_a_stick_that_bounds_the_cut_hides_no_way_that_meets_the_end() -> None:
    """One limit held after the other ends in a corner of the search; with one bend left out the end is met."""
    made = MadeBend(number=3, angle_rad=radians(86.0), arc_start_mm=2296.5)
    limits: dict[str, Any] = {"stock_length_mm": 3048.0, "least_straight_mm": 83.0, "largest_angle_rad": radians(93.0)}
    ways = all_ways(RISER, [made], **limits)
    assert ways[0].further
    assert ways[0].met
    # by hand: where bend 2 goes, bend 1 makes up the 4 degrees
    for way in ways:
        if way.good and not way.further:
            assert way.bold
            assert sum(b.angle_rad for b in way.piece.bends[::2]) == pytest.approx(radians(90.0), abs=radians(0.5))
    slack = MadeBend(number=3, angle_rad=radians(94.0), arc_start_mm=2296.5)
    assert all_ways(RISER, [slack], **limits)[0].met


def test_what_a_hand_would_not_bend_goes_after_opening_what_was_bent_too_far() -> None:
    jog = piece((82.0, 10.0, 0.0), (153.0, 10.0, 180.0), (1655.0, 10.0, 180.0), (1760.0, 10.0, 0.0), length=1875.0)
    made = [MadeBend(number=4), MadeBend(number=3, angle_rad=radians(14.0), arc_start_mm=1645.7)]
    ways = all_ways(jog, made, stock_length_mm=1875.0, least_straight_mm=40.0)
    assert ways[0].good
    for old, new in zip(jog.bends[:2], ways[0].piece.bends[:2], strict=True):
        assert abs(new.angle_rad - old.angle_rad) < radians(1.0)
        assert abs(new.arc_start_mm - old.arc_start_mm) < 5.0
    # by hand: the last offset has 4 degrees too much, and opening its bend takes them away
    (opened,) = ways[0].opened
    assert (opened.number, opened.by_rad) == (3, pytest.approx(radians(-4.0)))
    assert ways[0].piece.bends[2].angle_rad == pytest.approx(radians(10.0))
    assert ways[0].serves
    # as it is the end leans by those 4 degrees, and a correction of the finished piece takes them away too
    asis = next(way for way in ways if way.plain and not way.further)
    assert max(abs(g) for g in asis.gap[3:]) == pytest.approx(sin(radians(4.0)), abs=1e-6)
    (later,) = next(way for way in corrected_later([asis], HalfBent(jog, made)) if way.later).later
    assert (later.number, later.kind) == (3, "angle")
    assert later.by_rad == pytest.approx(radians(-4.0), abs=radians(0.5))


def test_marks_that_serve_go_before_opening_a_bend() -> None:
    """A bend a degree too large early in a run: the rest makes up for it, and nothing that is bent is touched."""
    ways = all_ways(SADDLE, [MadeBend(number=1, angle_rad=SADDLE.bends[0].angle_rad + radians(1.0))])
    assert ways[0].good
    assert not ways[0].opened
    (opened,) = (way for way in ways if way.opened)
    assert opened.good
    assert opened.plain


def test_no_bend_is_opened_by_more_than_it_stands() -> None:
    by = radians(5.5)
    ways = all_ways(SADDLE, [MadeBend(number=1, angle_rad=SADDLE.bends[0].angle_rad + by)])
    assert not any(way.opened for way in ways)


@pytest.mark.parametrize("made_deg", [20.0, 26.0])
def test_what_is_mended_anyway_takes_its_correction_with_it(made_deg: float) -> None:
    """Mark 1 is bent further, or opened, before the rest is bent: what it lacks for the end beyond that is no second
    step. What another bend lacks stays one."""
    half = HalfBent(SADDLE, [MadeBend(number=1, angle_rad=radians(made_deg))])
    way = next(way for way in begun(SADDLE, half.made, EndA()) if way.further)
    answer = finished(
        half, way, with_values(way.piece, [Free("angle", 0, 1.0)], [way.piece.bends[0].angle_rad - 0.02]), plain=True
    )
    short = msgspec.structs.replace(answer, further=(Further(1, way.further[0].by_rad - 0.02),))
    assert not short.met
    mended = corrected_so(half, short, (Move(1, "angle", 0.02),))
    assert mended.met
    assert mended.later == ()
    assert [(n, pytest.approx(by)) for n, by in mended.further] == [(1, radians(22.5 - made_deg))]
    assert mended.piece.bends[0].angle_rad == pytest.approx(radians(22.5))
    assert not any(f.rule == "replan.end" for f in mended.findings)
    other = corrected_so(half, short, (Move(1, "angle", 0.01), Move(2, "angle", 0.01)))
    assert [(move.number, move.kind) for move in other.later] == [(2, "angle")]
    assert other.further[0].by_rad == pytest.approx(short.further[0].by_rad + 0.01)


@pytest.mark.parametrize(("made_deg", "at_once"), [(27.25, True), (28.0, False)])
def test_no_more_is_opened_at_once_than_a_hand_does(made_deg: float, at_once: bool) -> None:
    """Opened by a degree less than it has too much, and by that degree with the finished piece: more than 5 degrees
    together are none that a hand opens, so it stays two steps."""
    half = HalfBent(SADDLE, [MadeBend(number=1, angle_rad=radians(made_deg))])
    opened = Further(1, radians(22.5 + 1.0 - made_deg))
    large = with_values(SADDLE, [Free("angle", 0, 1.0)], [radians(23.5)])
    answer = finished(half, Begun(large, (opened,)), large, plain=True)
    assert not answer.met
    later = (Move(1, "angle", radians(-1.0)),)
    mended = corrected_so(half, answer, later)
    assert mended.later == (() if at_once else later)
    assert mended.met == at_once


def test_bends_made_too_large_and_too_small_are_mended_together() -> None:
    made = [
        MadeBend(number=1, angle_rad=SADDLE.bends[0].angle_rad + radians(2.0)),
        MadeBend(number=2, angle_rad=SADDLE.bends[1].angle_rad - radians(3.0)),
    ]
    both = next(way for way in all_ways(SADDLE, made) if way.opened and way.again)
    assert [(f.number, round(degrees(f.by_rad), 6)) for f in (*both.again, *both.opened)] == [(2, 3.0), (1, -2.0)]
    assert both.good


def test_a_bend_opened_with_the_hook_at_end_b_gives_back_toward_a() -> None:
    large = MadeBend(number=1, angle_rad=SADDLE.bends[0].angle_rad + radians(2.0))
    at = SADDLE.bends[0].arc_start_mm
    starts: dict[HookEnd, float] = {"A": at, "B": at + R * radians(2.0)}
    for hook, start in starts.items():
        way = next(way for way in all_ways(SADDLE, [large], hooks=(hook,) * 3) if way.opened)
        assert way.piece.bends[0].arc_start_mm == pytest.approx(start)


def test_a_miss_that_no_correction_mends_is_no_reason_to_finish_as_planned() -> None:
    """The last bend is 18 mm too far along: no bend's angle shortens the end."""
    made = [MadeBend(number=2, arc_start_mm=448.0), MadeBend(number=3, arc_start_mm=728.0)]
    way = all_ways(SADDLE, made, cut_free=False)[0]
    assert way.later == ()
    assert way.met or not way.serves


def test_the_last_bits_of_a_reading_choose_no_other_way() -> None:
    """A billionth of a degree on each angle that was read: the same way, and nothing moves by a thousandth of a micron;
    where bends go to nothing too."""
    gone = 0
    for seed in range(50):
        draw = random.Random(seed)
        count = draw.choice([2, 3, 3, 4])
        bends: list[tuple[float, float, float]] = []
        at = 200.0
        for k in range(count):
            angle = draw.choice([1.0, 2.0, 3.0, 5.0, 10.0, 15.0, 22.5, 45.0, 90.0])
            bends.append((at, angle, draw.choice([0.0, 90.0, 180.0, -90.0]) if k else 0.0))
            at += R * radians(angle) + draw.uniform(50.0, 400.0)
        planned = piece(*bends, length=at + 200.0)
        begun = draw.sample(range(count), draw.randint(1, count - 1))
        read = [(k, max(1.0, bends[k][1] + draw.gauss(0.0, 4.0)), bends[k][0] + draw.gauss(0.0, 6.0)) for k in begun]

        def found(
            more_deg: float, planned: BentPiece = planned, read: list[tuple[int, float, float]] = read
        ) -> tuple[ReplanAnswer, ...]:
            made = [MadeBend(number=k + 1, angle_rad=radians(a + more_deg), arc_start_mm=s) for k, a, s in read]
            return all_ways(planned, made, stock_length_mm=planned.cut_length_mm, least_straight_mm=40.0)

        ways = found(0.0)
        one = ways[0]
        gone += any(b.angle_rad < 1e-6 for way in ways for b in way.piece.bends)
        for other in (found(1e-9)[0], found(-1e-9)[0]):
            assert [f.number for f in one.further] == [f.number for f in other.further]
            assert (one.met, one.plain, one.later == ()) == (other.met, other.plain, other.later == ())
            assert abs(one.piece.cut_length_mm - other.piece.cut_length_mm) < 1e-6
            for mine, theirs in zip(one.piece.bends, other.piece.bends, strict=True):
                assert abs(mine.arc_start_mm - theirs.arc_start_mm) < 1e-6
                assert abs(mine.angle_rad - theirs.angle_rad) < 1e-8
                assert abs(mine.roll_rad - theirs.roll_rad) < 1e-8
    assert gone > 5


def test_last_bits_count_for_nothing_where_no_way_meets_the_end() -> None:
    """Two offsets, the second far too flat: the least miss lies where bends of the first go to nothing."""
    jogs = piece((95.0, 10.0, 0.0), (190.5, 10.0, 180.0), (852.0, 10.0, 180.0), (984.0, 10.0, 0.0), length=1186.0)
    for angle in (19.0, 22.3, 26.8):
        found = []
        for more in (0.0, 1e-9, -1e-9):
            flat = MadeBend(number=4, angle_rad=radians(1.0 + more), arc_start_mm=1003.7)
            made = [flat, MadeBend(number=3, angle_rad=radians(angle + more), arc_start_mm=835.1)]
            ways = all_ways(jogs, made, stock_length_mm=1186.0, least_straight_mm=41.0)
            found.append([(b.arc_start_mm, b.angle_rad, b.roll_rad) for b in ways[0].piece.bends])
            assert not ways[0].met
        for other in found[1:]:
            assert other == [pytest.approx(bend, abs=1e-6) for bend in found[0]]


def test_a_search_that_does_not_settle_by_long_steps_settles_by_short_ones() -> None:
    """Neighbors of one another, half a degree apart, are all brought to their end, or none of them is."""
    jogs = piece((95.0, 10.0, 0.0), (190.5, 10.0, 180.0), (852.0, 10.0, 180.0), (984.0, 10.0, 0.0), length=1186.0)
    flat = MadeBend(number=4, angle_rad=radians(1.0), arc_start_mm=1003.7)
    for half_degrees in range(30, 37):
        found = []
        for more in (0.0, 1e-9, -1e-9):
            angle = radians(half_degrees / 2.0 + more)
            made = [flat, MadeBend(number=3, angle_rad=angle, arc_start_mm=835.1)]
            (best, *_) = all_ways(jogs, made, stock_length_mm=1186.0, least_straight_mm=41.0)
            assert best.met
            found.append([(b.arc_start_mm, b.angle_rad, b.roll_rad) for b in best.piece.bends])
        for other in found[1:]:
            assert other == [pytest.approx(bend, abs=1e-5) for bend in found[0]]


def test_finishing_as_planned_is_always_a_way() -> None:
    draw = random.Random(9)
    for _ in range(10):
        made = MadeBend(number=draw.randint(1, 3), angle_rad=radians(draw.uniform(5.0, 60.0)))
        ways = all_ways(SADDLE, [made])
        assert any(way.plain and not way.further for way in ways)
        assert [way.rank for way in ways] == sorted(way.rank for way in ways)


def test_a_roll_that_all_made_bends_share_is_turned_away_in_the_fitting() -> None:
    made = [MadeBend(number=2, roll_rad=radians(184.0)), MadeBend(number=1, roll_rad=radians(4.0))]
    fixed, turning = (all_ways(SADDLE, made, end_a=EndA(turns=turns))[0] for turns in (False, True))
    assert turning.turned_rad == pytest.approx(radians(-4.0))
    assert turning.plain
    assert turning.met
    assert fixed.turned_rad == 0.0
    assert not fixed.plain
