"""Backups of a shop file: a failure at any step, or two people at once, leaves as many good ones as there were."""

import itertools
import os
import shutil
import sqlite3
import stat
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.exports.output_file import DRAFTS
from racewright.job.plan_job import chunks_of, plan_chunk
from racewright.records.ids import digest, new_id
from racewright.records.model import Job
from racewright.store import job_backup, job_rows, job_schema
from racewright.store.job_backup import BACKUPS, STAYS_S, backup_path, check_file, recover
from racewright.store.job_changes import set_times
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.store.plan_cache import PlanCache

JOB = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
RUN = JOB.runs[0]
posix = pytest.mark.skipif(sys.platform == "win32", reason="modes and links are POSIX's")


def note_of(path: Path) -> str:
    with JobStore.open(path) as store:
        return store.run("orchard", RUN.key).value.note


def save(path: Path, note: str, *, backup: bool = True) -> None:
    with JobStore.open(path) as store:
        store.save_run("orchard", msgspec.structs.replace(RUN, note=note), store.run("orchard", RUN.key).revision)
        if backup:
            store.backup()


@pytest.fixture(autouse=True)
def nothing_looked_at() -> None:
    looked_at.clear()


#: The note of each backup that was looked at, by its bytes; None: it is not whole.
looked_at: dict[bytes, str | None] = {}


def good(shop: Path) -> list[str]:
    """The notes of every whole backup that stands beside the file, newest first."""
    notes = []
    for path in sorted(shop.parent.glob(f"{shop.name}.backup-*")):
        whole = path.read_bytes()
        if whole not in looked_at:
            try:
                looked_at[whole] = note_of(path)  # opening it checks it
            except StoreTrouble:
                looked_at[whole] = None
        if (note := looked_at[whole]) is not None:
            notes.append(note)
    return notes


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "shop.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", Job(head=JOB.head, runs=(RUN,)))
    return path


class Failing:
    """Lets so many calls of a function through, then fails as a disk does."""

    def __init__(self, inner: Any, passes: int) -> None:
        self.inner, self.passes, self.failed = inner, passes, False

    def __call__(self, *args: Any, **more: Any) -> Any:
        if self.passes == 0:
            self.failed = True
            raise OSError(28, "No space left on device")
        self.passes -= 1
        return self.inner(*args, **more)


def grow_old(shop: Path, by_s: float = 2 * STAYS_S[1]) -> None:
    """As if every backup had been made so much earlier: the next one turns them."""
    for path in shop.parent.glob(f"{shop.name}.backup-*"):
        then = path.stat().st_mtime - by_s
        os.utime(path, (then, then))


@pytest.mark.parametrize("old", [True, False])
@pytest.mark.parametrize("had", range(BACKUPS + 1))
def test_failures_in_a_row_leave_every_good_backup(
    shop: Path, monkeypatch: pytest.MonkeyPatch, had: int, old: bool
) -> None:
    """Each step of a backup fails in turn, and again before the next one works."""
    number = itertools.count()
    for _ in range(had):
        save(shop, f"n{next(number)}")
        grow_old(shop)
    for place in ("verify", "sync", "keep_rights", "os.replace", "Path.unlink"):
        owner = {"os.replace": os, "Path.unlink": Path}.get(place, job_backup)
        name = place.rpartition(".")[2]
        for passes in range(BACKUPS + 2):
            before = good(shop)
            failed = False
            for _ in range(2):
                said = ""
                if old:
                    grow_old(shop)
                save(shop, f"n{next(number)}", backup=False)
                with monkeypatch.context() as patch, JobStore.open(shop) as store:
                    failing = Failing(getattr(owner, name), passes)
                    patch.setattr(owner, name, lambda *a, f=failing, **k: f(*a, **k))
                    try:
                        store.backup()
                    except StoreTrouble as err:
                        said = str(err)
                failed = failing.failed
                if failed and name != "unlink":  # what is merely left over is no failure
                    assert "cannot be written (No space left on device)" in said
                after = good(shop)
                assert len(after) >= min(len(before), BACKUPS), (place, passes, before, after)
                assert not old or set(before[:1]) <= set(after), (place, passes, before, after)
                assert newest(after) >= newest(before), (place, passes, before, after)
                before = after
            if not failed:
                break
        if old:
            grow_old(shop)
        save(shop, f"n{next(number)}")
        assert good(shop)[0] == note_of(shop)
    for path in shop.parent.glob(f"{shop.name}.backup-*"):
        check_file(path)
    grow_old(shop)
    save(shop, "last")
    assert [note_of(backup_path(shop, 1)), len(good(shop))] == ["last", BACKUPS]


def newest(notes: list[str]) -> int:
    return max((int(note[1:]) for note in notes), default=-1)


