"""Damaged files, full disks, folders that cannot be written: refused in words, never read wrongly, recovered."""

import os
import random
import re
import shutil
import sqlite3
import sys
import tempfile
from pathlib import Path

import msgspec
import pytest
from child import in_child

from racewright.errors import InputError
from racewright.records.ids import new_id
from racewright.records.model import Job
from racewright.store import job_file
from racewright.store.job_backup import backup_path, recover
from racewright.store.job_errors import DamagedFile, StaleSave, StoreTrouble
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore, RunSave

JOB = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
SOME = msgspec.structs.replace(JOB, runs=JOB.runs[:6])
Seen = tuple[Job, int, int, tuple[str, ...]]


def look(path: Path) -> Seen:
    """Everything that a shop file says."""
    with JobStore.open(path) as store:
        records = (SOME.id, *(x.id for x in SOME.runs), *(x.id for x in SOME.entries))
        revisions = [r for record in records for r in store.history(record)]
        refused = tuple(str(r) for r in store.refused("orchard"))
        return store.load("orchard"), len(revisions), len(store.changes("orchard")), (*map(str, revisions), *refused)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "shop.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", SOME, by="Kim")
        for n in range(1, 4):
            saves = [RunSave(msgspec.structs.replace(r, note=f"note {n}"), n) for r in SOME.runs]
            store.save_runs("orchard", saves, by="Sam", what=f"round {n}")
        store.undo("orchard")
        with pytest.raises(StaleSave):
            store.save_run("orchard", msgspec.structs.replace(SOME.runs[0], note="late"), 1)
        store.backup()
    return path


def test_every_truncation_is_refused(shop: Path) -> None:
    whole = shop.read_bytes()
    right = look(shop)
    cut = shop.with_name("cut.rwshop")
    lengths = {
        0,
        1,
        15,
        16,
        50,
        99,
        100,
        101,
        511,
        512,
        len(whole) - 1,
        *range(0, len(whole), 4096),
        *range(7, len(whole), 1999),
    }
    for length in sorted(lengths):
        cut.write_bytes(whole[:length])
        with pytest.raises(DamagedFile):
            look(cut)
        assert cut.read_bytes() == whole[:length]  # left as it was found
    cut.write_bytes(whole)
    assert look(cut) == right


def test_a_flipped_bit_is_refused_or_changes_nothing_that_is_read(shop: Path) -> None:
    whole = shop.read_bytes()
    right = look(shop)
    flipped = shop.with_name("flipped.rwshop")
    rng = random.Random(20)
    places = [*range(100), *(rng.randrange(len(whole)) for _ in range(700))]
    refused = 0
    for place in places:
        data = bytearray(whole)
        data[place] ^= 1 << rng.randrange(8)
        flipped.write_bytes(data)
        try:
            assert look(flipped) == right
        except StoreTrouble:
            refused += 1
        flipped.with_name(f"{flipped.name}-wal").unlink(missing_ok=True)
        flipped.with_name(f"{flipped.name}-shm").unlink(missing_ok=True)
    assert refused > 200  # the rest fell into room of the pages that nothing uses


