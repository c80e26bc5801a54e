"""What a phone asks of a shop file and offers to it: taken once, refused with both versions, never half."""

import json
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from itertools import permutations
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, LimitError
from racewright.records.entry import Entry, Noted, Pins, StatusSet
from racewright.records.fields import Key
from racewright.records.ids import Id, digest, new_id
from racewright.records.kinds import KINDS
from racewright.records.model import Area, Job, JobRun, Stock
from racewright.store import job_protocol
from racewright.store.job_back import go_back
from racewright.store.job_errors import LockedFile
from racewright.store.job_file import job_from_json, job_to_json, load_job
from racewright.store.job_log import changed_fields
from racewright.store.job_protocol import Answered, Changed, Offered, offer, since
from racewright.store.job_store import JobStore, RunSave

JOB = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
RUN = msgspec.structs.replace(JOB.runs[0], id=digest("one"), key="A-1")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)), by="Kim")
        yield opened


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


def test_what_changed_since_a_number_with_removals_and_in_order(store: JobStore) -> None:
    begun = since(store, 0)
    assert [(r.kind, r.id, r.revision, r.by) for r in begun.records] == [
        ("job", JOB.id, 1, "Kim"),
        ("run", RUN.id, 1, "Kim"),
    ]
    assert data_of(begun.records[1]) == plain(RUN)
    assert since(store, begun.last, mark=begun.mark).records == ()
    entry = an_entry()
    offered(store, entry)
    offered(store, a_run(1, "one"))
    offered(store, a_run(2, "two"))
    offered(store, Offered(kind="entry", id=entry.id, base=1))
    later = since(store, begun.last, mark=begun.mark)
    assert [(r.id, r.revision, r.base, r.change, r.data is None) for r in later.records] == [
        (RUN.id, 3, 2, 4, False),
        (entry.id, 2, 1, 5, True),
    ]
    assert later.last == 5
    assert [r.kind for r in since(store, 0, ["entry"]).records] == ["entry"]
    assert {r.job for r in later.records} == {JOB.id}


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


def test_many_changes_are_told_in_parts_that_end_with_a_change(store: JobStore) -> None:
    runs = [msgspec.structs.replace(RUN, id=new_id(), key=f"B-{n}") for n in range(5)]
    store.save_runs("orchard", [RunSave(run, 0) for run in runs])
    for n in range(3):
        offered(store, an_entry(f"{n}"))
    number, mark, parts = 0, "", []
    while True:
        part = since(store, number, mark=mark, most=2)
        parts.append([r.id for r in part.records])
        number, mark = part.last, part.mark
        if not part.more:
            break
    assert [len(part) for part in parts] == [2, 5, 2, 1]
    assert [one for part in parts for one in part] == [r.id for r in since(store, 0).records]


def test_what_is_sent_again_is_saved_once(store: JobStore) -> None:
    sent = (a_run(1, "mine"), an_entry())
    first, again = offered(store, *sent), offered(store, *sent)
    assert [(a.outcome, a.revision) for a in first] == [(a.outcome, a.revision) for a in again]
    assert [(a.outcome, a.revision) for a in first] == [("saved", 2), ("saved", 1)]
    assert len(store.changes("orchard")) == 2
    store.save_run("orchard", msgspec.structs.replace(RUN, note="the desk's"), 2, by="Kim")
    (late,) = offered(store, a_run(1, "mine"))  # it was saved, and is told what stands by now
    assert (late.outcome, late.revision, data_of(late.stands)["note"]) == ("saved", 2, "the desk's")
    assert store.refused("orchard") == ()


