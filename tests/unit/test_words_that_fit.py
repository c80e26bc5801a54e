"""Words of the card that hang on the piece: a bending order that is not known, the stick to take, planes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from racewright.cards.text.bend_card import text_card
from racewright.catalogue.raceways import find_raceway
from racewright.operations.common import NOTHING_KNOWN
from racewright.operations.remark import RemarkRequest, remark
from racewright.plan.handling import TRIM_MM
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.records.model import MadeReading
from racewright.store.survey_file import survey_from_text
from racewright.tools.benders import radius_only_profile
from racewright.tools.profile_checks import check_profile

EXAMPLES = Path(__file__).parents[2] / "examples"
CORNER = "    - leg: 26\n    - turn: left\n    - leg: 31\n"
#: Two bends of an offset so near to each other that no hook finds room, and a turn behind them.
TIGHT = (
    "    - leg: 58\n      features:\n        - offset: {rise: 2 1/4, starts_at: 11, angle: 22.5}\n"
    "    - turn: right\n    - leg: 41\n"
)


def survey(walk: str, **run: Any) -> str:
    head = {"name": "x", "raceway": "EMT 1/2", "start": "{fitting: none}", "end": "{fitting: none}"} | run
    return "run:\n" + "".join(f"  {key}: {value}\n" for key, value in head.items()) + f"  walk:\n{walk}"


def planned(walk: str, **run: Any) -> Plan:
    return plan_run(survey_from_text(survey(walk, **run)).survey)


def test_where_no_bending_order_is_known_none_is_told() -> None:
    plan = planned(TIGHT, raceway="EMT 1-1/4", cut="after")
    assert [f.rule for f in plan.findings if f.severity == "problem"] == ["bend.order"]
    words = text_card(plan)
    assert "IN THIS ORDER" not in words
    assert "NO BENDING ORDER IS KNOWN" in words
    assert "1st" not in words
    stop, *rest = plan.steps
    assert (stop.kind, stop.title, stop.piece) == ("stop", "Do not cut or bend it yet", 1)
    assert rest == []  # nor does anything go up
    assert "Nothing of the run goes up before." in stop.detail
    assert {"cut", "bend", "hand shoe", "correct", "height", "drill", "enclosure"} <= set(
        stop.care
    )  # what waits is cautioned of all the same


def test_a_piece_that_is_cut_after_bending_has_something_to_cut_off() -> None:
    plain, after = planned(CORNER).pieces[0], planned(CORNER, cut="after").pieces[0]
    assert after.cut_length_mm == plain.cut_length_mm == plain.least_stock_mm
    assert after.least_stock_mm == pytest.approx(after.cut_length_mm + TRIM_MM)


@pytest.mark.parametrize("spare_in", [0.0, 0.25])
def test_a_stick_that_has_no_more_is_taken_as_it_is(spare_in: float) -> None:
    length = planned(CORNER).pieces[0].cut_length_mm + spare_in * 25.4
    piece = planned(CORNER, cut="after", stock=f"[{length:.6f} mm]").pieces[0]
    assert piece.least_stock_mm == pytest.approx(length, abs=1e-4)


def test_new_marks_count_on_no_more_conduit_than_the_card_asks_for() -> None:
    text = survey(TIGHT.replace("22.5", "10"), cut="after")
    piece = plan_run(survey_from_text(text).survey).pieces[0]

    def cut_mm(stock: str) -> float:
        made = (MadeReading(number=1, angle_deg=45.0),)
        answer = remark(RemarkRequest(survey=survey_from_text(text).written, made=made, stock=stock), NOTHING_KNOWN)
        return answer.cut.mm

    least_mm = piece.least_stock_mm - piece.extra_a_mm
    assert cut_mm("10 ft") > least_mm + 1.0
    assert cut_mm("") == pytest.approx(cut_mm(f"{least_mm:.6f} mm"), abs=1e-6)
    assert cut_mm("") <= least_mm + 0.1


def test_planes_count_from_the_bend_that_is_made_first() -> None:
    assert "other planes" not in text_card(planned(CORNER))
    words = text_card(plan_run(survey_from_text((EXAMPLES / "workshop-bench-u.yaml").read_text("utf-8")).survey))
    order = words[words.index("BEND IT") : words.index("THE FINISHED PIECE")].split("\n\n")
    assert [block.count("The other planes count from this one.") for block in order[1:]] == [1, 0, 0, 0, 0]


def test_a_written_radius_is_told_to_be_larger_and_a_read_gain_to_be_checked() -> None:
    raceway = find_raceway("EMT", "1/2")
    written = check_profile(radius_only_profile(raceway, 90.0), raceway)[0].message
    assert "Write a larger radius" in written
    assert "gain" not in written
