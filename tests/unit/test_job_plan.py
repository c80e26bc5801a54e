"""Planning all runs: one unit of work, the same answer in this process, in others, and on a cluster."""

import json
import pickle
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, UnknownName
from racewright.job import plan_job as module
from racewright.job.batch import plan_chunks
from racewright.job.materials import wanted_pieces
from racewright.job.plan_job import chunks_of, plan_chunk, plan_job, run_digest
from racewright.operations.answer import ask_json
from racewright.plan.plan_run import plan_run
from racewright.records.before import tool_before
from racewright.records.ids import new_id
from racewright.records.model import Job, JobHead, JobRun, Stock
from racewright.records.person import accuracy_of
from racewright.records.prices import decimal
from racewright.records.tool import ToolAt
from racewright.store.job_file import load_job
from racewright.store.plan_cache import PlanCache
from racewright.store.survey_file import read_survey_file
from racewright.survey.written import WrittenPart
from racewright.tools.benders import default_bender

EXAMPLES = Path(__file__).parents[2] / "examples"
JOB = load_job(EXAMPLES / "orchard-job.json")
QUICK = msgspec.structs.replace(JOB, runs=tuple(r for r in JOB.runs if r.key != "PS-01"))


def with_survey(run: JobRun, **changes: Any) -> JobRun:
    inner = msgspec.structs.replace(run.survey.run, **changes)
    return msgspec.structs.replace(run, survey=msgspec.structs.replace(run.survey, run=inner))


def test_the_demo_job_plans_whole_without_a_problem() -> None:
    planned = list(plan_job(JOB))
    assert len(planned) == 40
    assert [p.trouble for p in planned if p.trouble] == []
    assert [f.message for p in planned for f in p.plan.findings if f.severity == "problem"] == []
    assert {r.area for r in JOB.runs} == {a.name for a in JOB.head.areas}


def test_the_committed_demo_job_is_what_its_script_makes(tmp_path: Path) -> None:
    import runpy

    made = runpy.run_path(str(EXAMPLES / "make_orchard_job.py"))
    assert made["make_job"]() == JOB


def test_a_summary_says_what_the_plan_says() -> None:
    run = JOB.runs[0]
    (summary,) = plan_chunk(chunks_of(JOB, [run])[0])
    plan = plan_run(read_survey_file(EXAMPLES / "pump-house-saddle.yaml").survey)
    assert summary.outcome == "planned"
    assert [p.cut_length_mm for p in summary.pieces] == [p.cut_length_mm for p in plan.pieces]
    assert summary.developed_length_mm == plan.developed_length_mm


def test_one_bad_run_does_not_stop_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    first = JOB.runs[0]
    bad = [
        with_survey(first, bender="no-such-shoe"),
        with_survey(first, walk=first.survey.run.walk[:0]),
        with_survey(first, raceway="EMT 9"),
        first,
    ]
    outcomes = [s.outcome for s in plan_chunk(chunks_of(JOB, bad)[0])]
    assert outcomes == ["refused", "to measure", "refused", "planned"]
    planned = list(plan_job(Job(head=JOB.head, runs=tuple(bad))))
    assert [p.plan is None for p in planned] == [True, True, True, False]
    assert isinstance(planned[0].trouble, UnknownName)
    monkeypatch.setattr(module, "_plan", lambda run, benders, choices: 1 / 0)
    (fault,) = plan_chunk(chunks_of(JOB, [first])[0])
    assert (fault.outcome, fault.message) == ("fault", "ZeroDivisionError: division by zero")