def test_a_save_over_anothers_is_refused_with_both_and_kept_once_while_the_rest_goes_in(store: JobStore) -> None:
    store.save_run("orchard", msgspec.structs.replace(RUN, note="Kim's"), 1, by="Kim")
    for _ in range(2):
        entry = an_entry()
        stale, added = offered(store, a_run(1, "Sam's"), entry)
        assert (stale.outcome, stale.revision, added.outcome) == ("stale", 2, "saved")
        assert (stale.yours["note"], data_of(stale.stands)["note"]) == ("Sam's", "Kim's")
        assert "changed in between by Kim" in stale.message
    (refused,) = store.refused("orchard")
    assert isinstance(refused.value, JobRun)
    assert (refused.value.note, refused.base, refused.by) == ("Sam's", 1, "Sam's phone")
    assert len(store.entries("orchard")) == 2
    (ahead,) = offered(store, a_run(7, "from a revision that never was"))
    assert (ahead.outcome, ahead.revision) == ("stale", 2)
    (gone,) = offered(store, Offered(kind="run", id=RUN.id, base=1))  # a removal from an old revision
    assert (gone.outcome, gone.yours) == ("stale", None)
    assert len(store.refused("orchard")) == 3


def test_what_was_taken_out_before_it_came_is_nothing(store: JobStore) -> None:
    before = since(store, 0)
    (gone,) = offered(store, Offered(kind="run", id=new_id()))
    assert (gone.outcome, gone.revision) == ("saved", 0)
    (ahead,) = offered(store, Offered(kind="run", id=new_id(), base=3))
    assert (ahead.outcome, ahead.stands) == ("stale", None)
    assert since(store, 0) == before


def test_what_says_again_what_stood_before_a_change_is_an_undo_of_it_and_what_is_taken_out_is_not(
    store: JobStore,
) -> None:
    offered(store, a_run(1, "mine"), an_entry())
    offered(store, a_run(2))
    part = store.changes("orchard")[0]
    assert (part.kind, part.what) == ("save", "brought in: run A-1"), "the entry stands"
    (answer,) = offered(store, a_run(3, "mine"))
    undo, *before = store.changes("orchard")
    assert (answer.outcome, undo.kind, undo.what) == ("saved", "undo", "undo: brought in: run A-1")
    assert [one.undone for one in before[:2]] == [True, False]
    assert changed_fields(store, undo.number) == ("note: 'mine', was nothing",)
    gone = Offered(kind="run", id=RUN.id, base=answer.revision, base_digest=answer.digest)
    offered(store, gone)
    assert store.changes("orchard")[0].what == "brought in: run A-1 taken out"
    store.undo("orchard", by="Kim")
    assert [kept.value.note for kept in store.runs("orchard")] == ["mine"]


def test_an_offer_is_one_change_that_the_desk_can_take_back(store: JobStore) -> None:
    offered(store, a_run(1, "mine"), an_entry(), an_entry())
    change = store.changes("orchard")[0]
    assert (change.by, change.what) == ("Sam's phone", "brought in: run A-1, 2 entries")
    store.undo("orchard", by="Kim")
    assert store.load("orchard").runs[0].note == ""
    assert store.entries("orchard") == ()


def test_a_whole_job_comes_from_elsewhere_under_a_key_that_is_free(store: JobStore) -> None:
    job, run = new_id(), new_id()
    records = [
        Offered(kind="entry", id=new_id(), data=plain(Entry(id=(one := new_id()), run=run, what=Noted(note="x")))),
        Offered(kind="run", id=run, data=plain(msgspec.structs.replace(RUN, id=run, area="Pump house"))),
        Offered(kind="job", id=job, data=plain(msgspec.structs.replace(JOB.head, name="Orchard"))),
    ]
    records[0] = msgspec.structs.replace(records[0], id=one)
    assert [a.outcome for a in offer(store, job, records, by="phone")] == ["saved"] * 3
    assert store.jobs() == ("orchard", "Orchard-2")
    told = store.load("Orchard-2")
    assert (told.id, told.runs[0].id, told.entries[0].id) == (job, run, one)
    with pytest.raises(InputError, match="beginning"):
        store.undo("Orchard-2")
    store.check()


def refused(store: JobStore, *records: Offered, job: str = JOB.id) -> str:
    """Why the last of these is refused; nothing of it is in the file."""
    before = since(store, 0)
    answer = offer(store, job, [heard(store, one) for one in records], by="phone")[-1]
    assert answer.outcome == "refused", answer
    if len(records) == 1:
        assert since(store, 0) == before
    return f"{answer.message} {answer.hint}"


