"""The folder of shared runs that the server kept before it served the shop file: read, taken into a shop file as a job
of its own, and set aside.

A run was a folder there; revision 7 of it `r0000007.json`, a version that came too late and waits `rival-NAME.json`.
The ids are made from the old ones, as a page makes them of the runs that it has: both speak of the same records. So
taking a folder in twice, or going on after the first time was broken off, takes in nothing twice."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from hashlib import sha256
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.exports.output_file import sync
from racewright.records.before import STATUS_BEFORE
from racewright.records.entry import STATUSES, Entry, Status, StatusSet
from racewright.records.ids import Id
from racewright.records.kinds import kind_of
from racewright.records.model import JobHead, JobRun
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_protocol import Answered, Offered, offer
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of

#: So many records go in at once.
_PART = 500
_RUN = re.compile(r"[A-Za-z0-9_-]{1,64}")
_REVISION = re.compile(r"r(\d{7,})\.json")
_WAITS = re.compile(r"rival-[A-Za-z0-9]{6,32}\.json")
_HEAD = JobHead(name="Shared runs")


class Taken(NamedTuple):
    """What became of a folder: the key of the job; how many runs are in it now; what could not be taken as it was, a
    line each; where the folder is now, '' where it could not be set aside."""

    job: str
    runs: int
    troubles: tuple[str, ...]
    aside: str


class _Version(msgspec.Struct, frozen=True, kw_only=True):
    """One file."""

    data: dict[str, Any]
    saved: str = ""
    by: str = ""


class _Run(NamedTuple):
    """One run with its newest whole version, and those that wait."""

    name: str
    id: Id
    newest: _Version
    waits: tuple[_Version, ...]


def take_in(shop: Path, folder: Path) -> Taken | None:
    """Take all runs of the folder into the shop file, which is made where there is none, and set the folder aside. None
    where the folder holds no run. Raises StoreTrouble, and the folder stays."""
    troubles: list[str] = []
    try:
        inside = sorted(folder.iterdir()) if folder.is_dir() else []
        places = [place for place in inside if place.is_dir() and _RUN.fullmatch(place.name)]
        runs = sorted((run for place in places if (run := _read(place, troubles))), key=lambda run: run.newest.saved)
        runs_there = any(_numbers(place) for place in places)
    except OSError as err:
        raise StoreTrouble(f"{folder}: cannot be read ({err.strerror}).", hint="check your rights") from None
    if not runs_there:
        return None
    job, count = "", 0
    if runs:
        with JobStore.open(shop, create=True) as store:
            count = sum(_offered(store, runs, troubles))
            job = _keep_waiting(store, runs, troubles)
            if store.changed:
                store.backup()
    return Taken(job, count, tuple(troubles), _set_aside(folder))


def _id(said: str) -> Id:
    return sha256(said.encode()).hexdigest()[:32]


JOB_ID = _id("racewright runs folder")


def _read(place: Path, troubles: list[str]) -> _Run | None:
    """The newest whole revision stands in for a torn one."""
    numbers = _numbers(place)
    if not numbers:
        return None  # no run; or its first save was broken off, and nobody was told that it is kept
    versions = ((number, _version(place / f"r{number:07d}.json")) for number in numbers)
    number, newest = next(((n, one) for n, one in versions if one), (0, None))
    if newest is None:
        troubles.append(f"run {place.name}: none of its {len(numbers)} revisions can be read.")
        return None
    if number < numbers[0]:
        troubles.append(f"run {place.name}: revision {numbers[0]} is torn, so revision {number} was taken.")
    waiting = [_version(path) for path in sorted(place.iterdir()) if _WAITS.fullmatch(path.name)]
    if None in waiting:
        troubles.append(f"run {place.name}: {waiting.count(None)} of the versions that wait cannot be read.")
    return _Run(place.name, _id(f"racewright run {place.name}"), newest, tuple(one for one in waiting if one))


def _numbers(place: Path) -> list[int]:
    """The revisions of a run, newest first."""
    found = (_REVISION.fullmatch(path.name) for path in place.iterdir())
    return sorted((int(one[1]) for one in found if one), reverse=True)


def _version(path: Path) -> _Version | None:
    with suppress(OSError, msgspec.MsgspecError, UnicodeError, RecursionError):
        return msgspec.json.decode(path.read_bytes(), type=_Version)
    return None


def _run_data(run: _Run, version: _Version) -> dict[str, Any]:
    return {"id": run.id, "key": f"R-{run.id[:4].upper()}", "survey": version.data.get("survey")}


def _status(run: _Run, version: _Version) -> Entry | None:
    """The entry that sets the run's status; measured it is without any."""
    told = version.data.get("status")
    now = STATUS_BEFORE.get(told, told) if isinstance(told, str) else "measured"
    status: Status = next((one for one in STATUSES if one == now), "measured")
    if status == "measured":
        return None
    return Entry(id=_id(f"racewright status {run.name}"), run=run.id, what=StatusSet(status=status))


