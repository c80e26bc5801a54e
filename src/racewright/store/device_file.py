"""The devices that may ask a server: names and when they were seen, kept beside the shop file in `FILE.devices`.

Never in the shop file itself, so that a copy of a job opens no door; nor are the devices' tokens, of which only digests
are kept. The server and the command write it at the same time: SQLite keeps them apart."""

from __future__ import annotations

import hashlib
import os
import secrets
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import msgspec

from racewright.errors import InputError, LimitError, UnknownName
from racewright.records.kinds import KINDS
from racewright.store.current_job import is_login
from racewright.store.job_errors import LockedFile, StoreTrouble

MOST_DEVICES = 40
#: A device that has not asked for so long has to pair again.
UNUSED_S = 60 * 24 * 3600
#: How far `last_seen` may lag behind: each question would be a write otherwise.
_SEEN_EVERY_S = 600
#: So long a call waits where somebody has the list locked.
PATIENCE_S = 3.0
_MOST_NAME = 40
_TABLE = (
    "CREATE TABLE IF NOT EXISTS device (name TEXT PRIMARY KEY, digest TEXT NOT NULL UNIQUE,"
    " first_seen INTEGER NOT NULL, last_seen INTEGER NOT NULL, reads TEXT NOT NULL) STRICT"
)
_COLUMNS = "name, first_seen, last_seen, reads"
#: Of devices that were taken off the list: so that each can be told, as long as its cookie lives.
_REVOKED = "CREATE TABLE IF NOT EXISTS revoked (digest TEXT PRIMARY KEY, at INTEGER NOT NULL) STRICT"


class Device(msgspec.Struct, frozen=True, kw_only=True):
    """A paired device. Times in seconds since 1970, `last_seen` to ten minutes; `reads`: kinds of record it is told."""

    name: str
    first_seen: int
    last_seen: int
    reads: tuple[str, ...]


