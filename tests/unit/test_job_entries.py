"""Entries of runs by command: pinned, shown, taken back, brought in from a file or a device."""

import json
from math import degrees, radians
from pathlib import Path

import msgspec
import pytest
from typed import kept, type_in

from racewright import __version__
from racewright.errors import InputError
from racewright.job.plan_job import plan_one
from racewright.operations.answer import ask_json
from racewright.records.entry import BendMade, Entry, Made, Pins, StatusSet
from racewright.records.ids import digest
from racewright.store.job_file import job_to_data
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore

EXAMPLES = Path(__file__).parents[2] / "examples"

SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")


def test_a_status_pins_the_plan_the_tool_the_program_and_the_revision(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("plan", "--by", "Kim")
    type_in("set", "in", "PH-01", "--by", "Sam")
    job = kept()
    plan = plan_one(job.runs[0], job)
    assert plan.bender is not None
    pins = Pins(run=1, tool=plan.bender.name, engine=__version__, marks=plan.digest)
    assert [(e.what, e.by, e.pins) for e in job.entries] == [
        (StatusSet(status="planned"), "Kim", pins),
        (StatusSet(status="in"), "Sam", pins),
    ]
    capsys.readouterr()
    type_in("log", "PH-01")
    first, second, third = capsys.readouterr().out.splitlines()
    made_with = f"revision 1, plan {plan.digest}, {plan.bender.name}, Racewright {__version__}"
    assert first.endswith(f"Sam  in place  [{made_with}]")
    assert "Kim  planned  [" in second
    assert third.startswith("revision 1  ")
    type_in("set", "in", "PH-01")  # it is already
    assert len(kept().entries) == 2


def test_what_a_person_sets_back_pins_no_marks_and_counts_after_a_tick_that_came_late(here: Path) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("record", "PH-01", "--made", "2=45", "--made", "1=22.5", "--made", "3=22.5")
    made, bent = kept().entries
    late = [msgspec.structs.replace(made, id=digest("late")), msgspec.structs.replace(bent, id=digest("low"))]
    late[1] = msgspec.structs.replace(late[1], what=StatusSet(status="planned"))
    with JobStore.open("jobs.rwshop") as store:
        store.add_entries("orchard", late)
    job = kept()
    assert (job.statuses(job.runs[0]), job.copies_begun(job.runs[0])) == (("bent",), (1,))
    for status, before in (("in", "bent"), ("bent", "in"), ("planned", "bent"), ("measured", "planned")):
        type_in("set", status, "PH-01")
        job = kept()
        assert job.statuses(job.runs[0]) == (status,)
        assert bool(job.entries[-1].pins.marks) == (status == "in"), before
        assert job.copies_begun(job.runs[0]) == (() if status in ("planned", "measured") else (1,))
    type_in("set", "bent", "PH-01")
    request = {
        "job": job_to_data(kept()),
        "run": "PH-01",
        "status": "planned",
        "made": [{"number": 2, "angle_deg": 45}],
    }
    answer = ask_json("job_record", json.dumps(request))
    assert "run PH-01 is set back, and work on it is recorded at once." in answer


def test_bends_made_at_the_bench_are_kept_and_make_no_finished_run(here: Path) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    assert type_in("record", "PH-01", "--made", "2=44.5@26 1/8", "--made", "1=22", "--note", "windy") == 0
    with pytest.raises(InputError, match="mark 7 was named"):
        type_in("record", "PH-01", "--made", "7=20")
    entry, status = kept().entries
    assert isinstance(entry.what, Made)
    second, first = entry.what.bends
    assert (second.number, second.mark_mm) == (2, pytest.approx(663.575))
    assert degrees(second.angle_rad or 0.0) == pytest.approx(44.5)
    assert first == BendMade(number=1, angle_rad=radians(22), by_marks="plan")
    assert (entry.piece, entry.what.note) == (1, "windy")
    assert status.what == StatusSet(status="planned")


def test_undo_of_a_run_takes_back_its_last_change_whatever_that_was(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, STUB, "--by", "Kim")
    type_in("set", "bent", "pump-house-saddle", "workshop-panel-stub", "--by", "Kim")
    type_in("record", "pump-house-saddle", "--angle", "2=44.5", "--by", "Kim")
    capsys.readouterr()
    with pytest.raises(InputError, match="not yours: by Kim"):
        type_in("undo", "pump-house-saddle", "--by", "Sam")
    assert len(kept().entries) == 3
    type_in("undo", "pump-house-saddle", "--by", "Kim")
    assert (
        "pump-house-saddle: taken back: pump-house-saddle measured: mark 2 has 44.5°; status bent"
        in capsys.readouterr().out
    )
    type_in("undo", "pump-house-saddle", "--by", "Sam", "--anyone")
    assert "pump-house-saddle: taken back: bent; status measured" in capsys.readouterr().out
    assert [kept().status(run) for run in kept().runs] == ["measured", "bent"]  # only that run's
    type_in("undo", "--by", "Sam")  # and that is a change like any other
    assert [kept().status(run) for run in kept().runs] == ["bent", "bent"]


def test_going_back_with_a_bent_run_is_told(here: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01", "--by", "Kim")
    type_in("set", "bent", "PH-01", "--by", "Kim")
    type_in("add", STUB, "--key", "PH-01", "--replace", "--by", "Kim")
    assert "PH-01: is bent already" in capsys.readouterr().err
    assert type_in("undo", "PH-01", "--by", "Kim") == 0
    told = capsys.readouterr()
    assert told.out == "PH-01: back to revision 1; status bent\n"
    assert told.err == "", "it has the survey again that it was bent with"
    assert type_in("undo", "PH-01", "--to", "2", "--by", "Kim") == 0
    assert capsys.readouterr().err == "PH-01: is bent already, and its plan changes now\n"
    type_in("add", SADDLE, "--key", "PH-01", "--replace", "--by", "Kim")
    assert capsys.readouterr().err == "", "nor where it comes back by itself"


@pytest.mark.parametrize(
    ("done", "told"),
    [
        (("set", "bent", "PH-01"), "is bent already"),
        (("record", "PH-01", "--made", "1=22.5"), "bends of it are made already"),
    ],
)
def test_a_survey_whose_plan_is_that_by_which_it_was_made_is_not_told(
    done: tuple[str, ...], told: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Names are in no plan: what a new survey calls the run, at once or after another."""
    type_in("add", SADDLE, "--key", "PH-01")
    type_in(*done)
    text = Path(SADDLE).read_text(encoding="utf-8")
    named, moved = Path("named.yaml"), Path("moved.yaml")
    named.write_text(text.replace("name: Pump house", "name: Orchard pump house"), encoding="utf-8")
    moved.write_text(text.replace("26 1/8", "26 5/8"), encoding="utf-8")
    assert len({text, named.read_text(encoding="utf-8"), moved.read_text(encoding="utf-8")}) == 3
    changes = f"PH-01: {told}, and its plan changes now\n"
    for survey, words in ((named, ""), (moved, changes), (named, "")):
        capsys.readouterr()
        type_in("add", str(survey), "--key", "PH-01", "--replace")
        assert capsys.readouterr().err == words
    type_in("undo", "PH-01", "--to", "1")
    assert capsys.readouterr().err == ""
    type_in("undo", "PH-01", "--to", "3")
    assert capsys.readouterr().err == changes


def test_two_who_record_at_once_do_not_refuse_each_other(here: Path) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    run = kept().runs[0]
    with JobStore.open("jobs.rwshop") as kim, JobStore.open("jobs.rwshop") as sam:
        for store, what in (
            (kim, StatusSet(status="bent")),
            (sam, StatusSet(status="in")),
            (kim, StatusSet(status="wired")),
        ):
            store.add_entries("orchard", [Entry(run=run.id, what=what)])
        assert kim.refused("orchard") == ()
    assert kept().status(run) == "wired"


def test_the_log_tells_of_entries_that_were_taken_back(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("record", "PH-01", "--angle", "2=44.5", "--note", "wrong piece", "--by", "Kim")
    type_in("undo", "--by", "Sam", "--anyone")
    assert kept().entries == ()
    capsys.readouterr()
    type_in("log", "PH-01")
    taken = [line for line in capsys.readouterr().out.splitlines() if "  (taken back by Sam, 20" in line]
    assert len(taken) == 2
    assert "PH-01 measured: mark 2 has 44.5°; wrong piece" in taken[1]  # newest first
    type_in("redo", "--by", "Sam")
    capsys.readouterr()
    type_in("log", "PH-01")
    assert "(taken back" not in capsys.readouterr().out


@pytest.mark.parametrize("shop", ["jobs.rwshop", "other.rwshop"])
def test_an_imported_entry_names_no_revision_of_the_shop_it_came_from(
    here: Path, capsys: pytest.CaptureFixture[str], shop: str
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("rename", "PH-01", "PH-02")
    type_in("set", "bent", "PH-02", "--by", "Kim")
    type_in("record", "PH-02", "--note", "stands proud", "--by", "Kim")
    assert [e.pins.run for e in kept().entries] == [2, 2]
    type_in("export", "out.json")
    type_in("import", "out.json", "--key", "again", "--shop", shop, "--by", "Max")
    capsys.readouterr()
    type_in("log", "PH-02", "--job", "again", "--shop", shop)
    note, bent, run = capsys.readouterr().out.splitlines()
    assert "  Kim, by Max  PH-02 note: stands proud  [plan " in note  # newest first
    assert "  Kim, by Max  bent  [plan " in bent
    assert "[revision" not in note + bent
    assert run.startswith("revision 1  ")


def test_what_a_device_did_goes_out_with_by_whom_and_when_and_comes_in_and_out_the_same(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("set", "bent", "PH-01", "--by", "Kim")
    job = kept()
    bare = Entry(run=job.runs[0].id, what=StatusSet(status="in"), pins=Pins(run=1))
    empty = Entry(run=job.runs[0].id, what=StatusSet(status="wired"))
    data = (msgspec.to_builtins(bare), {**msgspec.to_builtins(empty), "pins": {}})
    sent = [Offered(kind="entry", id=one["id"], data=one) for one in data]
    with JobStore.open("jobs.rwshop") as store:
        assert {a.outcome for a in offer(store, job.id, sent, by="phone 1")} == {"saved"}
        at = store.entries("orchard")[-1].at
    type_in("export", "out.json")
    told = json.loads(Path("out.json").read_text())["entries"]
    assert [(one["by"], one["at"]) for one in told[-2:]] == [("phone 1", at)] * 2
    assert not any("run" in one.get("pins", {}) for one in told)
    type_in("import", "out.json", "--key", "orchard", "--shop", "other.rwshop", "--by", "Max")
    type_in("export", "again.json", "--job", "orchard", "--shop", "other.rwshop")
    assert Path("again.json").read_text() == Path("out.json").read_text()
    with JobStore.open("other.rwshop") as store:  # the phone offers to the new shop what it keeps
        answers = offer(store, job.id, sent, by="phone 1")
    assert [(one.outcome, one.revision) for one in answers] == [("saved", 1)] * 2


def test_the_log_says_who_offered_what_another_is_said_to_have_seen(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    job = kept()
    seen = Entry(run=job.runs[0].id, what=StatusSet(status="wired"), by="The Boss", at="2025-05-02")
    own = Entry(run=job.runs[0].id, what=StatusSet(status="in"), by="phone 1", at="2025-05-03")
    with JobStore.open("jobs.rwshop") as store:
        records = [Offered(kind="entry", id=e.id, data=msgspec.to_builtins(e)) for e in (seen, own)]
        assert [a.outcome for a in offer(store, job.id, records, by="phone 1")] == ["saved", "saved"]
    capsys.readouterr()
    type_in("log", "PH-01")
    lines = capsys.readouterr().out.splitlines()
    assert lines[:2] == ["2025-05-03  phone 1  in place", "2025-05-02  The Boss, by phone 1  wired"]
    type_in("undo", "--anyone", "--by", "Kim")
    type_in("redo", "--by", "Kim")
    capsys.readouterr()
    type_in("log", "PH-01")
    assert "The Boss, by phone 1  wired" in capsys.readouterr().out  # not by Kim, who only brought it back
