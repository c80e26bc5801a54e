"""Commands as they are typed, for the tests of what each does: what goes wrong is raised, not printed."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest

from racewright.cli import cmd_job
from racewright.records.entry import Entry, Made
from racewright.records.model import Job
from racewright.store.job_store import JobStore


def typed(command: Any, *words: str) -> int:
    """This command (a module of `cli/`) with these words; its exit code."""
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    code: int = command.run(parser.parse_args(words))
    return code


type_in = partial(typed, cmd_job)


def kept() -> Job:
    """What the shop file in the folder has of the job orchard."""
    with JobStore.open("jobs.rwshop") as store:
        return store.load("orchard")


def made_of(job: Job) -> list[Entry]:
    """Its entries of bends and steps that were made."""
    return [entry for entry in job.entries if isinstance(entry.what, Made)]


#: `racewright job` with these words; its exit code.
JobCommand = Callable[..., int]


def listed(job: JobCommand, capsys: pytest.CaptureFixture[str], key: str) -> Any:
    """The prices of the job with this key, as data."""
    capsys.readouterr()
    assert job("prices", "--job", key, "--json") == 0
    return json.loads(capsys.readouterr().out)
