"""What is said of a scrapped piece: why, how far it was looked, and what of it is kept."""

from __future__ import annotations

import json
from math import pi
from typing import Any

import msgspec
import pytest
from ask_samples import saddle_survey

from racewright.bends.model import Bend, BentPiece
from racewright.budget import Budget
from racewright.errors import Finding
from racewright.fit.by_hand import LeftToBend
from racewright.fit.finishing import HalfBent
from racewright.fit.made import MadeBend
from racewright.fit.replan import replan
from racewright.fit.scrap import scrap_finding, why_words
from racewright.operations import way_taken
from racewright.operations.answer import ask_json
from racewright.units.tape import TapeStyle

MM = TapeStyle("mm", 1)
TURN = BentPiece(
    cut_length_mm=900.0,
    outside_diameter_mm=17.9,
    bends=(Bend(arc_start_mm=300.0, angle_rad=pi / 2.0, roll_rad=0.0, radius_mm=100.0),),
)


@pytest.mark.parametrize(
    ("long_mm", "said"),
    [
        (299.0, "No straight of it is worth keeping (the longest is 299 mm)."),
        (300.0, "300 mm, can be cut off and used"),
    ],
)
def test_a_straight_is_kept_from_its_least_length_on(long_mm: float, said: str) -> None:
    end = TURN.bends[0].arc_end_mm + long_mm
    told = scrap_finding("piece 1", TURN, [1], "why", from_mm=10.0, to_mm=end, tape=MM, proved=True)
    assert said in told.message
    assert told.measured == pytest.approx(long_mm)


def clearance(measured: float) -> Finding:
    how = "runs into it" if measured < 0.0 else "passes too close"
    return Finding(
        rule="run.clearance",
        severity="problem",
        message=f"sluice: the conduit {how}.",
        citation="geometry",
        where="sluice",
        measured=measured,
    )


@pytest.mark.parametrize(
    ("rule", "measured", "said"),
    [
        ("run.clearance", -12.0, "what would meet its fitting runs into sluice by 12 mm"),
        ("run.clearance", 2.0, "for its end to meet its fitting, sluice: the conduit passes too close"),
        ("run.surface", -19.0, "what would meet its fitting runs into sluice by 19 mm"),
        ("run.surface", -17.0, "for its end to meet its fitting, sluice: the conduit runs into it"),
    ],
)
def test_only_what_is_hit_is_said_to_be_run_into(rule: str, measured: float, said: str) -> None:
    """A wall from the conduit's own diameter on, 17.9 mm."""
    best = replan(HalfBent(TURN, [MadeBend(number=1)]))[0]
    hit = msgspec.structs.replace(clearance(measured), rule=rule)
    assert why_words(best, [hit], MM) == said


@pytest.mark.parametrize("spends", [False, True])
def test_the_best_way_that_no_hand_makes_is_named_and_a_search_cut_short_is_told(
    monkeypatch: pytest.MonkeyPatch, *, spends: bool
) -> None:
    asked: list[int] = []

    def refuse(*args: Any) -> LeftToBend:
        orders: Budget = args[-1]
        asked.append(len(asked) + 1)
        if spends:
            orders.take(orders.most)
        problem = Finding(rule="remark.order", severity="problem", message="no", citation="geometry")
        return LeftToBend((), as_planned=True, finding=problem, refused=f"reason {asked[-1]}")

    monkeypatch.setattr(way_taken, "_left", refuse)
    made = [{"number": 1, "angle_deg": 21.0}]
    answer = json.loads(ask_json("remark", json.dumps({"survey": saddle_survey(), "made": made, "stock": "58 7/8"})))
    message = answer["findings"][0]["message"]
    assert answer["scrap"]
    assert "cannot be bent by hand: reason " in message
    assert ("as far as was tried" in message) == spends
    if spends:  # the conduit in hand, then a longer one: one way each, and no other
        assert len(asked) == 2
    else:
        assert len(asked) > 4
    assert "reason 1." in message
