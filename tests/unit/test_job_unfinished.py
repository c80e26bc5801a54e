"""Runs that are still to be measured, as phones offer them: kept as written, never planned, told by all commands."""

import json
import re
import time
from pathlib import Path
from typing import Any

import msgspec
import pytest
from typed import type_in

from racewright.errors import InputError
from racewright.operations.answer import ask_json
from racewright.records.entry import Entry, StatusSet
from racewright.records.ids import digest, new_id
from racewright.records.model import Job, JobHead, JobRun
from racewright.store.job_file import job_to_data, load_job
from racewright.store.job_protocol import Offered, offer, since
from racewright.store.job_store import JobStore
from racewright.survey.draft import Unfinished, read_finished
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenPart, WrittenSurvey

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = EXAMPLES / "pump-house-saddle.yaml"
DEMO = load_job(EXAMPLES / "orchard-job.json")


def survey(**changed: Any) -> WrittenSurvey:
    """The demo's first run, a saddle over the suction pipe, with these fields of it as a phone holds them."""
    return with_run(DEMO.runs[0].survey, **changed)


def with_run(written: WrittenSurvey, **changed: Any) -> WrittenSurvey:
    return msgspec.structs.replace(written, run=msgspec.structs.replace(written.run, **changed))


def saddle(**changed: Any) -> WrittenSurvey:
    part = DEMO.runs[0].survey.run.walk[0]
    (feature,) = part.features
    met = msgspec.structs.replace(feature, saddle=msgspec.structs.replace(feature.saddle, **changed))
    return survey(walk=(msgspec.structs.replace(part, features=(met,)),))


OPEN = {
    "leg": (survey(walk=(WrittenPart(leg="40"), WrittenPart(turn="left"), WrittenPart(leg=" "))), ("length of leg 2",)),
    "reading": (saddle(centre="", height=""), ("suction pipe on leg 1: center, height",)),
    "unnamed": (saddle(centre="", name=""), ("saddle on leg 1: center",)),
    "name": (survey(name="", raceway=""), ("the run's name", "the run's raceway")),
    "slip": (survey(walk=(WrittenPart(leg="forty"),)), ()),
    "empty": (survey(walk=()), ()),
    "nonsense": (saddle(centre="2", height="3", rise="4"), ()),
}


def test_a_reading_that_cannot_be_read_is_told_at_once_by_its_name() -> None:
    height = "suction pipe on leg 1: height: cannot take '2 l/2' as a length: 'l/2' after the number is no unit"
    for written, first in (
        (saddle(centre="", height="2 l/2"), "still to be measured: suction pipe on leg 1: center. "),
        (saddle(height="2 l/2"), ""),
    ):
        with pytest.raises(Unfinished) as caught:
            read_finished(written)
        assert caught.value.message.startswith(first + height)
        assert "run.walk" not in caught.value.message
    walk = (WrittenPart(leg="forty"), WrittenPart(turn="left"), WrittenPart(leg=""))
    told = r"^still to be measured: length of leg 2\. length of leg 1: cannot take 'forty' as a length"
    with pytest.raises(Unfinished, match=told):
        read_finished(survey(walk=walk))


@pytest.mark.parametrize("case", OPEN)
def test_what_is_still_to_be_measured_is_told_in_words(case: str) -> None:
    written, expected = OPEN[case]
    with pytest.raises(Unfinished) as caught:
        read_finished(written)
    assert caught.value.open == expected
    assert all(words in caught.value.message for words in expected)
    assert caught.value.message.startswith("still to be measured: ") is bool(expected)
    assert caught.value.hint


def test_a_long_list_of_readings_is_cut_and_counted() -> None:
    walk = (WrittenPart(leg=""), *[WrittenPart(turn="left"), WrittenPart(leg="")] * 11)
    with pytest.raises(Unfinished, match=r"length of leg 1; .*length of leg 8; 4 more\.\n") as caught:
        read_finished(survey(walk=walk))
    assert len(caught.value.open) == 12


def test_things_of_one_kind_on_a_leg_are_numbered_and_many_are_told_at_once() -> None:
    part = DEMO.runs[0].survey.run.walk[0]
    (feature,) = part.features
    bare = msgspec.structs.replace(feature.saddle, centre="", name="")
    met = (msgspec.structs.replace(feature, saddle=bare),) * 4000
    written = survey(walk=(WrittenPart(leg="9"), WrittenPart(turn="left"), WrittenPart(leg="9", features=met)))
    began = time.process_time()
    with pytest.raises(Unfinished, match="saddle 1 on leg 2: center; saddle 2 on leg 2: center;") as caught:
        read_finished(written)
    assert time.process_time() - began < 1.0  # seconds; it grew with the square of their number
    assert len(caught.value.open) == 4000


