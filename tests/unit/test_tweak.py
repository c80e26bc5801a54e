"""The least correction: found again where it was put in, never more bends than needed, refused where senseless."""

from functools import partial
from itertools import product
from math import cos, degrees, radians, sin, tan

import pytest
from ask_samples import saddle_survey
from piece_factory import R, bent_piece

from racewright.bends.model import BentPiece
from racewright.errors import InputError, LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.correction import corrected
from racewright.fit.jacobian import walk
from racewright.fit.left_words import Left as ReadingsLeft
from racewright.fit.left_words import left_words, readings_finding, unmeasured_finding
from racewright.fit.made import ROLL_LIMIT_RAD
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt, end_gap, shown
from racewright.fit.tweak import tweak
from racewright.fit.words import Left, Move, MoveKind, refusal
from racewright.plan.plan_run import plan_run
from racewright.plan.recheck import surroundings
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle

piece = partial(bent_piece, length=1200.0)


def saddle(rise: float = 88.9, angle_deg: float = 22.5) -> BentPiece:
    """Physical model, section 1: straight between the arcs (H - 2 R (1 - cos A)) / sin A."""
    a = radians(angle_deg)
    straight = (rise - 2.0 * R * (1.0 - cos(a))) / sin(a)
    one = 250.0
    two = one + R * a + straight
    three = two + 2.0 * R * a + straight
    return piece((one, angle_deg, 0.0), (two, 2 * angle_deg, 180.0), (three, angle_deg, 0.0))


def offset(rise: float = 120.0, angle_deg: float = 30.0) -> BentPiece:
    a = radians(angle_deg)
    straight = rise / sin(a) - 2.0 * R * tan(a / 2.0)
    return piece((250.0, angle_deg, 0.0), (250.0 + R * a + straight, angle_deg, 180.0))


def as_measured(plan: BentPiece, made: BentPiece) -> list[OffAt | LegLean]:
    out: list[OffAt | LegLean] = []
    for way in ("up", "left"):
        here = OffAt(way=way, off_mm=0.0)
        lean = LegLean(way=way, lean_rad=0.0)
        out.append(OffAt(way=way, off_mm=shown(made, here) - shown(plan, here)))
        out.append(LegLean(way=way, lean_rad=shown(made, lean) - shown(plan, lean)))
    return out


def test_nothing_to_do_within_the_tolerance() -> None:
    answer = tweak(offset(), [OffAt(way="up", off_mm=1.0)])
    assert answer.moves == ()
    assert answer.left_mm == pytest.approx(1.0, abs=1e-9)


def test_what_is_left_is_a_distance_and_an_angle_whichever_ways_it_was_measured() -> None:
    """3 up, 4 left (and 12 forward) are 5 (13) away; two places are not put together."""
    wide = Tolerance(length_mm=15.0, angle_rad=radians(6.0))
    ways = [OffAt(way="up", off_mm=3.0), OffAt(way="left", off_mm=-4.0)]
    leans = [LegLean(way="up", lean_rad=radians(3.0)), LegLean(way="left", lean_rad=radians(4.0))]
    cases: tuple[tuple[list[Measured], float, float], ...] = (
        ([*ways], 5.0, 0.0),
        ([*ways, OffAt(way="forward", off_mm=12.0)], 13.0, 0.0),
        ([*ways, OffAt(way="up", off_mm=4.5, station_mm=300.0)], 5.0, 0.0),
        ([*ways[:1], *leans], 3.0, 5.0),
    )
    for measured, mm, deg in cases:
        answer = tweak(offset(), measured, tolerance=wide)
        assert answer.moves == ()
        assert (answer.left_mm, degrees(answer.left_rad)) == pytest.approx((mm, deg), abs=1e-6)


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize("error_deg", [2.0, -3.0])
def test_an_overbent_bend_is_found_from_end_and_lean(number: int, error_deg: float) -> None:
    plan = saddle()
    made = corrected(plan, [Move(number, "angle", radians(error_deg))])
    answer = tweak(plan, as_measured(plan, made))
    assert [(m.number, m.kind) for m in answer.moves] == [(number, "angle")]
    assert degrees(answer.moves[0].by_rad) == pytest.approx(-error_deg, abs=0.26)
    assert answer.left_mm <= 25.4 / 16 + 1e-9
    assert answer.left_rad <= radians(0.5) + 1e-12