def test_a_flipped_bit_in_a_kept_text_is_always_refused(shop: Path) -> None:
    whole = shop.read_bytes()
    flipped = shop.with_name("flipped.rwshop")
    rng = random.Random(21)
    texts = [m.start() for m in re.finditer(rb'"leg":|"note":|Pump house|Sam|round|PH-0', whole)]
    assert len(texts) > 100
    for start in rng.sample(texts, 100):
        data = bytearray(whole)
        data[start + rng.randrange(2)] ^= 1 << rng.randrange(8)
        flipped.write_bytes(data)
        with pytest.raises(DamagedFile):
            look(flipped)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM revision WHERE id = (SELECT max(id) FROM revision)",
        "DELETE FROM revision WHERE record = '{PH_02}' AND number = 2",
        "DELETE FROM change WHERE id = (SELECT max(id) FROM change)",
        "DELETE FROM refused",
        "UPDATE revision SET body = replace(body, '26 1/8', '26 5/8') WHERE record = '{PH_01}' AND number = 1",
        "UPDATE revision SET body = NULL WHERE record = '{PH_01}' AND number = 4",
        "UPDATE revision SET record = '{OTHER}' WHERE record = '{PH_01}'",
        "UPDATE revision SET number = number + 1 WHERE record = '{PH_01}' AND number = 5",
        "UPDATE revision SET base = 0 WHERE record = '{PH_01}' AND number = 2",
        "UPDATE revision SET kind = 'entry' WHERE record = '{PH_01}' AND number = 2",
        "UPDATE revision SET digest = '{OTHER}' WHERE record = '{PH_01}' AND number = 2",
        "UPDATE change SET by = 'Pat' WHERE id = 2",
        "UPDATE change SET target = 3 WHERE kind = 'undo'",
        "UPDATE job SET key = 'vineyard' WHERE key = 'orchard'",
        "UPDATE job SET record = '{OTHER}' WHERE key = 'orchard'",
        "UPDATE refused SET base = 2",
        "UPDATE refused SET body = NULL",
        "DROP INDEX revision_change",
        "CREATE TRIGGER t AFTER INSERT ON revision BEGIN DELETE FROM revision; END",
        "PRAGMA application_id = 7",
        "PRAGMA user_version = 1",
        "PRAGMA user_version = 0",
    ],
)
def test_rows_that_were_altered_by_hand_are_refused(shop: Path, statement: str) -> None:
    db = sqlite3.connect(shop, isolation_level=None)
    for name, one in (("PH_01", SOME.runs[0].id), ("PH_02", SOME.runs[1].id), ("OTHER", "f" * 32)):
        statement = statement.replace(f"{{{name}}}", one)
    assert db.execute(statement).rowcount
    db.close()
    with pytest.raises(DamagedFile):
        look(shop)


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "other.rwshop"
    other.write_text("racewright: 1\n" * 100, encoding="utf-8")
    with pytest.raises(DamagedFile):
        JobStore.open(other)
    db = sqlite3.connect(tmp_path / "db.rwshop")
    db.execute("CREATE TABLE t (x)")
    db.close()
    with pytest.raises(DamagedFile):
        JobStore.open(tmp_path / "db.rwshop")


@pytest.mark.skipif(sys.platform == "win32", reason="devices are POSIX's")
def test_a_folder_or_a_device_is_no_damaged_shop_file(tmp_path: Path) -> None:
    for name, said in ((tmp_path, "is a folder"), (Path("/dev/null"), "is a device or a pipe")):
        with pytest.raises(StoreTrouble, match=said) as caught:
            JobStore.open(name, create=True)
        assert not isinstance(caught.value, DamagedFile)
        with pytest.raises(StoreTrouble, match=said):
            recover(name)


@pytest.mark.skipif(sys.platform == "win32", reason="devices are POSIX's")
def test_a_job_file_without_end_is_refused_at_its_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(job_file, "MOST_BYTES", 5_000)
    with pytest.raises(InputError, match="longer than 5,000 bytes"):
        load_job("/dev/zero")


def test_a_damaged_file_is_recovered_from_the_newest_whole_backup(shop: Path) -> None:
    right = look(shop)
    with JobStore.open(shop) as store:
        store.backup()  # two backups now
    backup_path(shop, 1).write_bytes(b"not a shop file")
    damaged = bytearray(shop.read_bytes())
    place = damaged.index(b'"leg":')
    damaged[place : place + 200] = bytes(200)
    shop.write_bytes(damaged)
    with pytest.raises(DamagedFile, match="recover"):
        look(shop)
    source, aside = recover(shop)
    assert source == backup_path(shop, 2)
    assert aside is not None
    assert aside.read_bytes() == damaged
    assert look(shop) == right


