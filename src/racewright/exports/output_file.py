"""Files for others: written whole or not at all, with the rights that a file made by hand would have."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from racewright.errors import InputError

if TYPE_CHECKING:
    from racewright.cards.takeoff_tables import Table

#: Names of what this process prints to, by number: written there, behind what is printed already.
_PRINTED = {"/dev/stdout": 1, "/dev/fd/1": 1, "/dev/stderr": 2, "/dev/fd/2": 2}


def write_tables(path: Path, tables: Sequence[Table]) -> None:
    """Write tables as .csv or .xlsx, by the name's ending. Raises InputError for another one or a folder that cannot be
    written, MissingExtra for .xlsx without its library."""
    kind = path.suffix.lower()
    if kind == ".csv":
        from racewright.cards.csv_text import csv_bytes

        write_whole(path, csv_bytes(tables))
    elif kind == ".xlsx":
        from racewright.exports.tables import xlsx_bytes

        write_whole(path, xlsx_bytes(tables))
    else:
        raise InputError(f"{path}: tables are written as .csv or .xlsx.", hint="end the name with .csv or .xlsx")


def write_whole(path: Path, data: bytes, *, hint: str = "check the folder, your rights and the disk's room") -> None:
    """Write bytes beside the target, see them on the disk, and move them into place: no half file under its name.

    A link stays, and what it leads to is written. A file that is there keeps its mode; a new one gets what the umask
    leaves. What is no file (/dev/stdout, a pipe, a device) is written to as it stands. Raises InputError.
    """
    try:
        printed = _PRINTED.get(path.as_posix())
        if printed is not None:
            sys.stdout.flush()
            sys.stderr.flush()
            _pour(os.dup(printed), data)
        elif no_plain_file(path):
            _pour(os.open(path, os.O_WRONLY), data)
        else:
            _put_in_place(Path(os.path.realpath(path)), data)
    except OSError as err:
        raise InputError(f"{path}: cannot be written: {err.strerror}.", hint=hint) from None


def no_plain_file(path: Path) -> bool:
    """Whether a device, a pipe or the like stands there, which must never be replaced by a file. Raises
    IsADirectoryError for a folder, OSError."""
    try:
        mode = os.stat(path).st_mode
    except FileNotFoundError:
        return False
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, "it is a folder")
    return not stat.S_ISREG(mode)


def keep_rights(name: Path, old: os.stat_result) -> None:
    """Give a file the mode of the one whose place it takes, and its owner as far as one may."""
    if hasattr(os, "chown"):
        for user, group in ((-1, old.st_gid), (old.st_uid, -1)):
            with suppress(OSError):
                os.chown(name, user, group)
    os.chmod(name, stat.S_IMODE(old.st_mode) & 0o777)


def sync(path: Path) -> None:
    """Ask the disk to have it; a folder cannot be asked everywhere. Raises OSError."""
    folder = path.is_dir()
    try:
        handle = os.open(path, os.O_RDONLY if folder or os.name == "posix" else os.O_RDWR)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        if not folder:
            raise
    finally:
        os.close(handle)


#: The names of `draft_beside`, and of what SQLite puts beside one.
DRAFTS = ".racewright-" + "[0-9a-f]" * 12 + "*"


def draft_beside(target: Path) -> Path:
    """A name of its own beside `target`, for what is written whole before it takes that place."""
    return target.with_name(f".racewright-{os.urandom(6).hex()}")


def _put_in_place(target: Path, data: bytes) -> None:
    old = target.stat() if target.exists() else None
    if old is not None and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "it may not be written over")
    beside = draft_beside(target)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        _pour(os.open(beside, flags, 0o666 if old is None else 0o600), data)
        if old is not None:
            keep_rights(beside, old)
        os.replace(beside, target)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise
    sync(target.parent)


def _pour(handle: int, data: bytes) -> None:
    """Write all and see it on the disk, where there is one; closes the handle."""
    with os.fdopen(handle, "wb") as out:
        out.write(data)
        out.flush()
        if stat.S_ISREG(os.fstat(out.fileno()).st_mode):
            os.fsync(out.fileno())