class DeviceFile:
    """The list beside one shop file; every call opens it, so that a revoked device is out at its next question."""

    def __init__(self, shop: Path, clock: Callable[[], float] = time.time) -> None:
        self.path = shop.with_name(f"{shop.name}.devices")
        self._clock = clock

    def listed(self) -> tuple[Device, ...]:
        """All devices that may ask, by name. Raises StoreTrouble."""
        if not self.path.exists():
            return ()
        with self._open() as db:
            rows = db.execute(f"SELECT {_COLUMNS} FROM device WHERE last_seen > ?", (self._ended(),)).fetchall()
        return tuple(sorted((_device(row) for row in rows), key=lambda device: (device.name.casefold(), device.name)))

    def let_in(self, name: str) -> tuple[Device, str]:
        """A new device, and the token that it is known by. A name that another has, or a person of this machine as a
        login name, gets a number: what it writes is never taken for theirs.

        Raises LimitError where as many as may be are paired, StoreTrouble."""
        now, token = int(self._clock()), secrets.token_urlsafe(32)
        with self._open(create=True) as db:
            db.execute("DELETE FROM device WHERE last_seen <= ?", (self._ended(),))
            taken = {str(row[0]).casefold() for row in db.execute("SELECT name FROM device")}
            if len(taken) >= MOST_DEVICES:
                raise LimitError(
                    f"{MOST_DEVICES} devices are paired, and no more may be.",
                    hint="at the server `racewright devices` lists them; revoke one that is not used any more",
                    field="name",
                )
            plain = "".join(c for c in name if c.isprintable()).strip()[:_MOST_NAME] or "a device"
            names = (plain, *(f"{plain} {number}" for number in range(2, 2 * MOST_DEVICES)))
            free = next(each for each in names if each.casefold() not in taken and not is_login(each))
            told = tuple(kind.name for kind in KINDS.values() if kind.told)
            device = Device(name=free, first_seen=now, last_seen=now, reads=told)
            row = (free, _digest(token), now, now, " ".join(device.reads))
            db.execute("INSERT INTO device (name, digest, first_seen, last_seen, reads) VALUES (?, ?, ?, ?, ?)", row)
        return device, token

    def known(self, token: str, *, patience_s: float = PATIENCE_S) -> Device | None:
        """The device that was given this token, and now seen; None where none was, or it was revoked or unused for too
        long. `patience_s`: how long to wait where somebody has the list locked. Raises StoreTrouble."""
        if not token or len(token) > 200 or not self.path.exists():
            return None
        now, digest = int(self._clock()), _digest(token)
        with self._open(patience_s=patience_s) as db:
            asked = f"SELECT {_COLUMNS} FROM device WHERE digest = ? AND last_seen > ?"
            row = db.execute(asked, (digest, self._ended())).fetchone()
            if row is not None and now - row[2] >= _SEEN_EVERY_S:
                db.execute("UPDATE device SET last_seen = ? WHERE digest = ?", (now, digest))
        return None if row is None else _device(row)

    def revoke(self, name: str) -> Device:
        """Take a device off the list. Raises UnknownName, StoreTrouble."""
        device = self.find(name)
        with self._open() as db:
            db.execute("DELETE FROM revoked WHERE at <= ?", (self._ended(),))
            now, asked = int(self._clock()), "SELECT digest, ? FROM device WHERE name = ?"
            db.execute(f"INSERT OR REPLACE INTO revoked (digest, at) {asked}", (now, device.name))
            db.execute("DELETE FROM device WHERE name = ?", (device.name,))
        return device

    def was_revoked(self, token: str, *, patience_s: float = PATIENCE_S) -> bool:
        """Whether the device that was given this token was taken off the list. Raises StoreTrouble."""
        if not token or len(token) > 200 or not self.path.exists():
            return False
        with self._open(patience_s=patience_s) as db:
            return db.execute("SELECT 1 FROM revoked WHERE digest = ?", (_digest(token),)).fetchone() is not None

    def let_read(self, name: str, kinds: tuple[str, ...]) -> Device:
        """Set what a device is told. Raises UnknownName, InputError for a kind that is none, and for runs without their
        entries, StoreTrouble."""
        wrong = [kind for kind in kinds if kind not in KINDS]
        if wrong:
            raise InputError(f"'{wrong[0]}' is no kind of record.", hint=f"kinds: {', '.join(KINDS)}", field="reads")
        if "run" in kinds and "entry" not in kinds:
            raise InputError(
                "a device that is told runs is told the entries on them too: else it bends by marks that hold no more.",
                hint="name both, as --reads job,run,entry,tool, or neither",
                field="reads",
            )
        device = self.find(name)
        with self._open() as db:
            db.execute("UPDATE device SET reads = ? WHERE name = ?", (" ".join(kinds), device.name))
        return msgspec.structs.replace(device, reads=kinds)

    def is_listed(self, device: Device) -> bool:
        """Whether the device is paired still. Raises StoreTrouble."""
        asked = "SELECT 1 FROM device WHERE name = ? AND first_seen = ?"
        with self._open() as db:
            return db.execute(asked, (device.name, device.first_seen)).fetchone() is not None

    def find(self, name: str) -> Device:
        """A device by its name, however its letters are written. Raises UnknownName, StoreTrouble."""
        devices = self.listed()
        for device in devices:
            if device.name.casefold() == name.strip().casefold():
                return device
        there = ", ".join(device.name for device in devices) or "none"
        raise UnknownName(f"no device '{name}' is paired.", hint=f"paired: {there}", field="name")

    def _ended(self) -> int:
        return int(self._clock()) - UNUSED_S

    @contextmanager
    def _open(self, *, create: bool = False, patience_s: float = PATIENCE_S) -> Iterator[sqlite3.Connection]:
        """The open list in one transaction; raises StoreTrouble where it cannot be read or written, LockedFile where
        somebody else has it."""
        try:
            if create:
                os.close(os.open(self.path, os.O_CREAT | os.O_RDWR, 0o600))
            os.chmod(self.path, 0o600)
            with closing(sqlite3.connect(self.path, timeout=patience_s, isolation_level=None)) as db:
                db.execute("PRAGMA synchronous = FULL")
                db.execute("BEGIN IMMEDIATE" if create else "BEGIN")
                db.execute(_TABLE)
                db.execute(_REVOKED)
                yield db
                db.execute("COMMIT")  # left by an exception, the connection is closed and nothing is written
        except sqlite3.Error as err:
            if (getattr(err, "sqlite_errorcode", None) or 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise LockedFile(
                    f"{self.path}: the list of devices is busy: somebody else has it open to write.",
                    hint="try again; where it stays so, another program holds the file open",
                ) from None
            raise StoreTrouble(
                f"{self.path}: the list of devices cannot be used ({err}).",
                hint="if it is damaged, move it away: every device then has to pair again",
            ) from None
        except OSError as err:
            raise StoreTrouble(
                f"{self.path}: the list of devices cannot be used ({err.strerror}).",
                hint="check the folder and your rights",
            ) from None


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _device(row: tuple[str, int, int, str]) -> Device:
    name, first_seen, last_seen, reads = row
    kinds = tuple(kind for kind in reads.split() if kind != "run" or "entry" in reads.split())
    return Device(name=name, first_seen=first_seen, last_seen=last_seen, reads=kinds)
