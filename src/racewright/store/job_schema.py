"""The shop file's layout in numbered steps, and how it is opened.

Journal: a rollback journal in TRUNCATE mode with synchronous=FULL. The write-ahead log would be faster for many
writers, but it keeps saved work in a second file beside the first: a shop file gets copied to a stick or lies on a
share, and then one file must be all there is. TRUNCATE syncs the journal's end to the disk with each save; DELETE would
leave that to the folder's own sync. A save is acknowledged only when the disk has it.

And whether it is what was saved. SQLite's pages carry no checksum, so a flipped bit inside a text passes its own check.
Every revision carries a digest of what it says, and every change one of itself, its revisions and the change before it:
a row that was altered, lost or put in cannot pass.
"""

from __future__ import annotations

import os
import random
import secrets
import sqlite3
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

from racewright.exports.output_file import draft_beside, sync
from racewright.store import prices_before, shop_before, tools_before
from racewright.store.job_errors import MissingFile, NewerFile, StoreTrouble, damaged, explained
from racewright.store.job_sums import change_digest, data_digest, refused_digest, revision_digest

#: 'RWjb' in the file's header says that it is a shop file.
APPLICATION_ID = 0x52576A62
#: So long a save or a look waits for others.
PATIENCE_S = 15.0
_patience_s: ContextVar[float] = ContextVar("patience_s", default=float("inf"))

#: Step n brings a file from version n-1 to n. Steps are never edited, only added.
STEPS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE job (id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE COLLATE NOCASE) STRICT",
        # one change: what one person did at one time; a hash chain over all changes of the file
        """CREATE TABLE change (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            job INTEGER NOT NULL REFERENCES job (id),
            kind TEXT NOT NULL CHECK (kind IN ('save', 'undo', 'redo')),
            target INTEGER REFERENCES change (id),
            at TEXT NOT NULL,
            by TEXT NOT NULL,
            what TEXT NOT NULL,
            checksum TEXT NOT NULL) STRICT""",
        "CREATE INDEX change_job ON change (job)",
        "CREATE INDEX change_target ON change (target)",
        # revisions are only ever added; item '' is the job's head, else a run's key; body NULL: removed
        """CREATE TABLE revision (
            id INTEGER PRIMARY KEY,
            job INTEGER NOT NULL REFERENCES job (id),
            item TEXT NOT NULL COLLATE NOCASE,
            number INTEGER NOT NULL CHECK (number > 0),
            change INTEGER NOT NULL REFERENCES change (id),
            body TEXT,
            checksum TEXT NOT NULL,
            UNIQUE (job, item, number)) STRICT""",
        "CREATE INDEX revision_change ON revision (change)",
    ),
    (
        # saves that were refused because somebody had saved in between: kept, so that nothing is lost
        """CREATE TABLE refused (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            job INTEGER NOT NULL REFERENCES job (id),
            item TEXT NOT NULL COLLATE NOCASE,
            based_on INTEGER NOT NULL,
            found INTEGER NOT NULL,
            at TEXT NOT NULL,
            by TEXT NOT NULL,
            body TEXT,
            checksum TEXT NOT NULL) STRICT""",
    ),
    (
        # records by id instead of runs by key; what the tables held is taken out before and put back after
        "DROP TABLE refused",
        "DROP TABLE revision",
        "DROP TABLE change",
        "DROP TABLE job",
        # key: the job's label for people; record: the id of its head
        """CREATE TABLE job (
            id INTEGER PRIMARY KEY,
            key TEXT NOT NULL UNIQUE COLLATE NOCASE,
            record TEXT NOT NULL UNIQUE) STRICT""",
        """CREATE TABLE change (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            job INTEGER NOT NULL REFERENCES job (id),
            kind TEXT NOT NULL CHECK (kind IN ('save', 'undo', 'redo')),
            target INTEGER REFERENCES change (id),
            at TEXT NOT NULL,
            by TEXT NOT NULL,
            what TEXT NOT NULL,
            checksum TEXT NOT NULL) STRICT""",
        "CREATE INDEX change_job ON change (job)",
        "CREATE INDEX change_target ON change (target)",
        # only ever added; base: the revision that it was made from; body NULL: removed; digest: of kind and body
        """CREATE TABLE revision (
            id INTEGER PRIMARY KEY,
            job INTEGER NOT NULL REFERENCES job (id),
            kind TEXT NOT NULL,
            record TEXT NOT NULL,
            number INTEGER NOT NULL CHECK (number > 0),
            base INTEGER NOT NULL CHECK (base >= 0 AND base < number),
            change INTEGER NOT NULL REFERENCES change (id),
            body TEXT,
            digest TEXT NOT NULL,
            checksum TEXT NOT NULL,
            UNIQUE (record, number)) STRICT""",
        "CREATE INDEX revision_change ON revision (change)",
        "CREATE INDEX revision_job ON revision (job, kind)",
        """CREATE TABLE refused (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            job INTEGER NOT NULL REFERENCES job (id),
            kind TEXT NOT NULL,
            record TEXT NOT NULL,
            base INTEGER NOT NULL,
            found INTEGER NOT NULL,
            at TEXT NOT NULL,
            by TEXT NOT NULL,
            body TEXT,
            digest TEXT NOT NULL,
            checksum TEXT NOT NULL) STRICT""",
        "CREATE INDEX refused_record ON refused (record)",
    ),
    (
        # the shop's own records stand under a job without a key; what each device wrote is counted up to a change and a
        # refused save, and may be counted anew at any time
        "CREATE INDEX change_by ON change (by, at)",
        "CREATE INDEX refused_by ON refused (by, at)",
        """CREATE TABLE device (
            by TEXT PRIMARY KEY,
            change INTEGER NOT NULL,
            refused INTEGER NOT NULL,
            versions INTEGER NOT NULL,
            bytes INTEGER NOT NULL,
            checksum TEXT NOT NULL) STRICT""",
    ),
    (),  # the tools that jobs held become records of the shop: the tables stay as they are
    (
        # of what a device offered alone, and by hours: what commands write under the same name is not the device's;
        # hour '': all that is longer ago than a day
        "DROP INDEX change_by",
        "DROP INDEX refused_by",
        "DROP TABLE device",
        """CREATE TABLE device (
            by TEXT NOT NULL,
            hour TEXT NOT NULL,
            versions INTEGER NOT NULL,
            bytes INTEGER NOT NULL,
            checksum TEXT NOT NULL,
            PRIMARY KEY (by, hour)) STRICT""",
    ),
    (),  # the prices and people that jobs held become records of the shop
    (),  # after a backup was brought back numbers are passed over (job_numbers.py)
    # by which the shop knows what it told a device; never told, and the same in its backups
    ("CREATE TABLE secret (value TEXT NOT NULL) STRICT",),
)
VERSION = len(STEPS)
#: From this version on the shop knows by a secret what it told a device.
SEALED = 9
#: Before this step what is in the file is taken out of it, and put back after it as the step has it.
_CARRIED = 2
#: At these steps what is in the tables is written anew.
_TOOLS, _PRICES = 4, 6


