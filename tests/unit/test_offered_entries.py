"""Entries that a device offers: what one may hold, what of it is newer than this shop, what an import leaves of it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from offers import JOB, RUN, an_entry, data_of, offered, plain, refused

from racewright.records.entry import Entry, Noted, Pins, StatusSet
from racewright.records.fields import Key
from racewright.records.ids import Id, new_id
from racewright.records.model import Job
from racewright.store.job_protocol import Offered, offer, since
from racewright.store.job_store import JobStore


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)), by="Kim")
        yield opened


def test_an_entry_that_was_taken_out_and_came_back_keeps_its_place_for_every_device(store: JobStore) -> None:
    first, other, third = an_entry("1"), an_entry("2"), an_entry("3")
    offered(store, first, other)
    offered(store, third)
    early = since(store, 0)
    offered(store, Offered(kind="entry", id=first.id, base=1))
    offered(store, msgspec.structs.replace(first, base=2))

    def told(number: int = 0, mark: str = "") -> list[str]:
        records = since(store, number, mark=mark).records
        return [r.id for r in sorted(records, key=lambda r: r.came) if r.kind == "entry"]

    assert told() == [kept.value.id for kept in store.entries("orchard")] == [first.id, other.id, third.id]
    assert told(early.last, early.mark) == [first.id]
    before = early.mark.replace("came,", "")  # as devices were told it that know the order by changes
    assert told(early.last, before) == [first.id, other.id, third.id]


def test_an_entry_that_came_before_its_run_goes_with_it_to_its_job(store: JobStore) -> None:
    """A device that moved a run to another job offers the parts job by job; the entry is in that job's file, once."""
    run = msgspec.structs.replace(RUN, id=new_id(), key="B-1")
    entry = Entry(run=run.id, what=Noted(note="seen"), by="Sam", at="2026-05-02T08:00:00+00:00")
    sent = Offered(kind="entry", id=entry.id, data=plain(entry))
    assert offered(store, sent)[0].outcome == "saved"
    number = since(store, 0).last
    store.create_job("shed", Job(head=JOB.head))
    shed = store.load("shed").id
    assert offer(store, shed, [Offered(kind="run", id=run.id, data=plain(run))], by="phone")[0].outcome == "saved"
    assert store.load("shed").entries == (entry,)
    assert [kept.value for kept in store.entries("orchard")] == []
    (moved,) = since(store, number, ["entry"]).records
    assert (moved.job, moved.revision, data_of(moved)) == (shed, 2, sent.data)
    (again,) = offered(store, sent)  # the first answer was lost
    assert (again.outcome, again.revision, again.stands) == ("saved", 2, moved)
    assert "no run of this job" not in [a.message for a in offer(store, shed, [sent], by="phone")]
    assert store.brought_by(store.entries("shed")[0]) == "Sam's phone"
    store.check()


def test_an_entry_goes_with_its_run_that_a_job_file_brings(store: JobStore) -> None:
    run = msgspec.structs.replace(RUN, id=new_id(), key="B-1")
    entry = Entry(run=run.id, what=StatusSet(status="bent"))
    offered(store, Offered(kind="entry", id=entry.id, data=plain(entry)))
    store.create_job("shed", Job(head=JOB.head, runs=(run,)))
    assert store.load("shed").status(run) == "bent"
    store.check()


def test_a_status_from_a_phone_is_the_runs(store: JobStore) -> None:
    entry = Entry(run=RUN.id, what=StatusSet(status="bent"))
    offered(store, Offered(kind="entry", id=entry.id, data=plain(entry)))
    assert store.load("orchard").status(RUN) == "bent"
    store.remove_run("orchard", RUN.id, 1)
    late = Entry(run=RUN.id, what=StatusSet(status="in"))
    assert offered(store, Offered(kind="entry", id=late.id, data=plain(late)))[0].outcome == "saved"
    store.undo("orchard")  # the entry
    store.undo("orchard")  # that the run was taken out
    assert store.load("orchard").status(RUN) == "bent"


