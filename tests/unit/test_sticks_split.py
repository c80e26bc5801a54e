"""The split of a run into pieces: full sticks, room at couplings, refusals with what would help, odd input."""

from math import pi, radians

import pytest

from racewright.bends.model import Bend
from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn
from racewright.sticks.model import TEN_FEET_MM, Ease, Required, StickRules, Weights, straight_ease
from racewright.sticks.sticks import split_run

R = 113.6


def turns(*spots: tuple[float, float], roll_deg: float = 0.0) -> list[Turn]:
    return [Turn(s, radians(a), radians(roll_deg), R) for s, a in spots]


def test_a_straight_run_of_thirty_feet_is_three_full_sticks() -> None:
    got = split_run(3 * TEN_FEET_MM, [])
    assert got.joints_mm == pytest.approx((TEN_FEET_MM, 2 * TEN_FEET_MM))
    assert got.waste_mm == pytest.approx(0.0, abs=1e-6)
    assert (got.sticks, got.proved) == (3, True)


def test_the_gap_of_a_coupling_makes_the_pieces_shorter() -> None:
    got = split_run(2 * TEN_FEET_MM + 3.0, [], StickRules(coupling_gap_mm=3.0))
    assert [piece.cut_length_mm for piece in got.pieces] == pytest.approx([TEN_FEET_MM, TEN_FEET_MM])
    assert got.pieces[0].end_mm + 3.0 == pytest.approx(got.pieces[1].start_mm)


def test_a_run_within_one_stick_needs_no_coupling() -> None:
    got = split_run(2000.0, turns((400.0, 30.0), (700.0, 30.0)))
    assert got.joints_mm == ()
    assert got.pieces[0].cut_length_mm == 2000.0
    assert got.pieces[0].waste_mm == pytest.approx(TEN_FEET_MM - 2000.0)
    assert got.pieces[0].left_mm == pytest.approx(TEN_FEET_MM - 2000.0 - 1.6)
    whole = split_run(TEN_FEET_MM, [])
    assert whole.pieces[0].left_mm == 0.0


def test_no_coupling_on_or_beside_a_bend() -> None:
    """A full stick would end in the middle of a 90: the coupling moves to the straight before it."""
    rules = StickRules()
    bend = Turn(TEN_FEET_MM - 80.0, pi / 2, 0.0, R)
    got = split_run(5000.0, [bend], rules)
    (coupling,) = got.joints_mm
    assert coupling <= bend.arc_start_mm - rules.room_mm + 1e-6
    assert len(got.pieces[1].bends) == 1


def test_every_piece_is_bendable_by_its_straights() -> None:
    rules = StickRules()
    got = split_run(7000.0, turns((500.0, 90.0), (2600.0, 45.0), (3000.0, 45.0), (5900.0, 90.0)), rules)
    verdict = straight_ease(rules)
    for piece in got.pieces:
        assert verdict(piece.bends, piece.cut_length_mm) is not None
    assert sum(len(piece.bends) for piece in got.pieces) == 4


def test_rolls_count_from_each_pieces_first_bend() -> None:
    run = [Turn(2000.0, 0.5, 0.3, R), Turn(4200.0, 0.5, 1.1, R), Turn(4600.0, 0.5, 1.4, R)]
    got = split_run(6000.0, run)
    last = got.pieces[-1]
    assert last.bends[0].roll_rad == 0.0
    assert last.roll_rad + last.bends[-1].roll_rad == pytest.approx(1.4)


def test_an_offcut_is_used_before_a_new_stick_is_opened_and_once_only() -> None:
    got = split_run(TEN_FEET_MM + 2000.0, [], StickRules(offcuts_mm=(2000.0,)))
    assert sorted(piece.offcut for piece in got.pieces) == [0, 1]
    twice = split_run(TEN_FEET_MM + 4000.0, [], StickRules(offcuts_mm=(2000.0,)))
    assert sum(1 for piece in twice.pieces if piece.offcut == 1) == 1


def test_many_offcuts_still_give_an_answer_and_say_whether_it_is_proved() -> None:
    got = split_run(20000.0, [], StickRules(offcuts_mm=tuple(500.0 + 110.0 * k for k in range(14))))
    assert not got.proved
    used = [piece.offcut for piece in got.pieces if piece.offcut]
    assert len(used) == len(set(used))


def test_weights_change_the_answer() -> None:
    """A 9 ft run: one 10 ft stick, or offcuts of 5 and 4 ft with a coupling."""
    offcuts = (1524.0, 1219.2)
    few = split_run(2743.2, [], StickRules(offcuts_mm=offcuts, weights=Weights(coupling=60.0)))
    thrifty = split_run(2743.2, [], StickRules(offcuts_mm=offcuts, weights=Weights(coupling=0.5, stick=30.0)))
    assert len(few.pieces) == 1
    assert [piece.offcut for piece in thrifty.pieces] in ([1, 2], [2, 1])


def test_fewest_turns_and_hard_bends_by_hand() -> None:
    rules = StickRules(hook_need_mm=40.0, grip_mm=200.0, easy_grip_mm=300.0)
    verdict = straight_ease(rules)

    def bend(start: float) -> Bend:
        return Bend(arc_start_mm=start, angle_rad=1.0, roll_rad=0.0, radius_mm=100.0)

    assert verdict((), 100.0) == Ease()
    # short end A: the hook can only face it, the long side gives the grip
    assert verdict((bend(50.0),), 1000.0) == Ease(0, 0)
    assert verdict((bend(50.0),), 400.0) == Ease(1, 0)
    assert verdict((bend(50.0),), 340.0) is None
    # both ends short: one bend hooked toward A, one toward B, so one turn end for end
    assert verdict((bend(50.0), bend(850.0)), 1000.0) == Ease(0, 1)


