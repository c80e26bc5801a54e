"""Writers are killed at random moments of saving, 200 times; no acknowledged save may be lost.

Independent of the store's own reading: what stands is read with plain SQL, and SQLite's integrity_check (its manual,
section on PRAGMA integrity_check) must say ok. Power loss is another matter: that is what synchronous=FULL is for.
"""

import os
import random
import signal
import sqlite3
import struct
import sys
import time
import traceback
from contextlib import closing
from pathlib import Path

import msgspec
import pytest

from racewright.records.ids import digest
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore, RunSave

KILLS = 200
WRITERS = 2
DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
PLAIN = msgspec.structs.replace(DEMO.runs[0], area="")

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")


def writer(path: Path, name: str, acknowledge: int) -> None:
    """Saves without end, now one run, now five in one change or one offer; tells each saved revision through the
    pipe."""
    with JobStore.open(path) as store:
        mine = [f"{name}-{i}" for i in range(5)]
        kept = {k.value.key: k.revision for k in store.runs("orchard")}
        at = [kept.get(key, 0) for key in mine]
        turn, job = 0, store.load("orchard").id
        while True:
            turn += 1
            if turn % 3:
                run = msgspec.structs.replace(PLAIN, id=digest(mine[0]), key=mine[0], note=f"after {at[0]}")
                at[0] = store.save_run("orchard", run, at[0])
            else:
                runs = [
                    msgspec.structs.replace(PLAIN, id=digest(k), key=k, note=f"after {n}")
                    for k, n in zip(mine, at, strict=True)
                ]
                if turn % 2:
                    told = store.save_runs("orchard", [RunSave(run, n) for run, n in zip(runs, at, strict=True)])
                else:
                    records = [
                        Offered(
                            kind="run",
                            id=run.id,
                            base=n,
                            base_digest=_said(run.id, n, store),
                            data=msgspec.to_builtins(run),
                        )
                        for run, n in zip(runs, at, strict=True)
                    ]
                    answers = offer(store, job, records, by=name)
                    assert {answer.outcome for answer in answers} == {"saved"}
                    told = {answer.id: answer.revision for answer in answers}
                at = [told[digest(key)] for key in mine]  # no run of numbers: a kill may lose some
            os.write(acknowledge, struct.pack("<2I", at[0], at[1]))
            time.sleep(0.001)  # lets the other in


def _said(run: str, revision: int, store: JobStore) -> str:
    """The digest of what this writer saved as that revision."""
    with store.rows.reading():
        row = store.rows.revision(run, revision) if revision else None
    return row.digest if row else ""


def begin(path: Path, name: str) -> tuple[int, int]:
    """A writer in a forked process; returns its process number and the pipe's end to read."""
    reading, writing = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(reading)
        try:
            writer(path, name, writing)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(7)
    os.close(writing)
    return process, reading


def told_by(pipe: int, data: bytes) -> tuple[int, int]:
    """The last whole acknowledgement in the pipe of a writer that is gone; (0, 0) where there was none. `data` is
    what was read of the pipe before."""
    while part := os.read(pipe, 65536):
        data += part
    os.close(pipe)
    whole = len(data) // 8 * 8
    return struct.unpack("<2I", data[whole - 8 : whole]) if whole else (0, 0)


def standing(path: Path) -> tuple[str, dict[str, tuple[int, int, str]]]:
    """What SQLite says of the file, and the newest revision of every run, what it was made from and its body, by plain
    SQL."""
    with closing(sqlite3.connect(path, timeout=10)) as db:
        ok = db.execute("PRAGMA integrity_check").fetchone()[0]
        rows = db.execute(
            "SELECT json_extract(body, '$.key'), max(number), base, body FROM revision WHERE kind = 'run'"
            " GROUP BY record"
        ).fetchall()
    return ok, {key: (number, base, body) for key, number, base, body in rows}


def test_no_acknowledged_save_is_lost_when_writers_are_killed(tmp_path: Path) -> None:
    rng = random.Random(500)
    acknowledged: dict[str, tuple[int, int]] = {f"W{i}": (0, 0) for i in range(WRITERS)}
    saves = kills = with_journal = 0
    path = tmp_path / "0.rwshop"
    while kills < KILLS:
        if kills % 80 == 0:  # a new file now and then: the check of a whole file takes longer as it grows
            path = tmp_path / f"{kills}.rwshop"
            JobStore.open(path, create=True).close()
            with JobStore.open(path) as store:
                store.create_job("orchard", DEMO.head)
            acknowledged = dict.fromkeys(acknowledged, (0, 0))
        writers = {name: begin(path, name) for name in acknowledged}
        began = dict.fromkeys(writers, b"")
        if kills % (2 * WRITERS):  # every other time kill at work only, else also while the file is opened and checked
            began = {name: os.read(pipe, 8) for name, (_, pipe) in writers.items()}
        time.sleep(rng.random() * 0.04)
        for process, _ in writers.values():
            os.kill(process, signal.SIGKILL)
            kills += 1
        for name, (process, pipe) in writers.items():
            _, status = os.waitpid(process, 0)
            assert os.WIFSIGNALED(status), f"writer {name} ended by itself"
            told = told_by(pipe, began[name])
            saves += told[0] - acknowledged[name][0] if told[0] else 0
            acknowledged[name] = max(told, acknowledged[name])
        journal = Path(f"{path}-journal")
        with_journal += journal.exists() and journal.stat().st_size > 0
        ok, runs = standing(path)
        assert ok == "ok"
        for name, (single, many) in acknowledged.items():
            assert runs.get(f"{name}-0", (0, 0, ""))[0] >= single
            numbers = [runs.get(f"{name}-{i}", (0, 0, ""))[0] for i in range(1, 5)]
            assert len(set(numbers)) == 1, "a change of five runs was saved in part"
            assert numbers[0] >= many
        for _, base, body in runs.values():
            assert f'"note":"after {base}"' in body
    with JobStore.open(path) as store:  # and by the store's own reading, every checksum
        assert {k.value.key: k.revision for k in store.runs("orchard")} == {key: row[0] for key, row in runs.items()}
    assert kills >= KILLS
    assert saves > kills  # they were killed at work
    assert with_journal > 5  # and some in the middle of a save
