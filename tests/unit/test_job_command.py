"""`racewright job`: as typed, from an empty folder to a planned job, and what goes wrong in between."""

import json
import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import msgspec
import pytest
from typed import type_in

from racewright import __version__
from racewright.cli.main import main
from racewright.errors import InputError, LimitError
from racewright.fit.measured import ApexRise, BendAngle, LegLean, OffAt
from racewright.job.plan_job import plan_one
from racewright.records.entry import Corrected, Pins, Readings, StatusSet
from racewright.records.ids import new_id
from racewright.records.model import Job, JobHead
from racewright.records.tool import ToolPin
from racewright.store.job_errors import DamagedFile, StaleSave
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.store.places import own_shop
from racewright.store.plan_cache import PlanCache
from racewright.store.shop_tools import keep_tool
from racewright.tools.written import BenderRecord, profile_of

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--name", "Orchard cooperative", "--by", "Kim") == 0
    return empty_folder


def look() -> JobStore:
    return JobStore.open("jobs.rwshop")


def test_from_surveys_to_a_planned_job(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert type_in("add", SADDLE, STUB, "--area", "Pump house", "--by", "Kim") == 0
    capsys.readouterr()
    assert type_in("plan", "--by", "Kim") == 0
    out, err = capsys.readouterr()
    assert "2 of 2 runs planned without a problem" in out
    assert err == ""  # no bar where there is no terminal
    assert type_in("plan") == 0
    assert "0 worked out now" in capsys.readouterr().out
    assert type_in("plan", "--again", "--json") == 0
    assert [r["plan"]["outcome"] for r in json.loads(capsys.readouterr().out)["runs"]] == ["planned", "planned"]
    assert type_in("set", "in", "workshop-panel-stub") == 0
    assert type_in("status") == 0
    out = capsys.readouterr().out
    assert "Pump house\n" in out
    assert "0 measured, 1 planned, 0 bent, 1 in place, 0 wired" in out
    assert type_in("status", "--json") == 0
    assert [r["status"] for r in json.loads(capsys.readouterr().out)["runs"]] == ["planned", "in"]
    assert type_in("list") == 0
    assert "Orchard cooperative: 2 runs (1 planned, 1 in place)" in capsys.readouterr().out


def test_adding_is_one_change_and_undo_takes_all_of_it_back(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, STUB, "--area", "Workshop", "--by", "Kim")
    with pytest.raises(InputError, match="not yours"):
        type_in("undo", "--by", "Sam")
    assert type_in("undo", "--by", "Kim") == 0
    with look() as store:
        assert store.runs("orchard") == ()
        assert store.head("orchard").value.areas == ()
    assert type_in("redo", "--by", "Kim") == 0
    with look() as store:
        assert [k.value.key for k in store.runs("orchard")] == ["pump-house-saddle", "workshop-panel-stub"]
    type_in("log")
    assert "undo: added: pump-house-saddle" in capsys.readouterr().out


def test_a_new_survey_makes_the_plan_void_and_a_stale_one_is_refused(
    here: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    type_in("add", SADDLE, "--key", "PH-01", "--by", "Kim")
    type_in("plan", "--by", "Kim")
    text = Path(SADDLE).read_text(encoding="utf-8")
    (tmp_path / "new.yaml").write_text(text.replace("56 1/4", "56"), encoding="utf-8")
    with pytest.raises(InputError, match="has a run 'PH-01' already"):
        type_in("add", "new.yaml", "--key", "ph-01")
    assert type_in("add", "new.yaml", "--key", "PH-01", "--replace", "--revision", "1") == 0
    assert "already" not in capsys.readouterr().err
    (tmp_path / "late.yaml").write_text(text.replace("56 1/4", "55"), encoding="utf-8")
    with pytest.raises(StaleSave):
        type_in("add", "late.yaml", "--key", "PH-01", "--replace", "--revision", "1", "--by", "Sam")
    capsys.readouterr()
    type_in("log", "PH-01", "--refused")
    assert (refused := capsys.readouterr().out).count("leg 1, length: refused '55', stands '56'") == 1
    with pytest.raises(InputError, match="run PH-01 has no revision 7; 2 stands"):
        type_in("add", "late.yaml", "--key", "PH-01", "--replace", "--revision", "7", "--by", "Sam")
    type_in("log", "PH-01", "--refused")
    assert capsys.readouterr().out == refused, "nothing was made from it, so nothing of it is kept"
    with look() as store:
        kept = store.run("orchard", "PH-01")
        assert (kept.value.survey.run.walk[0].leg, kept.revision) == ("56", 2)
        assert store.load("orchard").status(kept.value) == "measured"
    assert type_in("undo", "PH-01", "--to", "1") == 0
    capsys.readouterr()
    type_in("log", "PH-01")
    assert "leg 1, length: '56 1/4', was '56'" in capsys.readouterr().out


def test_what_was_measured_is_kept_in_mm_and_radians(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    args = [
        "--angle",
        "2=44.5",
        "--rise",
        "2=2 3/4",
        "--off",
        "up=-1/8@10 in",
        "--lean",
        "left=0.5",
        "--corrected",
        "1=-1.5",
    ]
    assert type_in("record", "PH-01", *args, "--note", "near the pump", "--by", "Kim") == 0
    with look() as store:
        job, run = store.load("orchard"), store.run("orchard", "PH-01").value
    plan = plan_one(run, job)
    seen, made, came = job.entries_of(run)
    assert came.what == StatusSet(status="bent")
    assert isinstance(seen.what, Readings)
    assert isinstance(made.what, Corrected)
    assert (seen.by, seen.piece, seen.what.note, came.piece) == ("Kim", 1, "near the pump", None)
    pins = Pins(run=1, tool=plan.bender.name if plan.bender else "", engine=__version__, marks=plan.digest)
    assert [entry.pins for entry in (seen, made, came)] == [pins] * 3
    angle, rise, off, lean = seen.what.measured
    assert isinstance(angle, BendAngle)
    assert isinstance(rise, ApexRise)
    assert isinstance(off, OffAt)
    assert isinstance(lean, LegLean)
    assert angle.angle_rad == pytest.approx(0.776672, abs=1e-6)
    assert (rise.rise_mm, off.off_mm, off.station_mm) == pytest.approx((69.85, -3.175, 254.0), abs=1e-9)
    assert lean.lean_rad == pytest.approx(0.0087266, abs=1e-6)
    assert made.what.moves[0].by_rad == pytest.approx(-0.0261799, abs=1e-6)
    capsys.readouterr()
    assert type_in("show", "PH-01") == 0
    out = capsys.readouterr().out
    assert "mark 2 has 44.5°" in out
    assert "corrected: mark 1 opened 1.5°" in out
    assert "disconnect" in out  # the card
    for bad in (
        ["--angle", "two=4"],
        ["--angle", "2"],
        ["--angle", "2=x"],
        ["--off", "sideways=1"],
        ["--rise", "2=-1"],
        [],
    ):
        with pytest.raises(InputError):
            type_in("record", "PH-01", *bad)


def test_a_survey_goes_out_and_in_again_unchanged(
    here: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    capsys.readouterr()
    assert type_in("show", "PH-01", "--survey") == 0
    out, err = capsys.readouterr()
    assert err == "revision 1\n"
    (tmp_path / "out.json").write_text(out, encoding="utf-8")
    type_in("add", "out.json", "--key", "PH-02")
    with look() as store:
        first, second = store.runs("orchard")
    assert first.value.survey == second.value.survey


def test_whole_jobs_out_and_in(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert type_in("import", str(EXAMPLES / "orchard-job.json"), "--key", "demo") == 0
    assert "it is the current job" in capsys.readouterr().out
    assert type_in("export", "out.json") == 0
    out, demo = load_job("out.json"), load_job(EXAMPLES / "orchard-job.json")
    assert all(entry.at for entry in out.entries)  # when it came in, where nobody says more
    as_demo = tuple(
        msgspec.structs.replace(entry, at=old.at) for entry, old in zip(out.entries, demo.entries, strict=True)
    )
    assert msgspec.structs.replace(out, entries=as_demo) == demo
    capsys.readouterr()
    assert type_in("export", "-", "--job", "orchard") == 0
    assert json.loads(capsys.readouterr().out)["runs"] == []
    assert type_in("use", "ORCHARD") == 0
    assert type_in("list") == 0
    assert "current job: orchard" in capsys.readouterr().out
    (beside,) = Path().glob("jobs.rwshop.current*")  # each person's own
    beside.write_text("vineyard", encoding="utf-8")
    with pytest.raises(InputError, match="holds 2 jobs, and none is the current one") as caught:
        type_in("status")
    assert "racewright job use KEY" in caught.value.hint
    with pytest.raises(InputError, match="no job 'vineyard'"):
        type_in("use", "vineyard")


def test_a_damaged_shop_is_recovered(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    Path("jobs.rwshop").write_bytes(Path("jobs.rwshop").read_bytes()[:9000])
    with pytest.raises(DamagedFile):
        type_in("status")
    assert type_in("recover") == 0
    assert type_in("check") == 0
    assert "whole; 1 job" in capsys.readouterr().out
    with look() as store:
        assert store.run("orchard", "PH-01").revision == 1


def test_a_run_that_cannot_be_planned_is_named_and_makes_the_exit_code_one(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with look() as store:
        run = msgspec.structs.replace(load_job(EXAMPLES / "orchard-job.json").runs[0], area="")
        inner = msgspec.structs.replace(run.survey.run, bender="lost-shoe")
        bad = msgspec.structs.replace(run, survey=msgspec.structs.replace(run.survey, run=inner))
        store.save_run("orchard", bad, 0)
    assert type_in("plan") == 1
    out = capsys.readouterr().out
    assert "PH-01: refused: the job holds no bender 'lost-shoe'" in out
    assert "0 of 1 run planned" in out


def test_the_bar_is_drawn_on_a_terminal_only(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from racewright.cli.job.batch import _Bar

    _Bar(40, 0).show(20)
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    bar = _Bar(40, 10)
    bar.show(20)
    bar.close()
    assert "###############...............] 20/40 runs" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="sends the signal of Ctrl-C")
def test_a_stopped_batch_goes_on_where_it_was(tmp_path: Path) -> None:
    demo = load_job(EXAMPLES / "orchard-job.json")
    first = demo.runs[0]
    runs = []
    for n in range(600):  # each another length, so that each is planned for itself; far more than one glance takes
        walk = (msgspec.structs.replace(first.survey.run.walk[0], leg=f"{1390 + n / 4} mm"),)
        survey = msgspec.structs.replace(first.survey, run=msgspec.structs.replace(first.survey.run, walk=walk))
        runs.append(msgspec.structs.replace(first, id=new_id(), key=f"S-{n}", area="", survey=survey))
    shop = tmp_path / "s.rwshop"
    with JobStore.open(shop, create=True) as store:
        store.create_job("slow", Job(head=JobHead(name="Slow"), runs=tuple(runs)))
    code = "import argparse, sys; from racewright.cli import cmd_job as c; p = argparse.ArgumentParser()\n"
    code += "c.add_arguments(p)\nif __name__ == '__main__': sys.exit(c.run(p.parse_args(sys.argv[1:])))"
    command = [sys.executable, "-c", code, "plan", "--shop", str(shop), "--processes", "2"]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    pipe = subprocess.PIPE
    # a shell that runs the tests in the background has SIGINT ignored, and children take that over: undone here
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    child = subprocess.Popen(command, env=env, stderr=pipe, stdout=pipe, text=True, preexec_fn=heard)
    began = time.monotonic()
    while not PlanCache(shop).known and time.monotonic() - began < 60:
        time.sleep(0.02)
    child.send_signal(signal.SIGINT)
    _, err = child.communicate(timeout=20)
    assert child.returncode != 0
    assert "the same command goes on from here" in err
    known = len(PlanCache(shop).known)
    assert 0 < known < 600
    with JobStore.open(shop) as store:
        job = store.load("slow")
        assert sum(job.status(run) == "planned" for run in job.runs) == known


def test_what_is_recorded_is_on_the_piece(here: Path) -> None:
    """A bend, piece or place that the run does not have is refused, for readings and corrections alike."""
    type_in("add", SADDLE, "--key", "PH-01")
    for wrong, words in (
        (["--angle", "7=44"], "mark 7 was named, and the piece has 3 marks"),
        (["--rise", "4=3"], "mark 4 was named, and the piece has 3 marks"),
        (["--corrected", "5=-1"], "mark 5 was named, and the piece has 3 marks"),
        (["--angle", "1=22", "--piece", "2"], "piece 2 was named, and the run has 1 piece"),
        (["--off", "up=1/8@30 ft"], "is not on the piece"),
        (["--off", "up=90 ft"], 'cannot be off by 1080"; the most is 117 13/16"'),
        (["--lean", "down=90"], "a last leg that leans by 90° has another bend before it; the most is 60°"),
        (["--corrected", "2=90"], "a bend that is closed by 90° becomes another bend; the most is 60°"),
        (["--corrected", "2=-61"], "a bend that is opened by 61° becomes another bend; the most is 60°"),
        (["--rise", "2=90 ft"], 'cannot rise by 1080"; the most is 58 7/8"'),
    ):
        with pytest.raises((InputError, LimitError), match=words) as caught:
            type_in("record", "PH-01", *wrong)
        assert caught.value.hint
    with look() as store:
        assert store.entries("orchard") == ()


SHED = "units: in\nrun:\n  name: shed feed\n  raceway: EMT 1/2\n  walk:\n"


def test_a_survey_that_contradicts_itself_is_refused_when_it_is_added(here: Path) -> None:
    """An outside corner has no wall to measure to: the tape goes out again now, not when the job is planned."""
    (here / "shed.yaml").write_text(
        SHED + "    - leg: 55\n      to: wall\n    - turn: toward\n    - leg: 25\n", encoding="utf-8"
    )
    with pytest.raises(InputError) as caught:
        type_in("add", "shed.yaml")
    assert "shed.yaml, line 7: leg 1: run.walk[0].to: " in caught.value.message
    with look() as store:
        assert not store.runs("orchard")


def test_a_run_that_cannot_be_made_is_added_and_the_status_says_so(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    saddle = "    - leg: 55\n      features:\n        - saddle: {centre: 2, height: 3, width: 3}\n"
    (here / "shed.yaml").write_text(SHED + saddle, encoding="utf-8")
    assert type_in("add", "shed.yaml") == 0
    assert "shed: cannot be made: " in capsys.readouterr().err
    assert type_in("status") == 0
    out = capsys.readouterr().out
    assert "CANNOT BE MADE" in out
    assert "problem: shed: cannot be made: " in out


@pytest.mark.parametrize("wrong", ["lost-shoe", "emt-1"])
def test_a_bender_that_cannot_be_taken_is_told_as_plan_tells_it_and_nothing_is_kept(
    here: Path, capsys: pytest.CaptureFixture[str], wrong: str
) -> None:
    text = Path(SADDLE).read_text(encoding="utf-8").replace("run:\n", f"run:\n  bender: {wrong}\n", 1)
    (here / "shed.yaml").write_text(text, encoding="utf-8")
    assert main(["plan", "shed.yaml"]) == 2
    told = capsys.readouterr().err.removeprefix("racewright plan: ")
    assert main(["job", "add", STUB, "shed.yaml"]) == 2
    assert capsys.readouterr().err.removeprefix("racewright job: ") == told
    assert told.startswith("shed.yaml, line ")
    assert "run.bender: " in told
    with look() as store:
        assert store.runs("orchard") == ()


def keep_own(name: str, record: BenderRecord) -> None:
    own_shop().parent.mkdir(exist_ok=True)
    with JobStore.open(own_shop(), create=True) as store:
        keep_tool(store, name, record, replace=True, by="Kim")


def test_an_own_bender_that_a_survey_names_comes_into_the_shop_and_the_run_names_it(here: Path) -> None:
    text = Path(SADDLE).read_text(encoding="utf-8")
    own = BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8", gain="2 3/4")
    # under the name of a hand shoe too: `plan` takes one's own first, and so does the job
    for number, name in enumerate(("emt-1/2", "shed-half"), 1):
        keep_own(name, own)
        (here / "own.yaml").write_text(text.replace("run:\n", f"run:\n  bender: {name}\n", 1), encoding="utf-8")
        assert type_in("add", "own.yaml", "--key", name[:4]) == 0
        with look() as store:
            tool = store.tools()[-1].value
            assert (len(store.tools()), tool.name, tool.profile) == (number, name, own)
            assert store.run("orchard", name[:4]).value.tool == ToolPin(id=tool.id, revision=1)
            plan = plan_one(store.run("orchard", name[:4]).value, store.load("orchard"))
            assert plan.bender is not None
            assert (plan.bender.name, plan.bender.radius_mm) == (name, profile_of(name, own).radius_mm)
    # what the shop holds goes before one's own of the same name that is another by now
    keep_own("shed-half", BenderRecord(raceway="EMT", size="3/4", take_up="6", gain="3 1/4"))
    assert type_in("add", "own.yaml", "--key", "again") == 0
    with look() as store:
        assert len(store.tools()) == 2
        assert store.run("orchard", "again").value.tool == store.run("orchard", "shed").value.tool


def test_runs_are_put_in_an_area_and_a_new_one_is_the_jobs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    saddle = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")
    assert main(["job", "new", "orchard", "--area", "Pump house"]) == 0
    for key in ("PH-1", "PH-2"):
        assert main(["job", "add", saddle, "--key", key]) == 0
    capsys.readouterr()
    assert main(["job", "area", "pump HOUSE", "PH-1", "PH-2"]) == 0
    assert capsys.readouterr().out == "PH-1: in Pump house\nPH-2: in Pump house\n"
    assert main(["job", "area", "Shed", "PH-2"]) == 0
    with JobStore.open("jobs.rwshop") as store:
        job = store.load("orchard")
        assert [area.name for area in job.head.areas] == ["Pump house", "Shed"]
        assert [run.area for run in job.runs] == ["Pump house", "Shed"]
        assert store.changes("orchard")[0].what == "in Shed: PH-2"
    assert main(["job", "undo"]) == 0
    assert main(["job", "area", "", "PH-1"]) == 0
    with JobStore.open("jobs.rwshop") as store:
        job = store.load("orchard")
        assert [area.name for area in job.head.areas] == ["Pump house"]
        assert [run.area for run in job.runs] == ["", "Pump house"]
    assert main(["job", "area", "Shed", "PH-9"]) == 2
    assert "has no run 'PH-9'" in capsys.readouterr().err
