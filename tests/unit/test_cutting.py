from __future__ import annotations

import pytest
from cutting_factory import assert_can_be_cut, inches, rules, sixteenths

from racewright.cards.text.job import cut_words, left_words
from racewright.errors import InputError, LimitError
from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules, WantedPiece, cut_order
from racewright.units.tape import TapeStyle

INCH, MM = TapeStyle("in", 16), TapeStyle("mm", 1)


def test_nothing_to_cut() -> None:
    plan = cut_list([])
    assert (plan.sticks, plan.new_sticks, plan.proved) == ((), 0, True)
    assert cut_words(plan, INCH) == "nothing to cut"


def test_the_saw_cut_decides() -> None:
    # Two of 60 in from 120 in: without a saw cut one stick does, with one it does not.
    pieces = inches(60, 60)
    assert cut_list(pieces, rules(kerf_mm=0.0)).new_sticks == 1
    assert cut_list(pieces, rules(kerf_mm=1.5875)).new_sticks == 2


def test_no_saw_cut_after_the_last_piece_that_ends_the_stick() -> None:
    plan = cut_list(inches(60, 59.9375), rules(kerf_mm=1.5875))
    assert plan.new_sticks == 1
    assert plan.sticks[0].new_offcut_mm == 0.0
    cuts = cut_order(plan, INCH).sticks[0].cuts
    assert [c.cut for c in cuts] == [True, False]
    assert [c.mark.text for c in cuts] == ["60", "120"]


def test_words_say_how_good_it_is() -> None:
    plan = cut_list(inches(*[61] * 3))
    assert cut_words(plan, INCH) == "3 new sticks; no plan can do with fewer"
    assert cut_words(cut_list(inches(10)), INCH) == "1 new stick; no plan can do with fewer"
    by_length = cut_list(inches(61), rules(stock_mm=(3048.0, 6096.0), least="length"))
    assert cut_words(by_length, INCH) == "1 new stick, 10.0 ft bought; no plan can do with less"
    assert cut_words(by_length, MM) == "1 new stick, 3.05 m bought; no plan can do with less"


def test_words_where_the_bound_is_not_met() -> None:
    import msgspec

    plan = msgspec.structs.replace(cut_list(inches(*[61] * 3)), least_sticks=2, proved=False)
    assert cut_words(plan, INCH) == "3 new sticks; the best may need 1 fewer"


def test_offcuts_are_used_before_new_sticks_and_only_once() -> None:
    pieces = inches(40, 40, 40)
    plan = cut_list(pieces, rules(offcuts_mm=(41 * 25.4, 82 * 25.4)))
    assert_can_be_cut(pieces, plan)
    assert plan.new_sticks == 0
    assert plan.proved
    assert cut_words(plan, INCH) == "no new stick: what is on hand is enough"


def test_a_useless_offcut_is_left_alone() -> None:
    plan = cut_list(inches(40), rules(offcuts_mm=(100.0,)))
    assert plan.unused_offcuts == (1,)
    assert plan.new_sticks == 1


def test_a_piece_longer_than_a_new_stick_goes_into_an_offcut() -> None:
    pieces = inches(150, 80, 50)
    plan = cut_list(pieces, rules(offcuts_mm=(6096.0,)))
    assert_can_be_cut(pieces, plan)
    first = plan.sticks[0]
    assert first.offcut == 1
    assert max(p.length_mm for p in first.pieces) == 150 * 25.4
    assert plan.new_sticks == 1


def test_a_piece_longer_than_everything_is_refused_with_figures() -> None:
    with pytest.raises(LimitError) as caught:
        cut_list(inches(121))
    assert caught.value.asked == pytest.approx(121 * 25.4)
    assert caught.value.limit == 3048.0
    assert "coupling" in caught.value.hint


