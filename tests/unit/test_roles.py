"""What a bend is within its shape: one definition, and every place that looks a role up takes it from there."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from racewright.bends import roles
from racewright.cli.main import main
from racewright.plan.plan_run import plan_run
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src" / "racewright"
#: role texts that are no everyday words besides
ALL = {value for name, value in vars(roles).items() if name.isupper()}
OWN_WORDS = {role for role in ALL if " " in role}

SADDLE_AND_OFFSET = """\
units: in
run:
  name: Workshop wall, over the drain and up
  raceway: EMT 1/2
  start: {fitting: none}
  end: {fitting: none}
  walk:
    - leg: 96
      features:
        - saddle: {name: drain, rise: 2-3/4, centre: 26}
        - offset: {rise: 4, starts_at: 55}
"""


def literals(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def role_texts(tree: ast.AST) -> Iterator[str]:
    """Texts that are compared with, assigned to or passed as a role."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = (node.left, *node.comparators)
            if any(getattr(side, "attr", getattr(side, "id", "")) == "role" for side in sides):
                yield from (text for side in sides for text in literals(side))
        elif isinstance(node, ast.keyword) and node.arg == "role":
            yield from literals(node.value)
        elif isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            if any(getattr(target, "id", "") == "role" for target in targets):
                yield from literals(node.value)


def test_no_role_is_written_anywhere_but_in_its_definition() -> None:
    for path in SRC.rglob("*.py"):
        if path.name in ("roles.py", "conductors.py", "wire_fill.py"):  # a conductor's role is another thing
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert not OWN_WORDS & set(literals(tree)), path
        assert not {text for text in role_texts(tree) if text}, path


def test_a_rise_measured_on_a_piece_with_a_saddle_and_an_offset_is_the_saddles(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "drain.yaml"
    path.write_text(SADDLE_AND_OFFSET, encoding="utf-8")
    assert main(["tweak", str(path), "--rise", "2-7/8"]) == 0
    unnamed = capsys.readouterr().out
    assert main(["tweak", str(path), "--rise", "2=2-7/8"]) == 0
    assert capsys.readouterr().out == unnamed
    assert main(["tweak", str(path), "--rise", "3=2-7/8"]) == 3  # nothing stands so high there


def test_a_rise_on_a_piece_without_a_saddle_asks_under_which_bend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "offset.yaml"
    no_saddle = "\n".join(line for line in SADDLE_AND_OFFSET.splitlines() if "saddle:" not in line)
    path.write_text(no_saddle + "\n    - turn: left\n    - leg: 30\n", encoding="utf-8")
    assert main(["tweak", str(path), "--rise", "2-7/8"]) == 2
    assert "under which bend" in capsys.readouterr().err


def test_every_role_of_a_planned_run_is_one_of_the_definition() -> None:
    features = [
        {"saddle": {"rise": "3", "centre": "26"}},
        {"saddle": {"rise": "3", "centre": "70", "bends": "4"}},
        {"offset": {"rise": "4", "starts_at": "100"}},
        {"kick": {"rise": "3", "toward": "away", "starts_at": "140"}},
    ]
    walk = [{"leg": "200", "features": features}, {"turn": "left"}, {"leg": "60"}, {"turn": "left"}, {"leg": "40"}]
    data = {"units": "in", "run": {"name": "all of them", "raceway": "EMT 1/2", "walk": walk}}
    plan = plan_run(read_survey(survey_from_data(data)))
    assert {b.role for p in plan.pieces for b in p.bends} == ALL - {roles.SHOT}
