"""What is said of an answer is no more than what it is: worked from figures, no approval, no promise."""

from __future__ import annotations

import json
import re
from pathlib import Path

import msgspec
import pytest

from racewright.cards.text.bend_card import check_text, text_card
from racewright.cards.words import bender_words
from racewright.cautions import DECIDES
from racewright.cli.main import COMMANDS, NEWCOMER, main
from racewright.operations.planned import CheckAnswer
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file
from racewright.tools.benders import default_benders, is_taught

ROOT = Path(__file__).parents[2]
SADDLE = ROOT / "examples" / "pump-house-saddle.yaml"
#: promises that no text may make
CLAIMS = re.compile(
    r"inspector will|will pass|passes inspection|guarantee|\bcompl(?:y|ies|iant|iance)\b|\bis safe\b"
    r"|\bsafe to (?:use|install|pull)|nothing wrong|code.approved|approved by"
    r"|exact (?:bend )?marks (?:for|on) (?:\*?your\*?|your own) bender|exact for your bender",
    re.IGNORECASE,
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_run(read_survey_file(SADDLE).survey)


def test_no_text_promises_what_only_others_can_decide() -> None:
    texts = [*(ROOT / "src" / "racewright").rglob("*.py"), *(ROOT / "docs").glob("*.md"), ROOT / "README.md"]
    found = {str(path): hit[0] for path in texts if (hit := CLAIMS.search(path.read_text(encoding="utf-8")))}
    assert not found
    assert not CLAIMS.search(" ".join([NEWCOMER, *COMMANDS.values()]))


def test_a_card_on_a_taught_shoe_says_that_its_marks_are_for_the_taught_figures(plan: Plan) -> None:
    said = " ".join(text_card(plan).split())
    assert "Exact for a shoe with these taught figures; calibrate yours." in said


def test_a_card_on_the_persons_own_shoe_says_no_such_thing(plan: Plan) -> None:
    assert plan.bender is not None
    own = msgspec.structs.replace(plan.bender, name="Kim's", standing="measured by the user")
    on_own = msgspec.structs.replace(plan, bender=own)
    assert "taught" not in bender_words(on_own)
    assert all(is_taught(shoe) for shoe in default_benders())
    assert not is_taught(on_own.shoe)


def test_a_shape_on_a_taught_shoe_says_so_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    assert main(["shape", "stub", "--height", "14"]) == 0
    assert "taught figures; calibrate yours" in capsys.readouterr().out
    own = "--raceway EMT --size 1/2 --take-up 5-1/16 --gain 2-9/16"
    assert main(["bender", "add", "mine", *own.split()]) == 0
    assert main(["shape", "stub", "--height", "14", "--bender", "mine"]) == 0
    assert "taught figures" not in capsys.readouterr().out


def test_nothing_found_is_no_approval(plan: Plan) -> None:
    said = " ".join(check_text(CheckAnswer(name=plan.name, raceway=plan.raceway, checks=None, along=())).split())
    assert "Nothing found of what these checks look for." in said
    assert DECIDES in said


def test_a_shape_says_what_is_wrong_with_its_shoe(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Marks for a shoe that is known to be wrong do not come without a word, in text nor as data."""
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    stubby = "--raceway EMT --size 3/4 --take-up 5 --gain 2-1/4"
    assert main(["bender", "add", "stubby", *stubby.split()]) == 1
    capsys.readouterr()
    offset = ["shape", "offset", "--rise", "5", "--bender", "stubby"]
    assert main(offset) == 1
    assert "problem: The centerline radius" in " ".join(capsys.readouterr().out.split())
    assert main([*offset, "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [(found["rule"], found["severity"]) for found in data["findings"]] == [("bender.radius", "problem")]


def test_a_radius_alone_is_not_called_a_shoe(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", "offset", "--rise", "5", "--bend-radius", "9", "--raceway", "PVC-40"]) == 0
    out = capsys.readouterr().out
    assert "radius as given; no shoe" in out
    assert "own figures" not in out
