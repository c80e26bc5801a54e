"""The documents say what is there: commands, rule ids, links, parameter words."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from racewright.cli.main import COMMANDS

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "ARCHITECTURE.md", *sorted((ROOT / "docs").glob("*.md"))]
ALL_TEXT = "\n".join(p.read_text(encoding="utf-8") for p in PAGES)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_stands_in_the_documents(name):
    assert f"racewright {name}" in ALL_TEXT


def test_every_rule_id_stands_in_the_documents():
    source = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "src" / "racewright").rglob("*.py"))
    ids = set(re.findall(r'rule="([a-z]+\.[a-z_.-]+)"', source))
    assert len(ids) > 20
    missing = sorted(i for i in ids if f"`{i}`" not in ALL_TEXT)
    assert not missing


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_links_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
        if "://" not in target:
            assert (page.parent / target).exists(), target


def test_the_layers_page_names_every_package():
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    for child in (ROOT / "src" / "racewright").iterdir():
        if child.name.startswith("_") or child.suffix == ".typed":
            continue
        assert f"`{child.name}{'/' if child.is_dir() else ''}`" in text, child.name


def _readme_commands():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    lines = re.findall(r"^racewright .*$", text, re.MULTILINE)
    return [line.partition("#")[0].strip().removeprefix("racewright").strip() for line in lines]


@pytest.mark.parametrize("command", _readme_commands(), ids=lambda c: c[:30] or "alone")
def test_the_readme_commands_run(command, tmp_path):
    done = subprocess.run(
        f'"{sys.executable}" -m racewright {command}', shell=True, cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()
