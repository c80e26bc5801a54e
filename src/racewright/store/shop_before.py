"""Shop files before version 3, which kept runs by their keys, with status, measurements and corrections inside: held
against their own checksums, and carried over into records with ids.

Every revision stays, under its own number, in its own change. What was inside a run becomes entries in the change where
it appeared, taken back where an undo took it back. The ids are made from what the file says, so that two copies of one
file, each brought up to date for itself, agree.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import msgspec

from racewright.records.before import HeadBefore, RunBefore, noted_in, run_now, status_entry
from racewright.records.entry import Entry, Pins, Status, statuses_by
from racewright.records.ids import Id, digest
from racewright.store.carried import as_text, read
from racewright.store.job_errors import damaged
from racewright.store.job_sums import change_digest, data_digest, refused_digest, revision_digest


class _Change(NamedTuple):
    number: int
    job: int
    kind: str
    target: int | None
    at: str
    by: str
    what: str


class _Revision(NamedTuple):
    """One revision as it will be kept."""

    kind: str
    record: Id
    number: int
    body: str | None


class _Refused(NamedTuple):
    job: int
    kind: str
    record: Id
    base: int
    found: int
    at: str
    by: str
    body: str | None


class Held(NamedTuple):
    """All that a file held, as it will be kept: jobs with their ids and keys, changes with their revisions."""

    jobs: dict[int, tuple[Id, str]]
    changes: list[tuple[_Change, list[_Revision]]]
    refused: list[_Refused]


def taken_out(db: sqlite3.Connection, path: Path) -> Held:
    """What a file of version 2 holds. Raises StoreTrouble where this Racewright cannot read it."""
    changes = [
        _Change(*row) for row in db.execute("SELECT id, job, kind, target, at, by, what FROM change ORDER BY id")
    ]
    first = dict(db.execute("SELECT job, checksum FROM change WHERE id IN (SELECT min(id) FROM change GROUP BY job)"))
    jobs = {
        number: (digest("job", first.get(number), key), key)
        for number, key in db.execute("SELECT id, key FROM job ORDER BY id")
    }
    rows: dict[int, list[tuple[str, int, str | None]]] = {}
    for change, *row in db.execute("SELECT change, item, number, body FROM revision ORDER BY id"):
        rows.setdefault(change, []).append(tuple(row))
    runs: dict[tuple[int, str], _Run] = {}
    carried = []
    for change in changes:
        job_id = jobs[change.job][0]
        revisions: list[_Revision] = []
        for item, number, body in rows.get(change.number, []):
            if not item:
                revisions.append(_Revision("job", job_id, number, _again(body, HeadBefore, path)))
                continue
            run = runs.setdefault((change.job, item.casefold()), _Run(digest("run", job_id, item.casefold())))
            revisions += run.at(change, number, None if body is None else read(body, RunBefore, path))
        carried.append((change, revisions))
    return Held(jobs, carried, list(_refused(db, path, jobs, runs)))


def put_back(db: sqlite3.Connection, held: Held) -> None:
    """Write all of it into the tables of version 3."""
    for job, (job_id, key) in held.jobs.items():
        db.execute("INSERT INTO job (id, key, record) VALUES (?, ?, ?)", (job, key, job_id))
    before = ""
    for change, revisions in held.changes:
        job_id, key = held.jobs[change.job]
        sums, rows = [], []
        for r in revisions:
            data = data_digest(r.kind, r.body)
            base = r.number - 1
            sums.append(revision_digest(job_id, r.kind, r.record, r.number, base, change.number, data))
            rows.append((change.job, r.kind, r.record, r.number, base, change.number, r.body, data, sums[-1]))
        number, job, kind, target, at, by, what = change
        before = change_digest(before, number, (job_id, key), kind, target, at, by, what, sums)
        db.execute(
            "INSERT INTO change (id, job, kind, target, at, by, what, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (number, job, kind, target, at, by, what, before),
        )
        db.executemany(
            "INSERT INTO revision (job, kind, record, number, base, change, body, digest, checksum)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            rows,
        )
    for job, kind, record, based_on, found, at, by, body in held.refused:
        data = data_digest(kind, body)
        checksum = refused_digest(held.jobs[job][0], kind, record, based_on, found, at, by, data)
        db.execute(
            "INSERT INTO refused (job, kind, record, base, found, at, by, body, digest, checksum)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (job, kind, record, based_on, found, at, by, body, data, checksum),
        )


class _Run:
    """One run while its history is carried over, with its entries as they stand."""

    def __init__(self, run_id: Id) -> None:
        self.id = run_id
        self.bodies: dict[Id, str] = {}  # every entry that ever was, in the order in which they came
        self.numbers: dict[Id, int] = {}
        self.stands: dict[Id, str | None] = {}
        self.statuses: dict[Id, Entry] = {}  # of the entries those that set a status
        self.made: dict[int, list[tuple[Id, str | None]]] = {}  # by each change: entries, with what stood before
        self.told: dict[int, Status] = {}  # the status that each revision held

    def at(self, change: _Change, number: int, run: RunBefore | None) -> Iterator[_Revision]:
        """The run's own revision, then those of its entries: what an undo or a redo turns back, then whatever else
        makes them say what the run said. A run that is taken out keeps its entries."""
        yield _Revision("run", self.id, number, None if run is None else as_text(run_now(run, self.id)))
        if change.kind != "save" and change.target is not None:
            for entry_id, before in self.made.get(change.target, []):
                yield from self._entry(change, entry_id, before)
        if run is None:
            return
        self.told[number] = run.status
        noted = {entry.id: entry for entry in noted_in(run, self.id)}
        for entry_id in self.bodies:
            if entry_id not in self.statuses and entry_id not in noted:
                yield from self._entry(change, entry_id, None)
        for entry in noted.values():
            yield from self._add(change, number, entry)
        standing = (entry for one, entry in self.statuses.items() if self.stands[one] is not None)
        if statuses_by(standing) != (run.status,):
            entry = status_entry(run.status, self.id, number, change.number, by=change.by, at=change.at)
            self.statuses[entry.id] = entry
            yield from self._add(change, number, entry)

    def _add(self, change: _Change, number: int, entry: Entry) -> Iterator[_Revision]:
        """An entry that appears at a revision of the run, or appears again."""
        by, at = entry.by or change.by, entry.at or change.at
        whole = msgspec.structs.replace(entry, by=by, at=at, pins=Pins(run=number))
        yield from self._entry(change, entry.id, self.bodies.setdefault(entry.id, as_text(whole)))

    def _entry(self, change: _Change, entry_id: Id, body: str | None) -> Iterator[_Revision]:
        before = self.stands.get(entry_id)
        if before != body:
            self.made.setdefault(change.number, []).append((entry_id, before))
            self.numbers[entry_id] = self.numbers.get(entry_id, 0) + 1
            self.stands[entry_id] = body
            yield _Revision("entry", entry_id, self.numbers[entry_id], body)


def _refused(
    db: sqlite3.Connection, path: Path, jobs: dict[int, tuple[Id, str]], runs: dict[tuple[int, str], _Run]
) -> Iterator[_Refused]:
    """The refused saves; what stood inside a refused run, and nowhere else, are refused entries."""
    rows = db.execute("SELECT job, item, based_on, found, at, by, body FROM refused ORDER BY id").fetchall()
    for job, item, based_on, found, at, by, body in rows:
        job_id = jobs[job][0]
        if not item:
            yield _Refused(job, "job", job_id, based_on, found, at, by, _again(body, HeadBefore, path))
            continue
        run = runs.get((job, item.casefold())) or _Run(digest("run", job_id, item.casefold()))
        if body is None:
            yield _Refused(job, "run", run.id, based_on, found, at, by, None)
            continue
        said = read(body, RunBefore, path)
        yield _Refused(job, "run", run.id, based_on, found, at, by, as_text(run_now(said, run.id)))
        for entry in noted_in(said, run.id):
            if entry.id not in run.bodies:
                yield _Refused(job, "entry", entry.id, 0, 0, at, by, as_text(entry))
        # what was read from the revision that stood, with a new survey, set no status
        if said.status not in (run.told.get(based_on, "measured"), run.told.get(found)):
            entry = status_entry(said.status, run.id, "refused", based_on, at, by=by, at=at)
            yield _Refused(job, "entry", entry.id, 0, 0, at, by, as_text(entry))


def _again(body: str | None, kind: type[msgspec.Struct], path: Path) -> str | None:
    return None if body is None else as_text(read(body, kind, path))


def verify_rows(db: sqlite3.Connection, path: Path, version: int) -> None:
    """Raises DamagedFile where a row of a file of version 1 or 2 is not as it was saved."""
    own: dict[int, list[str]] = {}
    next_number: dict[tuple[int, str], int] = {}
    rows = db.execute(
        "SELECT r.job, j.key, r.item, r.number, r.change, r.body, r.checksum FROM revision r JOIN job j ON j.id = r.job"
        " ORDER BY r.id"
    )
    for job, key, item, number, change, body, checksum in rows:
        if checksum != digest("revision", key, item, number, change, body):
            raise damaged(path, f"revision {number} of {item or 'the head'} of job {key} fails its checksum")
        slot = (job, item.casefold())
        if number != next_number.get(slot, 1):
            raise damaged(path, f"revision {next_number.get(slot, 1)} of {item or 'the head'} of job {key} is missing")
        next_number[slot] = number + 1
        own.setdefault(change, []).append(checksum)
    before, expected = "", 1
    for number, key, kind, target, at, by, what, checksum in db.execute(
        "SELECT c.id, j.key, c.kind, c.target, c.at, c.by, c.what, c.checksum FROM change c JOIN job j ON j.id = c.job"
        " ORDER BY c.id"
    ):
        revisions = own.pop(number, [])
        right = digest("change", before, number, key, kind, target, at, by, what, *revisions)
        if number != expected or checksum != right:
            raise damaged(path, f"change {number} fails its checksum")
        before, expected = checksum, number + 1
    if own:
        raise damaged(path, "a revision belongs to no change")
    refused = "SELECT j.key, r.item, r.based_on, r.found, r.at, r.by, r.body, r.checksum FROM refused r"
    for *said, checksum in db.execute(f"{refused} JOIN job j ON j.id = r.job ORDER BY r.id") if version >= 2 else ():
        if checksum != digest("refused", *said):
            raise damaged(path, f"a refused save of {said[1] or 'the head'} of job {said[0]} fails its checksum")
