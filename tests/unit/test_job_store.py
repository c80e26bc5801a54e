"""The shop file: saving, refusing, undoing, taking back, and a whole job in and out."""

import json
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError
from racewright.fit.measured import BendAngle, OffAt
from racewright.records.entry import Corrected, Entry, MoveMade, Pins, Readings, StatusSet
from racewright.records.ids import digest, new_id
from racewright.records.model import JOB_FORMAT, Area, Job, JobHead, JobRun
from racewright.store.job_back import go_back
from racewright.store.job_errors import NewerFile, StaleSave, StoreTrouble
from racewright.store.job_file import job_from_json, job_to_json, load_job, write_job
from racewright.store.job_schema import STEPS, VERSION
from racewright.store.job_store import JobStore, RunSave
from racewright.survey.written import WrittenPart

EXAMPLES = Path(__file__).parents[2] / "examples"
JOB = load_job(EXAMPLES / "orchard-job.json")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", JOB.head, by="Kim")
        yield opened


def a_run(key: str = "A-1", note: str = "", example: int = 0) -> JobRun:
    """The same key is the same run here."""
    return msgspec.structs.replace(JOB.runs[example], id=digest(key), key=key, note=note)


A_1 = a_run().id


def test_a_saved_run_comes_back_after_reopening(store: JobStore) -> None:
    run, pins = a_run(), Pins(run=1, tool="emt-1/2", engine="9.9", marks="K7M3QX")
    seen = Readings(measured=(OffAt(way="up", off_mm=1.5), BendAngle(number=2, angle_rad=0.77)), note="near the pump")
    made = Corrected(moves=(MoveMade(number=1, by_rad=-0.02),))
    entries = (
        Entry(run=run.id, piece=1, what=seen, pins=pins, by="Kim", at="today"),
        Entry(run=run.id, piece=1, what=made),
        Entry(run=run.id, what=StatusSet(status="bent")),
    )
    assert store.save_run("orchard", run, 0, by="Kim") == 1
    assert store.add_entries("orchard", entries, by="Kim") == 3
    with JobStore.open(store.path) as again:
        kept = again.run("ORCHARD", "a-1")
        assert (kept.value, kept.revision, kept.by) == (run, 1, "Kim")
        job = again.load("orchard")
        assert job == Job(id=job.id, head=JOB.head, runs=(run,), entries=entries)
        assert (job.entries_of(run), job.status(run)) == (entries, "bent")


def test_pragmas_are_the_durable_ones(store: JobStore) -> None:
    db = store.rows.db
    assert db.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL
    assert db.execute("PRAGMA journal_mode").fetchone()[0] == "truncate"
    assert db.execute("PRAGMA user_version").fetchone()[0] == VERSION == len(STEPS)


def note_of(kept: object) -> str:
    assert isinstance(kept, JobRun)
    return kept.note


def test_a_save_over_somebodys_newer_revision_is_refused_shows_both_and_keeps_both(store: JobStore) -> None:
    store.save_run("orchard", a_run(note="first"), 0, by="Kim")
    store.save_run("orchard", a_run(note="Sam's"), 1, by="Sam")
    with pytest.raises(StaleSave) as caught:
        store.save_run("orchard", a_run(note="Kim's"), 1, by="Kim")
    err = caught.value
    assert (note_of(err.mine), note_of(err.theirs), err.based_on, err.found) == ("Kim's", "Sam's", 1, 2)
    assert "yours 'Kim's', theirs 'Sam's'" in str(err)
    assert "by Sam" in str(err)
    assert store.run("orchard", "A-1").value.note == "Sam's"
    (refused,) = store.refused("orchard")
    assert (refused.kind, refused.record, refused.base, refused.found) == ("run", A_1, 1, 2)
    assert note_of(refused.value) == "Kim's"


def test_a_change_of_many_is_saved_whole_or_not_at_all(store: JobStore) -> None:
    store.save_runs("orchard", [RunSave(a_run("A-1"), 0), RunSave(a_run("A-2"), 0)])
    with pytest.raises(StaleSave):
        store.save_runs("orchard", [RunSave(a_run("A-1", "x"), 1), RunSave(a_run("A-2", "x"), 7)])
    assert [k.value.note for k in store.runs("orchard")] == ["", ""]
    assert len(store.refused("orchard")) == 1


