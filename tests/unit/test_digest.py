"""A plan from its survey and from its JSON bears the same digest on each sheet; one with another mark another."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import msgspec
import pytest
from plan_factory import job_run

from racewright.cards.bend_card import card_pages
from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack
from racewright.cards.strip import strip_pages
from racewright.cards.text.bend_card import text_card
from racewright.drawing.scene import Text
from racewright.job.plan_job import PlannedRun
from racewright.plan.from_json import read_plan
from racewright.plan.model import Plan
from racewright.plan.plan_run import choose_bender, plan_run
from racewright.records.model import Job, JobHead
from racewright.store.survey_file import read_survey_file, survey_from_text
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
STUB = """units: in
run:
  name: {name}
  raceway: EMT 1/2
  walk:
    - leg: {leg}
    - turn: left
    - leg: 20 1/4
"""


def planned(name: str = "Packing shed, scale", leg: str = "31 1/2") -> Plan:
    return plan_run(survey_from_text(STUB.format(name=name, leg=leg)).survey)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_plan_read_back_from_its_json_has_the_same(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    assert re.fullmatch("[2-9A-HJ-NP-Z]{6}", plan.digest)
    assert read_plan(msgspec.json.decode(msgspec.json.encode(plan))).digest == plan.digest


def test_one_that_says_otherwise_has_another() -> None:
    plan = planned()
    assert planned(name="Workshop, press").digest == plan.digest
    assert planned(leg="31 9/16").digest != plan.digest
    data = msgspec.to_builtins(plan)
    data["pieces"][0]["bends"][0]["mark_tape"] = "1"
    assert read_plan(data).digest != plan.digest
    digests = {plan_run(read_survey_file(path).survey).digest for path in EXAMPLES}
    assert len(digests) == len(EXAMPLES)


def renamed(data: Any) -> Any:
    """What is written of a survey, with every name in it another; the ends have one, whether they had or not."""
    if isinstance(data, list):
        return [renamed(one) for one in data]
    if not isinstance(data, dict):
        return data
    ends = {end: {**(data.get(end) or {}), "name": ""} for end in ("start", "end") if "walk" in data}
    return {key: "tool shed" if key == "name" else renamed(value) for key, value in {**data, **ends}.items()}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_things_are_called_is_none_of_it(path: Path) -> None:
    written = read_survey_file(path).written
    plan, survey = plan_run(read_survey(written)), read_survey(survey_from_data(renamed(msgspec.to_builtins(written))))
    tool = choose_bender(survey)
    own = msgspec.structs.replace(tool, name="red half") if tool else None
    other = plan_run(survey, bender_name="red half" if own else "", find=lambda _: own)
    assert other.name == survey.start.name == survey.end.name == "tool shed"
    assert (own is None or plan.bender is None) or plan.bender.name != other.shoe.name
    assert other.digest == plan.digest
    assert other.digest_before != plan.digest_before


def test_another_kind_of_fitting_counts_though_it_takes_the_conduit_as_deep() -> None:
    stub = STUB.format(name="Workshop, press", leg="30")
    kinds = [f"  end: {{fitting: {kind}, insertion: 0}}\n" for kind in ("none", "set-screw", "compression")]
    assert len({plan_run(survey_from_text(stub + kind).survey).digest for kind in kinds}) == 3


def test_every_sheet_bears_it() -> None:
    plan = planned()
    for scene in (card_pages(plan), strip_pages(plan)):
        for page in scene.pages:
            said = [item.text for item in page.items if isinstance(item, Text)]
            assert said.count(f"plan {plan.digest}") == 1
    assert f"plan {plan.digest}" in text_card(plan)


def test_the_pack_names_it_in_the_index_and_on_the_runs_sheets() -> None:
    plan = planned()
    run = PlannedRun(run=job_run("S-4", plan.name), plan=plan)
    document = build_pack(Pack(job=Job(head=JobHead(name="Orchard, scale")), runs=(run,)))
    first = document.first_pages["S-4"] - 1
    pages = [[item.text for item in page.items if isinstance(item, Text)] for page in document.scene.pages]
    assert any(plan.digest in said for said in pages[:first])
    assert f"plan {plan.digest}" in pages[first]


@pytest.mark.parametrize(
    ("fact", "value"),
    [
        ("pieces.0.least_stock_mm", 2000.0),
        ("pieces.0.end_b.thread", "cut"),
        ("pieces.0.bends.0.hook", "A"),
        ("pieces.0.bends.0.stance", "upside down"),
        ("pieces.0.bends.0.pointer_deg", 91.0),
        ("joints.0.kind", "compression"),
        ("pieces.0.end_a.insertion_mm", 3.0),
        ("assembly.moves.0.act", "turn"),
        ("checks.straps_mm.0", 100.0),
    ],
)
def test_each_fact_that_a_sheet_tells_counts(fact: str, value: object) -> None:
    plan = planned()
    data = json.loads(msgspec.json.encode(plan))
    *way, last = (int(part) if part.isdigit() else part for part in fact.split("."))
    here = data
    for part in way:
        here = here[part]
    assert here[last] != value
    here[last] = value
    assert read_plan(data).digest != plan.digest
