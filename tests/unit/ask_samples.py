"""Requests that several tests of the questions use: runs of the made-up orchard cooperative, as data."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from racewright.operations.answer import ask_json
from racewright.records.model import JOB_FORMAT

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


def a_job(*runs: tuple[str, dict[str, Any]], **more: Any) -> dict[str, Any]:
    """A job file as data: runs by key, each its survey."""
    listed = [{"key": key, "survey": survey} for key, survey in runs]
    return {"racewright_job": JOB_FORMAT, "head": {"name": "Orchard cooperative"}, "runs": listed} | more


def listed(operation: str, job: dict[str, Any]) -> tuple[dict[str, Any], dict[str, list[list[str]]]]:
    """What is answered to the question for a list of the job, and its tables' rows by their names."""
    answer: dict[str, Any] = json.loads(ask_json(operation, json.dumps({"job": job, "as_tables": True})))
    return answer, {table["name"]: table["rows"] for table in answer.get("tables", ())}
