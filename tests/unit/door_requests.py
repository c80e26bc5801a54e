"""One question, three doors: what is asked of the command, of the server and of the browser's engine.

Each list below is one area; `REQUESTS` is all of them. Run as a program it prints them as JSON for the browser's tests.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

from ask_samples import example_data

ROOT = Path(__file__).resolve().parents[2]


class Asked(NamedTuple):
    """`command`: what is typed after `racewright`, without --json, files named from the project's folder. `part`: the
    field of the answer that the command prints as JSON; '' for the whole answer."""

    operation: str
    request: dict[str, Any]
    command: tuple[str, ...]
    part: str = ""


def example(name: str) -> dict[str, Any]:
    """A survey of examples/ as data."""
    data: dict[str, Any] = example_data(ROOT / "examples" / f"{name}.yaml")
    return data


_EXAMPLES = (
    "pump-house-saddle",
    "pump-house-kick",
    "workshop-bench-u",
    "packing-shed-column",
    "packing-shed-two-turns",
)

PLANS = [
    Asked("plan", {"survey": example(name), "pictures": []}, ("plan", f"examples/{name}.yaml"), "plan")
    for name in _EXAMPLES
]

REQUESTS: list[Asked] = [*PLANS]

if __name__ == "__main__":
    print(json.dumps([asked._asdict() for asked in REQUESTS]))
