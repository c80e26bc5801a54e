"""Requests that several tests of the questions use: runs of the made-up orchard cooperative, as data."""

from __future__ import annotations

from pathlib import Path
from typing import Any

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.yaml"))


def saddle_survey(**run: Any) -> dict[str, Any]:
    """The pump house saddle, with changes to the run."""
    return {
        "units": "in",
        "run": {
            "name": "Pump house, disconnect to pump 2 starter",
            "raceway": "EMT 1/2",
            "clearance": "1/4",
            "start": {"name": "disconnect"},
            "end": {"name": "starter"},
            "walk": [
                {
                    "leg": "56 1/4",
                    "features": [{"saddle": {"name": "suction pipe", "centre": "26 1/8", "height": "2 7/8"}}],
                }
            ],
        }
        | run,
    }


def example_data(path: Path) -> Any:
    """A survey file of examples/ as plain data, all values text."""
    import yaml

    return yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
