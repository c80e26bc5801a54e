"""Any cut list can be cut, is no worse than first fit, and never claims to be better than its bound."""

from __future__ import annotations

import sys
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from racewright.takeoff.cutting import cut_list
from racewright.takeoff.cutting_model import CutRules, cut_order, to_steps
from racewright.units.tape import TapeStyle

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))
from cutting_factory import SIXTEENTH_MM, assert_can_be_cut, sixteenths

LENGTHS = st.lists(st.integers(8, 1920), min_size=1, max_size=25)
OFFCUTS = st.lists(st.integers(16, 2400), max_size=4)


@st.composite
def cut_rules(draw: st.DrawFn) -> CutRules:
    return CutRules(
        stock_mm=draw(st.sampled_from([(3048.0,), (3048.0, 6096.0), (6096.0, 3048.0, 3657.6)])),
        offcuts_mm=tuple(n * SIXTEENTH_MM for n in draw(OFFCUTS)),
        kerf_mm=draw(st.sampled_from([0.0, 1.5875, 3.0])),
        keep_mm=draw(st.sampled_from([0.0, 304.8, 609.6])),
        least=draw(st.sampled_from(["sticks", "length"])),
    )


@settings(max_examples=60, deadline=None)
@given(LENGTHS, cut_rules())
def test_every_list_can_be_cut(lengths: list[int], rules: CutRules) -> None:
    pieces = sixteenths(lengths)
    plan = cut_list(pieces, rules)
    assert_can_be_cut(pieces, plan)
    assert plan.new_sticks <= len(pieces)


@settings(max_examples=40, deadline=None)
@given(LENGTHS, cut_rules())
def test_marks_rise_and_settings_cover_every_cut(lengths: list[int], rules: CutRules) -> None:
    plan = cut_list(sixteenths(lengths), rules)
    order = cut_order(plan, TapeStyle("in", 32))
    for stick in order.sticks:
        marks = [c.mark.shown_mm for c in stick.cuts]
        assert marks == sorted(marks)
        assert marks[-1] <= stick.source.shown_mm + 0.8  # the tape's step
        assert all(c.cut for c in stick.cuts[:-1])
    cuts = sum(c.cut for s in order.sticks for c in s.cuts)
    assert sum(s.pieces for s in order.settings) == cuts
    assert len({s.length.shown_mm for s in order.settings}) == len(order.settings) <= order.settings_one_by_one


@settings(max_examples=40, deadline=None)
@given(LENGTHS, st.integers(8, 1920))
def test_one_more_piece_never_lowers_the_bound(lengths: list[int], more: int) -> None:
    rules = CutRules()
    before, after = cut_list(sixteenths(lengths), rules), cut_list(sixteenths([*lengths, more]), rules)
    assert after.least_sticks >= before.least_sticks or not (before.proved and after.proved)
    assert after.new_sticks >= before.least_sticks


@settings(max_examples=30, deadline=None)
@given(LENGTHS, OFFCUTS)
def test_an_offcut_never_costs_a_stick(lengths: list[int], offcuts: list[int]) -> None:
    without = cut_list(sixteenths(lengths))
    plan = cut_list(sixteenths(lengths), CutRules(offcuts_mm=tuple(n * SIXTEENTH_MM for n in offcuts)))
    if plan.proved:
        assert plan.new_sticks <= without.new_sticks
    total = sum(to_steps(n * SIXTEENTH_MM) for n in lengths)
    have = sum(to_steps(s.source_mm) for s in plan.sticks)
    assert have >= total
