"""The run drawn from the corners of the room: everything is on it, and what stands before the conduit hides it."""

from __future__ import annotations

import re
from typing import Any

import pytest
from ask_samples import example_data, saddle_survey
from test_ask_operations import asked

from racewright.budget import CORNER_LOOKS, Budget
from racewright.cards import corner_view
from racewright.cards.corner_view import Sight
from racewright.cards.corner_view import corner_drawing as drawn
from racewright.drawing.scene import Box as Area
from racewright.drawing.scene import Polyline
from racewright.drawing.solids import outline_points
from racewright.geometry.solids import Box, Cylinder
from racewright.geometry.vector import Vec
from racewright.plan.plan_run import plan_run
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

POST = Cylinder(start=(0.0, 0.0, 0.0), end=(0.0, 0.0, 100.0), radius_mm=20.0)
BLOCK = Box(corner=(-50.0, 10.0, 0.0), edge_x=(100.0, 0.0, 0.0), edge_y=(0.0, 5.0, 0.0), edge_z=(0.0, 0.0, 30.0))
SOUTH: Vec = (0.0, -1.0, 0.0)


@pytest.mark.parametrize(
    ("point", "thing", "hidden"),
    [
        ((0.0, 60.0, 50.0), POST, True),  # behind the post, seen from the south
        ((0.0, -60.0, 50.0), POST, False),  # before it
        ((20.8, 60.0, 50.0), POST, False),  # 0.8 mm past its side
        ((19.0, 60.0, 50.0), POST, True),  # 1 mm within it
        ((0.0, 60.0, 101.0), POST, False),  # over its top
        ((0.0, 60.0, 10.0), BLOCK, True),
        ((0.0, 60.0, 31.0), BLOCK, False),
        ((51.0, 60.0, 10.0), BLOCK, False),
    ],
)
def test_what_stands_before_a_point(point: Vec, thing: Box | Cylinder, hidden: bool) -> None:
    looks = Budget(CORNER_LOOKS)
    assert Sight.of(thing).before(point, SOUTH, looks) is hidden
    assert looks.done < 60


@pytest.mark.parametrize("corner", [0, 1, 2, 3])
def test_every_mark_both_ends_and_the_pipe_are_on_it(corner: int) -> None:
    got = asked("corner", survey=saddle_survey(), corner=corner)
    told = re.findall(r"<text[^>]*>([^<]*)</text>", got["svg"])
    assert {"A", "B", "1", "2", "3", "22 1/2°", "45°"} <= set(told)
    assert "suction pipe" in " ".join(told)
    assert got["left_over"] == []
    assert f"corner {corner + 1} of 4" in got["caption"]
    assert got["svg"] == asked("corner", survey=saddle_survey(), corner=corner)["svg"]


def thick_dashes(data: dict[str, Any], corner: int) -> int:
    plan = plan_run(read_survey(survey_from_data(data)))
    items = drawn(plan, corner, Area(0.0, 0.0, 120.0, 120.0)).items
    return sum(isinstance(item, Polyline) and bool(item.dash) and item.width_mm > 0.3 for item in items)


def test_a_column_hides_the_conduit_from_two_corners_and_from_two_it_does_not() -> None:
    """The conduit goes past the column on one side, so that from the two corners of that side it lies before it."""
    from ask_samples import EXAMPLES

    (path,) = [path for path in EXAMPLES if path.stem == "packing-shed-column"]
    assert [thick_dashes(example_data(path), corner) for corner in range(4)] == [1, 1, 0, 0]


def saddles(count: int) -> dict[str, Any]:
    over = [{"saddle": {"name": f"pipe {k}", "centre": str(30 + 60 * k), "height": "2 7/8"}} for k in range(count)]
    return saddle_survey(walk=[{"leg": str(60 * count), "features": over}])


def test_each_thing_is_outlined_once_for_all_parts_of_the_conduit(monkeypatch: pytest.MonkeyPatch) -> None:
    asked_for: list[object] = []

    def counted(thing: Box | Cylinder) -> tuple[Vec, ...]:
        asked_for.append(thing)
        return outline_points(thing)

    monkeypatch.setattr(corner_view, "outline_points", counted)
    asked("corner", survey=saddles(6))
    assert len(asked_for) == 2 * 6, "once for what is drawn, once for what hides"


def test_where_too_much_stands_around_the_work_ends_and_the_drawing_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = asked("corner", survey=saddles(6))
    assert not [told for told in whole["left_over"] if "stands around" in told]
    budgets: list[Budget] = []

    def less(most: int) -> Budget:
        budgets.append(Budget(most // 100))
        return budgets[-1]

    monkeypatch.setattr(corner_view, "Budget", less)
    cut = asked("corner", survey=saddles(6))
    assert [told for told in cut["left_over"] if "not all which hides the conduit was worked out" in told]
    assert [budget.done <= budget.most + 250 for budget in budgets] == [True]