def test_refusal_names_the_stretch() -> None:
    crowded = turns(*[(200.0 + 240.0 * k, 45.0) for k in range(20)])
    with pytest.raises(LimitError) as caught:
        split_run(5600.0, crowded)
    assert 'there is no split: from 6 5/8" (168.3 mm) on (the bend at 7 7/8" (200.0 mm))' in str(caught.value)
    assert "hint:" in str(caught.value)


def test_a_coupling_keeps_a_hands_width_from_bends_where_it_can() -> None:
    """A full stick would end 60 mm past a bend: the coupling goes on the near side of it, or far enough beyond."""
    rules = StickRules()
    bend = Turn(TEN_FEET_MM - 60.0 - R * pi / 2, pi / 2, 0.0, R)
    (coupling,) = split_run(5000.0, [bend], rules).joints_mm
    nearest = min(abs(coupling - bend.arc_start_mm), abs(coupling - bend.arc_start_mm - R * pi / 2))
    assert nearest >= rules.wanted_room_mm - 1e-6


def test_no_short_piece_without_need_and_full_sticks_first() -> None:
    """10 ft and 4 in: not 10 ft and a stub. 10 ft, a bend, 10 ft and a bit: the stick after the bend stays whole."""
    got = split_run(TEN_FEET_MM + 100.0, [])
    assert min(piece.cut_length_mm for piece in got.pieces) >= 300.0 - 1e-6
    two = split_run(2 * TEN_FEET_MM + 1000.0, turns((500.0, 90.0)))
    assert sum(piece.waste_mm < 1e-6 for piece in two.pieces) == 2


def test_the_shortest_piece_counts_as_it_is_cut() -> None:
    """A long coupling leaves 24 mm between the ends: the last piece is cut 12 mm shorter than its place is long."""
    got = split_run(TEN_FEET_MM + 290.0, [], StickRules(coupling_mm=90.0, coupling_gap_mm=24.0))
    assert min(piece.cut_length_mm for piece in got.pieces) == pytest.approx(300.0)
    assert got.proved


def test_the_middle_of_a_straight_that_is_too_short_for_a_hands_width() -> None:
    """Two sticks can only meet on the 150 mm between two bends: in the middle."""
    arc = R * pi / 2
    bends = [Turn(2600.0, pi / 2, 0.0, R), Turn(2600.0 + arc + 150.0, pi / 2, 0.0, R)]
    length = 2600.0 + arc + 150.0 + arc + 2600.0
    rules = StickRules(grip_mm=40.0, hook_need_mm=40.0, easy_grip_mm=40.0, weights=Weights(near_bend=5.0))
    assert split_run(length, bends, rules).joints_mm == pytest.approx((2600.0 + arc + 75.0,))
    usual = split_run(length, bends, StickRules(grip_mm=40.0, hook_need_mm=40.0, easy_grip_mm=40.0))
    assert len(usual.pieces) == 3


def test_a_required_joint_stands_where_it_is_and_takes_its_own_gap() -> None:
    rules = StickRules(required=(Required(2500.0, 200.0),), coupling_gap_mm=3.0)
    got = split_run(6000.0, turns((4000.0, 90.0)), rules)
    assert 2500.0 in got.joints_mm
    ends = {round(piece.end_mm, 6) for piece in got.pieces}
    starts = {round(piece.start_mm, 6) for piece in got.pieces}
    assert 2400.0 in ends
    assert 2600.0 in starts
    assert all(piece.cut_length_mm <= TEN_FEET_MM for piece in got.pieces)


def test_pieces_that_the_callers_test_refuses_are_gone_round_with_few_questions() -> None:
    """Forty bends, and a test that wants a meter of conduit for each piece: it is asked of some pieces, not of all."""
    asked: list[int] = []

    def long_ones(bends: tuple[Bend, ...], length_mm: float) -> bool:
        asked.append(len(bends))
        return length_mm > 1000.0

    run = turns(*[(1500.0 + 2200.0 * k, 30.0) for k in range(40)])
    got = split_run(2200.0 * 41, run, bendable=long_ones)
    assert all(piece.cut_length_mm > 1000.0 for piece in got.pieces if piece.bends)
    assert len(asked) < 400


def test_a_callers_own_verdict_is_asked() -> None:
    def two_at_most(bends: tuple[Bend, ...], length_mm: float) -> bool:
        return len(bends) <= 2

    run = turns((400.0, 30.0), (900.0, 30.0), (1500.0, 30.0), (2100.0, 30.0))
    assert len(split_run(2800.0, run, bendable=two_at_most).pieces) == 2
    with pytest.raises(LimitError):
        split_run(2800.0, run, bendable=lambda bends, length: False)


@pytest.mark.parametrize(
    "bad",
    [
        StickRules(stock_mm=()),
        StickRules(least_piece_mm=10.0),
    ],
)
def test_senseless_rules_are_refused(bad: StickRules) -> None:
    with pytest.raises(InputError):
        split_run(1000.0, [], bad)
