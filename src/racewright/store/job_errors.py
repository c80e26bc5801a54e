"""What can go wrong with a shop file, in words: saves over newer revisions, damage, newer versions, full disks."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from racewright.errors import InputError
from racewright.records.differ import differences, quoted
from racewright.records.kinds import Value

#: So many differences are written out in a refusal; the rest are counted.
MOST_SHOWN = 8


class StoreTrouble(InputError):
    """The shop file cannot be read or written where it is; nothing in it was changed."""


class MissingFile(StoreTrouble):
    """There is no shop file where it should be."""


class MovedFile(StoreTrouble):
    """Another file stands in the place of the one that was opened: opened anew, it can be asked again."""


class LockedFile(StoreTrouble):
    """Somebody else saves for longer than it should take."""


class FullDisk(StoreTrouble):
    """The disk has no room for what was to be saved."""


class DamagedFile(StoreTrouble):
    """The shop file is not what was saved: nothing is read from it."""


class NewerFile(StoreTrouble):
    """The shop file was written by a newer Racewright: it is left untouched."""


class StaleSave(InputError):
    """Somebody saved in between. `mine` is what was refused, `theirs` what stands there (None: removed or not there),
    `based_on` the revision that `mine` was made from, `found` the one that stands. What was refused is kept in the
    file too (`JobStore.refused`)."""

    def __init__(
        self,
        what: str,
        *,
        mine: Value | None,
        theirs: Value | None,
        based_on: int,
        found: int,
        by: str,
    ) -> None:
        self.what, self.mine, self.theirs = what, mine, theirs
        self.based_on, self.found = based_on, found
        lines = _differences(mine, theirs)
        shown = "".join(f"\n  {line}" for line in lines[:MOST_SHOWN])
        more = f"\n  and {len(lines) - MOST_SHOWN} more" if len(lines) > MOST_SHOWN else ""
        super().__init__(
            f"{what}: not saved, for it was changed in between{f' by {by}' if by else ''}: yours was made from"
            f" revision {based_on}, and revision {found} stands.{shown}{more}",
            hint="look at both, make your change to the one that stands, and save again; yours is kept as refused",
            field="revision",
        )


def explained(err: sqlite3.Error, path: Path) -> StoreTrouble:
    """SQLite's complaint in words that say what to do."""
    code = getattr(err, "sqlite_errorcode", None) or 0
    primary = code & 0xFF
    if primary in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return damaged(path, str(err))
    if primary == sqlite3.SQLITE_FULL:
        return FullDisk(
            f"{path}: the disk is full; nothing was saved, and what was saved before stands.",
            hint="make room on the disk and save again",
        )
    if code == sqlite3.SQLITE_READONLY_DBMOVED:
        return moved(path)
    if primary == sqlite3.SQLITE_READONLY:
        return StoreTrouble(
            f"{path}: cannot be written; nothing was saved.",
            hint="copy the file to a folder of yours, or ask for rights",
        )
    if primary in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return StoreTrouble(
            f"{path}: the folder does not let it be opened for this; nothing was saved.",
            hint="the folder must exist and be writable: SQLite keeps a journal beside the file while it saves",
        )
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return LockedFile(
            f"{path}: somebody else has been saving for longer than it should take; nothing was saved.",
            hint="try again; where it stays so, another program holds the file open",
        )
    if primary == sqlite3.SQLITE_IOERR:
        return StoreTrouble(
            f"{path}: the disk refused to read or write ({err}); nothing was saved.",
            hint="check the disk and its room, then try again; `racewright job check` tells whether the file is whole",
        )
    return damaged(path, str(err))


def moved(path: Path) -> MovedFile:
    """The refusal to save in a file that stands no more where it was opened."""
    return MovedFile(
        f"{path}: another file was put in its place meanwhile; nothing was saved.", hint="look at it, and save again"
    )


def damaged(path: Path, why: str) -> DamagedFile:
    """The refusal of a file that is not what was saved."""
    return DamagedFile(
        f"{path}: the file is damaged ({why}); nothing was read from it.",
        hint="`racewright job recover` puts the newest whole backup in its place and keeps the damaged file aside",
    )


def _differences(mine: Value | None, theirs: Value | None) -> list[str]:
    """Field by field, where the two differ: \"leg 1, length: yours '54', theirs '55'\"."""
    if mine is None or theirs is None:
        return [f"yours: {'removed' if mine is None else 'there'}; theirs: {'removed' if theirs is None else 'there'}"]
    return [f"{one.field}: yours {quoted(one.mine)}, theirs {quoted(one.theirs)}" for one in differences(mine, theirs)]
