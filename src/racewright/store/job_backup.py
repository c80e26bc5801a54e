"""Whole copies of a shop file by SQLite's own backup call, and bringing the newest whole one back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from racewright.store.job_errors import DamagedFile, NewerFile, StoreTrouble, explained
from racewright.store.job_schema import begin_reading, connect, look_at_file, version_of
from racewright.store.job_verify import verify

#: So many backups stand beside the file: .backup-1 is the newest.
BACKUPS = 3


def backup_path(path: Path, number: int) -> Path:
    """Where backup `number` of a shop file stands."""
    return path.with_name(f"{path.name}.backup-{number}")


def turn_backups(path: Path) -> Path:
    """Make room for a new backup: every older one moves down by one. Returns the name to write."""
    try:
        for number in range(BACKUPS - 1, 0, -1):
            if backup_path(path, number).exists():
                os.replace(backup_path(path, number), backup_path(path, number + 1))
    except OSError as err:
        raise StoreTrouble(f"{path}: its backups cannot be moved ({err.strerror}).", hint="check the folder") from None
    return backup_path(path, 1)


def write_backup(db: sqlite3.Connection, target: Path) -> None:
    """Copy the open file as it stands at one moment, check the copy, put it in place. Raises StoreTrouble."""
    temporary = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        with closing(sqlite3.connect(temporary, isolation_level=None)) as copy:
            copy.execute("PRAGMA synchronous = FULL")
            db.backup(copy)
            verify(copy, target, copy.execute("PRAGMA user_version").fetchone()[0])
        _sync(temporary)
        os.replace(temporary, target)
        _sync(target.parent)
    except sqlite3.Error as err:
        raise explained(err, target) from None
    except OSError as err:
        raise StoreTrouble(
            f"{target}: the backup cannot be written ({err.strerror}).", hint="check the folder and its room"
        ) from None
    finally:
        temporary.unlink(missing_ok=True)
        Path(f"{temporary}-journal").unlink(missing_ok=True)


def check_file(path: Path) -> None:
    """Raises DamagedFile, NewerFile or StoreTrouble unless the file is a whole shop file."""
    look_at_file(path)
    try:
        with closing(connect(path)) as db:
            begin_reading(db)
            verify(db, path, version_of(db, path))
    except sqlite3.Error as err:
        raise explained(err, path) from None


def recover(path: Path) -> tuple[Path, Path | None]:
    """Put the newest whole backup in the place of a damaged file, which is kept under another name.

    Returns the backup taken and where the damaged file (None: there was none) is now. Raises StoreTrouble where the
    file is whole, is of a newer version, or no backup is whole.
    """
    there = path.exists()
    if there:
        try:
            check_file(path)
        except NewerFile:
            raise
        except DamagedFile:
            pass
        else:
            raise StoreTrouble(f"{path}: is whole; there is nothing to recover.", hint="to go back, use undo")
    source = _newest_whole(path)
    aside = _free_name(path) if there else None
    temporary = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        shutil.copyfile(source, temporary)
        _sync(temporary)
        if aside is not None:
            os.replace(path, aside)
            journal = Path(f"{path}-journal")
            if journal.exists():  # it belongs to the damaged file and must never be played into the backup
                os.replace(journal, Path(f"{aside}-journal"))
        os.replace(temporary, path)
        _sync(path.parent)
    except OSError as err:
        raise StoreTrouble(
            f"{path}: cannot be recovered ({err.strerror}).", hint="check the folder and its room"
        ) from None
    finally:
        temporary.unlink(missing_ok=True)
    return source, aside


def _newest_whole(path: Path) -> Path:
    for number in range(1, BACKUPS + 1):
        candidate = backup_path(path, number)
        try:
            check_file(candidate)
        except StoreTrouble:
            continue
        return candidate
    raise StoreTrouble(
        f"{path}: there is no whole backup beside it.",
        hint=f"a copy kept elsewhere can be put there as {backup_path(path, 1).name}; exported jobs can be imported",
    )


def _free_name(path: Path) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    for number in range(1000):
        name = path.with_name(f"{path.name}.damaged-{stamp}{f'-{number}' if number else ''}")
        if not name.exists():
            return name
    raise StoreTrouble(f"{path}: no name is free for the damaged file.", hint="clear the folder")


def _sync(path: Path) -> None:
    """Ask the disk to have it; a folder cannot be asked everywhere."""
    try:
        handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        if not path.is_dir():
            raise
    finally:
        os.close(handle)
