"""`racewright schema`: the JSON Schema of a survey file."""

from __future__ import annotations

import argparse

HELP = "Print the JSON Schema of a survey file, for editors and for other programs."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """This command takes nothing."""


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    import json

    from racewright.survey.from_data import survey_json_schema

    print(json.dumps(survey_json_schema(), indent=2))
    return 0
