"""The documents say what is there: commands, rule ids, links, parameter words."""

import argparse
import re
import subprocess
import sys
from pathlib import Path

import pytest

from racewright.cli import cmd_job
from racewright.cli.main import COMMANDS
from racewright.operations.operations import OPERATIONS

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "ARCHITECTURE.md", *sorted((ROOT / "docs").glob("*.md"))]
ALL_TEXT = "\n".join(p.read_text(encoding="utf-8") for p in PAGES)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_stands_in_the_documents(name: str) -> None:
    assert f"racewright {name}" in ALL_TEXT


def test_every_option_of_job_stands_in_the_documents() -> None:
    parser = argparse.ArgumentParser()
    cmd_job.add_arguments(parser)
    actions = next(one for one in parser._actions if isinstance(one, argparse._SubParsersAction)).choices
    named = set(re.findall(r"--[a-z][a-z-]*", ALL_TEXT))
    for name, action in actions.items():
        options = {option for one in action._actions for option in one.option_strings if option.startswith("--")}
        assert options - named <= {"--help"}, name


def test_the_table_of_operations_names_each_once() -> None:
    text = (ROOT / "docs" / "page.md").read_text(encoding="utf-8")
    table = text.partition("### Operations")[2].partition("### Errors")[0]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    assert sorted(name for row in rows for name in re.findall(r"`(\w+)`", row)) == sorted(OPERATIONS)


def test_every_rule_id_stands_in_the_documents() -> None:
    source = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "src" / "racewright").rglob("*.py"))
    ids = set(re.findall(r'rule="([a-z]+\.[a-z_.-]+)"', source))
    assert len(ids) > 20
    missing = sorted(i for i in ids if f"`{i}`" not in ALL_TEXT)
    assert not missing


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (page.parent / target).exists(), target


def test_the_layers_page_names_every_package() -> None:
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    for child in (ROOT / "src" / "racewright").iterdir():
        if child.name.startswith("_") or child.suffix == ".typed":
            continue
        assert f"`{child.name}{'/' if child.is_dir() else ''}`" in text, child.name


def test_the_tables_of_fields_are_those_of_the_structs() -> None:
    done = subprocess.run([sys.executable, str(ROOT / "docs" / "make_fields.py"), "--check"], check=False)
    assert done.returncode == 0, "run docs/make_fields.py"
