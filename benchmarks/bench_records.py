"""What a device waits for at `racewright serve`, on loopback: a first sync of 4,000 records both ways, then changes.

python benchmarks/bench_records.py [--runs 2000]

Half the records are runs, half are entries. Aims: all runs told in 50 ms by a server that has looked at the file, a
first sync of 4,000 records in 3 s, by a device that offers parts of 240 kB at the pace that the server allows.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import msgspec

from racewright.records.entry import Entry, StatusSet
from racewright.records.ids import new_id
from racewright.records.model import Job
from racewright.store.job_file import load_job

DEMO = load_job(Path(__file__).parents[1] / "examples" / "orchard-job.json")
MOST_BODY = 240_000
GET_S, SYNC_S = 0.05, 3.0


def records_of(runs: int) -> Iterator[dict[str, Any]]:
    """A job as a device offers it."""
    for number in range(runs):
        run = msgspec.structs.replace(DEMO.runs[number % len(DEMO.runs)], id=new_id(), key=f"R-{number}")
        yield {"kind": "run", "id": run.id, "data": msgspec.to_builtins(run)}
        entry = Entry(run=run.id, what=StatusSet(status="bent"), by="Kim", at="2026-11-26T12:00:00+00:00")
        yield {"kind": "entry", "id": entry.id, "data": msgspec.to_builtins(entry)}


def in_parts(job: Job, records: Iterator[dict[str, Any]]) -> Iterator[bytes]:
    """Bodies of offers; the first begins the job."""
    part: list[bytes] = [msgspec.json.encode({"kind": "job", "id": job.id, "data": job.head})]
    size = 0
    for record in records:
        text = msgspec.json.encode(record)
        if size + len(text) > MOST_BODY:
            yield b'{"job": "%s", "records": [%s]}' % (job.id.encode(), b",".join(part))
            part, size = [], 0
        part.append(text)
        size += len(text) + 1
    yield b'{"job": "%s", "records": [%s]}' % (job.id.encode(), b",".join(part))


def ask(url: str, body: bytes | None = None) -> Any:
    """The answer to one question."""
    headers = {} if body is None else {"content-type": "application/json"}
    with urllib.request.urlopen(urllib.request.Request(url, body, headers), timeout=60) as reply:
        return json.loads(reply.read())


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds, and what came of it."""
    began = time.perf_counter()
    found = work()
    return time.perf_counter() - began, found


def measure(url: str, runs: int) -> bool:
    """Print what it takes; whether the aims are met."""
    bodies = list(in_parts(DEMO, records_of(runs)))

    def push() -> int:
        answers = [one for body in bodies for one in ask(f"{url}records", body)["answers"]]
        assert {one["outcome"] for one in answers} == {"saved"}
        return len(answers)

    push_s, pushed = timed(push)
    pull_s, told = timed(lambda: ask(f"{url}records"))
    assert len(told["records"]) == pushed or told["more"]
    get_s = statistics.median(timed(lambda: urllib.request.urlopen(f"{url}records").read())[0] for _ in range(7))
    since = f"{url}records?{urlencode({'after': told['last'], 'mark': told['mark']})}"
    note = {"kind": "entry", "id": new_id(), "data": None}
    entry = Entry(id=note["id"], run=DEMO.runs[0].id, what=StatusSet(status="in"))
    one = msgspec.json.encode({"job": DEMO.id, "records": [{**note, "data": entry}]})
    save_s, _ = timed(lambda: ask(f"{url}records", one))
    since_s, changed = timed(lambda: ask(since))
    assert told["more"] or len(changed["records"]) == 1
    print(f"{pushed} records offered in {len(bodies)} parts: {push_s:.2f} s; told to another device: {pull_s:.3f} s")
    print(f"all of them again: {get_s * 1000:.0f} ms")
    print(f"one more saved: {save_s * 1000:.0f} ms; what changed since: {since_s * 1000:.1f} ms")
    scale = runs / 2000
    return push_s <= SYNC_S * scale and pull_s <= SYNC_S * scale and get_s / 2 <= GET_S * scale


def main() -> int:
    """Serve an empty shop file, sync with it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=2000)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder, "jobs.rwshop")
        command = [sys.executable, "-m", "racewright", "serve", "--port", "0", "--shop", str(shop)]
        env = os.environ | {"RACEWRIGHT_HOME": folder}
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as server:
            try:
                assert server.stdout is not None
                found = next(at for line in server.stdout if (at := re.search(r"http://127\.0\.0\.1:\d+/", line)))
                met = measure(found[0], args.runs)
            finally:
                server.terminate()
        print(f"shop file: {shop.stat().st_size / 1e6:.1f} MB")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