def beside_links(path: Path) -> Path:
    """The shop file itself where a link names it: its journal, its backups and its plans stand beside the file."""
    return Path(os.path.realpath(path)) if os.path.islink(path) else path


#: Which file stands at a path: its disk and its number there.
Place = tuple[int, int]


def place_of(path: Path) -> Place | None:
    """Which file stands there; None where there is none, or it cannot be told."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def look_at_file(path: Path) -> None:
    """Raises StoreTrouble where there is no file, DamagedFile for an empty one.

    The file is not opened for this: closing it would drop the locks that SQLite holds on it in this process.
    """
    try:
        found = path.stat()
    except FileNotFoundError:
        raise MissingFile(
            f"{path}: there is no such shop file.", hint="make one with `racewright job new`, or name it with --shop"
        ) from None
    except OSError as err:
        raise StoreTrouble(f"{path}: cannot be read ({err.strerror}).", hint="check the name and your rights") from None
    if not stat.S_ISREG(found.st_mode):
        what = "a folder" if stat.S_ISDIR(found.st_mode) else "a device or a pipe"
        raise StoreTrouble(f"{path}: is {what}, and no shop file.", hint="name the file itself with --shop")
    if found.st_size == 0:
        raise damaged(path, "it is empty")


def version_of(db: sqlite3.Connection, path: Path) -> int:
    """The file's version from its header; nothing is written, so that a newer file stays untouched.

    Raises DamagedFile for what is no shop file, NewerFile, sqlite3.Error.
    """
    application = db.execute("PRAGMA application_id").fetchone()[0]
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if application != APPLICATION_ID:
        raise damaged(path, "its header is not that of a shop file")
    if version > VERSION:
        raise NewerFile(
            f"{path}: was written by a newer Racewright (file version {version}; this one knows up to {VERSION}).",
            hint="bring Racewright up to date; the file was left untouched",
        )
    if version < 1:
        raise damaged(path, f"its header says version {version}, and there is none")
    return version


def connect(path: Path, *, create: bool = False) -> sqlite3.Connection:
    """A connection with the settings that every use of a shop file shares. Raises sqlite3.Error, DamagedFile where
    SQLite's own complaint cannot be read."""
    mode = "rwc" if create else "rw"
    db = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None, timeout=0.0)
    db.execute("PRAGMA busy_timeout = 0")  # `patiently` does the waiting
    try:
        for setting in ("trusted_schema = OFF", "cell_size_check = ON", "foreign_keys = ON", "fullfsync = ON"):
            db.execute(f"PRAGMA {setting}")
        patiently(db, "PRAGMA synchronous = FULL")  # reads the file's layout first
    except UnicodeError as err:
        db.close()
        raise damaged(path, f"a text in it cannot be read: {err}") from None
    except BaseException:
        db.close()
        raise
    return db


