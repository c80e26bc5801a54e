"""The tables of choices say of each angle what the plan itself says when the survey asks for that angle."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from ask_samples import saddle_survey

from racewright.errors import LimitError
from racewright.operations.answer import ask_json
from racewright.plan.choices import printed_tables
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file, survey_from_text

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = """units: in
run:
  name: Packing shed, lights over the air line
  raceway: EMT 1/2
  walk:
    - leg: 61
      features:
        - saddle: {name: air line, center: %s, rise: 2 1/4, angle: %s, bends: %s}
"""
OFFSET = """units: in
run:
  name: Workshop, charger
  raceway: EMT 3/4
  cut: %s
  walk:
    - leg: 44
      features:
        - offset: {name: sill, rise: 4, middle_at: %s, angle: %s}
    - turn: left
    - leg: 19
"""


def planned(text: str) -> Plan:
    return plan_run(survey_from_text(text).survey)


def effort(plan: Plan) -> str:
    """As a table prints it; '-' where there is no order."""
    return f"{plan.pieces[0].ways[0].effort:.1f}" if plan.pieces[0].ways else "-"


@pytest.mark.parametrize("center", ["30 1/2", "16"])
def test_a_saddle_costs_what_the_plan_with_that_angle_costs(center: str) -> None:
    (table,) = printed_tables(planned(SADDLE % (center, "22.5", 3)))
    told = [row for row in table.rows if row[2]]
    assert len(told) >= 8
    for row in told:
        angle = row[0].replace("22 1/2", "22.5").rstrip("°")
        assert row[7] == effort(planned(SADDLE % (center, angle, row[1]))), row
        assert (row[7] == "-") == ("no bending order" in row[-1])


@pytest.mark.parametrize("cut", ["before", "after"])
@pytest.mark.parametrize("middle", ["17", "11 1/2"])
def test_an_offset_costs_what_the_plan_with_that_angle_costs(middle: str, cut: str) -> None:
    (table,) = printed_tables(planned(OFFSET % (cut, middle, "22.5")))
    told = [row for row in table.rows if row[2]]
    assert len(told) >= 3
    for row in told:
        try:
            plan = planned(OFFSET % (cut, middle, row[0].replace("22 1/2", "22.5").rstrip("°")))
        except LimitError:
            continue  # measured to its middle there is no room; moved along the leg there is
        assert row[7] == effort(plan), row


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_planned_row_has_the_plans_own_effort(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    for table, shape in zip(
        printed_tables(plan), [s for s in plan.shapes if s.kind not in ("turn", "kick")], strict=True
    ):
        (row,) = [row for row in table.rows if row[-1].startswith("planned")]
        counts = [len(piece.bends) for piece in plan.pieces]
        piece = next(p for k, p in enumerate(plan.pieces) if sum(counts[: k + 1]) > shape.first)
        assert row[7] == f"{piece.ways[0].effort:.1f}"
        assert "no bending order" not in row[-1]


def test_of_equal_efforts_the_planned_one_is_the_least() -> None:
    (table,) = printed_tables(plan_run(read_survey_file(EXAMPLES / "packing-shed-column.yaml").survey))
    least = min(float(row[7]) for row in table.rows if row[7])
    (marked,) = [row for row in table.rows if "least effort" in row[-1]]
    assert float(marked[7]) == least
    assert "planned" in marked[-1]
    assert sum(row[7] == marked[7] for row in table.rows) > 1


def test_of_a_piece_with_many_bends_nothing_is_claimed_that_is_not_looked_for() -> None:
    for table in printed_tables(plan_run(read_survey_file(EXAMPLES / "packing-shed-two-turns.yaml").survey)):
        for row in table.rows:
            assert "least effort" not in row[-1]
            assert "least sensitive" not in row[-1]
            if row[2] and "planned" not in row[-1]:
                assert (row[7], row[-1]) == ("-", "whether it can be bent is not looked for")


@pytest.mark.parametrize("bends", ["auto", "3", "4"])
def test_the_page_s_rows_have_as_many_bends_as_the_plan_at_that_angle(bends: str) -> None:
    survey = saddle_survey()
    saddle = survey["run"]["walk"][0]["features"][0]["saddle"]
    saddle["bends"] = bends

    def ask() -> dict[str, Any]:
        return dict(json.loads(ask_json("plan", json.dumps({"survey": survey, "pictures": []}))))

    planned = ask()
    count = len(planned["plan"]["pieces"][0]["bends"])
    (table,) = planned["angles"]
    words = {row["angle_deg"]: row["becomes"] for row in table["rows"]}
    if bends == "auto":
        assert (words[30.0], words[45.0]) == ("", "four bends, not three")
    for row in (row for row in table["rows"] if row["possible"]):
        saddle["angle"] = str(row["angle_deg"])
        taken = ask()
        assert len(taken["plan"]["pieces"][0]["bends"]) == row["bends"]
        assert bool(row["becomes"]) == (row["bends"] != count)
        (again,) = taken["angles"]
        for name in ("spacing", "shrink", "room"):
            assert again["rows"][again["planned"]][name]["tape"] == row[name]["tape"]
