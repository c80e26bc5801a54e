"""What a phone asks of a shop file and offers to it: taken once, refused with both versions, never half."""

import json
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from itertools import permutations
from pathlib import Path

import msgspec
import pytest
from offers import JOB, RUN, a_run, an_entry, data_of, offered, plain, refused

from racewright.errors import InputError, LimitError
from racewright.records.entry import BendMade, Entry, Made, Noted, Pins, StatusSet, StepMade, What
from racewright.records.ids import digest, new_id
from racewright.records.kinds import KINDS
from racewright.records.model import Area, Job, JobRun, Stock
from racewright.store import job_protocol
from racewright.store.job_back import go_back
from racewright.store.job_errors import LockedFile
from racewright.store.job_file import job_from_json, job_to_json
from racewright.store.job_log import changed_fields
from racewright.store.job_protocol import Changed, Offered, offer, since
from racewright.store.job_store import JobStore, RunSave


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", Job(id=JOB.id, head=JOB.head, runs=(RUN,)), by="Kim")
        yield opened


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


def test_a_change_names_the_run_what_was_done_and_by_whom(store: JobStore) -> None:
    def tick(number: int, by: str) -> Offered:
        what = Made(bends=(BendMade(number=number),))
        entry = Entry(id=digest(f"tick {number}"), run=RUN.id, piece=2, what=what, by=by)
        return Offered(kind="entry", id=entry.id, data=plain(entry))

    def newest() -> str:
        return store.changes("orchard")[0].what

    status = Entry(run=RUN.id, what=StatusSet(status="planned"), by="Ana")
    offered(store, tick(1, "Ana"), Offered(kind="entry", id=status.id, data=plain(status)), tick(2, "Sam"))
    assert newest() == "brought in: A-1-2 made: mark 1 bent; A-1: planned (Ana), A-1-2 made: mark 2 bent (Sam)"
    offered(store, msgspec.structs.replace(tick(1, ""), base=1, data=None), an_entry("dry"))
    assert newest() == "brought in: A-1: note: dry (Sam), A-1-2 made: mark 1 bent (Ana) taken back"
    offered(store, *(tick(number, "Ana") for number in range(3, 8)))
    assert newest() == "brought in: 5 entries on A-1 (Ana)"
    offered(store, an_entry("wet " * 60))
    assert newest().endswith("wet …")


def test_an_offer_is_one_change_that_the_desk_can_take_back(store: JobStore) -> None:
    offered(store, a_run(1, "mine"), an_entry(), an_entry())
    change = store.changes("orchard")[0]
    assert (change.by, change.what) == ("Sam's phone", "brought in: run A-1, A-1: note: seen (Sam)")
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


def test_a_part_of_what_an_entry_says_is_taken_back_and_brought_back_on_any_device(store: JobStore) -> None:
    bends = tuple(BendMade(number=n, angle_rad=0.4, by_marks="plan") for n in (1, 2))
    ream = StepMade(kind="ream", number=1)
    whole = Entry(run=RUN.id, what=Made(bends=bends, steps=(ream,), note="windy"), by="Sam", pins=Pins(run=1))
    number = 0

    def says(what: What | None) -> Offered:
        told = None if what is None else plain(msgspec.structs.replace(whole, what=what))
        return Offered(kind="entry", id=whole.id, base=number, data=told)

    first, both, reamed, note = whole.what, Made(bends=bends), Made(bends=(), steps=(ream,)), Noted(note="windy")
    for what in (first, Made(bends=bends[:1], note="windy"), None, first, both, reamed, note, both, None, note, first):
        (answer,) = offered(store, says(what))
        number += 1
        assert (answer.outcome, answer.revision) == ("saved", number)
        assert [entry.value.what for entry in store.entries("orchard")] == ([] if what is None else [what])
    bent = msgspec.structs.replace(bends[0], angle_rad=0.5)
    more: tuple[What, ...] = (
        Made(bends=(bent,)),
        Made(bends=(*bends, BendMade(number=3))),
        Made(bends=bends, note="calm"),
        Noted(note="calm"),
        StatusSet(status="bent"),
    )
    for what in more:
        assert "what an entry says is not changed" in refused(store, says(what))
    other = msgspec.structs.replace(whole, what=both, by="Kim")
    assert "is not changed" in refused(store, Offered(kind="entry", id=whole.id, base=number, data=plain(other)))
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
