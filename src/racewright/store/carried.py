"""What is written into a shop file while it is brought up to date: bodies that say the same in another form, their
checksums anew, and records of the whole shop that were parts of others before."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

import msgspec

from racewright.records.ids import Id, digest, new_id
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_sums import change_digest, data_digest, refused_digest, revision_digest

T = TypeVar("T")


def sum_up(db: sqlite3.Connection) -> None:
    """Every digest and checksum of what is in the file, anew."""
    jobs = {number: (record, key) for number, record, key in db.execute("SELECT id, record, key FROM job")}
    own: dict[int, list[str]] = {}
    sums = []
    for number, job, kind, record, revision, base, change, body in db.execute(
        "SELECT id, job, kind, record, number, base, change, body FROM revision ORDER BY id"
    ):
        data = data_digest(kind, body)
        checksum = revision_digest(jobs[job][0], kind, record, revision, base, change, data)
        own.setdefault(change, []).append(checksum)
        sums.append((data, checksum, number))
    db.executemany("UPDATE revision SET digest = ?, checksum = ? WHERE id = ?", sums)
    before, chain = "", []
    for number, job, kind, target, at, by, what in db.execute(
        "SELECT id, job, kind, target, at, by, what FROM change ORDER BY id"
    ):
        before = change_digest(before, number, jobs[job], kind, target, at, by, what, own.get(number, []))
        chain.append((before, number))
    db.executemany("UPDATE change SET checksum = ? WHERE id = ?", chain)
    refused = []
    for number, job, kind, record, base, found, at, by, body in db.execute(
        "SELECT id, job, kind, record, base, found, at, by, body FROM refused"
    ):
        data = data_digest(kind, body)
        refused.append((data, refused_digest(jobs[job][0], kind, record, base, found, at, by, data), number))
    db.executemany("UPDATE refused SET digest = ?, checksum = ? WHERE id = ?", refused)


def write_of_shop(db: sqlite3.Connection, records: Sequence[tuple[str, Id, Sequence[str]]], what: str) -> None:
    """Records of the whole shop, each of a kind with the bodies of its revisions from the first, in one change of the
    shop, by who and when the file was written last."""
    number, before, at = db.execute("SELECT id, checksum, at FROM change ORDER BY id DESC LIMIT 1").fetchone()
    shop, shop_id = shop_of(db)
    rows, sums = [], []
    for kind, record, bodies in records:
        for revision, body in enumerate(bodies, 1):
            data = data_digest(kind, body)
            sums.append(revision_digest(shop_id, kind, record, revision, revision - 1, number + 1, data))
            rows.append((shop, kind, record, revision, revision - 1, number + 1, body, data, sums[-1]))
    checksum = change_digest(before, number + 1, (shop_id, ""), "save", None, at, "", what, sums)
    db.execute(
        "INSERT INTO change (id, job, kind, target, at, by, what, checksum) VALUES (?, ?, 'save', NULL, ?, '', ?, ?)",
        (number + 1, shop, at, what, checksum),
    )
    db.executemany(
        "INSERT INTO revision (job, kind, record, number, base, change, body, digest, checksum)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        rows,
    )


def shop_of(db: sqlite3.Connection) -> tuple[int, Id]:
    """What the records of the whole shop stand under, made where there is nothing yet: its number and its id."""
    found = db.execute("SELECT id, record FROM job WHERE key = ''").fetchone()
    if found is not None:
        return int(found[0]), str(found[1])
    (first,) = db.execute("SELECT checksum FROM change WHERE id = 1").fetchone()
    shop_id = digest("shop", first) if first else new_id()
    made = db.execute("INSERT INTO job (key, record) VALUES ('', ?)", (shop_id,))
    return int(made.lastrowid or 0), shop_id


def read(body: str, kind: type[T], path: Path) -> T:
    """Raises StoreTrouble."""
    try:
        return msgspec.json.decode(body, type=kind)
    except msgspec.DecodeError as err:
        raise StoreTrouble(
            f"{path}: cannot be brought up to date, for something in it cannot be read by this Racewright: {err}.",
            hint="open it with the Racewright that wrote it; the file was left untouched",
        ) from None


def as_text(value: msgspec.Struct) -> str:
    """A body."""
    return msgspec.json.encode(value).decode()
