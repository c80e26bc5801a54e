"""Reading and writing the shop file's rows: every row read is held against its checksum, every change is chained."""

from __future__ import annotations

import hmac
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from racewright.errors import InputError
from racewright.records.ids import Id, digest, new_id
from racewright.store.job_errors import damaged, explained, moved
from racewright.store.job_numbers import Numbers
from racewright.store.job_schema import Place, begin_reading, patiently, place_of
from racewright.store.job_sums import (
    change_digest,
    claim_digest,
    data_digest,
    device_digest,
    refused_digest,
    revision_digest,
)


class JobRow(NamedTuple):
    """A job of the file: its number, its id (that of its head's record), its key."""

    number: int
    id: Id
    key: str


class Row(NamedTuple):
    """One revision of a record as it stands in the file; body None: removed. `digest` stands for what it says. `came`:
    a number that is higher for a record which came later."""

    kind: str
    record: Id
    number: int
    base: int
    body: str | None
    digest: str
    at: str
    by: str
    what: str
    change: int
    job: Id
    came: int


class Write(NamedTuple):
    """One revision to be written."""

    kind: str
    record: Id
    number: int
    base: int
    body: str | None


class RefusedRow(NamedTuple):
    """A save that was refused."""

    kind: str
    record: Id
    base: int
    found: int
    at: str
    by: str
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
    """The rows of one open shop file; `place`: which file stood at its path when it was opened."""

    def __init__(self, db: sqlite3.Connection, path: Path, place: Place | None) -> None:
        self.db = db
        self.path = path
        self.place = place
        self.numbers = Numbers(db, path, self.shop_id)

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
        """One transaction, alone in the file: all of it is saved and on the disk when this ends, or none. Raises
        MovedFile where another file was put in its place: what is saved here, nobody would find."""
        try:
            patiently(self.db, "BEGIN IMMEDIATE")
            try:
                if place_of(self.path) != self.place:
                    raise moved(self.path)
                yield
                patiently(self.db, "COMMIT")
                self.numbers.ended(saved=True)
            except BaseException:
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
                    self.numbers.ended(saved=False)
                raise
        except sqlite3.Error as err:
            raise explained(err, self.path) from None

    def job_keys(self) -> tuple[str, ...]:
        """The keys of all jobs, oldest first."""
        return tuple(key for (key,) in self.db.execute("SELECT key FROM job WHERE key <> '' ORDER BY id"))

    def job(self, key: str) -> JobRow:
        """The job of this key. Raises InputError with the jobs that there are."""
        found = self.db.execute("SELECT id, record, key FROM job WHERE key = ?", (key,)).fetchone() if key else None
        if found is None:
            known = ", ".join(self.job_keys())
            raise InputError(
                f"{self.path}: holds no job '{key}'.",
                hint=f"its jobs: {known}" if known else "begin one with `racewright job new`",
                field="job",
                expected=known,
            )
        return JobRow(*found)

    def job_by_id(self, job_id: Id) -> JobRow | None:
        """The job of this id, or None."""
        found = self.db.execute("SELECT id, record, key FROM job WHERE record = ?", (job_id,)).fetchone()
        return JobRow(*found) if found else None

    def add_job(self, key: str, job_id: Id) -> JobRow:
        """A new job. Raises InputError where the key is taken."""
        if self.db.execute("SELECT 1 FROM job WHERE key = ?", (key,)).fetchone():
            raise InputError(f"{self.path}: has a job '{key}' already.", hint="give another key", field="job")
        done = self.db.execute("INSERT INTO job (key, record) VALUES (?, ?)", (key, job_id))
        return JobRow(int(done.lastrowid or 0), job_id, key)

    def shop(self) -> JobRow | None:
        """What the records of the whole shop are kept under; None before there are any."""
        found = self.db.execute("SELECT id, record, key FROM job WHERE key = ''").fetchone()
        return JobRow(*found) if found else None

    def shop_id(self) -> Id | None:
        """The shop's own id: made from its first change, so that two copies of one file agree; None for a file that
        holds nothing yet."""
        shop = self.shop()
        if shop:
            return shop.id
        first = self.db.execute("SELECT checksum FROM change ORDER BY id LIMIT 1").fetchone()  # not 1 after a restore
        return digest("shop", first[0]) if first else None

    def begin_shop(self) -> JobRow:
        """As `shop`, made where there is none. Inside `writing` only."""
        return self.shop() or self.add_job("", self.shop_id() or new_id())

    def standing(self, record: Id) -> Row | None:
        """The newest revision of a record, or None where there never was one."""
        return next(self._rows("r.record = ? ORDER BY r.number DESC LIMIT 1", (record,)), None)

    def revision(self, record: Id, number: int) -> Row | None:
        """One revision of a record, or None."""
        return next(self._rows("r.record = ? AND r.number = ?", (record, number)), None)

    def following(self, record: Id, number: int) -> Row | None:
        """The first revision of a record after this one (0: its first of all), or None."""
        return next(self._rows("r.record = ? AND r.number > ? ORDER BY r.number LIMIT 1", (record, number)), None)

    def history(self, record: Id) -> tuple[Row, ...]:
        """All revisions of a record, newest first."""
        return tuple(self._rows("r.record = ? ORDER BY r.number DESC", (record,)))

    def all_standing(self, job: JobRow, kind: str) -> tuple[Row, ...]:
        """The newest revision of every record of a kind, in the order in which the records came."""
        return tuple(self._rows(f"r.job = ? AND r.kind = ? AND {_NEWEST} ORDER BY came", (job.number, kind)))

    def of_change(self, change: int) -> tuple[Row, ...]:
        """The revisions that a change wrote."""
        return tuple(self._rows("r.change = ? ORDER BY r.id", (change,)))

    def before(self, change: int) -> dict[Id, tuple[Row, Row | None]]:
        """The records that a change wrote, each with the first that it wrote of it and what stood before that; None:
        nothing."""
        firsts = {row.record: row for row in reversed(self.of_change(change))}
        return {record: (row, self.revision(record, row.base)) for record, row in reversed(firsts.items())}

    def rewritten(self, change: int) -> Iterator[tuple[Row, Row]]:
        """The records but entries that a change wrote anew, each as it wrote it and as it stood before."""
        for row in self._rows("r.change = ? AND r.base > 0 AND r.kind <> 'entry' ORDER BY r.id", (change,)):
            had = self.revision(row.record, row.base)
            if had is not None:
                yield row, had

    def newest_since(self, change: int, kinds: Sequence[str]) -> Iterator[Row]:
        """The newest revision of each record of these kinds that was changed after this change, oldest first."""
        marks = ", ".join("?" * len(kinds))
        yield from self._rows(f"r.change > ? AND r.kind IN ({marks}) AND {_NEWEST} ORDER BY r.id", (change, *kinds))

    def last_change(self) -> int:
        """The number of the file's last change, 0 where there is none."""
        return self.numbers.last_change()

    def mark(self, change: int) -> str:
        """What tells this file's change of this number from that of another file; '' for none."""
        found = self.db.execute("SELECT checksum FROM change WHERE id = ?", (change,)).fetchone()
        return str(found[0]) if found else ""

    def seal(self, change: int, mark: str) -> str:
        """What only this shop can have given with a change's number and mark; a backup that is brought back knows it
        as its own."""
        secret = self.db.execute("SELECT value FROM secret").fetchone()[0]
        return claim_digest(secret, self.shop_id() or "", change, mark)

    def is_own(self, seal: str, change: int, mark: str) -> bool:
        """Whether this shop gave these."""
        return hmac.compare_digest(seal.encode(), self.seal(change, mark).encode())

    def count(self, job: JobRow, kind: str) -> int:
        """How many records of this kind the job has, those that were removed counted too."""
        asked = "SELECT count(*) FROM revision WHERE job = ? AND kind = ? AND base = 0"
        return int(self.db.execute(asked, (job.number, kind)).fetchone()[0])

    def device(self, by: str) -> dict[str, tuple[int, int]]:
        """What was counted of a device: by the hour ('2026-05-04T08', UTC; '': long ago) so many versions of records,
        of so many bytes. What does not check counts for nothing."""
        rows = self.db.execute("SELECT hour, versions, bytes, checksum FROM device WHERE by = ?", (by,))
        return {hour: (n, size) for hour, n, size, checksum in rows if checksum == device_digest(by, hour, n, size)}

    def count_device(self, by: str, counted: Mapping[str, tuple[int, int]]) -> None:
        """Keep this as what was counted of a device. Inside `writing` only."""
        self.db.execute("DELETE FROM device WHERE by = ?", (by,))
        self.db.executemany(
            "INSERT INTO device (by, hour, versions, bytes, checksum) VALUES (?, ?, ?, ?, ?)",
            [(by, hour, n, size, device_digest(by, hour, n, size)) for hour, (n, size) in counted.items()],
        )

    def _rows(self, where: str, args: tuple[object, ...] = ()) -> Iterator[Row]:
        for job, kind, record, number, base, body, data, checksum, at, by, what, change, came in self.db.execute(
            "SELECT j.record, r.kind, r.record, r.number, r.base, r.body, r.digest, r.checksum, c.at, c.by, c.what,"
            " r.change, (SELECT f.id FROM revision f WHERE f.record = r.record AND f.base = 0) AS came"
            " FROM revision r JOIN change c ON c.id = r.change JOIN job j ON j.id = r.job"
            f" WHERE {where}",
            args,
        ):
            right = revision_digest(job, kind, record, number, base, change, data)
            if checksum != right or data != data_digest(kind, body):
                raise damaged(self.path, f"revision {number} of {kind} {record[:6]} fails its checksum")
            yield Row(kind, record, number, base, body, data, at, by, what, change, job, came)

    def changes(self, job: JobRow) -> tuple[Change, ...]:
        """All changes of a job, newest first."""
        return self._changes("job = ?", (job.number,))

    def changes_of(self, kind: str, records: Sequence[Id]) -> tuple[Change, ...]:
        """All changes that hold a record of this kind, or one of these two records, newest first."""
        return self._changes("id IN (SELECT change FROM revision WHERE kind = ? OR record IN (?, ?))", (kind, *records))

    def change(self, number: int) -> Change:
        """The change of this number, whatever became of it since."""
        return self._changes("id = ?", (number,))[0]

    def _changes(self, where: str, args: tuple[object, ...]) -> tuple[Change, ...]:
        rows = self.db.execute(
            f"SELECT id, kind, at, by, what, target FROM change WHERE {where} ORDER BY id DESC", args
        ).fetchall()
        turned: set[int] = set()  # newest first: what a standing undo or redo took back
        out = []
        for number, kind, at, by, what, target in rows:
            undone = number in turned
            if target is not None and not undone:
                turned.add(target)
            out.append(Change(number, kind, at, by, what, target, undone))
        return tuple(out)

    def after(self, standing: Row, body: str | None) -> Write:
        """This, as the next revision of a record that stands so."""
        number = self.numbers.after(standing.number)
        return Write(standing.kind, standing.record, number, standing.number, body)

    def write_change(
        self,
        job: JobRow,
        writes: Sequence[Write],
        *,
        by: str,
        what: str,
        kind: str = "save",
        target: int | None = None,
    ) -> int:
        """Write a change with its revisions; returns its number. Entries that came in under another job before their
        run did go with it, each as a revision that says the same. Inside `writing` only."""
        begun = [w.record for w in writes if w.kind == "run" and w.base == 0]
        here = {w.record for w in writes}
        strays = [row for row in self._strays(job, begun) if row.record not in here] if begun else []
        writes = [*writes, *(self.after(row, row.body) for row in strays)]
        last = self.db.execute("SELECT id, checksum FROM change ORDER BY id DESC LIMIT 1").fetchone()
        number, before = self.numbers.after(int(last[0]) if last else 0), str(last[1]) if last else ""
        self.numbers.give(max((number, *(w.number for w in writes))))
        at = now()
        rows = []
        for w in writes:
            data = data_digest(w.kind, w.body)
            checksum = revision_digest(job.id, w.kind, w.record, w.number, w.base, number, data)
            rows.append((job.number, w.kind, w.record, w.number, w.base, number, w.body, data, checksum))
        checksum = change_digest(before, number, (job.id, job.key), kind, target, at, by, what, [r[-1] for r in rows])
        self.db.execute(
            "INSERT INTO change (id, job, kind, target, at, by, what, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (number, job.number, kind, target, at, by, what, checksum),
        )
        self.db.executemany(
            "INSERT INTO revision (job, kind, record, number, base, change, body, digest, checksum)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            rows,
        )
        return number

    def _strays(self, job: JobRow, runs: Sequence[Id]) -> Iterator[Row]:
        """The entries of these runs that stand under another job."""
        marks = ", ".join("?" * len(runs))
        of = f"r.kind = 'entry' AND r.job <> ? AND r.body ->> '$.run' IN ({marks}) AND {_NEWEST} ORDER BY r.id"
        yield from self._rows(of, (job.number, *runs))

    def is_kept(self, write: Write) -> bool:
        """Whether such a save was refused before, and is kept."""
        asked = "SELECT 1 FROM refused WHERE record = ? AND base = ? AND digest = ?"
        return (
            self.db.execute(asked, (write.record, write.base, data_digest(write.kind, write.body))).fetchone()
            is not None
        )

    def write_refused(self, job: JobRow, write: Write, found: int, *, by: str) -> None:
        """Keep a save that was refused, once. Inside `writing` only."""
        if self.is_kept(write):
            return
        data = data_digest(write.kind, write.body)
        at = now()
        checksum = refused_digest(job.id, write.kind, write.record, write.base, found, at, by, data)
        self.db.execute(
            "INSERT INTO refused (job, kind, record, base, found, at, by, body, digest, checksum)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (job.number, write.kind, write.record, write.base, found, at, by, write.body, data, checksum),
        )

    def refused(self, job: JobRow) -> list[RefusedRow]:
        """Refused saves, newest first."""
        out = []
        for *said, data, checksum in self.db.execute(
            "SELECT kind, record, base, found, at, by, body, digest, checksum FROM refused WHERE job = ?"
            " ORDER BY id DESC",
            (job.number,),
        ):
            row = RefusedRow(*said)
            right = refused_digest(job.id, row.kind, row.record, row.base, row.found, row.at, row.by, data)
            if checksum != right or data != data_digest(row.kind, row.body):
                raise damaged(self.path, f"a refused save of {row.kind} {row.record[:6]} fails its checksum")
            out.append(row)
        return out


#: Whether a revision is its record's newest.
_NEWEST = "r.number = (SELECT max(n.number) FROM revision n WHERE n.record = r.record)"


def now() -> str:
    """The time in UTC, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")