@pytest.mark.parametrize("error_deg", [2.0, -3.0])
def test_a_dog_leg_is_found_and_rolled_back(error_deg: float) -> None:
    plan = offset()
    made = corrected(plan, [Move(2, "roll", radians(error_deg))])
    answer = tweak(plan, as_measured(plan, made))
    assert [(m.number, m.kind) for m in answer.moves] == [(2, "roll")]
    assert degrees(answer.moves[0].by_rad) == pytest.approx(-error_deg, abs=0.26)
    assert "twist it at mark 2" in answer.words[0]
    sense = "counterclockwise" if error_deg > 0 else " clockwise"
    assert sense in answer.words[0]


def test_two_wrong_bends_take_two_corrections() -> None:
    plan = saddle()
    made = corrected(plan, [Move(1, "angle", radians(2.0)), Move(3, "angle", radians(-2.0))])
    answer = tweak(plan, as_measured(plan, made))
    assert {m.number for m in answer.moves} == {1, 3}
    assert answer.left_mm <= 25.4 / 16 + 1e-9


def test_the_words_say_open_and_another() -> None:
    plan = saddle()
    made = corrected(plan, [Move(3, "angle", radians(1.5))])
    tight = Tolerance(length_mm=0.8, angle_rad=radians(0.2))
    assert tweak(plan, as_measured(plan, made), tolerance=tight).words == ("open mark 3 by 1 1/2°",)
    made = corrected(plan, [Move(2, "angle", radians(-2.0))])
    assert tweak(plan, as_measured(plan, made)).words == ("bend mark 2 another 2°",)


def test_angles_read_on_a_level_alone_restore_the_plan() -> None:
    plan = saddle()
    answer = tweak(plan, [BendAngle(number=2, angle_rad=radians(47.0))])
    assert [(m.number, m.kind) for m in answer.moves] == [(2, "angle")]
    assert degrees(answer.moves[0].by_rad) == pytest.approx(-2.0, abs=1e-9)
    gap = end_gap(walk(plan).end, walk(answer.piece).end)
    assert max(abs(g) for g in gap) < 1e-9


def test_apex_low_with_true_ends_is_raised_by_one_pair_or_more_and_meets_what_was_measured() -> None:
    plan = saddle()
    now = shown(plan, ApexRise(rise_mm=0.0, number=2))
    measured: list[Measured] = [
        ApexRise(rise_mm=now - 3.0, number=2),
        OffAt(way="up", off_mm=0.0),
        OffAt(way="left", off_mm=0.0),
    ]
    answer = tweak(plan, measured)
    after = answer.piece
    assert shown(after, measured[0]) == pytest.approx(now, abs=25.4 / 16)
    assert shown(after, measured[1]) == pytest.approx(shown(plan, measured[1]), abs=25.4 / 16)


def test_daylight_under_the_last_leg() -> None:
    plan = offset()
    answer = tweak(plan, [OffAt(way="up", off_mm=4.0, station_mm=700.0)])
    assert len(answer.moves) == 1
    before, after = (shown(p, OffAt(way="up", off_mm=0.0, station_mm=700.0)) for p in (plan, answer.piece))
    assert answer.told
    assert after == pytest.approx(before, abs=25.4 / 16)


def test_no_single_correction_on_a_fine_grid_is_smaller() -> None:
    """Brute force: every single move in steps of 0.02 degree; the answer is the least that meets the middle of
    the tolerance, and where two bends were needed no single one comes within tolerance / sqrt(n)."""
    plan = saddle()
    tight = Tolerance(length_mm=0.5, angle_rad=radians(0.2))
    for first, second in product((-1.5, 0.0, 2.0), (0.0, 1.0)):
        if first == second == 0.0:
            continue
        made = corrected(plan, [Move(1, "angle", radians(first)), Move(3, "roll", radians(second))])
        measured = as_measured(plan, made)
        answer = tweak(plan, measured, tolerance=tight)
        targets = [item.off_mm if isinstance(item, OffAt) else item.lean_rad for item in measured]
        scales = [tight.length_mm if isinstance(item, OffAt) else tight.angle_rad for item in measured]
        base = [shown(plan, item) for item in measured]
        good = []
        moves: list[tuple[int, MoveKind]] = [(1, "angle"), (2, "angle"), (3, "angle"), (2, "roll"), (3, "roll")]
        for number, kind in moves:
            for step in range(-200, 201):
                by = radians(step * 0.02)
                after = corrected(plan, [Move(number, kind, by)])
                left = [
                    abs(shown(after, item) - b + t) / s
                    for item, b, t, s in zip(measured, base, targets, scales, strict=True)
                ]
                if max(left) <= 0.5:
                    good.append((abs(by), number, kind))
        touched = len({m.number for m in answer.exact})
        if good:
            assert touched == 1
            assert sum(abs(m.by_rad) for m in answer.exact) <= min(good)[0] + radians(0.4)
        else:
            assert touched == 2


