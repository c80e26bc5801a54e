"""Every survey that the format admits is answered within a bounded amount of work, counted and not timed: hard named
ones, and random ones at the edges of the format (`evidence/hard_surveys.py`)."""

from __future__ import annotations

import cProfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from math import radians
from typing import Any

import msgspec
import pytest

from hard_surveys import NAMED, random_survey, saddles, survey, turns
from racewright import budget
from racewright.assembly import put_up as putting_up
from racewright.bends.model import BentPiece
from racewright.budget import Budget
from racewright.fit.room import Surroundings
from racewright.geometry.chain import Turn
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.operations.diagnose import DiagnoseAnswer
from racewright.operations.planned import CheckAnswer
from racewright.operations.remark import RemarkAnswer
from racewright.operations.tweak import TweakAnswer
from racewright.sticks.model import Split, StickRules
from racewright.sticks.refusal import NoSplit
from racewright.sticks.sticks import split_run

#: All budgets of one plan, and what a search may do beyond its own before it looks at it.
_SPLIT = budget.SPLIT + budget.SPLIT_AROUND
MOST_UNITS = 1.5 * (budget.ORDERS + 2 * budget.CAN_BE_BENT + _SPLIT + budget.ADVICE)
#: Calls of a Python function in one plan. 1.5 million take about a second of CPU.
MOST_CALLS = 12_000_000
RACK = survey("packing shed, pipe rack", saddles(13, 38, height="1 7/8", width="2 1/8"), stock=["60 ft"])