def patiently(db: sqlite3.Connection, *statements: str) -> None:
    """Execute statements that need a lock, all again while somebody else has it. Raises sqlite3.Error in the end.

    SQLite's own waiting looks in ever longer steps, so that one who saves without pause can shut another out; this
    looks every few ms, at random, until PATIENCE_S have passed, or less in `waiting_at_most`.
    """
    until = time.monotonic() + min(PATIENCE_S, _patience_s.get())
    while True:
        began = db.in_transaction
        try:
            for statement in statements:
                db.execute(statement).fetchall()
            return
        except sqlite3.OperationalError as err:
            if db.in_transaction and not began:
                db.execute("ROLLBACK")
            busy = (getattr(err, "sqlite_errorcode", 0) & 0xFF) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
            if not busy or time.monotonic() > until:
                raise
        time.sleep(random.uniform(0.0, 0.004))


@contextmanager
def waiting_at_most(seconds: float) -> Iterator[None]:
    """What is asked inside waits for a lock no longer than this: somebody waits for the answer."""
    before = _patience_s.set(seconds)
    try:
        yield
    finally:
        _patience_s.reset(before)


def begin_reading(db: sqlite3.Connection) -> None:
    """One view of the file from here to the end of the transaction."""
    patiently(db, "BEGIN", "SELECT count(*) FROM sqlite_master")


def create_file(path: Path) -> None:
    """A new, empty shop file, made under another name and put in place whole; one that is there already is kept.
    Raises sqlite3.Error, OSError."""
    temporary = draft_beside(path)
    try:
        db = connect(temporary, create=True)
        try:
            db.execute("PRAGMA journal_mode = TRUNCATE")
            db.execute("BEGIN IMMEDIATE")
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            _steps(db, 0, path)
            db.execute("COMMIT")
        finally:
            db.close()
        try:
            os.link(temporary, path)
        except FileExistsError:
            return
        except OSError:  # a disk without links
            if not path.exists():
                os.replace(temporary, path)
        sync(path.parent)
    finally:
        temporary.unlink(missing_ok=True)
        Path(f"{temporary}-journal").unlink(missing_ok=True)