def test_spinning_the_whole_piece_is_used_only_when_allowed() -> None:
    plan = offset()
    made = corrected(plan, [Move(1, "spin", radians(3.0))])
    measured = as_measured(plan, made)
    answer = tweak(plan, measured, may_spin=True)
    assert [m.kind for m in answer.moves] == ["spin"]
    assert answer.words[0].startswith("rotate the whole piece")
    # without leave to turn it, two ends of one offset's error cannot be taken out by as little
    without = tweak(plan, measured, tolerance=Tolerance(length_mm=8.0, angle_rad=radians(4.0)))
    assert all(m.kind != "spin" for m in without.moves)


def test_opening_too_far_is_refused_with_the_limit() -> None:
    plan = piece((250.0, 90.0, 0.0), length=900.0)
    with pytest.raises(LimitError, match="kinks") as caught:
        tweak(plan, [BendAngle(number=1, angle_rad=radians(98.0))])
    assert caught.value.asked == pytest.approx(8.0, abs=0.3)
    assert caught.value.limit == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("left", "said"),
    [
        (Left(1.594, 1.5875, is_angle=False), 'leaves a little more than 1/16", and 1/16" is the most'),
        (Left(9.5, 1.5875, is_angle=False), 'leaves 3/8", and 1/16" is the most'),
        (Left(radians(2.0), radians(0.5), is_angle=True), "leaves 2°, and 1/2° is the most"),
    ],
)
def test_what_the_best_correction_leaves_is_said_as_it_is_measured(left: Left, said: str) -> None:
    with said_in(TapeStyle()):
        error = refusal(None, left, radians(5.0))
    assert said in error.message
    assert error.unit == ("deg" if left.is_angle else "mm")


def test_a_wrong_length_cannot_be_bent_away() -> None:
    plan = piece((250.0, 1e-3, 0.0), length=900.0)
    with pytest.raises(LimitError, match="cannot be bent away"):
        tweak(plan, [OffAt(way="forward", off_mm=20.0)])


@pytest.mark.parametrize(
    "bad",
    [
        [],
        [BendAngle(number=4, angle_rad=1.0)],
        [OffAt(way="up", off_mm=1.0, station_mm=9999.0)],
        [ApexRise(rise_mm=1.0, number=0)],
    ],
)
def test_measurements_that_are_not_on_the_piece(bad: list[OffAt]) -> None:
    with pytest.raises(InputError):
        tweak(saddle(), bad)


LOW_PIPE = saddle_survey(
    clearance="1/8",
    walk=[{"leg": "70", "features": [{"saddle": {"name": "drain", "centre": "31", "height": "3"}}]}],
)


def test_of_two_corrections_the_one_that_keeps_off_the_pipe() -> None:
    """The end lies high and the top low: closing the middle would lower the slope into the pipe, opening the far bend
    does not. Without a pipe the smaller correction is taken."""
    plan = plan_run(read_survey(survey_from_data(LOW_PIPE)))
    piece = plan.pieces[0]
    around = surroundings(plan, piece)
    top = shown(piece.piece, ApexRise(rise_mm=0.0, number=2))
    measured: list[Measured] = [OffAt(way="up", off_mm=30.0), ApexRise(rise_mm=top - 3.0, number=2)]
    free = tweak(piece.piece, measured)
    clear = tweak(piece.piece, measured, around=around)
    assert around.short_mm(free.piece) > 0.0
    assert clear.short_mm == around.short_mm(clear.piece) == 0.0
    assert clear.total_rad >= free.total_rad - radians(0.5)


