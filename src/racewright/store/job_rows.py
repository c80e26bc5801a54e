"""Reading and writing the shop file's rows: every row read is held against its checksum, every change is chained."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.field_words import explained as in_words
from racewright.records.model import JobHead, JobRun
from racewright.store.job_errors import StoreTrouble, damaged, explained
from racewright.store.job_schema import begin_reading, change_digest, patiently, refused_digest, revision_digest

#: The item under which a job's head is kept.
HEAD = ""


class Row(NamedTuple):
    """One revision as it stands in the file; body None: removed."""

    item: str
    number: int
    body: str | None
    at: str
    by: str
    what: str
    change: int


class Write(NamedTuple):
    """One revision to be written."""

    item: str
    number: int
    body: str | None


class Change(NamedTuple):
    """One change of a job: what one person did at one time. `undone`: it has been undone (or redone) since."""

    number: int
    kind: str
    at: str
    by: str
    what: str
    target: int | None
    undone: bool


class Rows:
    """The rows of one open shop file."""

    def __init__(self, db: sqlite3.Connection, path: Path) -> None:
        self.db = db
        self.path = path

    @contextmanager
    def reading(self) -> Iterator[None]:
        """One view of the file; SQLite's complaints in words."""
        try:
            if self.db.in_transaction:
                yield
                return
            begin_reading(self.db)
            try:
                yield
            finally:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
        except sqlite3.Error as err:
            raise explained(err, self.path) from None

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction, alone in the file: all of it is saved and on the disk when this ends, or none."""
        try:
            patiently(self.db, "BEGIN IMMEDIATE")
            try:
                yield
                patiently(self.db, "COMMIT")
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                raise
        except sqlite3.Error as err:
            raise explained(err, self.path) from None

    def job_keys(self) -> tuple[str, ...]:
        """The keys of all jobs, oldest first."""
        return tuple(key for (key,) in self.db.execute("SELECT key FROM job ORDER BY id"))

    def job_id(self, key: str) -> tuple[int, str]:
        """Number and key, as written, of a job. Raises InputError with the jobs that there are."""
        found = self.db.execute("SELECT id, key FROM job WHERE key = ?", (key,)).fetchone()
        if found is None:
            known = ", ".join(self.job_keys())
            raise InputError(
                f"{self.path}: holds no job '{key}'.",
                hint=f"its jobs: {known}" if known else "begin one with `racewright job new`",
                field="job",
                expected=known,
            )
        return int(found[0]), str(found[1])

    def add_job(self, key: str) -> tuple[int, str]:
        """A new job's number and key. Raises InputError where the key is taken."""
        if self.db.execute("SELECT 1 FROM job WHERE key = ?", (key,)).fetchone():
            raise InputError(f"{self.path}: has a job '{key}' already.", hint="give another key", field="job")
        done = self.db.execute("INSERT INTO job (key) VALUES (?)", (key,))
        return int(done.lastrowid or 0), key

    def standing(self, job: int, key: str, item: str) -> Row | None:
        """The newest revision of an item, or None where there never was one."""
        return next(self._rows(job, key, "AND r.item = ? ORDER BY r.number DESC LIMIT 1", (item,)), None)

    def revision(self, job: int, key: str, item: str, number: int) -> Row | None:
        """One revision of an item, or None."""
        return next(self._rows(job, key, "AND r.item = ? AND r.number = ?", (item, number)), None)

    def history(self, job: int, key: str, item: str) -> tuple[Row, ...]:
        """All revisions of an item, newest first."""
        return tuple(self._rows(job, key, "AND r.item = ? ORDER BY r.number DESC", (item,)))

    def all_standing(self, job: int, key: str) -> tuple[Row, ...]:
        """The newest revision of every item, in the order in which the items came."""
        newest = "AND r.number = (SELECT max(n.number) FROM revision n WHERE n.job = r.job AND n.item = r.item)"
        first = "(SELECT f.id FROM revision f WHERE f.job = r.job AND f.item = r.item AND f.number = 1)"
        return tuple(self._rows(job, key, f"{newest} ORDER BY {first}"))

    def of_change(self, job: int, key: str, change: int) -> tuple[Row, ...]:
        """The revisions that a change wrote."""
        return tuple(self._rows(job, key, "AND r.change = ? ORDER BY r.id", (change,)))

    def _rows(self, job: int, key: str, where: str, args: tuple[object, ...] = ()) -> Iterator[Row]:
        for item, number, body, checksum, at, by, what, change in self.db.execute(
            "SELECT r.item, r.number, r.body, r.checksum, c.at, c.by, c.what, r.change"
            f" FROM revision r JOIN change c ON c.id = r.change WHERE r.job = ? {where}",
            (job, *args),
        ):
            if checksum != revision_digest(key, item, number, change, body):
                raise damaged(self.path, f"revision {number} of {item or 'the head'} fails its checksum")
            yield Row(item, number, body, at, by, what, change)

    def changes(self, job: int) -> tuple[Change, ...]:
        """All changes of a job, newest first."""
        rows = self.db.execute(
            "SELECT id, kind, at, by, what, target FROM change WHERE job = ? ORDER BY id DESC", (job,)
        ).fetchall()
        turned: set[int] = set()  # newest first: what a standing undo or redo took back
        out = []
        for number, kind, at, by, what, target in rows:
            undone = number in turned
            if target is not None and not undone:
                turned.add(target)
            out.append(Change(number, kind, at, by, what, target, undone))
        return tuple(out)

    def write_change(
        self,
        job: tuple[int, str],
        writes: Sequence[Write],
        *,
        by: str,
        what: str,
        kind: str = "save",
        target: int | None = None,
    ) -> int:
        """Write a change with its revisions; returns its number. Inside `writing` only."""
        last = self.db.execute("SELECT id, checksum FROM change ORDER BY id DESC LIMIT 1").fetchone()
        number, before = (int(last[0]) + 1, str(last[1])) if last else (1, "")
        sums = [revision_digest(job[1], w.item, w.number, number, w.body) for w in writes]
        at = now()
        checksum = change_digest(before, number, job[1], kind, target, at, by, what, sums)
        self.db.execute(
            "INSERT INTO change (id, job, kind, target, at, by, what, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (number, job[0], kind, target, at, by, what, checksum),
        )
        self.db.executemany(
            "INSERT INTO revision (job, item, number, change, body, checksum) VALUES (?, ?, ?, ?, ?, ?)",
            [(job[0], w.item, w.number, number, w.body, s) for w, s in zip(writes, sums, strict=True)],
        )
        return number

    def write_refused(self, job: tuple[int, str], write: Write, found: int, *, by: str) -> None:
        """Keep a save that was refused; `write.number` is the revision that it was based on. Inside `writing` only."""
        at = now()
        checksum = refused_digest(job[1], write.item, write.number, found, at, by, write.body)
        self.db.execute(
            "INSERT INTO refused (job, item, based_on, found, at, by, body, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (job[0], write.item, write.number, found, at, by, write.body, checksum),
        )

    def refused(self, job: int, key: str) -> list[tuple[str, int, int, str, str, str | None]]:
        """Refused saves, newest first: item, based on, found, at, by, body."""
        out = []
        for item, based_on, found, at, by, body, checksum in self.db.execute(
            "SELECT item, based_on, found, at, by, body, checksum FROM refused WHERE job = ? ORDER BY id DESC", (job,)
        ):
            if checksum != refused_digest(key, item, based_on, found, at, by, body):
                raise damaged(self.path, f"a refused save of {item or 'the head'} fails its checksum")
            out.append((item, based_on, found, at, by, body))
        return out


