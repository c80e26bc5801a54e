"""The shop file: the jobs of one shop in one SQLite file. Revisions are only ever added, so nothing is lost.

What is kept are records with ids: a job's head, its runs, and the entries of its runs. A save says which revision it
was made from. Where another stands by then, it is refused, both are shown, and the refused one is kept. Undo and redo
write revisions too. Plans are never kept: they follow from the inputs."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.field_words import KEY_WORDS
from racewright.records.entry import Entry, Status, statuses_by
from racewright.records.fields import Key
from racewright.records.ids import Id
from racewright.records.kinds import Value, called, kind_of
from racewright.records.model import Job, JobHead, JobRun
from racewright.records.parse import check_head, check_job, check_run
from racewright.store import job_backup
from racewright.store.job_errors import StaleSave, StoreTrouble, explained
from racewright.store.job_reader import JobReader
from racewright.store.job_rows import Change, Row, Rows, Write
from racewright.store.job_schema import (
    VERSION,
    Place,
    begin_reading,
    beside_links,
    connect,
    create_file,
    look_at_file,
    migrate,
    patiently,
    place_of,
    verify,
    version_of,
)
from racewright.store.job_values import body_of, value_of
from racewright.store.tools_in import bring_in, bring_in_lists


class RunSave(NamedTuple):
    """One run to save in a change of many: `based_on` 0 for a new run."""

    run: JobRun
    based_on: int


class Save(NamedTuple):
    """One record to save: made from revision `base` (0: new); `value` None: removed."""

    kind: str
    record: Id
    base: int
    value: Value | None

    @classmethod
    def of(cls, value: JobRun | Entry, base: int = 0) -> Save:
        """A run or an entry, made from revision `base`."""
        return cls(kind_of(value).name, value.id, base, value)


class JobStore(JobReader):
    """An open shop file. Use it in a `with`, or close it. One JobStore for one thread."""

    def __init__(self, rows: Rows) -> None:
        super().__init__(rows)
        self.changed = False

    @classmethod
    def open(cls, path: Path | str, *, create: bool = False, looked_at: Place | None = None) -> JobStore:
        """Open a shop file and make sure that all of it is as it was saved.

        `create`: make an empty one where there is none. `looked_at`: where this file still stands there, all of it was
        looked at before, and is not again; each row that is read is held against its checksum all the same. Raises
        DamagedFile, NewerFile (the file stays untouched), StoreTrouble. A file of an older version is backed up beside
        itself and brought up to date.
        """
        path = beside_links(Path(path))
        try:
            if create and not path.exists():
                create_file(path)
            look_at_file(path)
            place = place_of(path)
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
            if place is None or place != looked_at:
                verify(db, path, version)
            db.execute("ROLLBACK")
            if version < VERSION:
                job_backup.write_backup(db, path, path.with_name(f"{path.name}.before-version-{VERSION}"))
                migrate(db, path, version)
                verify(db, path, VERSION)
            patiently(db, "PRAGMA journal_mode = TRUNCATE")
        except sqlite3.Error as err:
            db.close()
            raise explained(err, path) from None
        except BaseException:
            db.close()
            raise
        return cls(Rows(db, path, place))

    def __enter__(self) -> JobStore:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, err: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.rows.db.close()

    def check(self) -> None:
        """Look at the whole file again. Raises DamagedFile."""
        verify(self.rows.db, self.path, VERSION)

    def backup(self, to: Path | str | None = None) -> Path:
        """A whole, checked copy, written beside its name and put in place in one step. Without a name: the newest of
        the backups beside the file. Raises StoreTrouble."""
        db = self.rows.db
        if to is None:
            target = job_backup.add_backup(db, self.path)
        else:
            target = job_backup.write_backup(db, self.path, Path(to))
        self.changed = False
        return target

    # writing: when a method returns, the disk has it

    def create_job(self, key: str, job: Job | JobHead, *, by: str = "", what: str = "") -> tuple[str, ...]:
        """A new job, with its runs where a whole job is given, in one change; its tools, prices and people come in
        before. Returns in words what of these the shop has otherwise, and keeps.
        Raises InputError for a key that is taken or cannot be one, or a job that contradicts itself."""
        whole = job.of_no_revision() if isinstance(job, Job) else Job(head=job)
        check_job(whole)
        try:
            msgspec.convert(key, Key)
        except msgspec.ValidationError:
            raise InputError(
                f"'{key[:60]}' cannot be a job's key.", hint=KEY_WORDS, field="job", example="orchard"
            ) from None
        with self.rows.writing():
            ids = (whole.id, *(r.id for r in whole.runs), *(e.id for e in whole.entries))
            if any(self.rows.standing(one) for one in ids):
                whole = whole.with_new_ids()
            if whole.tools:
                here = bring_in(self.rows, whole.tools, by=by)
                runs = (msgspec.structs.replace(r, tool=here.get(r.tool, r.tool)) if r.tool else r for r in whole.runs)
                whole = msgspec.structs.replace(whole, runs=tuple(runs))
            others = bring_in_lists(self.rows, whole, by=by)
            saves = [Save("job", whole.id, 0, whole.head), *map(Save.of, whole.runs), *map(Save.of, whole.entries)]
            number = self.rows.numbers.after(0)
            writes = [Write(s.kind, s.record, number, 0, body_of(s.value)) for s in saves if s.value is not None]
            self.rows.write_change(self.rows.add_job(key, whole.id), writes, by=by, what=what or "job begun")
        self.changed = True
        return others

    def save_run(self, job: str, run: JobRun, based_on: int, *, by: str = "", what: str = "") -> int:
        """Save a run made from revision `based_on` (0: a new run); returns the new revision.

        Raises StaleSave where another revision stands, InputError for a run that cannot be read.
        """
        return self.save_runs(job, [RunSave(run, based_on)], by=by, what=what or f"run {run.key}")[run.id]

    def save_runs(
        self,
        job: str,
        saves: Iterable[RunSave],
        *,
        head: tuple[JobHead, int] | None = None,
        entries: Iterable[Entry] = (),
        by: str = "",
        what: str = "",
    ) -> dict[Id, int]:
        """Save many runs (with new entries, and the head with the revision it was made from) in one change, all or
        none; the new revision of each record. Raises StaleSave, InputError."""
        saves = list(saves)

        def check() -> None:
            if head is not None:
                check_head(head[0])
            used = head[0] if head is not None else self.head(job).value
            for save in saves:
                check_run(save.run, used, "run" if len(saves) == 1 else f"run {save.run.key}")

        wanted = [Save.of(save.run, save.based_on) for save in saves] + [Save.of(entry) for entry in entries]
        return self.save(job, wanted, head=head, by=by, what=what or "runs", check=check)

    def add_entries(
        self,
        job: str,
        entries: Iterable[Entry],
        *,
        by: str = "",
        what: str = "",
        only_where: Mapping[Id, tuple[int, tuple[Status, ...]]] | None = None,
    ) -> int:
        """Add entries in one change; returns how many. `only_where`: only those of runs that still stand at this
        revision and whose copies have this status. Raises InputError for a run that the job never had."""
        added = 0
        with self.rows.writing():
            numbered = self.rows.job(job)
            for entry in (entries := list(entries)):
                row = self.rows.standing(entry.run)
                if row is None or row.job != numbered.id:
                    raise InputError(f"job '{job}' has no run of the id {entry.run}.", field="run")
            if only_where is not None:
                at = {k.value.id: k for k in self.runs(job)}
                of: dict[Id, list[Entry]] = {}
                for kept in self.entries_read(job):
                    of.setdefault(kept.value.run, []).append(kept.value)
                now = {one: (k.revision, statuses_by(of.get(one, ()), k.value.times)) for one, k in at.items()}
                entries = [e for e in entries if e.run in now and now[e.run] == only_where.get(e.run)]
            if entries:
                number = self.rows.numbers.after(0)
                writes = [Write("entry", e.id, number, 0, body_of(e)) for e in entries]
                self.rows.write_change(numbered, writes, by=by, what=what or "entries")
                added = len(writes)
        self.changed = self.changed or added > 0
        return added

    def remove_run(self, job: str, run: Id, based_on: int, *, by: str = "", what: str = "") -> int:
        """Take a run out of the job; its revisions and entries stay. Returns the new revision. Raises StaleSave,
        InputError."""
        kept = self.run(job, run)
        what = what or f"run {kept.value.key} removed"
        return self.save(job, [Save("run", run, based_on, None)], by=by, what=what)[run]

    def undo(self, job: str, *, by: str = "", expect: int | None = None) -> Change:
        """Take back the job's last change that stands; returns that change. `expect`: refuse unless it is this one.
        Raises InputError where there is nothing to undo, or another change came in between."""
        return self._turn(job, "undo", by, expect)

    def is_empty(self, change: int) -> bool:
        """Whether a change left each of its records as it was: what it changed is no part of them any more."""
        with self.rows.reading():
            before = self.rows.before(change).values()
            return all(had is not None and had.body == row.body for row, had in before)

    def redo(self, job: str, *, by: str = "", expect: int | None = None) -> Change:
        """Take back the last undo, where nothing was saved since; returns the undo. Raises as `undo`."""
        return self._turn(job, "redo", by, expect)

    def _turn(self, job: str, kind: str, by: str, expect: int | None) -> Change:
        with self.rows.writing():
            numbered = self.rows.job(job)
            found = to_turn(self.rows.changes(numbered), kind)
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
            for row, before in self.rows.before(found.number).values():
                if row.kind == "job" and row.base == 0:
                    raise InputError(
                        f"job '{job}': there is nothing to {kind} but its beginning, and that stands.",
                        hint="single runs can be taken out with `racewright job remove`",
                    )
                standing = self.rows.standing(row.record)
                assert standing is not None
                writes.append(self.rows.after(standing, before.body if before else None))
            self.rows.write_change(
                numbered, writes, by=by, what=f"{kind}: {found.what}", kind=kind, target=found.number
            )
        self.changed = True
        return found

    def save(
        self,
        job: str,
        saves: Sequence[Save],
        *,
        head: tuple[JobHead, int] | None = None,
        by: str,
        what: str,
        check: Callable[[], None] | None = None,
    ) -> dict[Id, int]:
        """Save records in one change, all or none, and the new revision of each; `check` looks at them once nobody else
        can save. Raises StaleSave, whatever `check` raises."""
        stale: list[tuple[Write, Row | None]] = []
        writes: list[Write] = []
        with self.rows.writing():
            numbered = self.rows.job(job)
            if check is not None:
                check()
            if head is not None:
                saves = [Save("job", numbered.id, head[1], head[0]), *saves]
            runs = {one.record: one.base for one in saves if one.kind == "run"}
            for kind, record, base, value in saves:
                standing = self.rows.standing(record)
                found = standing.number if standing else 0
                if isinstance(value, Entry) and value.pins.run > runs.get(value.run, value.pins.run):
                    value = self._come_with(value, runs[value.run])
                number, body = self.rows.numbers.after(found), None if value is None else body_of(value)
                write = Write(kind, record, number, base, body)
                if found == base:
                    writes.append(write)
                else:
                    stale.append((write, standing))
            for write, standing in stale:
                self.rows.write_refused(numbered, write, standing.number if standing else 0, by=by)
            if writes and not stale:
                self.rows.write_change(numbered, writes, by=by, what=what)
        self.changed = True
        if stale:
            self._refuse(*stale[0])
        return {write.record: write.number for write in writes}

    def _come_with(self, entry: Entry, base: int) -> Entry:
        """An entry that comes with the revision of its run after `base` names that, whatever its number."""
        pins = msgspec.structs.replace(entry.pins, run=self.rows.numbers.after(base))
        return msgspec.structs.replace(entry, pins=pins)

    def _refuse(self, write: Write, standing: Row | None) -> None:
        mine = value_of(write.kind, write.body, self.path)
        theirs = value_of(standing.kind, standing.body, self.path) if standing else None
        known = next((value for value in (mine, theirs) if value is not None), None)
        raise StaleSave(
            called(known) if known else f"the {write.kind}",
            mine=mine,
            theirs=theirs,
            based_on=write.base,
            found=standing.number if standing else 0,
            by=standing.by if standing else "",
        )


def to_turn(changes: Sequence[Change], kind: str) -> Change | None:
    """The change that an undo or a redo takes back: newest first, standing; a redo finds nothing behind a save."""
    wanted = "save" if kind == "undo" else "undo"
    for change in changes:
        if change.kind == wanted and not change.undone:
            return change
        if kind == "redo" and change.kind == "save" and not change.undone:
            return None
    return None