def _offered(store: JobStore, runs: list[_Run], troubles: list[str]) -> Iterator[int]:
    """Offer every run as the device did that saved it last; how many of each part are there now."""
    names = {run.id: run.name for run in runs}
    head = [] if store.rows.job_by_id(JOB_ID) else [Offered(kind="job", id=JOB_ID, data=msgspec.to_builtins(_HEAD))]
    for by, saved in groupby(runs, key=lambda run: run.newest.by):
        records = [one for run in saved for one in _records(run)]
        for start in range(0, len(records), _PART):
            answers = offer(store, JOB_ID, [*head, *records[start : start + _PART]], by=by)
            head = []
            troubles += [f"run {names[a.id]}: {_told(a)}" for a in answers if a.id in names and a.outcome != "saved"]
            yield sum(a.id in names and a.outcome in ("saved", "stale") for a in answers)


def _records(run: _Run) -> Iterator[Offered]:
    yield Offered(kind="run", id=run.id, data=_run_data(run, run.newest))
    if entry := _status(run, run.newest):
        yield Offered(kind="entry", id=entry.id, data=msgspec.to_builtins(entry))


def _told(answer: Answered) -> str:
    if answer.outcome == "stale":
        return "another version of it is in the shop file, so this one is kept there as refused."
    return f"cannot be taken: {answer.message}"


def _keep_waiting(store: JobStore, runs: Iterable[_Run], troubles: list[str]) -> str:
    """Keep what waits to be settled as refused versions of what stands; returns the key of the job."""
    with store.rows.writing():
        job = store.rows.job_by_id(JOB_ID)
        assert job is not None
        for run, version in ((one, version) for one in runs for version in one.waits):
            try:
                wanted: list[JobRun | Entry] = [msgspec.convert(_run_data(run, version), JobRun)]
                wanted += [entry] if (entry := _status(run, version)) else []
                bodies = [(kind_of(value).name, value.id, body_of(value)) for value in wanted]
            except (msgspec.ValidationError, RecursionError, InputError) as err:
                troubles.append(f"run {run.name}: a version that waits cannot be taken: {err}")
                continue
            for kind, record, body in bodies:
                standing = store.rows.standing(record)
                found = standing.number if standing else 0
                if standing is None or standing.body != body:
                    store.rows.write_refused(job, Write(kind, record, found + 1, 0, body), found, by=version.by)
                    store.changed = True
    return job.key


def _set_aside(folder: Path) -> str:
    """Give the folder another name, so that it is not taken in again; '' where that cannot be."""
    for number in range(1, 1000):
        aside = folder.with_name(f"{folder.name}.taken-in{f'-{number}' if number > 1 else ''}")
        if not aside.exists():
            try:
                folder.rename(aside)
                sync(folder.parent)
            except OSError:
                break
            return str(aside)
    return ""