def test_a_bender_kept_in_the_job_is_used_and_changes_the_digest() -> None:
    shoe = msgspec.structs.replace(default_bender("EMT", "1/2"), name="Kim's shoe", radius_mm=120.0)
    wide = msgspec.structs.replace(shoe, radius_mm=130.0)
    run = with_survey(JOB.runs[0], bender="kim's shoe")
    tool, wider = tool_before(shoe), tool_before(wide, 2)
    both = job_of(tool, wider)
    (named,) = plan_job(msgspec.structs.replace(both, runs=(run,)))
    assert named.plan is not None
    assert named.plan.pieces[0].bend_radius_mm == 130.0  # a name alone means the tool as it stands
    pinned = msgspec.structs.replace(run, tool=tool.pin)
    (plan,) = plan_job(msgspec.structs.replace(both, runs=(pinned,)))
    assert plan.plan is not None
    assert plan.plan.pieces[0].bend_radius_mm == 120.0
    assert plan.plan.bender is not None
    for field in ("radius_mm", "arrow_lead_mm", "star_mm", "hook_reach_mm", "grip_mm", "take_up_mm", "gain_mm"):
        assert getattr(plan.plan.bender, field) == pytest.approx(getattr(shoe, field), abs=1e-11), field
    assert run_digest(run, job_of(tool)) != run_digest(run, job_of(wider))
    assert run_digest(pinned, both) == run_digest(pinned, job_of(tool))
    assert run_digest(JOB.runs[0], job_of(tool)) == run_digest(JOB.runs[0], job_of())
    noted = msgspec.structs.replace(run, id=new_id(), key="other", note="x")
    assert run_digest(run, job_of(tool)) == run_digest(noted, job_of(tool))


def test_a_tool_that_a_run_names_goes_before_its_surveys_word_and_is_missed_where_it_is_not_there() -> None:
    tool = tool_before(msgspec.structs.replace(default_bender("EMT", "1/2"), name="Kim's shoe", radius_mm=120.0))
    run = msgspec.structs.replace(with_survey(JOB.runs[0], bender="emt-1/2"), tool=tool.pin)
    (plan,) = plan_job(msgspec.structs.replace(job_of(tool), runs=(run,)))
    assert plan.plan is not None
    assert plan.plan.bender is not None
    assert plan.plan.bender.name == "Kim's shoe"
    (lost,) = plan_job(msgspec.structs.replace(job_of(), runs=(run,)))
    assert lost.plan is None
    assert f"({tool.id[:6]}, revision 1) is not among the tools here" in lost.why_not
    by_radius = msgspec.structs.replace(with_survey(run, bender="", bend_radius="5 in"), tool=tool.pin)
    (plan,) = plan_job(msgspec.structs.replace(job_of(tool), runs=(by_radius,)))
    assert plan.plan is not None
    assert plan.plan.pieces[0].bend_radius_mm == pytest.approx(127.0)  # written for this run alone


def job_of(*tools: ToolAt) -> Job:
    return Job(head=JobHead(name="x"), tools=tools)


def test_a_run_is_planned_from_the_sticks_that_the_job_buys() -> None:
    """The job's sticks, where the survey names none: plan, digest and every chunk follow them."""
    run = msgspec.structs.replace(with_survey(JOB.runs[0], stock=()), area="")
    raceway = run.raceway
    head = JobHead(name="x", units="in", stock=(Stock(raceway=raceway, length="20 ft"),))
    on_hand = JobHead(name="x", stock=(Stock(raceway=raceway, length="20 ft", count=3),))
    (plan,) = plan_job(Job(head=head, runs=(run,)))
    assert plan.plan is not None
    assert [p.stock_mm for p in plan.plan.pieces] == [pytest.approx(6096.0)]
    bought = Job(head=head)
    assert run_digest(run, bought) != run_digest(run, job_of())
    assert run_digest(run, Job(head=on_hand)) == run_digest(run, job_of())
    (told,) = plan_chunk(chunks_of(bought, [run])[0])
    assert told.digest == run_digest(run, bought)
    own = with_survey(run, stock=("12 ft",))
    assert run_digest(own, bought) == run_digest(own, job_of())
    metric = msgspec.structs.replace(head, units="mm", stock=(Stock(raceway=raceway, length=6000),))
    (plan,) = plan_job(Job(head=metric, runs=(run,)))
    assert plan.plan is not None
    assert plan.plan.pieces[0].stock_mm == pytest.approx(6000.0)