def now() -> str:
    """The time in UTC, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def body_of(value: JobRun | JobHead) -> str:
    """What is kept for a run or a head: its inputs as compact JSON. Raises InputError for what would not come back."""
    what = f"run {value.key}" if isinstance(value, JobRun) else "the job's head"
    try:
        body = msgspec.json.encode(value)
        back = msgspec.json.decode(body, type=type(value))
    except msgspec.ValidationError as err:
        told = in_words(str(err), msgspec.to_builtins(value), type(value), see="see docs/job.md")
        told.message = f"{what}: cannot be kept: {told.message}"
        raise told from None
    except (msgspec.MsgspecError, UnicodeError) as err:
        raise InputError(f"{what}: cannot be kept: {err}.", hint="see docs/job.md", field=str(what)) from None
    if back != value:
        raise InputError(f"{what}: holds something that cannot be kept as it is.", hint="see docs/job.md")
    return body.decode()


def value_of(item: str, body: str | None, path: Path) -> JobRun | JobHead | None:
    """The run or head that a revision of `item` holds; None: removed. Raises StoreTrouble where this Racewright cannot
    read it."""
    if body is None:
        return None
    try:
        return msgspec.json.decode(body, type=JobHead) if item == HEAD else msgspec.json.decode(body, type=JobRun)
    except msgspec.DecodeError as err:
        raise StoreTrouble(
            f"{path}: {item or 'the head'} cannot be read by this Racewright: {err}.",
            hint="bring Racewright up to date; the file was left untouched",
        ) from None