def test_entries_of_runs_that_moved_on_are_left_out_where_that_is_asked(store: JobStore) -> None:
    """A plan's status does not go over what somebody set, or a survey that somebody changed meanwhile."""
    runs = [a_run(f"A-{n}") for n in (1, 2, 3)]
    store.save_runs("orchard", [RunSave(run, 0) for run in runs])
    seen = {run.id: (1, store.load("orchard").statuses(run)) for run in runs}
    store.save_run("orchard", a_run("A-1", "moved"), 1)
    store.add_entries("orchard", [Entry(run=runs[1].id, what=StatusSet(status="bent"))])
    planned = [Entry(run=run.id, what=StatusSet(status="planned")) for run in runs]
    assert store.add_entries("orchard", planned, only_where=seen) == 1
    job = store.load("orchard")
    assert [job.status(run) for run in job.runs] == ["measured", "bent", "planned"]
    with pytest.raises(InputError, match="no run of the id"):
        store.add_entries("orchard", [Entry(run=new_id(), what=StatusSet(status="bent"))])


def test_an_entry_that_is_undone_is_taken_back_and_comes_again(store: JobStore) -> None:
    run = a_run()
    store.save_run("orchard", run, 0)
    store.add_entries("orchard", [Entry(run=run.id, what=StatusSet(status="bent"))])
    store.add_entries("orchard", [Entry(run=run.id, what=StatusSet(status="in"))])

    def status() -> str:
        return store.load("orchard").status(run)

    assert status() == "in"
    store.undo("orchard")
    assert status() == "bent"
    store.undo("orchard")
    assert status() == "measured"
    store.redo("orchard")
    store.redo("orchard")
    assert status() == "in"
    (last,) = [k for k in store.entries("orchard") if k.value.what == StatusSet(status="in")]
    assert [r.value is None for r in store.history(last.value.id)] == [False, True, False]
    store.remove_run("orchard", run.id, 1)
    assert store.load("orchard").entries == ()
    assert len(store.entries("orchard")) == 2  # kept with the run, and there again when it is
    store.undo("orchard")
    assert status() == "in"


def test_two_runs_of_one_key_are_kept_and_told_apart(store: JobStore) -> None:
    first, second = a_run(), msgspec.structs.replace(a_run(example=1), id="ab12" * 8, key="a-1")
    store.save_run("orchard", first, 0, by="Kim")
    store.save_run("orchard", second, 0, by="Sam")
    with pytest.raises(InputError, match="2 runs called 'A-1'") as caught:
        store.run("orchard", "A-1")
    for told in (first.id[:6], "by Kim", first.name, "ab12ab", "by Sam", second.name):
        assert told in caught.value.hint
    assert store.run("orchard", "ab12").value == second
    assert store.run("orchard", f"A-1-{first.id[:6]}").value == first
    with pytest.raises(InputError, match="no run 'ab1'"):
        store.run("orchard", "ab1")


def test_undo_and_redo_walk_back_and_forth(store: JobStore) -> Any:
    store.save_run("orchard", a_run("A-1", "one"), 0)
    store.save_runs("orchard", [RunSave(a_run("A-1", "two"), 1), RunSave(a_run("A-2"), 0)])

    def notes() -> dict[str, str]:
        return {k.value.key: k.value.note for k in store.runs("orchard")}

    store.undo("orchard")
    assert notes() == {"A-1": "one"}
    store.undo("orchard")
    assert notes() == {}
    with pytest.raises(InputError, match="nothing to undo"):
        store.undo("orchard")
    store.redo("orchard")
    assert notes() == {"A-1": "one"}
    store.redo("orchard")
    assert notes() == {"A-1": "two", "A-2": ""}
    with pytest.raises(InputError, match="nothing to redo"):
        store.redo("orchard")
    store.undo("orchard")
    store.save_run("orchard", a_run("A-3"), 0)
    with pytest.raises(InputError, match="nothing to redo"):  # a save since
        store.redo("orchard")
    assert notes() == {"A-1": "one", "A-3": ""}
    store.check()


def test_undo_refuses_when_another_change_came_in_between(store: JobStore) -> None:
    store.save_run("orchard", a_run("A-1"), 0)
    seen = store.changes("orchard")[0].number
    store.save_run("orchard", a_run("A-2"), 0, by="Sam")
    with pytest.raises(InputError, match="by Sam"):
        store.undo("orchard", expect=seen)


def test_removed_runs_can_be_added_anew_and_old_revisions_brought_back(store: JobStore) -> None:
    store.save_run("orchard", a_run(note="one"), 0)
    assert store.remove_run("orchard", A_1, 1) == 2
    assert store.run_ever("orchard", "a-1") == a_run(note="one")
    assert store.runs("orchard") == ()
    with pytest.raises(InputError, match="no run 'A-1'"):
        store.run("orchard", "A-1")
    with pytest.raises(StaleSave):  # under its own id it is the run that was taken out
        store.save_run("orchard", a_run(note="three"), 0)
    assert store.save_run("orchard", a_run(note="three"), 2) == 3
    assert go_back(store, "orchard", "A-1", 1).revision == 1
    assert store.run("orchard", "A-1").value.note == "one"
    assert [note_of(r.value) if r.value else None for r in store.history(A_1)] == ["one", "three", None, "one"]
    with pytest.raises(InputError, match="no revision 2"):
        go_back(store, "orchard", "A-1", 2)


