"""Backups while a server has the shop file: by change and by time, at its end, and no answer waits for them."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest
from web_client import client

from racewright.records.ids import new_id
from racewright.records.model import Job, JobHead
from racewright.store import job_backup, job_schema
from racewright.store.job_backup import backup_path
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_store import JobStore
from racewright.store.served_backups import ServedBackups
from racewright.store.served_shop import ServedShop

HEAD = JobHead(name="Orchard cooperative")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "jobs.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", Job(head=HEAD), by="Kim")
    return path


def jobs_in(path: Path) -> int:
    with JobStore.open(path) as store:
        return len(store.jobs())


def save(served: ServedShop) -> None:
    served.ask(lambda store: store.create_job(f"J-{new_id()[:8]}", HEAD))


def wait_for(true: Callable[[], bool]) -> None:
    until = time.monotonic() + 20.0
    while not true():
        assert time.monotonic() < until
        time.sleep(0.01)


def test_a_backup_follows_when_nobody_saves_any_more(shop: Path) -> None:
    served = ServedShop(shop)
    with ServedBackups(served, quiet_s=0.2, latest_s=60.0):
        served.ask(lambda store: store.jobs())
        time.sleep(0.4)
        assert not backup_path(shop, 1).exists(), "nothing was saved"
        for _ in range(5):
            save(served)
            assert not backup_path(shop, 1).exists()
            time.sleep(0.05)
        wait_for(backup_path(shop, 1).exists)
        assert jobs_in(backup_path(shop, 1)) == 6


def test_a_backup_is_made_while_saving_never_rests(shop: Path) -> None:
    served = ServedShop(shop)
    with ServedBackups(served, quiet_s=0.5, latest_s=1.0):
        until = time.monotonic() + 2.5
        while time.monotonic() < until:
            save(served)
            time.sleep(0.05)
        assert backup_path(shop, 1).exists()
    assert jobs_in(backup_path(shop, 1)) == jobs_in(shop)


def test_what_was_saved_last_is_in_a_backup_at_the_end_and_nothing_is_made_for_nothing(shop: Path) -> None:
    served = ServedShop(shop)
    with ServedBackups(served, quiet_s=60.0, latest_s=60.0):
        save(served)
    assert jobs_in(backup_path(shop, 1)) == 2
    backup_path(shop, 1).unlink()
    with ServedBackups(served, quiet_s=60.0, latest_s=60.0):
        served.ask(lambda store: store.jobs())
    assert not backup_path(shop, 1).exists()


def test_a_backup_that_fails_is_told_and_made_later(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    failed = threading.Event()

    def fails(*_: object) -> Path:
        failed.set()
        raise StoreTrouble("the backup cannot be written (No space left on device).")

    served = ServedShop(shop)
    with ServedBackups(served, quiet_s=0.05, latest_s=0.4):
        with monkeypatch.context() as patch:
            patch.setattr(job_backup, "add_backup", fails)
            save(served)
            assert failed.wait(20.0)
            save(served)
        wait_for(backup_path(shop, 1).exists)
        wait_for(lambda: jobs_in(backup_path(shop, 1)) == 3)
    assert "no new backup: the backup cannot be written" in capsys.readouterr().out


def test_no_answer_waits_for_a_backup(tmp_path: Path, shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy is made and is looked at, for as long as that may take: devices and commands save meanwhile."""
    looking, go_on = threading.Event(), threading.Event()
    real = job_schema.verify

    def slow(*args: object) -> None:
        looking.set()
        assert go_on.wait(60.0)
        real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(job_backup, "verify", slow)
    asker = client(tmp_path)
    served = asker.app.app.state.settings.shop  # type: ignore[attr-defined]
    with ServedBackups(served, quiet_s=0.01, latest_s=1.0):
        for turn in range(2):
            job = {"kind": "job", "id": new_id(), "data": {"name": f"Job {turn}"}}
            got = asker.post("/records", json={"job": job["id"], "records": [job]})
            assert [one["outcome"] for one in got.json()["answers"]] == ["saved"]
            assert looking.wait(20.0)
        with JobStore.open(shop) as store:
            store.create_job("by-command", HEAD)
        assert len(asker.get("/records").json()["records"]) == 4
        assert not backup_path(shop, 1).exists()
        go_on.set()
    assert jobs_in(backup_path(shop, 1)) >= 3


@pytest.mark.skipif(sys.platform == "win32", reason="signals are POSIX's")
@pytest.mark.parametrize("stopped_by", [signal.SIGINT, signal.SIGTERM])
def test_a_server_that_is_stopped_leaves_a_backup_of_what_devices_saved(
    tmp_path: Path, stopped_by: signal.Signals
) -> None:
    shop = tmp_path / "jobs.rwshop"
    with subprocess.Popen(
        [sys.executable, "-m", "racewright", "serve", "--port", "0", "--shop", str(shop)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "RACEWRIGHT_HOME": str(tmp_path)},
        preexec_fn=lambda: signal.signal(stopped_by, signal.SIG_DFL),  # who runs the tests may ignore it
    ) as server:
        assert server.stdout is not None
        found = next(at for line in server.stdout if (at := re.search(r"http://127\.0\.0\.1:\d+/", line)))
        job = {"kind": "job", "id": new_id(), "data": msgspec.to_builtins(HEAD)}
        body = json.dumps({"job": job["id"], "records": [job]}).encode()
        asked = urllib.request.Request(f"{found[0]}records", body, {"content-type": "application/json"})
        with urllib.request.urlopen(asked, timeout=30) as reply:
            assert json.load(reply)["answers"][0]["outcome"] == "saved"
        server.send_signal(stopped_by)
        assert server.wait(30) != 0
    assert jobs_in(shop) == jobs_in(backup_path(shop, 1)) == 1