def test_what_is_newer_is_refused_whole_and_stays_with_who_wrote_it(store: JobStore) -> None:
    before = since(store, 0)
    strange = [
        Offered(kind="place", id=new_id(), data={"name": "pump room"}),
        msgspec.structs.replace(a_run(1), format=job_protocol.RECORDS_FORMAT + 1),
        Offered(kind="run", id=RUN.id, base=1, data={**a_run(1).data, "assignee": "Sam"}),
    ]
    answers = offered(store, *strange[:2]) + offered(store, strange[2])
    for answer, sent in zip(answers, strange, strict=True):
        assert (answer.outcome, answer.yours) == ("newer", sent.data)
        assert "bring Racewright up to date" in answer.hint
    assert since(store, 0) == before
    assert offered(store, strange[0], an_entry())[1].outcome == "saved"  # it holds up nothing else


def test_what_cannot_be_is_refused_in_words(store: JobStore) -> None:
    entry = an_entry()
    assert "another id" in refused(store, msgspec.structs.replace(a_run(0), id=new_id()))
    assert "another record" in refused(
        store, msgspec.structs.replace(entry, id=RUN.id, data={**entry.data, "id": RUN.id})
    )
    assert "200000 bytes" in refused(store, a_run(1, wires=JOB.runs[0].wires * 4000))
    assert "a job is not taken out" in refused(store, Offered(kind="job", id=JOB.id, base=1))
    nan = msgspec.structs.replace(JOB.head, stock=(Stock(raceway="nan", length="10 ft"),))
    assert "head.stock[0].raceway: 'nan'" in refused(store, Offered(kind="job", id=JOB.id, base=1, data=plain(nan)))
    assert "no job of this id" in refused(store, an_entry(), job=new_id())
    assert "head of another job" in refused(store, Offered(kind="job", id=new_id(), data=plain(JOB.head)))
    assert "another record" in refused(store, Offered(kind="job", id=RUN.id, data=plain(JOB.head)), job=RUN.id)
    store.create_job("other", Job(head=JOB.head))
    assert "another record" in refused(store, a_run(1), job=store.load("other").id)
    assert "no run of this job" in refused(store, entry, job=store.load("other").id)
    assert offered(store, entry)[0].outcome == "saved"
    changed = {**entry.data, "what": {"kind": "note", "note": "other words"}}
    assert "what an entry says is not changed" in refused(store, msgspec.structs.replace(entry, base=1, data=changed))
    back = [Offered(kind="entry", id=entry.id, base=1), msgspec.structs.replace(entry, base=2)]
    assert [offered(store, one)[0].outcome for one in back] == ["saved", "saved"]  # taken back, and brought back
    store.check()


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


def test_an_area_and_its_runs_come_in_whatever_order_and_together(store: JobStore) -> None:
    """One device renames an area while another puts a run into it; each offers its own, in any order."""
    other = msgspec.structs.replace(RUN, id=new_id(), key="A-2", area="Cold store")
    head = msgspec.structs.replace(JOB.head, areas=(Area(name="Cold store"),))
    records = [
        Offered(kind="run", id=other.id, data=plain(other)),
        Offered(kind="job", id=JOB.id, base=1, data=plain(head)),
        a_run(1, area="Cold store"),
    ]
    for turn in permutations(range(3)):
        mine = [records[i] for i in turn]
        with JobStore.open(store.path.with_name(f"{turn}.rwshop"), create=True) as shop:
            shop.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)))
            assert [a.outcome for a in offered(shop, *mine)] == ["saved"] * 3
            assert [run.area for run in shop.load("orchard").runs] == ["Cold store"] * 2
            go_back(shop, "orchard", "A-1", 1, anyone=True)  # to an area that the job no longer has
            job = shop.load("orchard")
            assert job.runs[0].area == RUN.area != ""
            assert job_from_json(job_to_json(job)) == job
            shop.create_job("again", job)
            shop.check()


