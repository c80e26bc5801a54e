"""More conduit left on beyond a short end: told only where the stick that the piece is cut from has it."""

from __future__ import annotations

import pytest

from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

MORE = "more on beyond end A and cut it off after bending"


def planned(leg: str, features: str = "", **run: str) -> Plan:
    """A stub of 7 1/2 in from a free end, then `leg` to a free end."""
    head = {"name": "workshop stub", "raceway": "EMT 1/2", "start": "{fitting: none}", "end": "{fitting: none}"} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    walk = f"    - {{leg: 7 1/2}}\n    - turn: away\n    - {{leg: {leg}{features}}}\n"
    return plan_run(survey_from_text(f"units: in\nrun:\n{fields}  walk:\n{walk}").survey)


OFFSET = ", features: [{offset: {rise: 4, starts_at: 40, angle: 30}}]"


def told(plan: Plan, number: int = 0) -> list[str]:
    return [reason for way in plan.pieces[number].ways for reason in way.reasons if "too short to hold" in reason]


@pytest.mark.parametrize(
    ("leg", "run", "has"),
    [
        ("300", {}, False),  # piece 1 takes a whole stick
        ("112", {}, False),  # 117 13/16 in and 6 in more are over 120 in
        ("80", {}, True),
        ("112", {"stock": '["13 ft"]'}, True),
        ("112", {"stock": '["20 ft"]', "cut": "after"}, True),
    ],
)
def test_more_is_left_on_only_where_the_stick_has_it(leg: str, run: dict[str, str], has: bool) -> None:
    plan = planned(leg, OFFSET, **run)
    first = plan.pieces[0]
    lines = told(plan)
    assert lines
    assert all("hold the conduit on B's side" in line for line in lines)
    assert any(MORE in line for line in lines) == has
    if has:
        assert first.stock_mm > first.least_stock_mm + 5.5 * 25.4


def test_the_only_bend_of_a_piece_says_it_at_its_step() -> None:
    (bend,) = planned("40").pieces[0].bends
    assert bend.look_at.startswith('Hook on a short end, 2 11/16": hold the conduit on B\'s side, or leave 5 1/2" more')
    assert MORE in bend.look_at
    (whole,) = planned("114").pieces[0].bends
    assert "hold the conduit on B's side. " in whole.look_at
    assert MORE not in whole.look_at