@pytest.mark.parametrize(
    ("what", "told"),
    [
        ({"kind": "made", "bends": []}, "what names no bend, and no step that is done"),
        (
            {"kind": "made", "bends": [{"number": 121}]},
            "what.bends[0].number is '121': expected a whole number, at most",
        ),
        ({"kind": "made", "bends": [{"number": 1, "mark_mm": -5}]}, "mark_mm is '-5': expected a number, at least 0"),
        ({"kind": "made", "bends": [{"number": 1, "mark_mm": 1e300}]}, "expected a number, at most 1000000"),
        ({"kind": "made", "bends": [{"number": 1, "angle_rad": 1e300}]}, "expected a number, at most 6.28"),
        ({"kind": "corrected", "moves": []}, "what.moves: expected a list of at least 1 item"),
        (
            {"kind": "corrected", "moves": [{"number": 2, "by_rad": -7.0}]},
            "by_rad is '-7.0': expected a number, at least",
        ),
        ({"kind": "readings", "measured": []}, "what.measured: expected a list of at least 1 item"),
        ({"kind": "readings", "measured": [{"type": "off", "way": "up", "off_mm": 1e9}]}, "at most 1000000"),
        ({"kind": "readings", "measured": [{"type": "apex", "number": 0, "rise_mm": 9}]}, "number is '0'"),
        ({"kind": "note", "note": 5}, "what.note is '5': expected text"),
    ],
)
def test_an_entry_holds_only_what_a_piece_can_have(store: JobStore, what: dict[str, Any], told: str) -> None:
    one = an_entry()
    assert told in refused(store, msgspec.structs.replace(one, data={**one.data, "what": what}))


def test_an_entry_names_a_piece_and_a_run_that_can_be(store: JobStore) -> None:
    one = an_entry()
    assert "piece is '77': expected a whole number, at most 60" in refused(
        store, msgspec.structs.replace(one, data={**one.data, "piece": 77})
    )
    told = refused(store, msgspec.structs.replace(one, data={**one.data, "run": "PH-01"}))
    assert "run is 'PH-01': expected text as an id is: 32 of the signs 0-9 and a-f" in told
    assert "key" not in told


@pytest.mark.parametrize(
    "what",
    [
        {"kind": "photo", "file": "a.jpg"},
        {"kind": "readings", "measured": [{"type": "scan", "points": 3}]},
        {"kind": "note", "note": "seen", "photo": "a.jpg"},
    ],
)
def test_an_entry_of_a_kind_that_is_not_known_here_is_newer(store: JobStore, what: dict[str, Any]) -> None:
    one = an_entry()
    before = since(store, 0)
    (answer,) = offered(store, sent := msgspec.structs.replace(one, data={**one.data, "what": what}))
    assert (answer.outcome, answer.yours) == ("newer", sent.data)
    assert "bring Racewright up to date" in answer.hint
    assert since(store, 0) == before


def test_an_entry_of_an_imported_job_is_offered_again_as_saved(store: JobStore) -> None:
    seen = Entry(run=RUN.id, what=Noted(note="seen"), pins=Pins(run=3, marks="K7M3QX"), by="Sam")
    store.create_job(
        "away",
        Job(
            head=JOB.head,
            runs=(away := msgspec.structs.replace(RUN, id=new_id()),),
            entries=(msgspec.structs.replace(seen, run=away.id),),
        ),
    )
    job = store.load("away")
    (stands,) = job.entries
    assert stands.pins == Pins(marks="K7M3QX")  # revision 3 of another shop is none of this one
    ours = plain(msgspec.structs.replace(seen, run=away.id))
    (answer,) = offer(store, job.id, [Offered(kind="entry", id=seen.id, data=ours)], by="phone 1")
    assert (answer.outcome, answer.revision) == ("saved", 1)
    other = {**ours, "pins": {"run": 3, "marks": "AAAAAA"}}
    (answer,) = offer(store, job.id, [Offered(kind="entry", id=seen.id, data=other)], by="phone 1")
    assert answer.outcome == "stale"


@pytest.mark.parametrize(("kind", "text"), [(Key, "PH-01"), (Id, "0a" * 16)])
def test_no_line_break_comes_in_behind_a_key_or_an_id(kind: Any, text: str) -> None:
    assert msgspec.convert(text, kind) == text
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(f"{text}\n", kind)