@contextmanager
def counted_units(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """The units that all budgets together take, in a list of one."""
    units = [0]
    take = Budget.take

    def counting(self: Budget, count: int) -> None:
        if self._whole is None:
            units[0] += count
        take(self, count)

    with monkeypatch.context() as patched:
        patched.setattr(Budget, "take", counting)
        yield units


def calls_of(data: dict[str, Any], operation: str = "check") -> int:
    """How many functions are called for an answer."""
    return calls_in(lambda: answer(operation, data))


def calls_in(work: Callable[[], object]) -> int:
    """How many functions of Python a piece of work calls: a measure that no clock and no other process touches."""
    counter = cProfile.Profile(subcalls=False, builtins=False)
    counter.runcall(work)
    return sum(one.callcount for one in counter.getstats())


@cache
def calls_of_the_rack() -> int:
    """What planning the rack's run calls, whatever else is asked about it."""
    return calls_of({"survey": RACK})


#: The hard surveys of which calls are counted too.
CALLS_COUNTED = ("40 saddles on one stick", "40 turns round a box", "2,000 ft")


@pytest.mark.parametrize("name", NAMED)
def test_hard_surveys_are_answered_within_the_budgets(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    got: list[object] = []
    with counted_units(monkeypatch) as units:
        if name in CALLS_COUNTED:
            answer("check", {"survey": survey("warm", turns(1, 30))})
            units[0] = 0
            assert calls_in(lambda: got.append(answer("check", {"survey": NAMED[name]}))) <= MOST_CALLS
        else:
            got.append(answer("check", {"survey": NAMED[name]}))
    assert isinstance(got[0], CheckAnswer), got
    assert 0 <= units[0] <= MOST_UNITS


@pytest.mark.parametrize("first", range(0, 36, 12))
def test_random_surveys_at_the_edges_are_answered_or_refused_within_the_budgets(
    first: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    answered = 0
    for seed in range(first, first + 12):
        with counted_units(monkeypatch) as units:
            got = answer("check", {"survey": random_survey(seed)})
        assert units[0] <= MOST_UNITS, seed
        if isinstance(got, Refused):
            assert got.error.kind in ("input", "limit"), (seed, got)
            continue
        answered += 1
    assert answered >= 3


def test_an_answer_cut_short_says_so_and_is_the_same_each_time() -> None:
    # ten bends, more than are proved, that can be bent
    data = survey("pump house, drops", turns(10, 13, angle=30.0), stock=["20 ft"])
    first = answer("check", {"survey": data})
    assert isinstance(first, CheckAnswer)
    told = [f for f in first.findings if f.rule == "bend.order"]
    assert [f.severity for f in told] == ["info"]
    assert "not proved" in told[0].message
    assert answer("check", {"survey": data}) == first


def test_new_marks_for_many_bends_are_cut_short_and_say_so() -> None:
    data = RACK
    got = answer("remark", {"survey": data, "made": [{"number": 1, "angle_deg": 12}]})
    assert isinstance(got, RemarkAnswer), got
    assert [f.severity for f in got.findings if f.rule == "replan.search"] == ["info"]
    more = answer("remark", {"survey": NAMED["40 saddles on one stick"], "made": [{"number": 1, "angle_deg": 12}]})
    assert isinstance(more, RemarkAnswer), more
    assert [f.severity for f in more.findings if f.rule == "replan.search"] == ["info"]


def readings_of_the_far_end() -> list[dict[str, Any]]:
    offs = [("up", "5/8"), ("left", "7/16"), ("long", "1/4")]
    leans = [("up", 1.5), ("left", 2.5)]
    return [
        *({"what": "off", "way": way, "off": off} for way, off in offs),
        *({"what": "lean", "way": way, "lean_deg": lean} for way, lean in leans),
    ]


def test_a_correction_of_many_bends_is_cut_short_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    data = survey("packing shed, sorting line", turns(38, 15, angle=45.0), stock=["100 ft"])
    asked = {"survey": data, "measured": readings_of_the_far_end()}
    # the order of the bends was sought with the plan
    most = MOST_UNITS + 1.2 * budget.CORRECTIONS
    with counted_units(monkeypatch) as units:
        got = answer("tweak", asked)
    assert isinstance(got, TweakAnswer), got
    assert [f.severity for f in got.findings if f.rule == "tweak.search"] == ["info"]
    assert got.moves
    assert budget.CORRECTIONS * 0.5 <= units[0] <= most
    assert answer("tweak", asked) == got


def test_a_correction_of_few_bends_is_proved() -> None:
    data = survey("pump house, header", turns(6, 14, angle=30.0), stock=["20 ft"])
    got = answer("tweak", {"survey": data, "measured": readings_of_the_far_end()})
    assert isinstance(got, TweakAnswer), got
    assert not [f for f in got.findings if f.rule == "tweak.search"]
    assert got.moves


def test_new_marks_of_many_bends_take_a_bounded_number_of_calls() -> None:
    data = RACK
    asked = {"survey": data, "made": [{"number": 1, "angle_deg": 12}]}
    plain = calls_of_the_rack()
    assert calls_of(asked, "remark") - plain <= MOST_CALLS / 2


def test_many_readings_of_many_bends_take_a_bounded_number_of_calls() -> None:
    data = RACK
    along = [{"what": "off", "way": "up", "off": "1/16", "station": str(24 + 11 * k)} for k in range(15)]
    plain = calls_of_the_rack()
    for measured, share in (
        ([*along, *readings_of_the_far_end()], 2),
        ([{"what": "rise", "rise": "3", "number": 20}], 9),
    ):
        assert calls_of({"survey": data, "measured": measured}, "tweak") - plain <= MOST_CALLS / share


def test_many_lengths_and_offcuts_on_long_straights_take_a_bounded_number_of_calls() -> None:
    # a dozen lengths on hand, whose sums fill each straight with places for a coupling
    rules = StickRules(
        stock_mm=tuple(770.0 + 9.3 * k for k in range(12)),
        offcuts_mm=(660.0, 830.0, 1290.0, 1755.0),
        hook_need_mm=74.0,
        grip_mm=140.0,
    )
    line = [Turn(700.0 + 5200.0 * k, radians(30), 3.0 * (k % 2), 113.6) for k in range(3)]
    found: list[Split] = []
    assert calls_in(lambda: found.append(split_run(15_900.0, line, rules))) <= MOST_CALLS / 4
    assert found[0].pieces
    # of work that is shared with others, a first split takes its own and the rest next to nothing
    shared = Budget(1000)
    with pytest.raises(NoSplit, match="before the search was stopped"):
        split_run(15_900.0, line, rules, work=shared)
    assert budget.SPLIT_FIRST <= shared.done <= 1.2 * budget.SPLIT_FIRST
    few = msgspec.structs.replace(rules, stock_mm=rules.stock_mm[:2])
    assert split_run(15_900.0, line, few, work=Budget(1000)).pieces


def test_new_marks_where_most_bends_are_made_a_little_small_take_a_bounded_number_of_calls() -> None:
    data = RACK
    asked = {"survey": data, "made": [{"number": k, "angle_deg": 20.0 + k % 3} for k in range(1, 39)]}
    plain = calls_of_the_rack()
    assert calls_of(asked, "remark") - plain <= MOST_CALLS / 4


def test_a_share_is_spent_of_its_whole_too() -> None:
    whole = Budget(100)
    part = whole.share(4)
    assert part.most == 25
    part.take(30)
    assert (part.left, part.spent) == (0, True)
    assert (whole.left, whole.spent) == (70, False)
    assert whole.share(2, 10).most == 10
    whole.take(70)
    assert whole.share().most == 0


def many_finished(pieces: int, bends: int, readings: int) -> list[dict[str, Any]]:
    """Finished pieces of as many runs, each bent two degrees over."""
    out = []
    for k in range(pieces):
        data = survey(f"packing shed, line {k + 1}", turns(bends, 17 + k % 5, angle=45.0 - k % 3), stock=["100 ft"])
        angle = 45.0 - k % 3 + 2.0
        angles = [{"what": "angle", "number": i % bends + 1, "angle_deg": angle} for i in range(readings)]
        out.append({"survey": data, "measured": angles})
    return out


def test_finished_pieces_are_looked_at_as_far_as_the_budget_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = {"pieces": many_finished(5, 38, 40), "causes": ["overbend"]}
    with counted_units(monkeypatch) as units:
        got = answer("diagnose", asked)
    assert isinstance(got, DiagnoseAnswer), got
    assert 2 <= len(got.pieces) < 5
    assert [f.severity for f in got.findings if f.rule == "diagnose.search"] == ["info"]
    assert f"only the first {len(got.pieces)} were" in got.findings[0].message
    assert got.causes[0].value == pytest.approx(radians(2.0), abs=1e-6)
    assert units[0] <= len(got.pieces) * MOST_UNITS + 2 * budget.DIAGNOSIS
    few = answer("diagnose", {"pieces": many_finished(3, 4, 4), "causes": ["overbend"]})
    assert isinstance(few, DiagnoseAnswer), few
    assert len(few.pieces) == 3
    assert not few.findings


def test_many_readings_of_many_pieces_take_a_bounded_number_of_calls() -> None:
    saddle = {"survey": survey("pump house, crossing", saddles(1, 60, height="2 1/4", width="2 1/4"))}
    measured = [{"what": "off", "way": "up", "off": "1/16", "station": str(20 + k // 8)} for k in range(198)]
    angles = [{"what": "angle", "number": 2, "angle_deg": 46}, {"what": "angle", "number": 1, "angle_deg": 23}]
    asked = {"pieces": [saddle | {"measured": [*angles, *measured]}] * 200}
    assert calls_of(asked, "diagnose") <= MOST_CALLS


def test_what_cannot_be_read_is_refused_before_anything_is_planned(monkeypatch: pytest.MonkeyPatch) -> None:
    spoilt: list[tuple[str, dict[str, Any]]] = [
        ("pieces[3].measured[0].off", {"measured": [{"what": "off", "way": "up", "off": "some"}]}),
        ("pieces[3].survey.run.walk[0].leg", {"survey": survey("s", [{"leg": "far"}])}),
        ("pieces[3].bender_name", {"bender_name": "none that is known"}),
    ]
    for field, other in spoilt:
        pieces = many_finished(4, 20, 4)
        pieces[3] |= other
        with counted_units(monkeypatch) as units:
            got = answer("diagnose", {"pieces": pieces})
        assert isinstance(got, Refused), got
        assert got.error.field == field
        assert units[0] == 0


def among_things(bends: int) -> dict[str, Any]:
    """A run of many turns past as many things to keep clear of."""
    walk = turns(bends, 21, angle=90.0)
    for part in walk[2:-1:2]:
        part["features"] = [
            {"keep_clear": {"center": "10 1/2", "height": "2 1/4", "width": "1 7/8", "side": 3.5, "clearance": 1}}
        ]
    return survey("packing shed, past the sorting line", walk, stock=["120 ft"])


@pytest.mark.parametrize(
    ("operation", "asked", "most", "rule"),
    [
        ("remark", {"made": [{"number": 1, "angle_deg": 72}]}, budget.NEW_MARKS, "replan.search"),
        (
            "remark",
            {"made": [{"number": k, "roll_off_deg": 4, "angle_deg": 87} for k in range(1, 6)], "stock": "120 ft"},
            budget.NEW_MARKS,
            "replan.search",
        ),
        (
            "tweak",
            {"measured": [{"what": "off", "way": "up", "off": "1 1/2"}], "may_spin": True},
            budget.CORRECTIONS,
            "tweak.search",
        ),
        ("tweak", {"measured": readings_of_the_far_end()[1:4], "may_spin": True}, budget.CORRECTIONS, "tweak.search"),
    ],
)
def test_what_is_held_against_things_around_counts(
    monkeypatch: pytest.MonkeyPatch, operation: str, asked: dict[str, Any], most: int, rule: str
) -> None:
    parts = 0
    nearest = Surroundings.nearest

    def counting(self: Surroundings, piece: BentPiece) -> Any:
        nonlocal parts
        parts += len(self.things) * (2 * len(piece.bends) + 1)
        return nearest(self, piece)

    monkeypatch.setattr(Surroundings, "nearest", counting)
    data = asked | {"survey": among_things(38)}
    with counted_units(monkeypatch) as units:
        got = answer(operation, data)
    assert isinstance(got, RemarkAnswer | TweakAnswer), got
    assert [f.severity for f in got.findings if f.rule == rule] == ["info"]
    # the finished piece is looked at once more
    assert 0 < parts <= 1.2 * most
    assert units[0] <= MOST_UNITS + 1.3 * most + budget.CORRECTED_LATER + 1.2 * budget.ORDERS_OF_THE_REST
    assert answer(operation, data) == got


def test_putting_up_a_long_run_between_fixed_ends_takes_a_bounded_amount_of_work(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    data = NAMED["2,000 ft"]
    stuck = {"fitting": "compression", "fixed": True}
    data = data | {"run": data["run"] | {"start": stuck, "end": stuck}}
    budgets: list[Budget] = []

    class Kept(Budget):
        def __init__(self, most: int, whole: Budget | None = None) -> None:
            super().__init__(most, whole)
            budgets.append(self)

    monkeypatch.setattr(putting_up, "Budget", Kept)
    got = answer("check", {"survey": data})
    assert isinstance(got, CheckAnswer), got
    more, own = budgets
    assert 0 < own.done < more.most
    # the try that spends it is brought to its end
    assert more.done <= more.most + own.done
