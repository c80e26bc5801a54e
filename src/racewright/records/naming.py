"""How a person names a run of a job: by its key, or where two share it by the beginning of its id; and its pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import msgspec

from racewright.records.ids import Id
from racewright.records.model import Job, JobRun

#: An id is known by so many of its digits at least, and shown by at least so many.
LEAST_DIGITS = 4
_SHOWN_DIGITS, _ALL_DIGITS = 6, 32
#: A key is no longer than this, nor is what tells two apart.
_KEY_LENGTH = 40

#: How lists head what belongs to no area, and what the job's own items are called, which belong to no run.
NO_AREA, THE_JOB = "no area", "the job itself"


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
    begins = short_ids(runs)
    return tuple(_apart(run, begins[run.id]) if run.id in begins else run.key for run in runs)


def short_ids(runs: Sequence[JobRun]) -> dict[Id, str]:
    """Of these runs those that share a key, each with the beginning of its id: as long as it takes to mean it alone."""
    count = Counter(run.key.casefold() for run in runs)
    shared = [run for run in runs if count[run.key.casefold()] > 1]
    for digits in range(_SHOWN_DIGITS, _ALL_DIGITS):
        names = {name for run in shared for name in (run.id[:digits], _apart(run, run.id[:digits]).casefold())}
        if len(names) == 2 * len(shared) and names.isdisjoint(count):
            return {run.id: run.id[:digits] for run in shared}
    return {run.id: run.id for run in shared}


def _apart(run: JobRun, begins: str) -> str:
    return f"{run.key[: _KEY_LENGTH - 1 - len(begins)]}-{begins}"


def runs_called(runs: Sequence[JobRun], name: str) -> tuple[JobRun, ...]:
    """The runs that a person may mean: those of this key, whatever the case; else the one with this id; else, of runs
    that share a key, those whose id begins so, or that are told apart so."""
    wanted = name.casefold()
    found = tuple(run for run in runs if run.key.casefold() == wanted)
    if found or not wanted:
        return found
    shared = [run for same in keys_twice(runs).values() for run in same]
    named = dict(zip((run.id for run in runs), keys_told_apart(runs), strict=True))
    apart = tuple(run for run in shared if named[run.id].casefold() == wanted)
    begins = tuple(run for run in shared if len(wanted) >= LEAST_DIGITS and run.id.startswith(wanted))
    return tuple(run for run in runs if run.id == wanted) or apart or begins


def piece_name(key: str, number: int, pieces: int = 0) -> str:
    """What piece `number` of a run is called wherever it is named: 'PH-07' where the run is one piece, else 'PH-07-2'.
    `pieces`: of so many; 0: that is not known, and the number stands."""
    return key if pieces == 1 else f"{key}-{number}"


def with_copies(name: str, copies: Sequence[int]) -> str:
    """A run or a piece of runs alike with which of them: 'PH-07-2#14', 'PH-07#1 to 8, 10'; without, where none are
    told."""
    return f"{name}#{numbers_words(copies)}" if copies else name


def copy_words(copies: Sequence[int]) -> str:
    """'copy 14', 'copies 1 to 14, 16'; '' for none."""
    words = numbers_words(copies)
    return f"{'copy' if len(copies) == 1 else 'copies'} {words}" if words else ""


def numbers_words(copies: Sequence[int]) -> str:
    """'1 to 14, 16', in their order."""
    spans: list[tuple[int, int]] = []
    for copy in sorted(copies):
        if spans and copy == spans[-1][1] + 1:
            spans[-1] = (spans[-1][0], copy)
        else:
            spans.append((copy, copy))
    return ", ".join(f"{first} to {last}" if first < last else str(first) for first, last in spans)
