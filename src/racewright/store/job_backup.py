"""Whole copies of a shop file by SQLite's own backup call, and bringing the newest whole one back."""

from __future__ import annotations

import glob
import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path

from racewright.exports.output_file import DRAFTS, draft_beside, keep_rights, no_plain_file, sync
from racewright.store.job_errors import DamagedFile, LockedFile, NewerFile, StoreTrouble, explained
from racewright.store.job_schema import (
    SEALED,
    begin_reading,
    beside_links,
    connect,
    look_at_file,
    patiently,
    verify,
    version_of,
)

#: So many backups stand beside the file: .backup-1 is the newest.
BACKUPS = 3
#: So long, in seconds, what moved to .backup-2 and to .backup-3 stays there before a newer one does: an hour, a day.
STAYS_S = (3_600.0, 86_400.0)
#: Ends of the names of files beside a shop file: SQLite would play a copy there into it, and commands write the others.
SIDE_FILES = ("-journal", "-wal", "-shm", ".plans", ".numbers")


def backup_path(path: Path, number: int) -> Path:
    """Where backup `number` of a shop file stands."""
    return path.with_name(f"{path.name}.backup-{number}")


def add_backup(db: sqlite3.Connection, path: Path) -> Path:
    """A new newest backup beside the shop file; returns where it stands. Raises StoreTrouble.

    Nobody waits for the copy but who saves in the moment that it is read. It is whole, checked and on the disk before
    any older backup moves, and what is dropped goes last, so that a failure at any step leaves as many good backups as
    there were.
    """
    newest = backup_path(path, 1)
    _drop_old_drafts(path)
    draft = path.with_name(f"{_draft_name(path)}{os.urandom(4).hex()}")
    with _looking(path) as look, _copied(look, newest, draft, path) as copy, _nobody_else(db, path):
        _turn(path, copy)
        sync(path.parent)
    return newest


def _turn(path: Path, copy: Path) -> None:
    """Put the copy in place as the newest. The newest one until now is written over where the copy goes on from it, and
    moves on where the next one is old enough to make room."""
    newest, *older, spare = (backup_path(path, number) for number in range(1, BACKUPS + 2))
    ends = _end_of(newest), _end_of(copy)
    if ends[0] and ends[1] and ends[0] != ends[1] and _holds(newest, ends[1]):
        return  # somebody was quicker with a later one
    if older[0].exists() and _is_young(older[0], STAYS_S[0]) and ends[0] and _holds(copy, ends[0]):
        os.replace(copy, newest)
        return
    slots = [newest, *older]
    last = next((n for n, slot in enumerate(slots) if not slot.exists()), None)
    if last is None:  # of all that stand, the oldest goes that has stood its time
        last = next(n for n in range(BACKUPS - 1, 0, -1) if n == 1 or not _is_young(slots[n], STAYS_S[n - 1]))
        os.replace(slots[last], spare)
    for number in range(last, 0, -1):
        os.replace(slots[number - 1], slots[number])
        with suppress(OSError):  # else it makes room the sooner
            os.utime(slots[number], (now := time.time(), now))
    os.replace(copy, newest)
    with suppress(OSError):  # else the next turn drops it
        spare.unlink()


def _is_young(backup: Path, stays_s: float) -> bool:
    """Whether it has been where it stands for less than that."""
    return abs(time.time() - backup.stat().st_mtime) < stays_s


def _end_of(file: Path) -> tuple[int, str] | None:
    """The number and checksum of the file's last change; None where it cannot be read."""
    with suppress(sqlite3.Error, StoreTrouble), closing(connect(file)) as db:
        found = db.execute("SELECT id, checksum FROM change ORDER BY id DESC LIMIT 1").fetchone()
        return (int(found[0]), str(found[1])) if found else (0, "")
    return None


def _holds(file: Path, end: tuple[int, str]) -> bool:
    """Whether this change, and so all before it, is in the file."""
    if end[0] == 0:
        return True
    with closing(connect(file)) as db:
        found = db.execute("SELECT checksum FROM change WHERE id = ?", end[:1]).fetchone()
    return found is not None and str(found[0]) == end[1]


def _draft_name(path: Path) -> str:
    return f".{path.name}.backup-new-"


def _drop_old_drafts(path: Path) -> None:
    """What killed commands left of backups, and of other copies; a young one may be somebody's at work."""
    for left in (*path.parent.glob(f"{glob.escape(_draft_name(path))}*"), *path.parent.glob(DRAFTS)):
        with suppress(OSError):
            if not _is_young(left, STAYS_S[0]):
                left.unlink()


def write_backup(db: sqlite3.Connection, path: Path, target: Path) -> Path:
    """Copy the open shop file as it stands at one moment, check the copy, put it in place of `target` (or of what it
    leads to). Returns where it stands. Raises StoreTrouble."""
    try:
        there = target.exists()
        leads_to = Path(os.path.realpath(target))
        name = leads_to.name.casefold()
        beside = name.endswith(SIDE_FILES) or ".current" in name.removeprefix(path.name.casefold())
        if beside or no_plain_file(target) or (there and os.path.samefile(target, path)):
            raise StoreTrouble(
                f"{target}: no backup can stand there.", hint="name a new file, best on another disk than the shop file"
            )
        target = leads_to
    except OSError as err:
        raise _not_written(target, err) from None
    _drop_old_drafts(target)
    draft = draft_beside(target)
    with _copied(db, target, draft, target if there else path) as copy:
        os.replace(copy, target)
        sync(target.parent)
    return target


