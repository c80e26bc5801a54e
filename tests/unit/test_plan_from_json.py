"""A plan goes into JSON and comes back the same; what is no plan is refused by field."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError
from racewright.plan.from_json import read_plan
from racewright.plan.model import shoe_of
from racewright.plan.plan_run import choose_bender, plan_run
from racewright.printable import plain_json
from racewright.store.survey_file import read_survey_file

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_what_is_written_is_read_back(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    assert read_plan(msgspec.json.decode(plain_json(plan))) == plan


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_the_plan_knows_its_bender_and_its_raceway(path: Path) -> None:
    survey = read_survey_file(path).survey
    bender, plan = choose_bender(survey), plan_run(survey)
    assert plan.conduit.name == plan.raceway
    if bender is not None:
        assert plan.shoe == bender
        assert plan.bender == shoe_of(bender)
        assert plan.bender.center_mm == plan.bender.centre_mm == bender.centre_mm


@pytest.mark.parametrize("pieces", [["piece 1"], [{}], [{"bends": 3}], [{"bends": None}], [{"bends": ["x"]}]])
@pytest.mark.parametrize("former", [True, False])
def test_pieces_without_bends_are_refused(pieces: Any, former: bool) -> None:
    data = _written() | {"pieces": pieces}
    if former:
        data["format"] = "racewright plan 1"
    with pytest.raises(InputError):
        read_plan(data)


def test_a_piece_that_ends_with_its_last_bend_is_read_back() -> None:
    data = _written()
    piece = data["pieces"][0]
    piece["cut_length_mm"] = piece["bends"][-1]["arc_end_mm"]
    assert read_plan(data).pieces[0].piece.straights_mm()[-1] == pytest.approx(0.0, abs=1e-9)


def _written() -> dict[str, Any]:
    data: dict[str, Any] = msgspec.json.decode(plain_json(plan_run(read_survey_file(EXAMPLES[-1]).survey)))
    return data


@pytest.mark.parametrize(
    ("change", "field", "said"),
    [
        (lambda plan: plan.update(format="racewright plan 9"), "format", "plan 9"),
        (lambda plan: plan.pop("format"), "format", "None"),
        (lambda plan: plan.pop("pieces"), "pieces", "missing"),
        (lambda plan: plan.update(pieces=[]), "pieces", "none"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(number=7), "pieces[0].bends", "do not make a piece"),
        (lambda plan: plan["pieces"][0].update(cut_length_mm=1.0), "pieces[0].bends", "do not make a piece"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(reference="rim"), "pieces[0].bends[0].reference", "arrow"),
        (lambda plan: plan["tape"].update(denominator=0), "tape.denominator", "a tape has"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(mark_mm=-1e308), "pieces[0].bends[0].mark_mm", "no figure"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(angle_deg=-20.0), "pieces[0].bends[0].angle_deg", "no bend"),
        (lambda plan: plan["pieces"][0].update(bend_radius_mm=0.0), "pieces[0].bend_radius_mm", "more than 0"),
        (lambda plan: plan["bender"].update(radius_mm=-5.0), "bender.radius_mm", "more than 0"),
        (lambda plan: plan["pieces"][0]["start"].update(axis=[0.0, 0.0, 3.0]), "pieces[0].start.axis", "no direction"),
        (
            lambda plan: plan["pieces"][0].update(bends=plan["pieces"][0]["bends"] * 41),
            "pieces[0].bends",
            "at most 120",
        ),
    ],
)
def test_what_is_no_plan_is_refused(change: Callable[[dict[str, Any]], None], field: str, said: str) -> None:
    data = _written()
    change(data)
    with pytest.raises(InputError) as refused:
        read_plan(data)
    assert refused.value.field == field
    assert said in refused.value.message
    assert refused.value.hint


@pytest.mark.parametrize("data", [None, [], "racewright plan 2", 2])
def test_what_is_no_object_is_refused(data: object) -> None:
    with pytest.raises(InputError):
        read_plan(data)