def migrate(db: sqlite3.Connection, path: Path, have: int) -> None:
    """Bring the file of version `have` up to date, in one transaction: whole or not at all. Raises StoreTrouble for
    what cannot be read."""
    patiently(db, "BEGIN IMMEDIATE")
    try:
        if db.execute("PRAGMA user_version").fetchone()[0] == have:  # else somebody else did it just now
            _steps(db, have, path)
        patiently(db, "COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def layout_of(db: sqlite3.Connection) -> list[tuple[str, ...]]:
    """Every table and index as the file describes them."""
    return sorted(db.execute("SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_master").fetchall())


@cache
def expected_layout(version: int) -> list[tuple[str, ...]]:
    """What `layout_of` must say for a file of this version."""
    db = sqlite3.connect(":memory:", isolation_level=None)
    try:
        for step in STEPS[:version]:
            for statement in step:
                db.execute(statement)
        return layout_of(db)
    finally:
        db.close()


def _steps(db: sqlite3.Connection, have: int, path: Path) -> None:
    for number, step in enumerate(STEPS[have:], have):
        held = shop_before.taken_out(db, path) if number == _CARRIED else None
        for statement in step:
            db.execute(statement)
        if held is not None:
            shop_before.put_back(db, held)
        if number == _TOOLS and have:
            tools_before.carry(db, path)
        if number == _PRICES and have:
            prices_before.carry(db, path)
        if number == SEALED - 1:
            db.execute("INSERT INTO secret (value) VALUES (?)", (secrets.token_hex(32),))
    db.execute(f"PRAGMA user_version = {VERSION}")


def verify(db: sqlite3.Connection, path: Path, version: int) -> None:
    """Raises DamagedFile where anything in the file is not as it was saved; StoreTrouble where it cannot be read."""
    began = not db.in_transaction
    try:
        if began:
            begin_reading(db)
        try:
            _verify(db, path, version)
        finally:
            if began and db.in_transaction:
                db.execute("ROLLBACK")
    except sqlite3.Error as err:
        raise explained(err, path) from None
    except (UnicodeError, ValueError, TypeError, OverflowError) as err:
        raise damaged(path, f"a text in it cannot be read: {err}") from None


def _verify(db: sqlite3.Connection, path: Path, version: int) -> None:
    told = db.execute("PRAGMA integrity_check(1)").fetchone()
    if told is None or told[0] != "ok":
        raise damaged(path, f"{told[0] if told else 'no answer'}".splitlines()[-1])
    if layout_of(db) != expected_layout(version):
        raise damaged(path, "its tables are not those of a shop file")
    if db.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise damaged(path, "a row names another that is not there")
    if version < 3:
        shop_before.verify_rows(db, path, version)
    else:
        _verify_changes(db, path)
        _verify_refused(db, path)
    _counted(db, path, "change")
    if version >= 2:
        _counted(db, path, "refused")
    if version >= SEALED and db.execute("SELECT count(*) FROM secret").fetchone()[0] != 1:
        raise damaged(path, "its secret is missing")


def _verify_changes(db: sqlite3.Connection, path: Path) -> None:
    own: dict[int, list[str]] = {}
    last: dict[str, tuple[int | None, int, str]] = {}
    rows = db.execute(
        "SELECT r.job, j.record, r.kind, r.record, r.number, r.base, r.change, r.body, r.digest, r.checksum"
        " FROM revision r JOIN job j ON j.id = r.job ORDER BY r.id"
    )
    for job, job_id, kind, record, number, base, change, body, data, checksum in rows:
        if data != data_digest(kind, body):
            raise damaged(path, f"what revision {number} of {kind} {record[:6]} says fails its checksum")
        if checksum != revision_digest(job_id, kind, record, number, base, change, data):
            raise damaged(path, f"revision {number} of {kind} {record[:6]} fails its checksum")
        of = None if kind == "entry" else job  # an entry goes with its run to another job
        if last.get(record, (of, 0, kind)) != (of, base, kind):
            raise damaged(path, f"a revision of {kind} {record[:6]} before {number} is missing")
        last[record] = (of, number, kind)
        own.setdefault(change, []).append(checksum)
    before = ""
    for number, key, job_id, kind, target, at, by, what, checksum in db.execute(
        "SELECT c.id, j.key, j.record, c.kind, c.target, c.at, c.by, c.what, c.checksum"
        " FROM change c JOIN job j ON j.id = c.job ORDER BY c.id"
    ):
        revisions = own.pop(number, [])
        right = change_digest(before, number, (job_id, key), kind, target, at, by, what, revisions)
        if checksum != right:
            raise damaged(path, f"change {number} fails its checksum")
        before = checksum
    if own:
        raise damaged(path, "a revision belongs to no change")


def _verify_refused(db: sqlite3.Connection, path: Path) -> None:
    for job_id, kind, record, base, found, at, by, body, data, checksum in db.execute(
        "SELECT j.record, r.kind, r.record, r.base, r.found, r.at, r.by, r.body, r.digest, r.checksum FROM refused r"
        " JOIN job j ON j.id = r.job ORDER BY r.id"
    ):
        right = refused_digest(job_id, kind, record, base, found, at, by, data)
        if data != data_digest(kind, body) or checksum != right:
            raise damaged(path, f"a refused save of {kind} {record[:6]} fails its checksum")


def _counted(db: sqlite3.Connection, path: Path, table: str) -> None:
    """Rows are numbered without gaps, but for changes, which are chained; and SQLite keeps the last number it gave in a
    place of its own."""
    count, last = db.execute(f"SELECT count(*), coalesce(max(id), 0) FROM {table}").fetchone()
    given = db.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    if last != (given[0] if given else 0) or (count != last and table != "change"):
        raise damaged(path, f"a {table} is missing")