def test_the_same_run_asked_for_with_its_jobs_head_is_planned_from_the_same_sticks() -> None:
    """As a phone asks for the run at hand, whose lists ask for the job: one plan, and new marks of the same piece."""
    run = msgspec.structs.replace(with_survey(JOB.runs[0], stock=()), area="")
    head = JobHead(name="x", stock=(Stock(raceway=run.raceway, length="20 ft"),))
    (told,) = plan_job(Job(head=head, runs=(run,)))
    assert told.plan is not None
    asked = msgspec.to_builtins({"survey": run.survey, "head": head})
    got = json.loads(ask_json("plan", json.dumps(asked)))["plan"]
    assert got["digest"] == told.plan.digest
    assert [piece["stock_mm"] for piece in got["pieces"]] == [pytest.approx(6096.0)]
    alone = json.loads(ask_json("plan", json.dumps({"survey": asked["survey"]})))["plan"]
    assert [piece["stock_mm"] for piece in alone["pieces"]] == [pytest.approx(3048.0)]
    assert alone["digest"] == got["digest"]  # the same piece, of whichever stick
    marks = json.dumps({**asked, "made": [{"number": 1}]})
    assert "error" not in json.loads(ask_json("remark", marks))


def test_a_stick_that_a_plan_takes_whole_is_not_cut_from_a_longer_one() -> None:
    """Its ends are the stick's own; what is cut of a stick may come from any that is long enough."""
    run = msgspec.structs.replace(with_survey(JOB.runs[0], stock=("10 ft",), walk=(WrittenPart(leg="25 ft"),)), area="")
    (told,) = plan_job(Job(head=JobHead(name="x", units="in"), runs=(run,)))
    assert told.plan is not None
    pieces = wanted_pieces(run, told.plan)
    assert [p.whole for p in pieces] == [p.stock_mm - p.cut_length_mm < 0.5 for p in told.plan.pieces]
    assert {p.whole for p in pieces} == {True, False}
    assert {p.length_mm for p in pieces if p.whole} == {3048.0}


def test_chunks_cover_every_run_once_and_travel() -> None:
    chunks = chunks_of(JOB, JOB.runs, 7)
    assert [r.key for c in chunks for r in c.runs] == [r.key for r in JOB.runs]
    assert pickle.loads(pickle.dumps(chunks)) == chunks


def test_other_processes_give_the_same_answers() -> None:
    chunks = chunks_of(QUICK, QUICK.runs[:20], 5)
    here = {s.key: s for part in plan_chunks(chunks, processes=1) for s in part}
    there = {s.key: s for part in plan_chunks(chunks, processes=2) for s in part}
    assert there == here
    assert len(here) == 20


def test_stopping_early_ends_the_processes() -> None:
    import multiprocessing

    with closing(plan_chunks(chunks_of(QUICK, QUICK.runs, 2), processes=2)) as results:
        assert next(results)
    began = time.monotonic()
    while multiprocessing.active_children() and time.monotonic() - began < 20:
        time.sleep(0.02)
    assert multiprocessing.active_children() == []


def test_a_dask_cluster_gives_the_same_answers() -> None:
    distributed = pytest.importorskip("distributed")
    chunks = chunks_of(QUICK, QUICK.runs[:12], 3)
    here = {s.key: s for part in plan_chunks(chunks, processes=1) for s in part}
    settings = {
        "n_workers": 2,
        "threads_per_worker": 1,
        "host": "127.0.0.1",
        "dashboard_address": ":0",
        "silence_logs": 50,
    }
    with distributed.LocalCluster(processes=True, **settings) as cluster:
        place = cluster.scheduler_address.replace("tcp://", "dask://")
        there = {s.key: s for part in plan_chunks(chunks, on=place) for s in part}
    assert there == here


