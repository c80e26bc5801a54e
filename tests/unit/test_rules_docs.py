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
