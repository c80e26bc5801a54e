"""Labels of a drawing that would stand on the wrong side of each other change places."""

from __future__ import annotations

import pytest

from racewright.cards.labels import Board, untangled
from racewright.cards.side_view import side_view
from racewright.drawing.scene import WHITE, Box, Text
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

AREA = Box(0.0, 0.0, 100.0, 60.0)
LEFT, RIGHT = (48.0, 30.0), (52.0, 30.0)


def box_at(x: float, y: float, wide: float = 16.0) -> Box:
    return Box(x - 0.5 * wide, y - 2.5, x + 0.5 * wide, y + 2.5)


def board_with(*boxes: Box) -> Board:
    board = Board(AREA)
    for box in boxes:
        board.take(box.grown(0.6))
    return board


def test_two_that_cross_change_places_and_two_that_do_not_stay() -> None:
    low, high = box_at(25.0, 36.0), box_at(75.0, 24.0)
    assert untangled(board_with(low, high), [(LEFT, high), (RIGHT, low)]) == (low, high)
    assert untangled(board_with(low, high), [(LEFT, low), (RIGHT, high)]) == (low, high)


def test_labels_of_different_sizes_stay_and_so_do_those_with_another_in_between() -> None:
    low, high = box_at(25.0, 36.0), box_at(75.0, 24.0)
    wide = box_at(75.0, 24.0, 20.0)
    assert untangled(board_with(low, wide), [(LEFT, wide), (RIGHT, low)]) == (wide, low)
    between = box_at(40.0, 32.5, 4.0)
    assert untangled(board_with(low, high, between), [(LEFT, high), (RIGHT, low)]) == (high, low)


@pytest.mark.parametrize(("leg", "up"), [(36, 16), (40, 19), (46, 22)])
def test_the_two_marks_of_a_box_offset_stand_in_their_order(leg: int, up: int) -> None:
    """Their places are next to each other near end A, with the panel's label above."""
    text = (
        "run:\n  name: pump house\n  raceway: EMT 1/2\n  stand_off: 1/4\n  going: up\n"
        "  start: {name: panel, fitting: set-screw, height: 1}\n  end: {name: lamp hook, fitting: none}\n  walk:\n"
        f"    - leg: {leg}\n      to: back\n      features:\n        - box_offset: {{starts_at: 2}}\n"
        f"    - turn: away\n    - leg: {up}\n      from: back\n      to: stop\n"
    )
    plan = plan_run(survey_from_text(text).survey)
    drawn = side_view(plan, 0, Box(20.0, 20.0, 140.0, 110.0), 10.0)
    numbers = {i.text: i.at[0] for i in drawn.items if isinstance(i, Text) and i.ink == WHITE and i.text in "12"}
    assert numbers["1"] < numbers["2"]
