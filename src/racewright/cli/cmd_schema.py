"""`racewright schema`: the JSON Schema of a survey file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from racewright.operations.forms import SchemaAnswer

HELP = "Print the JSON Schema of a survey file, for editors and for other programs."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """This command takes nothing."""


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    import json

    from racewright.cli.answers import asked
    from racewright.operations.forms import SchemaRequest

    answer = cast("SchemaAnswer", asked("schema", SchemaRequest()))
    print(json.dumps(answer.survey, indent=2))
    return 0
