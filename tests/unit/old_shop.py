"""A shop file of version 2, written by this file's own reading of that version: tables, checksums, undo and redo."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from copy import deepcopy
from pathlib import Path
from typing import Any, NamedTuple

Body = dict[str, Any]
APPLICATION = 0x52576A62
#: The tables as version 1 and 2 of the file made them.
TABLES = (
    "CREATE TABLE job (id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE COLLATE NOCASE) STRICT",
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
)
REFUSED = """CREATE TABLE refused (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            job INTEGER NOT NULL REFERENCES job (id),
            item TEXT NOT NULL COLLATE NOCASE,
            based_on INTEGER NOT NULL,
            found INTEGER NOT NULL,
            at TEXT NOT NULL,
            by TEXT NOT NULL,
            body TEXT,
            checksum TEXT NOT NULL) STRICT"""


class Change(NamedTuple):
    """One change, with what every run said after it."""

    kind: str
    target: int | None
    at: str
    by: str
    what: str
    bodies: dict[str, Body | None]
    after: dict[str, Body | None]


class OldShop:
    """One job 'orchard' whose runs are plain bodies by key."""

    def __init__(self, head: Body) -> None:
        self.said: dict[str, list[Body | None]] = {"": [head]}
        self.refused: list[tuple[str, int, int, str, str, Body | None]] = []
        self.changes = [Change("save", None, self._at(1), "Kim", "job begun", {"": head}, {"": head})]

    def stands(self, key: str) -> Body | None:
        return self.said[key][-1] if key in self.said else None

    def save(self, bodies: Mapping[str, Body | None], by: str, what: str, kind: str = "save", at: int = 0) -> None:
        for key, body in bodies.items():
            self.said.setdefault(key, []).append(deepcopy(body))
        after = {key: deepcopy(revisions[-1]) for key, revisions in self.said.items()}
        number = len(self.changes) + 1
        self.changes.append(Change(kind, at or None, self._at(number), by, what, deepcopy(dict(bodies)), after))

    def refuse(self, key: str, based_on: int, by: str, body: Body | None) -> None:
        found = len(self.said.get(key, []))
        self.refused.append((key, based_on, found, self._at(900 + len(self.refused)), by, deepcopy(body)))

    def turn(self, kind: str, by: str) -> bool:
        """The last change taken back, or the last undo; False where there is none."""
        undone: set[int] = set()
        for number in range(len(self.changes), 0, -1):
            change = self.changes[number - 1]
            standing = number not in undone
            if change.target is not None and standing:
                undone.add(change.target)
            if not standing:
                continue
            if change.kind == ("save" if kind == "undo" else "undo"):
                if number == 1:
                    return False
                back = {key: self._before(key, number) for key in change.bodies}
                self.save(back, by, f"{kind}: {change.what}", kind, number)
                return True
            if kind == "redo" and change.kind == "save":
                return False
        return False

    def _before(self, key: str, number: int) -> Body | None:
        before = [c.bodies[key] for c in self.changes[: number - 1] if key in c.bodies]
        return before[-1] if before else None

    @staticmethod
    def _at(number: int) -> str:
        return f"2026-05-{number // 60 % 28 + 1:02d}T08:{number % 60:02d}:00+00:00"

    def write(self, path: Path, version: int = 2) -> None:
        """The file, with every checksum."""
        with closing(sqlite3.connect(path, isolation_level=None)) as db:
            db.execute("PRAGMA journal_mode = TRUNCATE")
            db.execute("BEGIN")
            for statement in (*TABLES, *((REFUSED,) if version == 2 else ())):
                db.execute(statement)
            db.execute("INSERT INTO job (id, key) VALUES (1, 'orchard')")
            numbers: dict[str, int] = {}
            before = ""
            for number, c in enumerate(self.changes, 1):
                rows = []
                for key, body in c.bodies.items():
                    numbers[key] = numbers.get(key, 0) + 1
                    text = None if body is None else json.dumps(body, ensure_ascii=False)
                    sums = digest("revision", "orchard", key, numbers[key], number, text)
                    rows.append((1, key, numbers[key], number, text, sums))
                own = [row[-1] for row in rows]
                before = digest("change", before, number, "orchard", c.kind, c.target, c.at, c.by, c.what, *own)
                db.execute(
                    "INSERT INTO change VALUES (?, 1, ?, ?, ?, ?, ?, ?)",
                    (number, c.kind, c.target, c.at, c.by, c.what, before),
                )
                db.executemany(
                    "INSERT INTO revision (job, item, number, change, body, checksum) VALUES (?, ?, ?, ?, ?, ?)", rows
                )
            for key, based_on, found, at, by, body in self.refused if version == 2 else ():
                text = None if body is None else json.dumps(body, ensure_ascii=False)
                sums = digest("refused", "orchard", key, based_on, found, at, by, text)
                db.execute(
                    "INSERT INTO refused (job, item, based_on, found, at, by, body, checksum)"
                    " VALUES (1, ?, ?, ?, ?, ?, ?, ?)",
                    (key, based_on, found, at, by, text, sums),
                )
            db.execute(f"PRAGMA application_id = {APPLICATION}")
            db.execute(f"PRAGMA user_version = {version}")
            db.execute("COMMIT")


def digest(*parts: object) -> str:
    """Each part with its length; what is not there is a dash."""
    said = b""
    for part in parts:
        data = b"" if part is None else str(part).encode()
        said += (b"-:" if part is None else f"{len(data)}:".encode()) + data
    return hashlib.sha256(said).hexdigest()[:32]