def test_a_reading_that_a_plan_can_do_without_is_left_out_where_nothing_is_written() -> None:
    start = msgspec.structs.replace(DEMO.runs[0].survey.run.start, insertion="")
    blank = survey(start=start, stand_off="", bend_radius="", bender="")
    with pytest.raises(InputError):
        read_survey(blank)
    assert read_finished(blank) == read_survey(msgspec.structs.replace(survey(stand_off="0", bender="")))


HEAD = JobHead(name="Orchard")
WHOLE = JobRun(id=digest("whole"), key="PH-01", survey=survey())
RUNS = [JobRun(id=digest(name), key=f"W-{name}", survey=written) for name, (written, _) in OPEN.items()]


@pytest.fixture
def shop(empty_folder: Path) -> Path:
    """A shop whose job came from a phone, where somebody called one of the unfinished runs planned."""
    job = new_id()
    planned = Entry(run=RUNS[0].id, what=StatusSet(status="planned"))
    values = [("job", job, HEAD), *(("run", run.id, run) for run in (WHOLE, *RUNS)), ("entry", planned.id, planned)]
    with JobStore.open("jobs.rwshop", create=True) as store:
        records = [Offered(kind=kind, id=one, data=msgspec.to_builtins(value)) for kind, one, value in values]
        answers = offer(store, job, records, by="phone")
        assert [answer.outcome for answer in answers] == ["saved"] * len(records)
        told = {one.id: one.data for one in since(store, 0, ["run"]).records}
    for run in RUNS:
        data = told[run.id]
        assert data is not None
        assert msgspec.json.decode(bytes(data), type=JobRun) == run  # as it was written, blanks too
    return empty_folder