def test_there_is_nothing_to_recover_or_nothing_to_recover_from(shop: Path) -> None:
    with pytest.raises(StoreTrouble, match="is whole"):
        recover(shop)
    for number in (1, 2, 3):
        backup_path(shop, number).unlink(missing_ok=True)
    shop.write_bytes(b"")
    with pytest.raises(StoreTrouble, match="no whole backup"):
        recover(shop)
    assert shop.read_bytes() == b""


def test_backups_turn_and_are_whole(shop: Path) -> None:
    for n in range(4):
        with JobStore.open(shop) as store:
            store.save_run("orchard", msgspec.structs.replace(SOME.runs[0], note=f"b{n}"), 5 + n)
            assert store.backup() == backup_path(shop, 1)
        for path in shop.parent.glob("*.backup-*"):  # as if it were made long ago
            os.utime(path, (n, n))
    notes = []
    for number in (1, 2, 3):
        with JobStore.open(backup_path(shop, number)) as store:
            notes.append(store.run("orchard", "PH-01").value.note)
    assert notes == ["b3", "b2", "b1"]
    assert not backup_path(shop, 4).exists()


def test_a_full_disk_says_so_and_what_was_saved_stands(shop: Path) -> None:
    right = look(shop)
    with JobStore.open(shop) as store:
        pages = store.rows.db.execute("PRAGMA page_count").fetchone()[0]
        store.rows.db.execute(f"PRAGMA max_page_count = {pages + 2}")
        big = msgspec.structs.replace(SOME.runs[1], note="n" * 4000)
        many = [RunSave(msgspec.structs.replace(big, id=new_id(), key=f"N-{i}"), 0) for i in range(9)]
        with pytest.raises(StoreTrouble, match="disk is full"):
            store.save_runs("orchard", many)
        assert store.load("orchard").runs[:6] == right[0].runs
        store.check()
        store.rows.db.execute("PRAGMA max_page_count = 100000")
        store.save_run("orchard", big, 5)  # with room again, it goes on
    with JobStore.open(shop) as store:
        assert store.run("orchard", "PH-02").value.note == big.note


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and resource limits")
def test_the_systems_own_refusal_to_write_leaves_the_file_whole(shop: Path) -> None:
    right = look(shop)

    def child() -> None:
        import resource

        many = [
            RunSave(msgspec.structs.replace(SOME.runs[1], id=new_id(), key=f"N-{i}", note="n" * 4000), 0)
            for i in range(9)
        ]
        with JobStore.open(shop) as store:
            resource.setrlimit(resource.RLIMIT_FSIZE, (shop.stat().st_size, shop.stat().st_size))
            with pytest.raises(StoreTrouble, match="nothing was saved"):
                store.save_runs("orchard", many)

    assert in_child(child) == 0
    seen = look(shop)
    assert seen[0].runs[:6] == right[0].runs


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and user numbers")
def test_a_folder_that_cannot_be_written_lets_the_job_be_read_and_says_why_it_is_not_saved(shop: Path) -> None:
    right = look(shop)
    folder = Path(tempfile.mkdtemp())  # pytest's own is closed to others, and root must become somebody else
    shop = Path(shutil.copy(shop, folder))
    os.chmod(shop, 0o444)
    os.chmod(folder, 0o555)

    def child() -> None:
        if os.getuid() == 0:
            os.setgid(65534)
            os.setuid(65534)
        assert look(shop) == right
        with JobStore.open(shop) as store, pytest.raises(StoreTrouble, match="nothing was saved"):
            store.save_run("orchard", SOME.runs[0], 5)
        with JobStore.open(shop) as store, pytest.raises(StoreTrouble, match="backup"):
            store.backup()
        with pytest.raises(StoreTrouble):
            JobStore.open(shop.with_name("new.rwshop"), create=True)

    try:
        assert in_child(child) == 0
    finally:
        os.chmod(folder, 0o755)
        os.chmod(shop, 0o644)
        assert look(shop) == right
        shutil.rmtree(folder)