def test_bounds_of_an_offer(store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(LimitError, match="the most is 2000"):
        offered(store, *(an_entry() for _ in range(2001)))
    with pytest.raises(InputError, match="twice at once"):
        offered(store, a_run(1), a_run(2))
    monkeypatch.setitem(KINDS, "entry", msgspec.structs.replace(KINDS["entry"], most=3))
    assert [a.outcome for a in offered(store, *(an_entry() for _ in range(5)))] == ["saved"] * 3 + ["refused"] * 2
    assert "holds 3 records" in refused(store, an_entry())
    store.save_run("orchard", msgspec.structs.replace(RUN, note="Kim's"), 1)
    late = [f"late {n}" for n in range(50)]
    assert {offered(store, a_run(1, note))[0].outcome for note in late} == {"stale"}
    kept = [one.value.note for one in store.refused("orchard") if isinstance(one.value, JobRun)]
    assert kept == late[::-1]  # what was made last, too


def test_a_file_that_was_brought_back_from_a_backup_is_told_anew(store: JobStore, tmp_path: Path) -> None:
    offered(store, an_entry("in the backup"))
    store.backup(tmp_path / "copy.rwshop")
    offered(store, an_entry("lost"))
    seen = since(store, 0)
    shutil.copy(tmp_path / "copy.rwshop", tmp_path / "back.rwshop")
    with JobStore.open(tmp_path / "back.rwshop") as back:
        short = since(back, seen.last, mark=seen.mark)
        assert (short.anew, short.last, len(short.records)) == (True, 2, 3)
        for note in ("other", "still other"):
            offered(back, an_entry(note))
        grown = since(back, seen.last, mark=seen.mark)
        assert (grown.anew, len(grown.records)) == (True, 5)
        assert [(r.change, r.revision) for r in grown.records][-2:] == [(4, 4), (5, 4)]  # 3 was heard of already
        (saved,) = offered(back, a_run(1, "after that"))
        assert saved.revision == 4
        assert since(back, 10**9, mark="of a file that was never here").anew
        made_from_it = msgspec.structs.replace(a_run(4, "still after"), base_digest=saved.digest)
        assert offered(back, made_from_it)[0].revision == 5  # nobody skips a thousand million numbers
        back.check()
        grown = since(back, 0)
        assert not since(back, grown.last, mark=grown.mark).anew


def test_only_a_number_that_the_shop_itself_told_is_passed_over(store: JobStore, tmp_path: Path) -> None:
    """And nobody waits for that: a question that cannot note it is asked again."""
    offered(store, an_entry("in the backup"))
    store.backup(tmp_path / "copy.rwshop")
    offered(store, an_entry("lost"))
    seen = since(store, 0)
    with JobStore.open(tmp_path / "other.rwshop", create=True) as other:
        other.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)), by="Kim")
        for base in range(1, 6):
            offered(other, a_run(base, f"note {base}"))
        others = since(other, 0)
    stood, seal, kinds = seen.mark.split(" ")
    claims = [
        (1_000_002, "x"),
        (1_000_002, seen.mark),
        (others.last, others.mark),
        (seen.last, stood),
        (seen.last, f"{stood} {seal[::-1]} {kinds}"),
        (seen.last, f"{stood[::-1]} {seal} {kinds}"),
        (seen.last, f"{stood} \u00e4 {kinds}"),
    ]
    with JobStore.open(tmp_path / "copy.rwshop") as back, closing(sqlite3.connect(tmp_path / "copy.rwshop")) as db:
        db.execute("BEGIN IMMEDIATE")  # somebody saves
        assert all(since(back, number, mark=mark).anew for number, mark in claims)
        assert back.rows.numbers.past() == 0
        began = time.monotonic()
        with pytest.raises(LockedFile):
            since(back, seen.last, mark=seen.mark)
        assert time.monotonic() - began < 5.0
        db.execute("ROLLBACK")
        assert since(back, seen.last, mark=seen.mark).anew
        db.execute("BEGIN IMMEDIATE")  # the next who tells the same does not wait
        assert since(back, seen.last, mark=seen.mark).anew
        assert back.rows.numbers.past() == seen.last
        db.execute("ROLLBACK")
        number = offered(back, a_run(1, "after that"))[0].revision
        assert number == seen.last + 1
        pinned = Entry(run=RUN.id, what=Noted(note="seen"), pins=Pins(run=1_000_003))
        assert offered(back, Offered(kind="entry", id=pinned.id, data=plain(pinned)))[0].outcome == "saved"


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