def test_several_stock_lengths() -> None:
    pieces = inches(100, 100, 200)
    fewest = cut_list(pieces, rules(stock_mm=(3048.0, 6096.0)))
    assert_can_be_cut(pieces, fewest)
    assert (fewest.new_sticks, fewest.new_length_mm) == (2, 12192.0)
    least = cut_list(inches(100, 100), rules(stock_mm=(3048.0, 6096.0), least="length"))
    assert least.new_length_mm == 6096.0
    assert least.proved


def test_a_new_stick_is_no_longer_than_it_needs_to_be() -> None:
    plan = cut_list(inches(100), rules(stock_mm=(6096.0, 3048.0)))
    assert plan.sticks[0].source_mm == 3048.0


def test_offcuts_gather_in_one_long_end() -> None:
    # 70 + 45 fill one stick, so that 90 in stay together; dealt otherwise two short ends are left.
    pieces = inches(70, 45, 29)
    plan = cut_list(pieces, rules(kerf_mm=0.0, keep_mm=24 * 25.4))
    assert plan.new_sticks == 2
    assert max(plan.kept_mm) == pytest.approx(91 * 25.4)
    assert left_words(plan, INCH).startswith('kept: 91"')


def test_sums_add_up() -> None:
    pieces = sixteenths([700, 650, 333, 212, 1200, 90, 90, 90])
    plan = cut_list(pieces)
    bought = sum(s.source_mm for s in plan.sticks)
    spent = sum(p.length_mm for p in pieces) + plan.kerf_total_mm + plan.scrap_mm + sum(plan.kept_mm)
    assert spent == pytest.approx(bought, abs=1e-6)


def test_the_same_list_gives_the_same_answer() -> None:
    pieces = sixteenths([700, 650, 333, 212, 1200, 90, 90, 90, 415, 416, 417])
    assert cut_list(pieces) == cut_list(pieces)


def test_quick_effort_still_cuts_everything() -> None:
    pieces = sixteenths([700, 650, 333, 212, 1200, 90, 90, 90])
    assert_can_be_cut(pieces, cut_list(pieces, rules(effort=0)))


def test_marks_count_pieces_and_saw_cuts() -> None:
    plan = cut_list(inches(50, 40, 20), rules(kerf_mm=3.175))
    stick = cut_order(plan, INCH).sticks[0]
    # 50; 50 + 1/8 + 40; 90 1/8 + 1/8 + 20
    assert [c.mark.text for c in stick.cuts] == ["50", "90 1/8", "110 1/4"]
    assert stick.new_offcut is not None
    assert stick.new_offcut.text == "9 5/8"


def test_the_stop_is_set_once_for_each_length_across_sticks() -> None:
    plan = cut_list(inches(*[50, 50, 50, 50, 18, 18]), rules(kerf_mm=0.0))
    order = cut_order(plan, INCH)
    assert [(s.length.text, s.pieces) for s in order.settings] == [("50", 4), ("18", 2)]
    assert sum(n for s in order.settings for _, n in s.takes) == 6
    assert order.settings_one_by_one >= len(order.settings)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"stock_mm": ()}, "stock_mm"),
        ({"stock_mm": (0.0,)}, "stock_mm"),
        ({"stock_mm": (float("nan"),)}, "stock_mm"),
        ({"offcuts_mm": (-1.0,)}, "offcuts_mm"),
        ({"kerf_mm": -0.1}, "kerf_mm"),
        ({"keep_mm": float("inf")}, "keep_mm"),
        ({"least": "money"}, "least"),
        ({"effort": -1}, "effort"),
    ],
)
def test_rules_that_make_no_sense(changes: dict[str, object], field: str) -> None:
    with pytest.raises(InputError) as caught:
        cut_list(inches(10), rules(**changes))
    assert caught.value.field == field
    assert "_mm" not in str(caught.value)


@pytest.mark.parametrize("length", [0.0, -5.0, float("nan"), 1e9, 0.0001])
def test_lengths_that_make_no_sense(length: float) -> None:
    with pytest.raises(InputError):
        cut_list([WantedPiece(label="p", length_mm=length)], CutRules(kerf_mm=0.0))
