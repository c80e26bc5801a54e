"""A shop file that is put back from a backup while a server and commands save in it: no save goes astray."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import IO

import pytest

from racewright.records.entry import Entry, Noted
from racewright.records.ids import Id, digest
from racewright.records.model import Job
from racewright.store import job_schema
from racewright.store.job_backup import recover
from racewright.store.job_errors import LockedFile, MovedFile, StoreTrouble
from racewright.store.job_file import load_job
from racewright.store.job_schema import place_of
from racewright.store.job_store import JobStore
from racewright.store.served_shop import ServedShop

JOB = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
RUN = JOB.runs[0]


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "jobs.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)), by="Kim")
    return path


def entries_in(path: Path) -> set[Id]:
    """By plain SQL."""
    with closing(sqlite3.connect(path)) as db:
        return {record for (record,) in db.execute("SELECT record FROM revision WHERE kind = 'entry'")}


def note_in(path: Path) -> str:
    with JobStore.open(path) as store:
        return store.run("orchard", RUN.key).value.note


def test_what_is_saved_while_the_file_is_put_back_goes_into_the_new_one(tmp_path: Path, shop: Path) -> None:
    """A saver that had the old file open finds the other one in its place, and saves there."""
    served = ServedShop(shop)
    back = Path(shutil.copy(shop, tmp_path / "back"))
    entry = Entry(run=RUN.id, what=Noted(note="seen"))
    turns: list[int] = []

    def work(store: JobStore) -> int:
        turns.append(1)
        if len(turns) == 1:
            os.replace(back, shop)
        return store.add_entries("orchard", [entry])

    assert served.ask(work) == 1
    assert len(turns) == 2
    with JobStore.open(shop) as store:
        assert [kept.value for kept in store.entries("orchard")] == [entry]


def test_recover_waits_for_who_saves_and_writes_over_the_file_itself(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with JobStore.open(shop) as store:
        store.backup()
        with closing(sqlite3.connect(shop)) as db:
            db.execute("DELETE FROM change")  # SQLite can still lock it
            db.commit()
        monkeypatch.setattr(job_schema, "PATIENCE_S", 0.1)
        with store.rows.writing(), pytest.raises(LockedFile):
            recover(shop)
    place, damaged = place_of(shop), shop.read_bytes()
    _, aside = recover(shop)
    assert place_of(shop) == place
    assert aside is not None
    assert aside.read_bytes() == damaged
    assert note_in(shop) == RUN.note


def test_a_file_that_sqlite_cannot_lock_is_replaced_and_no_moment_is_without_one(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with JobStore.open(shop) as store:
        store.backup()
    shop.write_bytes(b"no database at all" * 100)
    missing: list[bool] = []
    real = os.replace

    def replace(this: Path, that: Path) -> None:
        missing.append(not shop.exists())
        real(this, that)

    monkeypatch.setattr(os, "replace", replace)
    recover(shop)
    assert missing == [False]
    assert note_in(shop) == RUN.note


def test_recover_that_is_broken_off_is_done_again(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At each of its writes: the damaged file is kept aside before anything is written over it."""
    with JobStore.open(shop) as store:
        store.backup()
    with closing(sqlite3.connect(shop)) as db:
        db.execute("DELETE FROM change")
        db.commit()
    damaged = shop.read_bytes()
    real = shutil.copyfileobj
    for passes in range(2):
        calls = 0

        def torn(this: IO[bytes], that: IO[bytes], passes: int = passes) -> None:
            nonlocal calls
            calls += 1
            if calls <= passes:
                real(this, that)
                return
            that.write(this.read(5000))
            that.flush()
            raise OSError(28, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr(shutil, "copyfileobj", torn)
            with pytest.raises(StoreTrouble, match="cannot be recovered"):
                recover(shop)
        if passes == 0:
            assert shop.read_bytes() == damaged
            assert not list(shop.parent.glob("*.damaged-*")), "half a copy is none"
    assert damaged in [path.read_bytes() for path in shop.parent.glob("*.damaged-*")]
    recover(shop)
    assert note_in(shop) == RUN.note


def test_a_command_that_had_the_old_file_open_is_told(tmp_path: Path, shop: Path) -> None:
    back = Path(shutil.copy(shop, tmp_path / "back"))
    with JobStore.open(shop) as store:
        os.replace(back, shop)
        with pytest.raises(MovedFile, match="another file was put in its place meanwhile; nothing was saved"):
            store.add_entries("orchard", [Entry(run=RUN.id, what=Noted(note="seen"))])
    assert entries_in(shop) == set()


RECOVER = """
import sys
from pathlib import Path
from racewright.store import job_backup
from racewright.store.job_errors import DamagedFile

shop, really = Path(sys.argv[1]), job_backup.check_file

def check(path):
    if path == shop:
        raise DamagedFile("as if")
    really(path)

job_backup.check_file = check
for line in sys.stdin:
    print(job_backup.recover(shop)[1], flush=True)
"""


def test_while_a_file_is_put_back_again_and_again_every_save_is_in_the_file_or_was_before_it(shop: Path) -> None:
    """What is kept aside has all that was saved by then, and an answer that came after it is in the file that stands.
    The file is put back by another process, as a command is one: one process must not open a file that SQLite has."""
    served = ServedShop(shop)
    served.ask(lambda store: store.backup())
    saved: list[Id] = []
    troubles: list[BaseException] = []
    done = threading.Event()

    def saver(who: int) -> None:
        try:
            turn = 0
            while not done.is_set():
                turn += 1
                entry = Entry(id=digest(who, turn), run=RUN.id, what=Noted(note="seen"))
                served.ask(lambda store, entry=entry: store.add_entries("orchard", [entry]))  # type: ignore[misc]
                saved.append(entry.id)
        except BaseException as err:
            troubles.append(err)

    savers = [threading.Thread(target=saver, args=(who,)) for who in range(3)]
    command = [sys.executable, "-c", RECOVER, str(shop)]
    aside: list[Path] = []
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as recovers:
        assert recovers.stdin is not None
        assert recovers.stdout is not None
        for one in savers:
            one.start()
        for _ in range(12):
            before = len(saved)
            print(file=recovers.stdin, flush=True)
            aside.append(Path(recovers.stdout.readline().strip()))
            while len(saved) < before + 9 and not troubles:
                done.wait(0.002)
        done.set()
        for one in savers:
            one.join()
        recovers.stdin.close()
    assert troubles == []
    assert set(saved) == set().union(entries_in(shop), *map(entries_in, aside))
    assert len(saved) == len(set(saved)) > 105
    for path in (shop, *aside):
        with JobStore.open(path) as store:
            store.check()
