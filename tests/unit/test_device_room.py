"""A device that writes without end: so much a day and in all, in words, and nobody else is held up by it."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.records.entry import Entry, Noted
from racewright.records.ids import Id, digest, new_id
from racewright.records.model import Job
from racewright.store import device_room, job_rows
from racewright.store.device_room import Amount
from racewright.store.job_errors import StaleSave
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Answered, Offered, offer, since
from racewright.store.job_store import JobStore

DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
RUN = msgspec.structs.replace(DEMO.runs[0], id=digest("one"), key="A-1")
ROOMY = Amount(10**9, 10**12)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", Job(id=DEMO.id, head=DEMO.head, runs=(RUN,)), by="Kim")
        yield opened


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(device_room, "MOST_A_DAY", Amount(5, 10**9))
    monkeypatch.setattr(device_room, "MOST_IN_ALL", ROOMY)


def note(words: str = "seen") -> Offered:
    entry = Entry(run=RUN.id, what=Noted(note=words))
    return Offered(kind="entry", id=entry.id, data=plain(entry))


def plain(value: msgspec.Struct) -> Any:
    return json.loads(msgspec.json.encode(value))


def offered(store: JobStore, *records: Offered, by: str = "phone 1") -> list[Answered]:
    return list(offer(store, DEMO.id, records, by=by))


def outcomes(answers: list[Answered]) -> list[str]:
    return [answer.outcome for answer in answers]


def test_what_is_over_the_days_bound_is_refused_in_words_and_the_rest_goes_in(store: JobStore) -> None:
    first = [note() for _ in range(3)]
    assert outcomes(offered(store, *first)) == ["saved"] * 3
    answers = offered(store, *[note() for _ in range(4)])
    assert outcomes(answers) == ["saved", "saved", "later", "later"]
    assert answers[-1].message == "'phone 1' wrote 5 versions of records in 24 hours, the most that one device may."
    assert answers[-1].hint == "what you wrote stays where you wrote it: it goes in later, by itself"
    assert answers[-1].yours["what"]["note"] == "seen"
    assert outcomes(offered(store, *first)) == ["saved"] * 3  # what is there already is told so
    assert outcomes(offered(store, note(), by="phone 2")) == ["saved"]
    store.save_run("orchard", msgspec.structs.replace(RUN, note="by hand"), 1, by="Kim")
    with JobStore.open(store.path) as again:  # another opening counts the same
        assert outcomes(offered(again, note())) == ["later"]
        again.check()


def test_what_commands_write_under_a_devices_name_is_not_counted_against_it(store: JobStore) -> None:
    for number in range(1, 9):
        store.save_run("orchard", msgspec.structs.replace(RUN, note=f"{number}"), number, by="phone 1")
        with pytest.raises(StaleSave):
            store.save_run("orchard", RUN, 0, by="phone 1")
    assert outcomes(offered(store, *[note() for _ in range(6)])) == ["saved"] * 5 + ["later"]
    assert store.rows.device("phone 1").keys() == {job_rows.now()[:13]}


def test_room_comes_again_by_the_hour(store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def at(time: str) -> None:
        for module in (job_rows, device_room):
            monkeypatch.setattr(module, "now", lambda: f"{time}:00+00:00")

    at("2026-05-04T08:59")
    assert outcomes(offered(store, *[note() for _ in range(3)])) == ["saved"] * 3
    at("2026-05-04T15:00")
    assert outcomes(offered(store, *[note() for _ in range(3)])) == ["saved", "saved", "later"]
    at("2026-05-05T08:58")
    assert outcomes(offered(store, note())) == ["later"]
    at("2026-05-05T09:00")
    assert outcomes(offered(store, *[note() for _ in range(4)])) == ["saved"] * 3 + ["later"]
    at("2026-05-06T09:59")
    assert outcomes(offered(store, *[note() for _ in range(3)])) == ["saved"] * 2 + ["later"]
    at("2026-05-05T08:58")  # a clock that was set right again
    assert outcomes(offered(store, note())) == ["saved"]
    assert {hour: n for hour, (n, _) in store.rows.device("phone 1").items()} == {
        "": 5 + 5,
        "2026-05-05T08": 1,
    }


def test_a_day_later_it_may_go_on_and_by_another_opening_too(store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(device_room, "now", lambda: "2026-05-04T08:00:00+00:00")
    assert outcomes(offered(store, *[note() for _ in range(7)])) == ["saved"] * 5 + ["later"] * 2
    monkeypatch.undo()
    monkeypatch.setattr(device_room, "MOST_A_DAY", Amount(5, 10**9))
    assert outcomes(offered(store, note())) == ["saved"]  # the clock stands long after that day
    with JobStore.open(store.path) as again:
        assert outcomes(offered(again, *[note() for _ in range(5)])) == ["saved"] * 4 + ["later"]


@pytest.mark.parametrize(
    ("day", "in_all", "words", "hint"),
    [
        (Amount(10**9, 3_000), ROOMY, "wrote 0.003 MB in 24 hours", "it goes in later, by itself"),
        (ROOMY, Amount(2, 10**9), "wrote 2 versions of records in all", "under another name at the shop's computer"),
        (ROOMY, Amount(10**9, 3_000), "wrote 0.003 MB in all", "under another name at the shop's computer"),
    ],
)
def test_each_bound_is_told_with_what_would_work(
    store: JobStore, monkeypatch: pytest.MonkeyPatch, day: Amount, in_all: Amount, words: str, hint: str
) -> None:
    monkeypatch.setattr(device_room, "MOST_A_DAY", day)
    monkeypatch.setattr(device_room, "MOST_IN_ALL", in_all)
    answers = offered(store, *[note("x" * 1100) for _ in range(3)])
    assert outcomes(answers) == ["saved", "saved", "later" if in_all == ROOMY else "refused"]
    assert words in answers[-1].message
    assert hint in answers[-1].hint


def test_versions_offered_too_late_count_and_wait_on_the_device_for_room(
    store: JobStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also of ids that the shop never saw: each would have room of its own."""
    strangers: list[Id] = [new_id() for _ in range(8)]
    late = [
        Offered(kind="run", id=one, base=3, base_digest="0" * 32, data=plain(msgspec.structs.replace(RUN, id=one)))
        for one in strangers
    ]
    answers = offered(store, *late)
    assert outcomes(answers) == ["stale"] * 5 + ["later"] * 3
    assert answers[-1].yours == late[-1].data
    assert len(store.refused("orchard")) == 5
    assert outcomes(offered(store, *late)) == ["stale"] * 5 + ["later"] * 3  # kept once
    assert len(store.refused("orchard")) == 5
    assert outcomes(offered(store, note(), by="phone 2")) == ["saved"]
    monkeypatch.setattr(device_room, "MOST_A_DAY", ROOMY)
    assert outcomes(offered(store, *late)) == ["stale"] * 8
    assert len(store.refused("orchard")) == 8


def test_an_offer_that_came_to_nothing_counts_nothing(store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    def die(*_: object, **__: object) -> int:
        raise OSError("pulled out")

    with monkeypatch.context() as patch:
        patch.setattr(store.rows, "write_change", die)
        with pytest.raises(OSError, match="pulled out"):
            offered(store, *[note() for _ in range(4)])
    assert outcomes(offered(store, *[note() for _ in range(6)])) == ["saved"] * 5 + ["later"]
    assert len([one for one in since(store, 0, ["entry"]).records if one.by == "phone 1"]) == 5


def test_a_job_that_has_no_room_is_not_begun(store: JobStore) -> None:
    assert outcomes(offered(store, *[note() for _ in range(5)])) == ["saved"] * 5
    job = new_id()
    answers = offer(store, job, [Offered(kind="job", id=job, data=plain(DEMO.head))], by="phone 1")
    assert outcomes(list(answers)) == ["later"]
    assert store.jobs() == ("orchard",)
    assert store.load("orchard").runs