def test_what_cannot_be_read_is_not_saved(store: JobStore) -> None:
    with pytest.raises(InputError) as caught:
        store.save_run("orchard", msgspec.structs.replace(a_run(), wire_slack="a lot"), 0)
    assert caught.value.field == "run.wire_slack"
    with pytest.raises(InputError, match="cannot be kept"):
        store.save_run("orchard", msgspec.structs.replace(a_run(), key="no such key"), 0)
    assert store.runs("orchard") == ()
    store.save_run("orchard", a_run(), 0)
    nan = Entry(run=A_1, what=Readings(measured=(OffAt(way="up", off_mm=float("nan")),)))
    with pytest.raises(InputError, match="cannot be kept"):
        store.add_entries("orchard", [nan])
    assert store.entries("orchard") == ()


def test_areas_and_readings_may_be_what_no_plan_can_take(store: JobStore) -> None:
    walk = (WrittenPart(leg="four feet"), WrittenPart(turn="left"), WrittenPart(leg=""))
    survey = msgspec.structs.replace(a_run().survey, run=msgspec.structs.replace(a_run().survey.run, walk=walk))
    run = msgspec.structs.replace(a_run(), survey=survey, area="Barn")
    store.save_run("orchard", run, 0)
    head = msgspec.structs.replace(JOB.head, areas=(Area(name="Cold store"),))
    store.save_runs("orchard", [], head=(head, 1))
    again = JobStore.open(store.path)
    assert (again.run("orchard", run.key).value, again.head("orchard").value) == (run, head)
    again.close()


def test_job_and_run_that_do_not_exist_are_named_with_those_that_do(store: JobStore) -> None:
    with pytest.raises(InputError, match="no job 'vineyard'") as caught:
        store.runs("vineyard")
    assert "orchard" in caught.value.hint
    with pytest.raises(InputError, match="has a job 'Orchard' already"):
        store.create_job("Orchard", JOB)
    with pytest.raises(InputError, match="cannot be a job's key"):
        store.create_job("two words", JOB)


def test_a_whole_job_goes_out_as_one_json_file_and_comes_back_the_same(store: JobStore, tmp_path: Path) -> None:
    store.create_job("demo", JOB)
    write_job(tmp_path / "demo.json", store.load("demo"))
    assert load_job(tmp_path / "demo.json") == JOB == store.load("demo")
    store.create_job("twice", JOB)
    again = store.load("twice")
    assert (again.head, [r.key for r in again.runs]) == (JOB.head, [r.key for r in JOB.runs])
    ids = [{job.id, *(r.id for r in job.runs), *(e.id for e in job.entries)} for job in (JOB, again)]
    assert not ids[0] & ids[1]
    assert [again.status(r) for r in again.runs] == [JOB.status(r) for r in JOB.runs]
    assert {e.what for e in again.entries_of(again.runs[0])} == {e.what for e in JOB.entries_of(JOB.runs[0])}
    data = json.loads((tmp_path / "demo.json").read_text(encoding="utf-8"))
    assert (data["racewright_job"], data["head"]["units"], len(data["runs"])) == (JOB_FORMAT, "in", len(JOB.runs))
    assert job_from_json(job_to_json(JOB)) == JOB


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda d: d.pop("racewright_job"), "racewright_job"),
        (lambda d: d.update(racewright_job=99), "racewright_job"),
        (lambda d: d["runs"][1].update(id=d["runs"][0]["id"]), "runs[1].id"),
        (lambda d: d["runs"][1].update(id="PH-01"), "runs[1].id"),
        (lambda d: d["runs"][2].update(status="bent"), "runs[2].status"),
        (lambda d: d["entries"][0].update(run="0" * 32), "entries[0].run"),
        (lambda d: d["entries"][0].update(id=d["runs"][0]["id"]), "entries[0].id"),
        (lambda d: d["entries"][2]["what"].update(status="lost"), "entries[2].what.status"),
        (lambda d: d["entries"][2]["what"].update(kind="seen"), "entries[2].what.kind"),
        (lambda d: d["entries"][0]["what"].update(colour="red"), "entries[0].what.colour"),
        (lambda d: d["runs"][2].update(colour="red"), "runs[2].colour"),
        (lambda d: d["runs"][3]["survey"]["run"]["walk"][0].update(leg=[]), "runs[3].survey.run.walk[0].leg"),
        (lambda d: d["runs"][3]["survey"]["run"].update(walc=[]), "runs[3].survey.run.walc"),
        (lambda d: d["head"]["stock"][0].update(length="-3"), "head.stock[0].length"),
        (lambda d: d["prices"]["items"][0].update(price="=1+1"), "prices.items[0].price"),
        (lambda d: d["people"][1].update(mark="far"), "people[1].mark"),
        (lambda d: d["head"].update(areas=[{"name": "A"}, {"name": "a"}]), "head.areas"),
    ],
)
def test_a_job_file_with_something_wrong_names_the_field(change: Callable[..., Any], field: str) -> None:
    data = json.loads(job_to_json(JOB))
    change(data)
    with pytest.raises(InputError) as caught:
        job_from_json(json.dumps(data))
    assert caught.value.field == field


