"""A job file whose job is in the shop: what it says that the shop never had comes in. What both say differently is
refused as a stale save is, as a file does not tell which revision it was made from, or is (`replace`) the next one."""

from __future__ import annotations

from typing import NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.records.entry import Entry
from racewright.records.ids import Id
from racewright.records.model import Job, JobRun
from racewright.records.parse import check_job
from racewright.store.job_rows import JobRow, Row, Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.store.tools_in import bring_in, bring_in_lists


class Met(NamedTuple):
    """What came of a file: runs that came in and runs that say something else here (`head`: so does the job itself);
    how many entries came in; how many runs were changed here since (`older`), or removed; how many entries were changed
    in part here since (`entries_older`), or say something else here (`entries_differ`); `lists`: prices and people that
    are others here, in words."""

    added: tuple[JobRun, ...] = ()
    differ: tuple[JobRun, ...] = ()
    head: bool = False
    entries: int = 0
    entries_older: int = 0
    entries_differ: int = 0
    older: int = 0
    removed: int = 0
    lists: tuple[str, ...] = ()


def job_met(store: JobStore, job: Job) -> str | None:
    """The key of the job here that a file is of: by its id, else the one that has its runs. None: it is not here."""
    rows = store.rows
    with rows.reading():
        here = rows.job_by_id(job.id)
        for run in job.runs if here is None else ():
            standing = rows.standing(run.id)
            if standing is not None and standing.kind == "run":
                here = rows.job_by_id(standing.job)
                break
    return here.key if here else None


def bring_into(
    store: JobStore, key: str, job: Job, *, replace: bool = False, by: str = "", what: str = "brought in"
) -> Met:
    """Bring a file into the job of this key, in one change. `replace`: what it says differently is the next revision.
    Raises InputError for a file that contradicts itself, or has records of another job."""
    whole = job.of_no_revision()
    check_job(whole)
    with store.rows.writing():
        intake = _Meeting(store, store.rows.job(key), replace, by)
        met = intake.take(whole)
        if intake.writes:
            store.rows.write_change(intake.job, intake.writes, by=by, what=what[:200])
    store.changed = True
    return met


class _Meeting:
    def __init__(self, store: JobStore, job: JobRow, replace: bool, by: str) -> None:
        self.rows, self.job, self.replace, self.by = store.rows, job, replace, by
        self.writes: list[Write] = []

    def take(self, job: Job) -> Met:
        names = bring_in(self.rows, job.tools, by=self.by) if job.tools else {}
        lists = bring_in_lists(
            self.rows, msgspec.structs.replace(job, id=self.job.id), by=self.by, replace=self.replace
        )
        head = self._one("job", self.job.id, body_of(job.head)) == "differ"
        runs: dict[str, list[JobRun]] = {"added": [], "differ": [], "older": [], "removed": [], "same": []}
        for run in job.runs:
            here = msgspec.structs.replace(run, tool=names.get(run.tool, run.tool)) if run.tool else run
            runs[self._one("run", run.id, body_of(here), body_of(run))].append(here)
        entries = [self._entry(entry) for entry in job.entries]
        return Met(
            added=tuple(runs["added"]),
            differ=tuple(runs["differ"]),
            head=head,
            entries=entries.count("added"),
            entries_older=entries.count("older"),
            entries_differ=entries.count("differ"),
            older=len(runs["older"]),
            removed=len(runs["removed"]),
            lists=lists,
        )

    def _entry(self, entry: Entry) -> str:
        """What becomes of an entry: of one that is here a file makes no next revision. On which revision of its run it
        was made no file says."""
        history = self.rows.history(entry.id)
        if not history:
            self.writes.append(Write("entry", entry.id, self.rows.numbers.after(0), 0, body_of(entry)))
            return "added"
        self._is_of_this(history[0], "entry", entry.id)
        says = [None if row.body is None else msgspec.json.decode(row.body, type=Entry).what for row in history]
        if says[0] is None or says[0] == entry.what:
            return "same"
        return "older" if entry.what in says else "differ"

    def _is_of_this(self, standing: Row, kind: str, record: Id) -> None:
        if (standing.kind, standing.job) != (kind, self.job.id):
            raise InputError(
                f"{kind} {record[:8]} of the file is of another job here.",
                hint="say --key NAME to make a second job of its own of the file",
            )

    def _one(self, kind: str, record: Id, *bodies: str) -> str:
        """What becomes of a record that says this; `bodies[1:]`: the same as the file has it."""
        history = self.rows.history(record)
        if not history:
            self.writes.append(Write(kind, record, self.rows.numbers.after(0), 0, bodies[0]))
            return "added"
        standing = history[0]
        self._is_of_this(standing, kind, record)
        if standing.body in bodies:
            return "same"
        if any(row.body in bodies for row in history):
            return "removed" if standing.body is None else "older"
        base = standing.number if self.replace else 0
        write = Write(kind, record, self.rows.numbers.after(standing.number), base, bodies[0])
        if self.replace:
            self.writes.append(write)
        else:
            self.rows.write_refused(self.job, write, standing.number, by=self.by)
        return "differ"