def test_no_correction_twists_a_bend_farther_than_it_can_be_twisted() -> None:
    plan = saddle()

    def twisted(off_deg: float) -> list[OffAt | LegLean]:
        return as_measured(plan, corrected(plan, [Move(2, "roll", radians(off_deg))]))

    assert [(move.kind, move.number) for move in tweak(plan, twisted(8.0)).moves] == [("roll", 2)]
    with pytest.raises(LimitError) as caught:
        tweak(plan, twisted(25.0))
    assert (caught.value.asked, caught.value.limit) == pytest.approx((25.0, degrees(ROLL_LIMIT_RAD)), abs=0.1)


@pytest.mark.parametrize("number", [2, 3])
def test_a_flat_top_comes_to_its_height_and_stays_flat(number: int) -> None:
    walk = [{"leg": "88", "features": [{"saddle": {"rise": "4", "centre": "41", "bends": "4", "angle": "30"}}]}]
    plan = plan_run(read_survey(survey_from_data(saddle_survey(walk=walk)))).pieces[0].piece
    tops = [shown(plan, ApexRise(rise_mm=0.0, number=n)) for n in (2, 3)]
    tight = Tolerance(length_mm=0.5, angle_rad=radians(0.2))
    answer = tweak(plan, [ApexRise(rise_mm=tops[number - 2] - 6.0, number=number)], tolerance=tight)
    assert [shown(answer.piece, ApexRise(rise_mm=0.0, number=n)) for n in (2, 3)] == pytest.approx(tops, abs=0.6)
    before = corrected(answer.piece, [move._replace(by_rad=-move.by_rad) for move in reversed(answer.moves)])
    assert shown(before, ApexRise(rise_mm=0.0, number=number)) == pytest.approx(tops[number - 2] - 6.0, abs=0.6)


def test_the_likeliest_piece_shows_what_was_measured_and_is_near_the_plan() -> None:
    plan = saddle()
    measured = [OffAt(way="up", off_mm=12.0), OffAt(way="left", off_mm=-9.0)]
    answer = tweak(plan, measured)
    assert answer.told
    back = corrected(answer.piece, [move._replace(by_rad=-move.by_rad) for move in reversed(answer.moves)])
    for item in measured:
        assert shown(back, item) - shown(plan, item) == pytest.approx(item.off_mm, abs=0.05)
    for old, new in zip(plan.bends, back.bends, strict=True):
        assert abs(new.angle_rad - old.angle_rad) < radians(2.0)
        assert abs(new.roll_rad - old.roll_rad) < radians(3.0)


def test_a_mark_that_is_bent_again_is_not_said_to_stay_off() -> None:
    plan = saddle()
    read: list[Measured] = [BendAngle(number=1, angle_rad=radians(26.0)), OffAt(way="up", off_mm=0.0)]
    lies = corrected(plan, [Move(1, "angle", radians(3.5))])
    stays, mended = (
        left_words(plan, read, ReadingsLeft(0.5, 0.001, lies, moves), TapeStyle("mm", 1))
        for moves in ((), (Move(1, "angle", -0.01),))
    )
    assert "Mark 1 stays 3 1/2° over its planned angle." in stays
    assert "stays" not in mended


def test_readings_are_set_against_each_other_only_past_their_tolerance() -> None:
    plan, tape = saddle(), TapeStyle("mm", 1)
    read = BendAngle(number=3, angle_rad=plan.bends[2].angle_rad)
    for off_mm, tells in ((1.5, False), (-1.5, False), (1.7, True)):
        found = readings_finding(plan, [read, OffAt(way="up", off_mm=off_mm)], (), tape, told=False)
        assert bool(found) == tells, off_mm
        # where a piece near the plan shows all, angles that are as planned are no news
        assert not readings_finding(plan, [read, OffAt(way="up", off_mm=off_mm)], (), tape, told=True)


def test_a_way_that_was_measured_is_not_asked_for_again() -> None:
    plan, tape = saddle(), TapeStyle("mm", 1)
    lies = corrected(plan, [Move(3, "angle", radians(4.0))])
    left = ReadingsLeft(0.0, 0.0, lies, ())
    angle = BendAngle(number=3, angle_rad=lies.bends[2].angle_rad)
    (told,) = unmeasured_finding(plan, [angle], left, tape)
    asked = "up" if " up of its place" in told.message or " down of its place" in told.message else "forward"
    again = unmeasured_finding(plan, [angle, OffAt(way="up", off_mm=0.0)], left, tape)
    assert asked == "up"
    assert not any(" up of" in f.message or " down of" in f.message for f in again)
