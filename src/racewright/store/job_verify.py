"""Whether a shop file is what was saved: SQLite's own check of its pages, then a checksum of every row.

SQLite's pages carry no checksum, so a flipped bit inside a text passes its check. Every revision carries a digest of
what it says, and every change one of itself, its revisions and the change before it: a row that was altered, lost or
put in cannot pass.
"""

from __future__ import annotations

import hashlib
import sqlite3
from pathlib import Path

from racewright.store.job_errors import DamagedFile, damaged, explained
from racewright.store.job_schema import begin_reading, expected_layout, layout_of


def digest(*parts: object) -> str:
    """A digest of these parts, each with its length, None unlike ''."""
    h = hashlib.sha256()
    for part in parts:
        data = b"" if part is None else str(part).encode("utf-8", "surrogatepass")
        h.update(b"-" if part is None else str(len(data)).encode())
        h.update(b":" + data)
    return h.hexdigest()[:32]


def revision_digest(job_key: str, item: str, number: int, change: int, body: str | None) -> str:
    """What stands in revision.checksum."""
    return digest("revision", job_key, item, number, change, body)


def change_digest(
    before: str,
    number: int,
    job_key: str,
    kind: str,
    target: int | None,
    at: str,
    by: str,
    what: str,
    revisions: list[str],
) -> str:
    """What stands in change.checksum: `before` is that of the change before, `revisions` those of its revisions."""
    return digest("change", before, number, job_key, kind, target, at, by, what, *revisions)


def refused_digest(job_key: str, item: str, based_on: int, found: int, at: str, by: str, body: str | None) -> str:
    """What stands in refused.checksum."""
    return digest("refused", job_key, item, based_on, found, at, by, body)


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
    _verify_changes(db, path)
    _counted(db, path, "change")
    if version >= 2:
        _verify_refused(db, path)
        _counted(db, path, "refused")


def _verify_changes(db: sqlite3.Connection, path: Path) -> None:
    own: dict[int, list[str]] = {}
    next_number: dict[tuple[int, str], int] = {}
    rows = db.execute(
        "SELECT r.job, j.key, r.item, r.number, r.change, r.body, r.checksum FROM revision r JOIN job j ON j.id = r.job"
        " ORDER BY r.id"
    )
    for job, key, item, number, change, body, checksum in rows:
        if checksum != revision_digest(key, item, number, change, body):
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
        right = change_digest(before, number, key, kind, target, at, by, what, revisions)
        if number != expected or checksum != right:
            raise damaged(path, f"change {number} fails its checksum")
        before, expected = checksum, number + 1
    if own:
        raise damaged(path, "a revision belongs to no change")


def _verify_refused(db: sqlite3.Connection, path: Path) -> None:
    for key, item, based_on, found, at, by, body, checksum in db.execute(
        "SELECT j.key, r.item, r.based_on, r.found, r.at, r.by, r.body, r.checksum FROM refused r"
        " JOIN job j ON j.id = r.job ORDER BY r.id"
    ):
        if checksum != refused_digest(key, item, based_on, found, at, by, body):
            raise damaged(path, f"a refused save of {item or 'the head'} of job {key} fails its checksum")


def _counted(db: sqlite3.Connection, path: Path, table: str) -> None:
    """Rows are numbered without gaps, and SQLite keeps the last number it gave in a place of its own."""
    count, last = db.execute(f"SELECT count(*), coalesce(max(id), 0) FROM {table}").fetchone()
    given = db.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
    if not count == last == (given[0] if given else 0):
        raise damaged(path, f"a {table} is missing")


__all__ = ["DamagedFile", "change_digest", "digest", "refused_digest", "revision_digest", "verify"]
