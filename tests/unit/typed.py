"""Commands as they are typed, for the tests of what each does: what goes wrong is raised, not printed."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from racewright.cli import cmd_job


def typed(command: Any, *words: str) -> int:
    """This command (a module of `cli/`) with these words; its exit code."""
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    code: int = command.run(parser.parse_args(words))
    return code


type_in = partial(typed, cmd_job)
