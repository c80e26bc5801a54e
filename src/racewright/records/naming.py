"""How a person names a run of a job: by its key, or where two share it by the beginning of its id."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import msgspec

from racewright.records.model import Job, JobRun

#: An id is known by so many of its digits at least.
LEAST_DIGITS = 4
_SHOWN_DIGITS = 6


def short_id(run: JobRun) -> str:
    """The beginning of the run's id, as it is shown."""
    return run.id[:_SHOWN_DIGITS]


def keys_twice(runs: Sequence[JobRun]) -> dict[str, list[JobRun]]:
    """The keys, as first written, that two or more of these runs bear, whatever the case."""
    bear: dict[str, list[JobRun]] = {}
    for run in runs:
        bear.setdefault(run.key.casefold(), []).append(run)
    return {same[0].key: same for same in bear.values() if len(same) > 1}


def told_apart(job: Job) -> Job:
    """The job with runs that share a key told apart by what they are called: 'PH-07-3fa9c1'."""
    if not keys_twice(job.runs):
        return job
    keys = keys_told_apart(job.runs)
    runs = tuple(msgspec.structs.replace(run, key=key) for run, key in zip(job.runs, keys, strict=True))
    return msgspec.structs.replace(job, runs=runs)


def keys_told_apart(runs: Sequence[JobRun]) -> tuple[str, ...]:
    """What each of these runs is called where they stand in one list: its key, with the beginning of its id where
    another bears it too."""
    count = Counter(run.key.casefold() for run in runs)
    return tuple(run.key if count[run.key.casefold()] == 1 else f"{run.key[:33]}-{short_id(run)}" for run in runs)


def runs_called(runs: Sequence[JobRun], name: str) -> tuple[JobRun, ...]:
    """The runs that a person may mean: those of this key, whatever the case; else the one with this id; else, of runs
    that share a key, those whose id begins so, or that are told apart so."""
    wanted = name.casefold()
    found = tuple(run for run in runs if run.key.casefold() == wanted)
    if found or not wanted:
        return found
    shared = [run for same in keys_twice(runs).values() for run in same]
    apart = tuple(run for run in shared if f"{run.key[:33]}-{short_id(run)}".casefold() == wanted)
    begins = tuple(run for run in shared if len(wanted) >= LEAST_DIGITS and run.id.startswith(wanted))
    return tuple(run for run in runs if run.id == wanted) or apart or begins
