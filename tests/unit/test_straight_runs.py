"""A straight run needs no bender, in any size; where something is bent and no shoe exists, every door says so."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from racewright.cards.bend_card import card_pages
from racewright.cards.strip import strip_pages
from racewright.cards.text.bend_card import text_card
from racewright.cli.main import main
from racewright.drawing.scene import Text
from racewright.errors import InputError, LimitError
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.plan.pipeline import plan_survey
from racewright.plan.plan_run import choose_bender, plan_run
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.tools.benders import default_bender

#: raceway, fitting at both ends
BIG = [("EMT 2", "set-screw"), ("RMC 3", "threaded"), ("IMC 2-1/2", "threaded"), ("PVC-40 2", "socket")]


def data(raceway: str, fitting: str, *more: dict[str, object]) -> dict[str, object]:
    ends = {"start": {"name": "cabinet", "fitting": fitting}, "end": {"name": "pull box", "fitting": fitting}}
    walk = [{"leg": "23 ft 5", "from": "face", "to": "face"}, *more]
    if more:
        walk[0] = {"leg": "12 ft 5", "from": "face", "to": "back"}
    return {"units": "in", "run": {"name": "Pump house feeder", "raceway": raceway, **ends, "walk": walk}}


@pytest.mark.parametrize(("raceway", "fitting"), BIG)
def test_a_straight_run_is_cut_joined_and_strapped_without_a_bender(raceway: str, fitting: str) -> None:
    plan = plan_run(read_survey(survey_from_data(data(raceway, fitting))))
    assert plan.bender is None
    goes_in = plan.pieces[0].end_a.insertion_mm + plan.pieces[-1].end_b.insertion_mm
    assert plan.developed_length_mm == pytest.approx((23 * 12 + 5) * 25.4 + goes_in)
    assert sum(1 for j in plan.joints if j.before and j.after) == 2
    assert not any(p.bends for p in plan.pieces)
    assert {p.bend_radius_mm for p in plan.pieces} == {0.0}
    assert {"cut", "strap"} <= {s.kind for s in plan.steps}
    assert not any("handle" in text for text in plan.cautions)
    paper = " ".join(i.text for page in card_pages(plan).pages for i in page.items if isinstance(i, Text))
    assert "nothing is bent" in paper
    assert "Bend it" not in paper
    assert strip_pages(plan, "letter").pages


def test_the_card_of_a_straight_run_names_no_shoe_and_gives_no_bends(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "feeder.json"
    path.write_text(json.dumps(data("EMT 2", "set-screw")), encoding="utf-8")
    assert main(["plan", str(path)]) == 0
    card = capsys.readouterr().out
    assert "nothing is bent" in card
    assert "take-up" not in card
    assert "BEND IT" not in card
    assert main(["plan", str(path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["bender"] is None


def test_the_page_gets_a_straight_run_without_a_bender() -> None:
    got: Any = answer("plan", {"survey": data("RMC 3", "threaded"), "pictures": ["side", "card", "strip"]})
    assert got.plan.bender is None
    off = {"survey": data("RMC 3", "threaded"), "made": [{"number": 1, "angle_deg": 20}]}
    refused = answer("remark", off)
    assert isinstance(refused, Refused)
    assert refused.error.kind == "input"


def test_a_straight_run_in_a_size_with_a_shoe_keeps_it() -> None:
    survey = read_survey(survey_from_data(data("EMT 1", "set-screw")))
    assert choose_bender(survey) == default_bender("EMT", "1")
    assert "take-up" not in text_card(plan_run(survey))


def test_something_bent_without_a_shoe_stays_refused() -> None:
    turned = data("EMT 2", "set-screw", {"turn": "left"}, {"leg": "40", "from": "back", "to": "face"})
    survey = read_survey(survey_from_data(turned))
    with pytest.raises(LimitError, match="No hand shoe for EMT 2"):
        plan_run(survey)
    with pytest.raises(InputError, match="no bender"):
        plan_survey(survey, None)
    offset = data("RMC 3", "threaded")
    offset["run"]["walk"][0]["features"] = [{"offset": {"rise": "6", "starts_at": "40"}}]  # type: ignore[index]
    with pytest.raises(LimitError, match="No hand shoe for RMC 3"):
        plan_run(read_survey(survey_from_data(offset)))


def test_the_job_plans_straight_runs_and_says_what_is_wrong_with_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("RACEWRIGHT_SHOP", raising=False)
    turn: tuple[dict[str, object], ...] = ({"turn": "left"}, {"leg": "40", "from": "back", "to": "face"})
    for name, survey in (
        ("straight", data("EMT 2", "set-screw")),
        ("turned", data("EMT 2", "set-screw", *turn)),
    ):
        Path(f"{name}.json").write_text(json.dumps(survey), encoding="utf-8")
    assert main(["job", "new", "orchard", "--by", "Kim"]) == 0
    assert main(["job", "add", "straight.json", "turned.json", "--by", "Kim"]) == 0
    assert main(["job", "plan", "--by", "Kim"]) == 1
    assert "turned: cannot be made: No hand shoe for EMT 2" in capsys.readouterr().out
    assert main(["job", "status"]) == 0
    status = capsys.readouterr().out
    line = next(line for line in status.splitlines() if line.strip().startswith("straight"))
    assert "3 pieces, 0 bends" in line
    assert "CANNOT BE READ" not in status
    assert "No hand shoe for EMT 2" in status
    assert "racewright bender add" in status
    assert main(["job", "bill"]) == 1
    assert "EMT 2" in capsys.readouterr().out