def test_status_and_plan_count_what_is_still_to_be_measured_and_never_call_it_planned(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert type_in("status") == 0
    text = capsys.readouterr().out
    assert "1 measured, 0 planned" in text
    assert f", {len(RUNS)} to be measured\n" in text
    assert len(re.findall(r"W-\S+ +to be measured ", text)) == len(RUNS), "and in its row"
    assert text.count("TO MEASURE") == len(RUNS)
    assert "W-leg: still to be measured: length of leg 2." in text
    assert type_in("list") == 0
    states = f"1 measured, {len(RUNS)} to be measured"
    assert f": {1 + len(RUNS)} runs ({states})" in capsys.readouterr().out
    assert type_in("times", "3", "W-leg") == 0
    capsys.readouterr()
    type_in("list", "--json")
    (row,) = json.loads(capsys.readouterr().out)["jobs"]
    assert (row["runs"], row["open"]) == (3 + len(RUNS), 2 + len(RUNS))
    assert type_in("times", "1", "W-leg") == 0
    capsys.readouterr()
    for again in (True, False):
        assert type_in("plan", "--processes", "1", "--json") == 1
        told = json.loads(capsys.readouterr().out)
        rows = {row["run"]: row for row in told["runs"]}
        assert rows["PH-01"]["becomes"] == "planned"
        assert {row["status"] for name, row in rows.items() if name != "PH-01"} == {"measured"}
        assert {row["becomes"] for name, row in rows.items() if name != "PH-01"} == {"measured"}
        assert told["open"] == len(RUNS)
        assert {row["run"]: tuple(row["plan"]["open"]) for row in told["runs"][1:]} == {
            f"W-{name}": words for name, (_, words) in OPEN.items()
        }
        rules = [finding["rule"] for finding in told["findings"]]
        assert rules == ["job.open"] * len(RUNS), again
    type_in("plan")
    assert f"1 of {1 + len(RUNS)} runs planned without a problem, {len(RUNS)} still to be measured" in (
        capsys.readouterr().out
    )
    with JobStore.open("jobs.rwshop") as store:
        job = store.load("Orchard")
        assert [job.status(run) for run in job.runs] == ["planned"] + ["measured"] * len(RUNS)


def test_a_run_is_shown_with_what_is_still_to_be_measured(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, (_, words) in OPEN.items():
        assert type_in("show", f"W-{name}") == 1
        text = capsys.readouterr().out
        assert f"W-{name}  measured" in text
        assert all(one in text for one in words)
        assert "job.open" in text
    assert type_in("show", "W-leg", "--survey") == 0
    written = json.loads(capsys.readouterr().out)
    assert written["run"]["walk"][2] == {"leg": " "}


def test_bill_cut_list_pack_and_models_leave_it_out_and_say_so(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (("bill",), ("cut",), ("pack", "o.pdf"), ("models", "--dxf", "d", "--gltf", "m.glb")):
        assert type_in(*command) == 1, command
        told = " ".join("".join(capsys.readouterr()).split())
        for name, (_, words) in OPEN.items():
            assert f"W-{name}" in told, command
            assert all(one in told for one in words)
    assert [path.name for path in Path("d").iterdir()] == ["PH-01.dxf"]
    document = json.loads(ask_json("job_pack", json.dumps({"job": job_to_data(kept()), "form": "svg"})))
    assert "".join(document["svg"]).count(">to</text>") == len(RUNS)  # to measure, in two lines


def kept() -> Job:
    with JobStore.open("jobs.rwshop") as store:
        return store.load("Orchard")


def test_a_job_file_holds_it_as_it_is(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert type_in("export", "o.json") == 0
    assert type_in("import", "o.json", "--key", "again") == 0
    assert f"{len(RUNS)} of them are still to be measured to the end" in capsys.readouterr().err
    with JobStore.open("jobs.rwshop") as store:
        first, second = store.load("Orchard"), store.load("again")
    assert [run.survey for run in second.runs] == [run.survey for run in first.runs]
    for operation in ("job_status", "job_plan", "job_bill", "job_cut", "job_run", "job_record"):
        more = {"run": "W-leg"} if operation in ("job_run", "job_record") else {}
        more |= {"note": "seen"} if operation == "job_record" else {}
        told = json.loads(ask_json(operation, json.dumps({"job": job_to_data(first), **more})))
        assert "error" not in told, operation


def test_records_are_added_to_it_but_it_is_not_called_planned(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert type_in("record", "W-leg", "--note", "the second leg is behind the tank") == 0
    with pytest.raises(InputError, match=r"W-leg is not planned: still to be measured: length of leg 2"):
        type_in("set", "planned", "PH-01", "W-leg")
    assert kept().status(kept().runs[0]) == "measured"
    assert type_in("set", "in", "W-leg") == 0  # hung by eye: what is done is done
    assert type_in("rename", "W-leg", "W-2") == 0
    assert type_in("log", "W-2") == 0
    assert "behind the tank" in capsys.readouterr().out
    assert type_in("undo", "W-2", "--to", "1", "--anyone") == 0
    assert kept().runs[1].key == "W-leg"


def test_a_survey_file_that_is_not_finished_is_taken_where_that_is_asked_for(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = SADDLE.read_text()
    assert "centre: 26 1/8" in text
    Path("a.yaml").write_text(text.replace("centre: 26 1/8", 'centre: ""'))
    with pytest.raises(InputError, match=r"a\.yaml, line"):
        type_in("add", "a.yaml")
    assert type_in("add", "--unfinished", "a.yaml", str(SADDLE)) == 0
    told = capsys.readouterr()
    assert told.err.startswith("a: still to be measured: suction pipe on leg 1: center. hint: ")
    assert told.err.count("\n") == 1
    assert type_in("add", "--replace", "--key", "a", str(SADDLE)) == 0
    assert kept().runs[-1].survey == kept().runs[-2].survey
    Path("b.yaml").write_text("units: furlongs\nrun: {name: x}\n")
    with pytest.raises(InputError, match=r"b\.yaml, line 1"):
        type_in("add", "--unfinished", "b.yaml")


def test_an_area_that_the_job_does_not_have_is_told_and_its_runs_are_listed(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = msgspec.structs.replace(DEMO.head, stock=())
    job = Job(head=head, runs=tuple(msgspec.structs.replace(WHOLE, id=new_id(), key=k, area="Barn") for k in "AB"))
    with JobStore.open("jobs.rwshop") as store:
        store.create_job("barn", job)
    told = {}
    for command in ("status", "plan", "bill", "cut"):
        type_in(command, "--job", "barn", "--json")
        told[command] = json.loads(capsys.readouterr().out)
        (finding,) = (f for f in told[command]["findings"] if f["rule"] == "job.area")
        assert (finding["severity"], finding["where"]) == ("caution", "Barn")
        assert "listed under it: A, B." in finding["message"]
    assert told["status"]["areas"][-1] == "Barn"
    type_in("status", "--job", "barn")
    text = capsys.readouterr().out
    assert text.index("\nBarn\n") < text.index("  A  ") < text.index("  B  ")
    assert type_in("export", "--job", "barn", "barn.json") == 0
    assert type_in("import", "barn.json", "--key", "barn-2") == 0