def test_an_address_that_is_no_scheduler_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("racewright.job.batch.CONNECT_S", 1)
    chunks = chunks_of(QUICK, QUICK.runs[:1])
    with pytest.raises(InputError, match="cannot use 'tcp://x'"):
        list(plan_chunks(chunks, on="tcp://x"))
    with pytest.raises(InputError, match="no Dask scheduler answers"):
        list(plan_chunks(chunks, on="dask://127.0.0.1:9"))


def test_the_cache_goes_on_where_it_was_and_passes_over_torn_lines(tmp_path: Path) -> None:
    shop = tmp_path / "s.rwshop"
    results = plan_chunk(chunks_of(QUICK, QUICK.runs[:4])[0])
    PlanCache(shop).add(results[:2])
    PlanCache(shop).add(results[2:])
    cache = PlanCache(shop)
    assert [cache.get(r.digest) for r in results] == list(results)
    raw = cache.path.read_bytes()
    cache.path.write_bytes(raw[:-10].replace(b'cut_length_mm\\":1', b'cut_length_mm\\":2', 1))
    torn = PlanCache(shop)
    known = [torn.get(r.digest) for r in results]
    assert known.count(None) == 2
    assert all(k is None or k in results for k in known)
    torn.add(results)
    assert [PlanCache(shop).get(r.digest) for r in results] == list(results)


def test_a_written_survey_is_the_files_own(tmp_path: Path) -> None:
    for path in sorted(EXAMPLES.glob("*.yaml")):
        written = read_survey_file(path).written
        assert msgspec.convert(msgspec.to_builtins(written), type(written)) == written
    (tmp_path / "bad.yaml").write_text("run: {name: x}", encoding="utf-8")
    with pytest.raises(InputError, match=r"bad\.yaml"):
        read_survey_file(tmp_path / "bad.yaml")


def test_people_and_money() -> None:
    sam = accuracy_of(JOB.people[1])
    assert sam.mark_mm == pytest.approx(3.175, abs=1e-12)
    assert str(decimal("14.20", "price")) == "14.20"
    assert decimal(None, "price") is None
    for text in ("=1+1", "-1", "1e999999999x", "NaN", "inf", ""):
        with pytest.raises(InputError):
            decimal(text, "price")


def test_a_door_without_a_part_for_files_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """The browser's engine has no writers of files: it sends the asker on, and calls it no fault."""
    data = {"job": {"racewright_job": 1, "head": {"name": "Orchard"}}}
    for name in ("racewright.exports", "racewright.exports.pdf"):
        monkeypatch.setitem(sys.modules, name, None)
    refused = json.loads(ask_json("job_pack", json.dumps(data)))["error"]
    assert (refused["kind"], refused["hint"]) == ("missing", "ask the command or the server for it")
    assert json.loads(ask_json("job_pack", json.dumps(data | {"form": "svg"})))["pages"] > 3


def test_a_refused_job_of_a_request_is_told_by_its_path() -> None:
    run: Any = {"key": "A", "survey": {"run": {"name": "x", "raceway": "EMT 1/2", "walk": [{"leg": "1", "width": 3}]}}}
    data: Any = {"job": {"racewright_job": 1, "head": {"name": "Orchard"}, "runs": [run]}}
    refused = json.loads(ask_json("job_bill", json.dumps(data)))["error"]
    assert refused["field"].startswith("job.runs[0].survey.run.walk[0]")
    del run["survey"]["run"]["walk"][0]["width"]
    crowd = [{**run, "key": f"A-{n}"} for n in range(61)]
    many = json.loads(ask_json("job_plan", json.dumps({"job": {**data["job"], "runs": crowd}})))["error"]
    assert (many["kind"], many["field"], many["asked"], many["limit"]) == ("limit", "job.runs", 61, 60)
    data["job"] |= {"racewright_job": 4, "entries": [{"run": "0" * 32, "what": {"kind": "note", "note": "wet"}}]}
    assert json.loads(ask_json("job_status", json.dumps(data)))["error"]["field"] == "job.entries[0].run"
