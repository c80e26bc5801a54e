"""The terminal card."""

from __future__ import annotations

import pytest
from plan_factory import every_plan

from racewright.cards.text.bend_card import text_card
from racewright.units.tape import reading

PLANS = every_plan()


@pytest.mark.parametrize("name", list(PLANS))
@pytest.mark.parametrize("width", [60, 80, 120])
def test_lines_fit_and_every_mark_is_there_twice(name: str, width: int) -> None:
    plan = PLANS[name]
    card = text_card(plan, width=width)
    assert max(len(line) for line in card.splitlines()) <= width
    for piece in plan.pieces:
        for bend in piece.bends:
            assert card.count(f"({bend.number}) {reading(bend.mark_tape, plan.tape.unit)}") >= 2
    assert "\x1b" not in card


def test_colour_only_when_asked_and_only_added() -> None:
    import re

    plan = PLANS["space in"]
    coloured = text_card(plan, colour=True)
    assert "\x1b[1;31mPROBLEM" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == text_card(plan)


def test_control_characters_of_names_do_not_reach_the_terminal() -> None:
    import msgspec

    plan = msgspec.structs.replace(PLANS["saddle in"], name="shed \x1b[2J\x07 two")
    assert "\x1b" not in text_card(plan)


def test_marks_stand_in_order_on_the_straight() -> None:
    card = text_card(PLANS["saddle in"])
    row = next(line for line in card.splitlines() if "(1)" in line and "(3)" in line)
    assert row.index("(1)") < row.index("(2)") < row.index("(3)")