def test_backups_of_one_hour_are_two_and_later_ones_stand_apart(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Saved and backed up every 20 minutes for two days and a half, by a clock that the test moves."""
    began = now = time.time()
    monkeypatch.setattr(time, "time", lambda: now)
    for turn in range(180):
        now = began + turn * 1200.0
        save(shop, f"n{turn}")
        os.utime(backup_path(shop, 1), (now, now))
        ages_s = [(turn - int(note[1:])) * 1200.0 for note in good(shop)]
        assert ages_s[0] == 0.0
        if turn >= 4:
            assert len(ages_s) == BACKUPS
            assert 1200.0 <= ages_s[1] <= STAYS_S[0] + 1200.0, (turn, ages_s)
            assert ages_s[1] < ages_s[2] <= STAYS_S[1] + 2 * STAYS_S[0], (turn, ages_s)
    assert turn == 179


def test_many_in_a_minute_take_the_place_of_one(shop: Path) -> None:
    save(shop, "yesterday")
    grow_old(shop, STAYS_S[1])
    save(shop, "an hour ago")  # yesterday's moves to .backup-2
    grow_old(shop, STAYS_S[0])
    for turn in range(9):
        save(shop, f"n{turn}")
    assert good(shop) == ["n8", "an hour ago", "yesterday"]


def test_a_newest_backup_that_the_file_does_not_go_on_from_is_not_written_over(shop: Path, tmp_path: Path) -> None:
    """Somebody put an older copy back by hand: what was saved after it stands in the backups alone."""
    old = Path(shutil.copy(shop, tmp_path / "old"))
    for note in ("n1", "n2", "n3"):
        save(shop, note)
    assert good(shop) == ["n3", "n1"]
    shutil.copy(old, shop)
    with JobStore.open(shop) as store:
        store.backup()
    assert good(shop) == ["n3", "n1"], "it says nothing that is not there"
    save(shop, "another way")
    assert good(shop) == ["another way", "n3", "n1"]


def test_a_backup_that_was_overtaken_by_a_later_one_gives_way(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save(shop, "n1")
    looking = job_backup._nobody_else

    @contextmanager
    def overtaken(db: sqlite3.Connection, path: Path) -> Iterator[None]:
        monkeypatch.setattr(job_backup, "_nobody_else", looking)
        save(shop, "quicker")
        with looking(db, path):
            yield

    monkeypatch.setattr(job_backup, "_nobody_else", overtaken)
    save(shop, "n2")
    assert good(shop) == ["quicker", "n1"]


def test_what_killed_backups_left_goes_when_it_is_old(shop: Path) -> None:
    names = (f".{shop.name}.backup-new-dead", ".racewright-2d274ac0c210", ".racewright-2d274ac0c210-journal")
    stay = (f".{shop.name}.backup-new-beef", ".racewright-35a112335a4a", ".racewright-notes")
    for name in (*names, *stay):
        shop.with_name(name).write_bytes(b"half")
    for name in (*names, stay[-1]):
        os.utime(shop.with_name(name), (0, 0))
    save(shop, "n1")
    there = {path.name for path in shop.parent.iterdir()}
    assert not there.intersection(names)
    assert there.issuperset(stay), "somebody may be writing it just now, or it is a file of their own"


class Spoiling:
    """Copies a shop file as a failing disk does: the copy's last page is not what was written."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db

    def backup(self, copy: sqlite3.Connection) -> None:
        self.db.backup(copy)
        draft = Path(copy.execute("PRAGMA database_list").fetchone()[2])
        whole = draft.read_bytes()
        draft.write_bytes(whole[:-4096] + bytes(range(256)) * 16)


def test_a_copy_that_comes_out_damaged_takes_no_good_backups_place(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for n in range(BACKUPS):
        save(shop, f"n{n}")
    save(shop, "not backed up", backup=False)
    before = good(shop)
    looking = job_backup._looking

    @contextmanager
    def spoiling(path: Path) -> Iterator[Spoiling]:
        with looking(path) as db:
            yield Spoiling(db)

    monkeypatch.setattr(job_backup, "_looking", spoiling)
    with JobStore.open(shop) as store, pytest.raises(StoreTrouble, match="was not made: the copy does not check"):
        store.backup()
    assert good(shop) == before
    assert not list(shop.parent.glob(".*backup-new*"))


def test_the_newest_backup_is_the_last_save_however_many_make_one_at_once(shop: Path) -> None:
    for n in range(BACKUPS):
        save(shop, f"n{n}")
    troubles: list[BaseException] = []

    def person(who: int) -> None:
        try:
            for turn in range(6):
                with JobStore.open(shop) as store:
                    item = msgspec.structs.replace(RUN, id=new_id(), key=f"P{who}-{turn}", area="")
                    store.save_run("orchard", item, 0)
                    store.backup()
        except BaseException as err:
            troubles.append(err)

    people = [threading.Thread(target=person, args=(n,)) for n in range(4)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert troubles == []
    assert len(good(shop)) == 2
    with JobStore.open(shop) as store, JobStore.open(backup_path(shop, 1)) as newest:
        assert newest.load("orchard") == store.load("orchard")


@posix
def test_a_shop_opened_through_a_link_keeps_its_backups_beside_the_file(shop: Path, tmp_path: Path) -> None:
    far = tmp_path / "stick"
    far.mkdir()
    link = far / "jobs.rwshop"
    link.symlink_to(shop)
    save(link, "through the link")
    assert os.listdir(far) == ["jobs.rwshop"]
    assert good(shop) == ["through the link"]
    whole = shop.read_bytes()
    shop.write_bytes(whole[:5000])
    source, aside = recover(link)
    assert source == backup_path(shop, 1)
    assert aside is not None
    assert aside.parent == shop.parent
    assert link.is_symlink()
    assert note_of(link) == "through the link"


@posix
def test_a_new_shop_made_through_a_link_stands_where_the_link_leads(tmp_path: Path) -> None:
    link, real = tmp_path / "jobs.rwshop", tmp_path / "real.rwshop"
    link.symlink_to(real)
    with JobStore.open(link, create=True) as store:
        assert store.path == real
    assert link.is_symlink()


@posix
def test_backups_and_plans_are_as_private_as_the_file_they_stand_beside(shop: Path) -> None:
    shop.chmod(0o600)
    save(shop, "private")
    out = shop.with_name("elsewhere.rwshop")
    with JobStore.open(shop) as store:
        store.backup(out)
    plans = PlanCache(shop)
    plans.add(plan_chunk(chunks_of(JOB, [RUN])[0]))
    for path in (backup_path(shop, 1), out, plans.path):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, path
    shop.write_bytes(shop.read_bytes()[:5000])
    recover(shop)
    assert stat.S_IMODE(shop.stat().st_mode) == 0o600


@posix
def test_a_backup_never_takes_the_place_of_the_shop_file_a_device_or_a_folder(shop: Path) -> None:
    folder, pipe = shop.with_name("folder"), shop.with_name("pipe")
    folder.mkdir()
    os.mkfifo(pipe)
    (shop.parent / "self").symlink_to(shop)
    with JobStore.open(shop) as store:
        for out in (shop, shop.parent / "self", folder, pipe, Path("/dev/full"), Path("/dev/stdout")):
            if out.is_file() and not os.path.samefile(out, shop):
                continue  # standard output goes to a file here
            with pytest.raises(StoreTrouble, match=r"no backup can stand there|it is a folder"):
                store.backup(out)
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert stat.S_ISCHR(Path("/dev/full").stat().st_mode)
    save(shop, "goes on")


def test_a_journal_left_by_a_file_that_is_gone_is_not_played_into_the_backup(shop: Path) -> None:
    save(shop, "kept")
    save(shop, "newer", backup=False)
    db = sqlite3.connect(shop, isolation_level=None)
    db.execute("PRAGMA cache_size = 1")
    db.execute("BEGIN IMMEDIATE")
    db.execute("UPDATE revision SET body = body || ' '")
    db.execute("PRAGMA cache_spill = 1")
    journal = shop.with_name(f"{shop.name}-journal")
    left = journal.read_bytes()
    db.execute("ROLLBACK")
    db.close()
    shop.unlink()
    journal.write_bytes(left or b"x" * 600)
    source, aside = recover(shop)
    assert (source, aside) == (backup_path(shop, 1), None)
    assert not journal.exists()
    assert [p.read_bytes() for p in shop.parent.glob("*.damaged-*-journal")] == [left or b"x" * 600]
    assert note_of(shop) == "kept"


@pytest.mark.parametrize("end", ["-journal", "-wal", "-shm", ".plans", "-JOURNAL"])
def test_a_backup_never_takes_the_place_of_a_file_beside_a_shop_file(shop: Path, tmp_path: Path, end: str) -> None:
    """SQLite would play it into the shop file, and every job would be lost."""
    beside, link = Path(f"{shop}{end}"), tmp_path / "copy.rwshop"
    kept = beside.read_bytes() if beside.exists() else None
    link.symlink_to(beside)
    with JobStore.open(shop) as store:
        for target in (beside, link):
            with pytest.raises(StoreTrouble, match="no backup can stand there"):
                store.backup(target)
    assert (beside.read_bytes() if beside.exists() else None) == kept
    check_file(shop)


@posix
def test_a_shop_file_that_is_gone_meanwhile_is_told_in_plain_words(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    connect = job_schema.connect

    def connect_and_lose(path: Path) -> sqlite3.Connection:
        look = connect(path)
        shop.rename(tmp_path / "moved.rwshop")
        return look

    with JobStore.open(shop) as store:
        monkeypatch.setattr(job_backup, "connect", connect_and_lose)
        with pytest.raises(StoreTrouble, match="backup cannot be written"):
            store.backup()
        with pytest.raises(StoreTrouble, match="backup cannot be written"):
            store.backup(tmp_path / "copy.rwshop")


def test_no_number_is_given_again_after_a_backup_was_put_back(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor by a run that is put on another tool, whose entry names the revision that it comes with; wherever the file is
    taken, and after it was put back again."""

    def run_now() -> tuple[int, str]:
        with JobStore.open(shop) as store:
            kept = store.run("orchard", RUN.key)
            return kept.revision, kept.value.note

    meant: dict[int, str] = {}
    with JobStore.open(shop) as store:
        store.backup(tmp_path / "copy")
    for round_number in range(3):
        for note in ("first", "second"):
            save(shop, f"{note} of round {round_number}", backup=False)
            number, said = run_now()
            assert meant.setdefault(number, said) == said
        with JobStore.open(shop) as store:
            set_times(store, "orchard", [RUN.key], 3)
            kept = store.run("orchard", RUN.key)
            pins = [e.value.pins.run for e in store.entries("orchard") if e.value.run == RUN.id and e.value.copy == 3]
            assert pins in ([], [kept.revision])
            meant[kept.revision] = "three alike"
            store.check()
            monkeypatch.setattr(job_rows, "now", lambda: None)  # no change can be of that time
            with pytest.raises(StoreTrouble):
                store.save_run("orchard", kept.value, kept.revision)
            monkeypatch.undo()
            assert store.rows.numbers.after(kept.revision) == kept.revision + 1  # what was not saved gave no number
        moved = tmp_path / f"moved {round_number}"
        shutil.copy(shop, moved)
        with JobStore.open(moved) as store:
            new = msgspec.structs.replace(JOB.runs[1], id=new_id(), key="N-1")
            assert (store.save_run("orchard", new, 0) > 1) == (round_number > 0)  # as the gap in it says
        shutil.copy(tmp_path / "copy", shop)
    assert len(meant) == 9


def test_an_empty_file_that_was_put_back_is_a_shop_of_its_own_from_its_first_change(shop: Path, tmp_path: Path) -> None:
    """What stands beside it is another shop's; and nothing of the whole shop can be offered while it has no id."""
    with JobStore.open(tmp_path / "empty", create=True):
        pass
    shutil.copy(tmp_path / "empty", shop)
    with JobStore.open(shop) as store:
        assert store.rows.shop_id() is None
        store.create_job("orchard", JOB)
        assert store.rows.mark(1)
        found = store.rows.shop_id()
        assert found
        with store.rows.writing():
            assert store.rows.begin_shop().id == found


def test_what_stands_beside_a_shop_file_counts_where_it_is_this_shops_and_not_where_it_is_stale(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    beside = shop.with_name(f"{shop.name}.numbers")

    def past() -> int:
        with JobStore.open(shop) as store:
            return store.rows.numbers.past()

    def keep(*given: object) -> None:
        text = msgspec.json.encode(given).decode()
        beside.write_bytes(msgspec.json.encode([digest(text), text]))

    save(shop, "kept", backup=False)
    stale = beside.read_bytes()
    shutil.copy(shop, tmp_path / "copy")
    save(shop, "lost", backup=False)
    with JobStore.open(shop) as store:
        shop_id, last = store.rows.shop_id(), store.rows.last_change()
    shutil.copy(tmp_path / "copy", shop)
    assert past() == last
    save(shop, "after", backup=False)
    beside.write_bytes(stale)
    assert past() == last  # the gap in the file says so
    for given in ((new_id(), 900, 900), (shop_id, 10**10, 5), (shop_id, 900, -5), (shop_id, 900), (900, 900)):
        keep(*given)
        assert past() == last, given
    keep(shop_id, 900, 0)
    assert past() == 900
    beside.unlink()
    with JobStore.open(shop) as store:
        kept = store.run("orchard", RUN.key)
        monkeypatch.setattr(job_rows, "now", lambda: None)  # no change can be of that time
        with pytest.raises(StoreTrouble):
            store.save_run("orchard", kept.value, kept.revision)
        assert not beside.exists()  # as it was before what was not saved
        monkeypatch.undo()
        monkeypatch.setattr(os, "replace", refuse)
        store.save_run("orchard", msgspec.structs.replace(kept.value, note="said"), kept.revision)
    assert not beside.exists()
    assert not list(shop.parent.glob(DRAFTS))


def refuse(*_: object) -> None:
    raise PermissionError(13, "Permission denied")
