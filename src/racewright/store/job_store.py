"""The shop file: the jobs of one shop in one SQLite file. Revisions are only ever added, so nothing is lost.

A save says which revision it was made from. Where another stands by then, it is refused, both are shown, and the
refused one is kept. Undo and redo write revisions too. Plans are never kept: they follow from the inputs.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Generic, NamedTuple, TypeVar

import msgspec

from racewright.errors import InputError
from racewright.field_words import KEY_WORDS
from racewright.records.model import Job, JobHead, JobRun, Key
from racewright.records.parse import check_area, check_head, check_job, check_run
from racewright.store import job_backup
from racewright.store.job_errors import StaleSave, StoreTrouble, explained
from racewright.store.job_rows import HEAD, Change, Row, Rows, Write, body_of, value_of
from racewright.store.job_schema import (
    VERSION,
    begin_reading,
    beside_links,
    connect,
    create_file,
    look_at_file,
    migrate,
    patiently,
    verify,
    version_of,
)

T = TypeVar("T", JobRun, JobHead)


class Kept(msgspec.Struct, Generic[T], frozen=True, kw_only=True):
    """A run or head as it stands, with the revision to give back when saving a change of it."""

    value: T
    revision: int
    at: str
    by: str


class Revision(NamedTuple):
    """One revision of a run, newest first in a history. `value` None: removed."""

    number: int
    at: str
    by: str
    what: str
    value: JobRun | JobHead | None


class Refused(NamedTuple):
    """A save that was refused; `value` None: a removal. `item` is the run's key, '' for the head."""

    item: str
    based_on: int
    found: int
    at: str
    by: str
    value: JobRun | JobHead | None


class RunSave(NamedTuple):
    """One run to save in a change of many: `based_on` 0 for a new run."""

    run: JobRun
    based_on: int


