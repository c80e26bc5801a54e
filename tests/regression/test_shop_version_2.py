"""A shop file and a job file made before records had ids (`shop_version_2/README.md`), brought up to date."""

import json
import shutil
import sqlite3
from contextlib import closing
from math import degrees
from pathlib import Path

import pytest

from racewright.cli.main import main
from racewright.fit.measured import BendAngle, OffAt
from racewright.records.entry import Corrected, Entry, Noted, Readings, StatusSet
from racewright.records.model import Job, JobRun
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore

HERE = Path(__file__).parent / "shop_version_2"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "orchard.rwshop", tmp_path / "orchard.rwshop"))


def said(job: Job, key: str) -> list[object]:
    (run,) = (run for run in job.runs if run.key == key)
    return [entry.what for entry in job.entries_of(run)]


def test_it_is_kept_beside_and_brought_up_to_date_once(shop: Path) -> None:
    old = shop.read_bytes()
    JobStore.open(shop).close()
    beside = shop.with_name("orchard.rwshop.before-version-9")
    with closing(sqlite3.connect(beside)) as db:
        assert db.execute("PRAGMA user_version").fetchone()[0] == 2
    again = Path(shutil.copy(beside, shop.with_name("again.rwshop")))
    new = shop.read_bytes()
    assert new != old
    with JobStore.open(shop) as store, JobStore.open(again) as other:
        assert store.load("orchard") == other.load("orchard")  # the same ids, from the same content
    assert shop.read_bytes() == new


def test_runs_and_entries_stand_as_the_old_file_had_them(shop: Path) -> None:
    with JobStore.open(shop) as store:
        assert store.jobs() == ("orchard", "shed")
        job = store.load("orchard")
        shed = store.load("shed")
    assert [(run.key, job.status(run)) for run in job.runs] == [
        ("PH-01", "in"),
        ("PH-02", "measured"),
        ("WS-01", "measured"),
    ]
    assert job.runs[0].survey.run.walk[0].leg == "57 1/4"
    planned, readings, bent, corrected, placed = said(job, "PH-01")
    assert (planned, bent, placed) == tuple(StatusSet(status=s) for s in ("planned", "bent", "in"))
    assert isinstance(readings, Readings)
    angle, off = readings.measured
    assert isinstance(angle, BendAngle)
    assert (angle.number, degrees(angle.angle_rad)) == (2, pytest.approx(44.5))
    assert isinstance(off, OffAt)
    assert (off.off_mm, readings.note) == (pytest.approx(3.175), "rides high")
    assert isinstance(corrected, Corrected)
    assert degrees(corrected.moves[0].by_rad) == pytest.approx(-1.5)
    assert not any(isinstance(what, Noted) for what in said(job, "WS-01"))  # went back to before it was noted
    assert [(run.key, run.survey) for run in shed.runs] == [("WS-01", job.runs[2].survey)]


def test_the_history_is_whole_and_an_undone_reading_was_there(shop: Path) -> None:
    with JobStore.open(shop) as store:
        changes = store.changes("orchard")
        assert [c.number for c in changes] == list(range(21, 0, -1))
        assert [c.number for c in changes if c.undone] == [17, 11, 7]
        ids = {k.value.key: k.value.id for k in store.runs("orchard")}
        counts = {key: len(store.history(one)) for key, one in ids.items()}
        assert counts == {"PH-01": 8, "PH-02": 7, "WS-01": 7}
        assert store.history(ids["PH-02"])[1].value is None
        rows = store.rows.of_change(11)  # recorded by Sam, and undone by change 12
        (entry,) = (row for row in rows if row.kind == "entry")
        revisions = store.history(entry.record)
        assert [(r.change, r.value is None) for r in revisions] == [(12, True), (11, False)]
        (bent,) = (row for row in store.rows.of_change(6) if row.kind == "entry")
        assert [(r.change, r.value is None) for r in store.history(bent.record)] == [(8, False), (7, True), (6, False)]
        first = store.rows.of_change(9)
        who = [r.value for row in first for r in store.history(row.record) if isinstance(r.value, Entry)]
        assert {(e.by, e.at, e.pins.run) for e in who} == {("Kim", changes[12].at, 3)}
        (refused,) = store.refused("orchard")
        assert isinstance(refused.value, JobRun)
        assert (refused.base, refused.found, refused.by) == (1, 7, "Sam")
        assert refused.value.survey.run.walk[0].leg == "57 1/4"


def test_it_goes_on_from_there(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--shop", str(shop), "--job", "orchard", "--by", "Sam"]
    assert main(["job", "undo", *words]) == 0  # 'added: PH-02' anew
    assert main(["job", "undo", *words, "--anyone"]) == 0  # that it was taken out
    assert main(["job", "status", *words[:4], "--json"]) == 0
    out = capsys.readouterr().out
    rows = json.loads(out[out.index("{") :])["runs"]
    assert {row["run"]: row["status"] for row in rows}["PH-02"] == "bent"
    assert main(["job", "redo", *words]) == 0
    with JobStore.open(shop) as store:
        assert [k.value.key for k in store.runs("orchard")] == ["PH-01", "WS-01"]


def test_its_job_file_says_the_same_as_the_shop_file(shop: Path) -> None:
    job = load_job(HERE / "orchard-job-1.json")
    with JobStore.open(shop) as store:
        kept = store.load("orchard")
    assert load_job(HERE / "orchard-job-1.json") == job  # the same ids each time
    assert job.head == kept.head
    told = [[(run.key, run.survey, j.status(run)) for run in j.runs] for j in (job, kept)]
    assert told[0] == told[1]
    mine, theirs = ([w for w in said(j, "PH-01") if not isinstance(w, StatusSet)] for j in (job, kept))
    assert mine == theirs
    assert mine