def test_a_removed_run_is_told_with_what_it_said_last(store: JobStore) -> None:
    offered(store, Offered(kind="run", id=RUN.id, base=1, base_digest=told_of(store, RUN.id).digest, data=None))
    gone = told_of(store, RUN.id)
    assert (gone.revision, gone.data) == (2, None)
    assert [json.loads(bytes(was.data)) for was in gone.past] == [json.loads(msgspec.json.encode(RUN))]


def told_of(store: JobStore, record: str) -> Changed:
    (found,) = (one for one in since(store, 0).records if one.id == record)
    return found


def test_four_thousand_records_are_told_and_offered_in_seconds(store: JobStore) -> None:
    runs = [msgspec.structs.replace(RUN, id=new_id(), key=f"B-{n}") for n in range(4000)]
    records = [Offered(kind="run", id=run.id, data=plain(run)) for run in runs]
    began = time.process_time()
    for part in (records[:2000], records[2000:]):
        assert {a.outcome for a in offered(store, *part)} == {"saved"}
    taken = time.process_time() - began
    began = time.process_time()
    told = since(store, 0, most=10_000)
    encoded = msgspec.json.encode(told)
    asked = time.process_time() - began
    assert (len(told.records), len(encoded) > 1_000_000) == (4002, True)
    assert asked < 1.5, asked
    assert taken < 8.0, taken
    began = time.process_time()
    assert since(store, told.last, mark=told.mark).records == ()
    assert time.process_time() - began < 0.05


def test_so_many_bytes_are_told_at_once(store: JobStore, monkeypatch: pytest.MonkeyPatch) -> None:
    """However large the records are, an answer ends soon after the bound, and the next begins where it ended."""
    for turn in range(9):
        offered(store, *(an_entry(f"{turn} " + "x" * 3900) for _ in range(4)))
    monkeypatch.setattr(job_protocol, "MOST_TOLD_BYTES", 20_000)
    records: list[Changed] = []
    number, mark, more = 0, "", True
    while more:
        told = since(store, number, mark=mark)
        assert sum(len(one.data) for one in told.records if one.data) < 20_000 + 5 * 5_000
        assert not told.anew
        records += told.records
        number, mark, more = told.last, told.mark, told.more
    assert [one.change for one in records] == sorted(one.change for one in records)
    assert len({one.id for one in records}) == len(records) == 38


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


def test_an_offer_that_saves_nothing_changes_no_file(store: JobStore) -> None:
    store.changed = False
    entry = an_entry()
    offered(store)
    offered(store, Offered(kind="tool", id=new_id(), data={}))
    assert not store.changed
    offered(store, entry)
    assert store.changed
    store.changed = False
    offered(store, entry)  # sent again
    assert not store.changed
    offered(store, a_run(7, "late"))  # kept as refused
    assert store.changed


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


def test_a_revision_of_the_same_number_in_another_file_is_no_base(store: JobStore, tmp_path: Path) -> None:
    """The file is brought back from a backup, and another revision 2 is saved in it: what a phone made from the first
    one is shown, not laid over it."""
    backup = store.backup(tmp_path / "kept.rwshop")
    (mine,) = offered(store, a_run(1, note="from the phone"))
    assert mine.outcome == "saved"
    with JobStore.open(backup) as brought_back:
        offered(brought_back, a_run(1, note="from the desk"))
        later = msgspec.structs.replace(a_run(2, note="from the phone, later"), base_digest=mine.digest)
        (told,) = offered(brought_back, later)
        assert told.outcome == "stale"
        assert data_of(told.stands)["note"] == "from the desk"
        bare = offer(brought_back, JOB.id, [a_run(2, note="from who knows what")], by="a phone")
        assert bare[0].outcome == "stale"


@pytest.mark.parametrize(("kind", "text"), [(Key, "PH-01"), (Id, "0a" * 16)])
def test_no_line_break_comes_in_behind_a_key_or_an_id(kind: Any, text: str) -> None:
    assert msgspec.convert(text, kind) == text
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(f"{text}\n", kind)