class JobStore:
    """An open shop file. Use it in a `with`, or close it. One JobStore for one thread."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows
        self.changed = False

    @classmethod
    def open(cls, path: Path | str, *, create: bool = False) -> JobStore:
        """Open a shop file and make sure that all of it is as it was saved.

        `create`: make an empty one where there is none. Raises DamagedFile, NewerFile (the file stays untouched),
        StoreTrouble. A file of an older version is backed up beside itself and brought up to date.
        """
        path = beside_links(Path(path))
        try:
            if create and not path.exists():
                create_file(path)
            look_at_file(path)
            db = connect(path)
        except sqlite3.Error as err:
            raise explained(err, path) from None
        except OSError as err:
            raise StoreTrouble(
                f"{path}: cannot be made ({err.strerror}).", hint="check the folder and your rights"
            ) from None
        try:
            begin_reading(db)
            version = version_of(db, path)
            verify(db, path, version)
            db.execute("ROLLBACK")
            if version < VERSION:
                job_backup.write_backup(db, path, path.with_name(f"{path.name}.before-version-{VERSION}"))
                migrate(db, version)
                verify(db, path, VERSION)
            patiently(db, "PRAGMA journal_mode = TRUNCATE")
        except sqlite3.Error as err:
            db.close()
            raise explained(err, path) from None
        except BaseException:
            db.close()
            raise
        return cls(Rows(db, path))

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self._rows.path

    def __enter__(self) -> JobStore:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, err: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._rows.db.close()

    def check(self) -> None:
        """Look at the whole file again. Raises DamagedFile."""
        verify(self._rows.db, self.path, VERSION)

    def backup(self, to: Path | str | None = None) -> Path:
        """A whole, checked copy, written beside its name and put in place in one step. Without a name: the newest of
        the backups beside the file. Raises StoreTrouble."""
        db = self._rows.db
        if to is None:
            target = job_backup.add_backup(db, self.path)
        else:
            target = job_backup.write_backup(db, self.path, Path(to))
        self.changed = False
        return target

    # reading

    def jobs(self) -> tuple[str, ...]:
        """The keys of the jobs, oldest first."""
        with self._rows.reading():
            return self._rows.job_keys()

    def head(self, job: str) -> Kept[JobHead]:
        """A job's head. Raises InputError where there is no such job."""
        with self._rows.reading():
            row = self._rows.standing(*self._rows.job_id(job), HEAD)
        value = None if row is None else value_of(row.item, row.body, self.path)
        if row is None or not isinstance(value, JobHead):
            raise StoreTrouble(f"{self.path}: job '{job}' has no head.", hint="`racewright job check` looks further")
        return Kept(value=value, revision=row.number, at=row.at, by=row.by)

    def runs(self, job: str) -> tuple[Kept[JobRun], ...]:
        """All runs as they stand, in the order in which they came."""
        with self._rows.reading():
            rows = self._rows.all_standing(*self._rows.job_id(job))
        return tuple(kept for row in rows if row.item != HEAD and (kept := self._kept_run(row)) is not None)

    def run(self, job: str, key: str) -> Kept[JobRun]:
        """One run as it stands. Raises InputError where there is none."""
        with self._rows.reading():
            row = self._rows.standing(*self._rows.job_id(job), key) if key else None
        kept = None if row is None else self._kept_run(row)
        if kept is None:
            known = ", ".join(k.value.key for k in self.runs(job)[:12])
            raise InputError(
                f"job '{job}' has no run '{key}'.",
                hint=f"runs: {known}" if known else "it has no runs yet",
                field="run",
            )
        return kept

    def load(self, job: str) -> Job:
        """The whole job, all of one moment."""
        with self._rows.reading():
            return Job(head=self.head(job).value, runs=tuple(k.value for k in self.runs(job)))

    def history(self, job: str, key: str = HEAD) -> tuple[Revision, ...]:
        """All revisions of a run (or of the head), newest first."""
        with self._rows.reading():
            rows = self._rows.history(*self._rows.job_id(job), key)
        return tuple(Revision(r.number, r.at, r.by, r.what, value_of(r.item, r.body, self.path)) for r in rows)

    def changes(self, job: str) -> tuple[Change, ...]:
        """All changes of a job, newest first."""
        with self._rows.reading():
            return self._rows.changes(self._rows.job_id(job)[0])

    def refused(self, job: str) -> tuple[Refused, ...]:
        """Saves that were refused, newest first."""
        with self._rows.reading():
            rows = self._rows.refused(*self._rows.job_id(job))
        return tuple(Refused(i, b, f, at, by, value_of(i, body, self.path)) for i, b, f, at, by, body in rows)

    # writing: when a method returns, the disk has it

    def create_job(self, key: str, job: Job | JobHead, *, by: str = "", what: str = "") -> int:
        """A new job, with its runs where a whole job is given, in one change. Returns the change's number.
        Raises InputError for a key that is taken or cannot be one, or a job that contradicts itself."""
        whole = job if isinstance(job, Job) else Job(head=job)
        check_job(whole)
        try:
            msgspec.convert(key, Key)
        except msgspec.ValidationError:
            raise InputError(
                f"'{key[:60]}' cannot be a job's key.", hint=KEY_WORDS, field="job", example="orchard"
            ) from None
        writes = [Write(HEAD, 1, body_of(whole.head)), *(Write(r.key, 1, body_of(r)) for r in whole.runs)]
        with self._rows.writing():
            number = self._rows.write_change(self._rows.add_job(key), writes, by=by, what=what or "job begun")
        self.changed = True
        return number

    def save_run(self, job: str, run: JobRun, based_on: int, *, by: str = "", what: str = "") -> int:
        """Save a run made from revision `based_on` (0: a new run); returns the new revision.

        Raises StaleSave where another revision stands, InputError for a run that cannot be read.
        """
        return self._save(
            job,
            [(run.key, run, based_on)],
            by=by,
            what=what or f"run {run.key}",
            check=lambda: check_run(run, self.head(job).value),
        )[0]

    def save_runs(
        self,
        job: str,
        saves: Iterable[RunSave],
        *,
        head: tuple[JobHead, int] | None = None,
        by: str = "",
        what: str = "",
        skip_stale: bool = False,
    ) -> int:
        """Save many runs (and the head, with the revision it was made from) in one change, all or none; returns how
        many were saved. With `skip_stale`, runs that somebody changed in between are left as they stand and not
        counted. Raises StaleSave, InputError."""
        saves = list(saves)

        def check() -> None:
            if head is not None:
                self._check_head(job, head[0])
            used = head[0] if head is not None else self.head(job).value
            for save in saves:
                check_run(save.run, used, f"run {save.run.key}")

        wanted: list[tuple[str, JobRun | JobHead | None, int]] = [(s.run.key, s.run, s.based_on) for s in saves]
        if head is not None:
            wanted.insert(0, (HEAD, *head))
        done = self._save(job, wanted, by=by, what=what or "runs", skip_stale=skip_stale, check=check)
        return len(done)

    def remove_run(self, job: str, key: str, based_on: int, *, by: str = "", what: str = "") -> int:
        """Take a run out of the job; its revisions stay. Returns the new revision. Raises StaleSave, InputError."""
        self.run(job, key)
        return self._save(job, [(key, None, based_on)], by=by, what=what or f"run {key} removed")[0]

    def restore_run(self, job: str, key: str, number: int, based_on: int, *, by: str = "") -> int:
        """Bring back what revision `number` of a run said, as a new revision. Raises StaleSave, InputError."""
        with self._rows.reading():
            row = self._rows.revision(*self._rows.job_id(job), key, number) if key else None
        value = None if row is None else value_of(row.item, row.body, self.path)
        if row is None or not isinstance(value, JobRun):
            raise InputError(
                f"run '{key}' has no revision {number} to bring back.", hint="`racewright job log RUN` lists them"
            )
        return self._save(job, [(row.item, value, based_on)], by=by, what=f"run {row.item}: back to revision {number}")[
            0
        ]

    def undo(self, job: str, *, by: str = "", expect: int | None = None) -> Change:
        """Take back the job's last change that stands; returns that change. `expect`: refuse unless it is this one.
        Raises InputError where there is nothing to undo, or another change came in between."""
        return self._turn(job, "undo", by, expect)

    def redo(self, job: str, *, by: str = "", expect: int | None = None) -> Change:
        """Take back the last undo, where nothing was saved since; returns the undo. Raises as `undo`."""
        return self._turn(job, "redo", by, expect)

    def _check_head(self, job: str, head: JobHead) -> None:
        check_head(head)
        for kept in self.runs(job):
            check_area(kept.value, head, f"run {kept.value.key}")

    def _turn(self, job: str, kind: str, by: str, expect: int | None) -> Change:
        with self._rows.writing():
            numbered = self._rows.job_id(job)
            found = _to_turn(self._rows.changes(numbered[0]), kind)
            if found is None:
                raise InputError(
                    f"job '{job}': there is nothing to {kind}.", hint="`racewright job log` lists all changes"
                )
            if expect is not None and found.number != expect:
                raise InputError(
                    f"job '{job}': the last change is now '{found.what}' by {found.by or 'somebody'}.",
                    hint="look at it first; then undo it by its own number",
                )
            writes = []
            for row in self._rows.of_change(*numbered, found.number):
                if row.item == HEAD and row.number == 1:
                    raise InputError(
                        f"job '{job}': there is nothing to {kind} but its beginning, and that stands.",
                        hint="single runs can be taken out with `racewright job remove`",
                    )
                before = self._rows.revision(*numbered, row.item, row.number - 1)
                standing = self._rows.standing(*numbered, row.item)
                assert standing is not None
                writes.append(Write(row.item, standing.number + 1, before.body if before else None))
            self._rows.write_change(
                numbered, writes, by=by, what=f"{kind}: {found.what}", kind=kind, target=found.number
            )
        self.changed = True
        return found

    def _save(
        self,
        job: str,
        saves: Sequence[tuple[str, JobRun | JobHead | None, int]],
        *,
        by: str,
        what: str,
        skip_stale: bool = False,
        check: Callable[[], None] | None = None,
    ) -> list[int]:
        stale: list[tuple[Write, Row | None]] = []
        writes: list[Write] = []
        with self._rows.writing():
            numbered = self._rows.job_id(job)
            if check is not None:  # within the transaction: nobody can change the head meanwhile
                check()
            for item, value, based_on in saves:
                standing = self._rows.standing(*numbered, item)
                body = None if value is None else body_of(value)
                found = standing.number if standing else 0
                gone = standing is None or standing.body is None
                # a run that was removed may be added anew without its number being known
                if found == based_on or (based_on == 0 and gone):
                    writes.append(Write(standing.item if standing else item, found + 1, body))
                else:
                    stale.append((Write(item, based_on, body), standing))
            if stale and not skip_stale:
                for write, standing in stale:
                    self._rows.write_refused(numbered, write, standing.number if standing else 0, by=by)
            elif writes:
                self._rows.write_change(numbered, writes, by=by, what=what)
        self.changed = self.changed or not stale or skip_stale
        if stale and not skip_stale:
            self._refuse(*stale[0])
        return [w.number for w in writes]

    def _refuse(self, write: Write, standing: Row | None) -> None:
        raise StaleSave(
            f"run {write.item}" if write.item else "the job's head",
            mine=value_of(write.item, write.body, self.path),
            theirs=value_of(standing.item, standing.body, self.path) if standing else None,
            based_on=write.number,
            found=standing.number if standing else 0,
            by=standing.by if standing else "",
        )

    def _kept_run(self, row: Row) -> Kept[JobRun] | None:
        value = value_of(row.item, row.body, self.path)
        if not isinstance(value, JobRun):
            return None
        return Kept(value=value, revision=row.number, at=row.at, by=row.by)


def _to_turn(changes: Sequence[Change], kind: str) -> Change | None:
    """The change that an undo or a redo takes back: newest first, standing; a redo finds nothing behind a save."""
    wanted = "save" if kind == "undo" else "undo"
    for change in changes:
        if change.kind == wanted and not change.undone:
            return change
        if kind == "redo" and change.kind == "save" and not change.undone:
            return None
    return None
