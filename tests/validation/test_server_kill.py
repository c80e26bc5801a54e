"""A server is killed at random moments while phones save by it and a command beside it; no acknowledged save may be
lost, and what got no answer is saved once when it is offered again.

Independent of the store's own reading: what stands is read with plain SQL.
"""

import http.client
import json
import os
import random
import re
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.records.ids import digest, new_id
from racewright.records.model import Job
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore, RunSave

KILLS = 6
DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
PLAIN = msgspec.structs.replace(DEMO.runs[0], area="")

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")


def serve(shop: Path) -> tuple[subprocess.Popen[str], int]:
    """`racewright serve` on a free port."""
    server = subprocess.Popen(
        [sys.executable, "-m", "racewright", "serve", "--port", "0", "--shop", str(shop)],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"RACEWRIGHT_HOME": str(shop.parent)},
    )
    assert server.stdout is not None
    return server, int(next(at[1] for line in server.stdout if (at := re.search(r"127\.0\.0\.1:(\d+)/", line))))


class Phone:
    """Writes its one run anew and adds an entry, again and again; offers again what got no answer."""

    def __init__(self, name: str) -> None:
        self.fault: BaseException | None = None
        self.run = digest(name)
        self.key = name
        self.revision, self.digest = 0, ""
        self.pending: list[dict[str, Any]] = []
        self.acknowledged: dict[str, int] = {}  # entries, and the run
        self.turn = 0

    def write(self) -> None:
        """Once what it wrote before is answered."""
        self.turn += 1
        run = msgspec.structs.replace(PLAIN, id=self.run, key=self.key, note=f"{self.turn}")
        entry = {"id": new_id(), "run": self.run, "what": {"kind": "note", "note": f"{self.turn}"}, "by": self.key}
        self.pending = [
            {"kind": "run", "id": self.run, "data": msgspec.to_builtins(run)},
            {"kind": "entry", "id": entry["id"], "data": entry},
        ]
        self.pending[0] |= {"base": self.revision, "base_digest": self.digest}

    def offer(self, port: int) -> bool:
        """Whether there was an answer."""
        body = json.dumps({"job": DEMO.id, "records": self.pending})
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as line:
            try:
                line.request("POST", "/records", body, {"content-type": "application/json"})
                reply = line.getresponse()
                answers = json.loads(reply.read())["answers"]
            except (OSError, http.client.HTTPException, ValueError):
                return False
        assert [one["outcome"] for one in answers] == ["saved", "saved"], answers
        assert answers[0]["revision"] > self.revision  # no run of numbers: a save that was killed passes its own over
        self.revision, self.digest = answers[0]["revision"], answers[0]["digest"]
        self.acknowledged[self.run] = self.revision
        self.acknowledged[self.pending[1]["id"]] = answers[1]["revision"]
        self.pending = []
        return True

    def work(self, port: int) -> None:
        """Until the server is gone."""
        try:
            while True:
                if not self.pending:
                    self.write()
                if not self.offer(port):
                    return
                time.sleep(0.1)  # no faster than the server takes it from one address
        except BaseException as fault:
            self.fault = fault


def test_no_acknowledged_save_is_lost_when_the_server_is_killed(tmp_path: Path) -> None:
    rng = random.Random(12)
    shop = tmp_path / "jobs.rwshop"
    with JobStore.open(shop, create=True) as store:
        store.create_job("orchard", Job(id=DEMO.id, head=DEMO.head))
    phones = [Phone("P-1"), Phone("P-2")]
    by_command = 0
    for _ in range(KILLS):
        server, port = serve(shop)
        with server:
            threads = [threading.Thread(target=phone.work, args=(port,)) for phone in phones]
            for one in threads:
                one.start()
            until = time.monotonic() + 0.2 + 0.4 * rng.random()
            with JobStore.open(shop) as store:
                while time.monotonic() < until:
                    by_command += 1
                    run = msgspec.structs.replace(PLAIN, id=digest("command", by_command), key=f"C-{by_command}")
                    store.save_runs("orchard", [RunSave(run, 0)])
                    time.sleep(0.02)
            os.kill(server.pid, signal.SIGKILL)
            for one in threads:
                one.join()
            assert [phone.fault for phone in phones] == [None, None]
    server, port = serve(shop)
    with server:
        for phone in phones:
            assert not phone.pending or phone.offer(port)
        server.send_signal(signal.SIGINT)
    assert all(phone.turn > KILLS for phone in phones), "they were killed at work"
    with closing(sqlite3.connect(shop)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        newest = dict(db.execute("SELECT record, max(number) FROM revision GROUP BY record"))
        notes = dict(db.execute("SELECT json_extract(body, '$.key'), json_extract(body, '$.note') FROM revision"))
        times = dict(db.execute("SELECT record, count(*) FROM revision GROUP BY record"))
        entries = db.execute("SELECT count(*) FROM revision WHERE kind = 'entry'").fetchone()[0]
    for phone in phones:
        assert {record: newest.get(record) for record in phone.acknowledged} == phone.acknowledged
        assert notes[phone.key] == f"{phone.turn}"
        assert times[phone.run] == phone.turn, "each once"
    assert entries == sum(phone.turn for phone in phones), "each once"
    assert sum(record in newest for record in (digest("command", n + 1) for n in range(by_command))) == by_command
    with JobStore.open(shop) as store:
        store.check()
