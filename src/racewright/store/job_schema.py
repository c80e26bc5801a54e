"""The shop file's layout in numbered steps, and how it is opened.

Journal: a rollback journal in TRUNCATE mode with synchronous=FULL. The write-ahead log would be faster for many
writers, but it keeps saved work in a second file beside the first: a shop file gets copied to a stick or lies on a
share, and then one file must be all there is. TRUNCATE syncs the journal's end to the disk with each save; DELETE would
leave that to the folder's own sync. A save is acknowledged only when the disk has it.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from pathlib import Path

from racewright.store.job_errors import NewerFile, StoreTrouble, damaged

#: 'RWjb' in the file's header says that it is a shop file.
APPLICATION_ID = 0x52576A62
BUSY_MS = 15_000

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
)
VERSION = len(STEPS)


def look_at_file(path: Path) -> None:
    """Raises StoreTrouble where there is no file, DamagedFile for an empty one.

    The file is not opened for this: closing it would drop the locks that SQLite holds on it in this process.
    """
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        raise StoreTrouble(
            f"{path}: there is no such shop file.", hint="make one with `racewright job new`, or name it with --shop"
        ) from None
    except OSError as err:
        raise StoreTrouble(f"{path}: cannot be read ({err.strerror}).", hint="check the name and your rights") from None
    if size == 0:
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
    """A connection with the settings that every use of a shop file shares. Raises sqlite3.Error."""
    mode = "rwc" if create else "rw"
    db = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, isolation_level=None, timeout=0.0)
    db.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA cell_size_check = ON")
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA fullfsync = ON")
    db.execute("PRAGMA synchronous = FULL")
    return db


def create_file(path: Path) -> None:
    """A new, empty shop file, made under another name and put in place whole; one that is there already is kept.
    Raises sqlite3.Error, OSError."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}")
    try:
        db = connect(temporary, create=True)
        try:
            db.execute("PRAGMA journal_mode = TRUNCATE")
            db.execute("BEGIN IMMEDIATE")
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            _steps(db, 0)
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
    finally:
        temporary.unlink(missing_ok=True)
        Path(f"{temporary}-journal").unlink(missing_ok=True)


def migrate(db: sqlite3.Connection, have: int) -> None:
    """Bring a file of version `have` up to date, in one transaction: whole or not at all."""
    db.execute("BEGIN IMMEDIATE")
    try:
        if db.execute("PRAGMA user_version").fetchone()[0] == have:  # else somebody else did it just now
            _steps(db, have)
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def layout_of(db: sqlite3.Connection) -> list[tuple[str, ...]]:
    """Every table and index as the file describes them."""
    return sorted(db.execute("SELECT type, name, tbl_name, coalesce(sql, '') FROM sqlite_master").fetchall())


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


def _steps(db: sqlite3.Connection, have: int) -> None:
    for step in STEPS[have:]:
        for statement in step:
            db.execute(statement)
    db.execute(f"PRAGMA user_version = {VERSION}")
