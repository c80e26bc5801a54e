"""What a device offers to a shop of one run, for the tests of what devices and a shop say to each other."""

import json
from pathlib import Path
from typing import Any

import msgspec

from racewright.records.entry import Entry, Noted
from racewright.records.ids import digest
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Answered, Changed, Offered, offer, since
from racewright.store.job_store import JobStore

JOB = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")

RUN = msgspec.structs.replace(JOB.runs[0], id=digest("one"), key="A-1")


def plain(value: msgspec.Struct) -> Any:
    return json.loads(msgspec.json.encode(value))


def a_run(base: int, note: str = "", **more: Any) -> Offered:
    return Offered(kind="run", id=RUN.id, base=base, data=plain(msgspec.structs.replace(RUN, note=note, **more)))


def an_entry(note: str = "seen") -> Offered:
    entry = Entry(run=RUN.id, what=Noted(note=note), by="Sam")
    return Offered(kind="entry", id=entry.id, data=plain(entry))


def offered(store: JobStore, *records: Offered, by: str = "Sam's phone") -> tuple[Answered, ...]:
    """As a device offers that heard the revisions that it made them from."""
    return offer(store, JOB.id, [heard(store, one) for one in records], by=by)


def heard(store: JobStore, one: Offered) -> Offered:
    made_from = store.rows.revision(one.id, one.base) if one.base and not one.base_digest else None
    return one if made_from is None else msgspec.structs.replace(one, base_digest=made_from.digest)


def data_of(changed: Changed | None) -> Any:
    assert changed is not None
    return None if changed.data is None else json.loads(bytes(changed.data))


def refused(store: JobStore, *records: Offered, job: str = JOB.id) -> str:
    """Why the last of these is refused; nothing of it is in the file."""
    before = since(store, 0)
    answer = offer(store, job, [heard(store, one) for one in records], by="phone")[-1]
    assert answer.outcome == "refused", answer
    if len(records) == 1:
        assert since(store, 0) == before
    return f"{answer.message} {answer.hint}"
