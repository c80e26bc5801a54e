"""A shop file made before tools were records of the shop (`shop_version_3/README.md`), brought up to date: the copies
that its jobs held are tools, and no plan has moved."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from racewright.job.plan_job import plan_job
from racewright.records.model import JobHead, JobRun
from racewright.records.of_plan import of_plan
from racewright.records.tool import Tool, ToolPin
from racewright.store.job_file import job_from_json, job_to_json, load_job
from racewright.store.job_protocol import since
from racewright.store.job_store import JobStore

HERE = Path(__file__).parent / "shop_version_3"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return Path(shutil.copy(HERE / "orchard.rwshop", tmp_path / "orchard.rwshop"))


def test_it_is_kept_beside_and_brought_up_to_date_once(shop: Path) -> None:
    old = shop.read_bytes()
    JobStore.open(shop).close()
    beside = shop.with_name("orchard.rwshop.before-version-9")
    with closing(sqlite3.connect(beside)) as db:
        assert db.execute("PRAGMA user_version").fetchone()[0] == 3
    again = Path(shutil.copy(beside, shop.with_name("again.rwshop")))
    new = shop.read_bytes()
    assert new != old
    with JobStore.open(shop) as store, JobStore.open(again) as other:
        assert since(store, 0).shop == since(other, 0).shop != ""  # one shop, as long as nothing else is said of it
        assert store.jobs() == ("orchard", "shed")
        assert store.tools() == other.tools()
        assert store.load("orchard") == other.load("orchard")
        store.check()
    assert shop.read_bytes() == new


def test_equal_copies_are_one_tool_and_other_figures_under_a_name_its_next_revision(shop: Path) -> None:
    with JobStore.open(shop) as store:
        assert [(kept.value.name, kept.revision) for kept in store.tools()] == [("blue-half", 2), ("bench-half", 1)]
        blue, bench = (kept.value.id for kept in store.tools())
        orchard, shed = store.load("orchard"), store.load("shed")
        assert [run.tool for run in orchard.runs] == [
            ToolPin(id=blue, revision=1),
            ToolPin(id=blue, revision=1),  # its survey says Blue-Half
            ToolPin(id=bench, revision=1),
        ]
        assert [run.tool for run in shed.runs] == [ToolPin(id=blue, revision=2), ToolPin(id=bench, revision=1)]
        first, second = (revision.value for revision in reversed(store.history(blue)))
    assert isinstance(first, Tool)
    assert isinstance(second, Tool)
    assert (first.profile.take_up, second.profile.take_up) == ("128.5875 mm", "130.175 mm")


@pytest.mark.parametrize("key", ["orchard", "shed"])
def test_no_plan_has_moved(shop: Path, key: str) -> None:
    """The digest of a plan stands on cards and in entries: each run answers to the one that the program before gave
    it."""
    told = json.loads((HERE / f"{key}-plan.json").read_text())["runs"]
    with JobStore.open(shop) as store:
        job = store.load(key)
    for job_now in (job, load_job(HERE / f"{key}-job-2.json")):
        plans = {p.key: p.plan for p in plan_job(job_now)}
        assert {name: plan.digest_before for name, plan in plans.items() if plan} == {
            row["run"]: row["plan"]["marks"] for row in told
        }
        pinned = [
            (entry.pins.marks, getattr(plans[run.key], "digest", ""))
            for run in job_now.runs
            for entry in of_plan(job_now.entries_of(run), plans[run.key])
            if entry.pins.marks
        ]
        assert pinned or job_now is not job, "the shop's entries name plans, those of the shed's file do not"
        assert all(marks == now for marks, now in pinned)
        lengths = {name: plan.developed_length_mm for name, plan in plans.items() if plan}
        assert lengths == {row["run"]: pytest.approx(row["plan"]["developed_length_mm"], abs=1e-9) for row in told}


def test_the_history_is_whole_and_every_revision_names_its_tool(shop: Path) -> None:
    with JobStore.open(shop) as store:
        blue = store.tools()[0].value.id
        third = store.load("orchard").runs[2]
        tools = [
            r.value.tool and r.value.tool.id == blue for r in store.history(third.id) if isinstance(r.value, JobRun)
        ]
        assert tools == [False, None, False]  # bench-half, a survey without a tool, bench-half again
        heads = [revision.value for revision in store.history(store.load("orchard").id)]
        assert len(heads) == 3
        assert all(type(head) is JobHead for head in heads)
        (refused,) = (one for one in store.refused("orchard") if isinstance(one.value, JobRun))
        assert isinstance(refused.value, JobRun)
        assert refused.value.tool == ToolPin(id=blue, revision=1)
        assert len(store.changes("orchard")) == len(json.loads((HERE / "orchard-job-2.json").read_text())["runs"]) + 10
        store.undo("orchard", by="Kim")  # the last run taken out comes back
        assert [run.key for run in store.load("orchard").runs] == ["PH-01", "PH-02", "PH-03", "WS-01"]
        store.check()


@pytest.mark.parametrize("key", ["orchard", "shed"])
def test_a_job_says_what_it_said_and_its_old_file_reads_as_the_same(shop: Path, key: str) -> None:
    before = load_job(HERE / f"{key}-job-2.json")
    with JobStore.open(shop) as store:
        now = store.load(key)
    assert (now.head, now.id) == (before.head, before.id)
    assert [(run.key, run.survey) for run in now.runs] == [(run.key, run.survey) for run in before.runs]
    assert now.entries[: len(before.entries)] == before.entries  # it was planned once more after it was written
    assert job_from_json(job_to_json(now)) == now


def test_an_old_job_file_comes_into_the_shop_on_the_tools_that_are_there(shop: Path) -> None:
    with JobStore.open(shop) as store:
        store.create_job("again", load_job(HERE / "shed-job-2.json"))
        assert len(store.tools()) == 2  # what the file calls blue-half is its second revision here
        again, shed = store.load("again"), store.load("shed")
        assert [run.tool for run in again.runs] == [run.tool for run in shed.runs]
        plans = [{p.key: p.plan.digest for p in plan_job(job) if p.plan} for job in (again, shed)]
        assert plans[0] == plans[1]
        store.check()