def test_what_is_no_job_file_is_refused() -> None:
    for text in ("", "{", "[]", "nul", "\ufeff{}", '{"racewright_job": 1}', "[" * 100_000):
        with pytest.raises(InputError):
            job_from_json(text)
    with pytest.raises(InputError):
        job_from_json(b"\xff\xfe\x00")


def test_a_newer_versions_file_is_refused_untouched(store: Any, tmp_path: Path) -> None:
    newer = tmp_path / "newer.rwshop"
    store.backup(newer)
    db = sqlite3.connect(newer)
    db.execute(f"PRAGMA user_version = {VERSION + 1}")
    db.close()
    before = (newer.read_bytes(), newer.stat().st_mtime_ns, sorted(tmp_path.iterdir()))
    with pytest.raises(NewerFile, match="newer Racewright"):
        JobStore.open(newer)
    assert (newer.read_bytes(), newer.stat().st_mtime_ns, sorted(tmp_path.iterdir())) == before


def test_there_is_no_file_or_no_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreTrouble, match="no such shop file"):
        JobStore.open(tmp_path / "none.rwshop")
    with pytest.raises(StoreTrouble):
        JobStore.open(tmp_path / "no" / "folder.rwshop", create=True)
    assert list(tmp_path.iterdir()) == []


def test_create_keeps_a_file_that_is_there(store: Any) -> None:
    with JobStore.open(store.path, create=True) as again:
        assert again.jobs() == ("orchard",)


def test_an_empty_job_keeps_its_own_head(tmp_path: Path) -> None:
    with JobStore.open(tmp_path / "s.rwshop", create=True) as store:
        store.create_job("one", JobHead(name="One", units="mm"))
        store.create_job("two", JobHead(name="Two"))
        assert store.jobs() == ("one", "two")
        assert store.load("one") == Job(id=store.load("one").id, head=JobHead(name="One", units="mm"))
        with pytest.raises(InputError, match="beginning"):
            store.undo("one")


def test_opening_the_file_again_does_not_drop_a_lock_of_this_process(store: Any) -> None:
    code = (
        "import sqlite3, sys; sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None).execute('BEGIN IMMEDIATE')"
    )
    with store.rows.writing():
        JobStore.open(store.path).close()
        other = subprocess.run(
            [sys.executable, "-c", code, str(store.path)], capture_output=True, text=True, check=False
        )
    assert "database is locked" in other.stderr
    assert subprocess.run([sys.executable, "-c", code, str(store.path)], check=False).returncode == 0


def test_many_at_once_make_one_file_and_none_loses_a_save(tmp_path: Path) -> None:
    path = tmp_path / "shop.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", JobHead(name="Orchard"))
    plain = msgspec.structs.replace(a_run(), area="")
    fresh = tmp_path / "fresh.rwshop"

    def work(name: str) -> None:
        with JobStore.open(fresh, create=True) as new:
            new.create_job(f"job-{name}", JobHead(name=name))
        with JobStore.open(path) as mine:
            for n in range(15):
                mine.save_run("orchard", msgspec.structs.replace(plain, id=new_id(), key=f"{name}-{n}"), 0, by=name)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(work, ["a", "b", "c", "d"]))
    with JobStore.open(path) as store:
        assert {k.value.key for k in store.runs("orchard")} == {f"{w}-{n}" for w in "abcd" for n in range(15)}
    with JobStore.open(fresh) as store:
        assert sorted(store.jobs()) == ["job-a", "job-b", "job-c", "job-d"]
    assert sorted(p.name for p in tmp_path.iterdir() if not p.name.endswith(("-journal", ".numbers"))) == [
        "fresh.rwshop",
        "shop.rwshop",
    ]