@contextmanager
def _copied(db: sqlite3.Connection, target: Path, draft: Path, like: Path) -> Iterator[Path]:
    """A checked copy as `draft`, on the disk, with the rights of the file `like`; gone at the end unless it was put in
    place. What fails, here or in the block, is a StoreTrouble about `target`."""
    _drop(draft)
    try:
        rights = like.stat()
        with closing(sqlite3.connect(draft, isolation_level=None)) as copy:
            keep_rights(draft, rights)
            copy.execute("PRAGMA synchronous = OFF")  # the whole of it is synced below
            db.backup(copy)
        sync(draft)
        # opened anew: the connection that wrote the copy would check the pages it remembers, not those of the file
        with closing(connect(draft)) as written:
            try:
                verify(written, target, written.execute("PRAGMA user_version").fetchone()[0])
            except DamagedFile as err:
                raise StoreTrouble(
                    f"the backup {target} was not made: the copy does not check ({err.message.rstrip('.')}).",
                    hint="what stood there before is untouched; check the shop file itself and the disk, or name"
                    " another place for the backup",
                ) from err
        yield draft
    except (sqlite3.Error, OSError) as err:
        raise _not_written(target, err) from None
    finally:
        _drop(draft)


def _drop(draft: Path) -> None:
    for left in (draft, Path(f"{draft}-journal")):
        with suppress(OSError):
            left.unlink()


@contextmanager
def _looking(path: Path) -> Iterator[sqlite3.Connection]:
    """A second connection: SQLite copies nothing through one that holds the lock for saving."""
    try:
        look = connect(path)
    except sqlite3.Error as err:
        raise explained(err, path) from None
    with closing(look):
        yield look


@contextmanager
def _nobody_else(db: sqlite3.Connection, path: Path) -> Iterator[None]:
    """Nobody else saves or turns the backups meanwhile: the shop file's own lock is held, where it may be written."""
    try:
        patiently(db, "BEGIN IMMEDIATE")
    except sqlite3.OperationalError as err:
        if (getattr(err, "sqlite_errorcode", 0) & 0xFF) != sqlite3.SQLITE_READONLY:
            raise explained(err, path) from None
    try:
        yield
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")


def _not_written(target: Path, err: OSError | sqlite3.Error) -> StoreTrouble:
    why = (isinstance(err, OSError) and err.strerror) or err
    return StoreTrouble(f"{target}: the backup cannot be written ({why}).", hint="check the folder and its room")


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
    path = beside_links(path)
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
    aside = _free_name(path)
    try:
        if not (there and _written_over(path, source, aside)):
            _put_in_place(path, source, aside)
        sync(path.parent)
    except OSError as err:
        raise StoreTrouble(
            f"{path}: cannot be recovered ({err.strerror}).", hint="check the folder and its room"
        ) from None
    return source, aside if there else None


#: What that means for who reads paper.
NUMBERS_AGAIN = (
    "numbers of revisions that were given after it may be given again: cards and labels that were printed after it may"
    " bear the number of another text; print them anew"
)


def may_give_numbers_again(path: Path, source: Path) -> bool:
    """Whether the shop cannot know which numbers it gave after this backup: nothing beside its file says so, and the
    backup is older than the secret by which the shop knows what it told a device."""
    path = beside_links(path)
    with closing(connect(source)) as db:
        return version_of(db, source) < SEALED and not path.with_name(f"{path.name}.numbers").exists()


def _written_over(path: Path, source: Path, aside: Path) -> bool:
    """Write the backup over the damaged file, a copy of which is on the disk before, while nobody else reads or saves.
    False where SQLite cannot lock the file: then nobody saves in it. Broken off, it leaves a damaged file. Raises
    LockedFile, OSError.

    Another file in its place would not do: SQLite finds a file's journal by the name, and whoever had the one opened
    and the other's journal before his eyes would play that into it, and take it away.
    """
    with ExitStack() as held:
        try:
            # opened before SQLite's own, and closed after it: closing it drops what this process has locked
            raw = held.enter_context(path.open("r+b"))
            patiently(held.enter_context(closing(connect(path))), "BEGIN EXCLUSIVE")
        except sqlite3.Error as err:
            if isinstance(told := explained(err, path), LockedFile):
                raise told from None
            return False
        except (DamagedFile, PermissionError):
            return False
        try:
            with aside.open("xb") as copy:
                shutil.copyfileobj(raw, copy)
            keep_rights(aside, path.stat())
            sync(aside)
        except OSError:
            _drop(aside)
            raise
        sync(aside.parent)
        raw.seek(0)
        with source.open("rb") as whole:
            shutil.copyfileobj(whole, raw)
        raw.truncate()
        raw.flush()
        os.fsync(raw.fileno())
    return True


def _put_in_place(path: Path, source: Path, aside: Path) -> None:
    """Put a copy of the backup where no file is, or one that SQLite cannot even lock. Raises OSError."""
    there = path.exists()
    temporary = draft_beside(path)
    try:
        shutil.copyfile(source, temporary)
        keep_rights(temporary, (path if there else source).stat())
        sync(temporary)
        journal = Path(f"{path}-journal")
        # what is in it belongs to the file that was there and must never be played into the backup
        if journal.exists() and journal.stat().st_size:
            os.replace(journal, Path(f"{aside}-journal"))
        if there:
            try:  # under a second name first: who came in a moment without a file would make an empty one
                os.link(path, aside)
            except OSError:  # a disk without links
                os.replace(path, aside)
        os.replace(temporary, path)
    finally:
        _drop(temporary)


def _newest_whole(path: Path) -> Path:
    for number in range(1, BACKUPS + 2):  # one more where the last turn was broken off
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
        if not name.exists() and not Path(f"{name}-journal").exists():
            return name
    raise StoreTrouble(f"{path}: no name is free for the damaged file.", hint="clear the folder")
