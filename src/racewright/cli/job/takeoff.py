"""What `job bill` and `job cut` share: the planned runs of the job, and where the tables go."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from racewright.errors import InputError

if TYPE_CHECKING:
    from racewright.cards.takeoff_tables import Table
    from racewright.job.plan_job import PlannedRun
    from racewright.records.model import Job


def load_job(args: argparse.Namespace) -> Job:
    """The job of --shop and --job."""
    from racewright.cli.job.common import job_key, open_shop

    with open_shop(args) as store:
        return store.load(job_key(args, store))


def planned_runs(job: Job) -> tuple[list[PlannedRun], int]:
    """The runs that have a plan; those that have none are named on stderr and counted."""
    from racewright.job.plan_job import plan_job

    planned, missing = [], 0
    for run in plan_job(job):
        if run.plan is None:
            missing += 1
            print(f"left out: {run.run.key}: {run.trouble}", file=sys.stderr)
        else:
            planned.append(run)
    return planned, missing


def write_tables(path: Path, tables: Sequence[Table]) -> None:
    """Write .csv or .xlsx. Raises InputError for another ending."""
    kind = path.suffix.lower()
    if kind == ".csv":
        from racewright.exports.csv_file import write_csv

        write_csv(path, tables)
    elif kind == ".xlsx":
        from racewright.exports.xlsx_file import write_xlsx

        write_xlsx(path, tables)
    else:
        raise InputError(f"{path}: tables are written as .csv or .xlsx.", hint="end the name with .csv or .xlsx")
    print(f"wrote {path}", file=sys.stderr)
