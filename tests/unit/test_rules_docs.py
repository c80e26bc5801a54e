"""Every rule id of the run and of pulling stands in docs/rules.md, and every word of the path in docs/pulling.md."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from racewright.cli import cmd_pull

ROOT = Path(__file__).resolve().parents[2]
OURS = (
    "inspection/raceway_rules",
    "inspection/check_run",
    "inspection/supports",
    "inspection/expansion",
    "wires/pulling",
)


def test_rule_ids_are_documented() -> None:
    docs = (ROOT / "docs" / "rules.md").read_text(encoding="utf-8")
    ids = set()
    for name in OURS:
        text = (ROOT / "src" / "racewright" / f"{name}.py").read_text(encoding="utf-8")
        ids |= set(re.findall(r'"((?:run|pull)\.[a-z_]+)"', text))
    assert len(ids) >= 17
    assert sorted(i for i in ids if f"`{i}`" not in docs) == []


def test_options_are_documented() -> None:
    docs = (ROOT / "docs" / "pulling.md").read_text(encoding="utf-8")
    parser = argparse.ArgumentParser()
    cmd_pull.add_arguments(parser)
    options = set(re.findall(r"--[a-z-]+", parser.format_usage())) - {"--edition"}
    assert len(options) >= 10
    assert sorted(o for o in options if o not in docs) == []


def test_what_the_page_takes_to_a_tools_figure_is_what_the_engine_tells() -> None:
    """Rules and quantities by which `web-ui/src/app/tools/profile.ts` leads to a figure of the tool."""
    page = (ROOT / "web-ui" / "src" / "app" / "tools" / "profile.ts").read_text(encoding="utf-8")
    engine = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "src" / "racewright").rglob("*.py"))
    by_quantity, by_rule = re.findall(r"const BY_(?:QUANTITY|RULE)\b.*?= \{(.*?)\};", page, re.DOTALL)
    quantities = [a or b for a, b in re.findall(r"(?:'([^']+)'|\b(\w+)): '", by_quantity)]
    rules = re.findall(r"'([^']+)': '", by_rule)
    assert len(quantities) > 2
    assert len(rules) > 5
    assert [q for q in quantities if f'quantity="{q}"' not in engine] == []
    assert [rule for rule in rules if f'"{rule}"' not in engine] == []
