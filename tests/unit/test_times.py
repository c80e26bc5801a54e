"""Runs alike: one run so many times. Its card is one; bill, cut list and status are of each copy."""

from __future__ import annotations

import base64
import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from ask_samples import a_job, listed, saddle_survey

from racewright.cli.cmd_job import STATES
from racewright.cli.main import main
from racewright.operations.answer import ask_json
from racewright.operations.common import Known
from racewright.operations.job_record import JobRecordRequest, job_record
from racewright.records.entry import STATUSES, BendMade, Entry, Made, Pins, StatusSet, status_words, to_set
from racewright.records.model import AngleReading, Job, JobRun
from racewright.store.job_changes import Noted, add_noted, set_times
from racewright.store.job_file import job_to_json
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of

SADDLE = "examples/pump-house-saddle.yaml"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A job of twenty saddles that are planned."""
    file = tmp_path / "jobs.rwshop"
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(file))
    for words in (
        ["new", "orchard", "--area", "Rooms"],
        ["add", SADDLE, "--area", "Rooms", "--key", "RM", "--times", "20"],
        ["plan"],
    ):
        assert main(["job", *words]) == 0
    capsys.readouterr()
    return file


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert main(["job", *words]) == code
    return capsys.readouterr().out


def exported(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(said(capsys, "export", "-"))


def test_fourteen_of_twenty_bent_is_what_every_list_says(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, "set", "bent", "RM", "--copy", "1-14") == "RM: 14 of 20 bent, 6 planned\n"
    (line,) = [line for line in said(capsys, "log", "RM").splitlines() if "RM#" in line]
    assert "  RM#1 to 14: bent  [revision 1, plan " in line
    status = said(capsys, "status")
    assert "orchard: 1 run, 20 with those alike" in status
    assert "  RM x 20  14 of 20 bent, 6 planned  EMT 1/2" in status
    assert "0 measured, 6 planned, 14 bent, 0 in place" in status
    assert "orchard: 20 runs (6 planned, 14 bent)" in said(capsys, "list")
    shown = said(capsys, "show", "RM")
    assert shown.startswith("RM  20 alike  14 of 20 bent, 6 planned  Rooms  revision 1")
    assert "Pump house, disconnect to pump 2 starter, 20 alike" in shown
    cut = said(capsys, "cut")
    assert "EMT 1/2: 6 pieces, 3 new sticks" in cut
    assert "RM#15 58 7/8 (58 7/8)  RM#16 58 7/8" in cut
    assert "RM#14" not in cut
    assert "20 pieces" in said(capsys, "cut", "--all")
    bill = said(capsys, "bill")
    assert "EMT 1/2 strap                       40 each" in bill  # two a run
    assert said(capsys, "set", "in", "RM", "--copy", "3,5-6") == "RM: 3 of 20 in place, 11 bent, 6 planned\n"


def test_a_plan_sets_those_that_are_not_bent(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "set", "measured", "RM")
    said(capsys, "set", "bent", "RM", "--copy", "2")
    assert "RM x 20  1 of 20 bent, 19 planned" in said(capsys, "plan", "--again")
    assert "1 of 20 bent, 19 planned" in said(capsys, "status")


def test_what_was_done_on_a_piece_is_of_one_copy(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "record", "RM", "--angle", "2=44.5"]) == 2
    told = capsys.readouterr().err
    assert "run RM is 20 alike" in told
    assert "hint: name the copy, 1 to 20" in told
    assert main(["job", "record", "RM", "--angle", "2=44.5", "--copy", "21"]) == 2
    assert "has no copy 21: it is there 20 times" in capsys.readouterr().err
    told = said(capsys, "record", "RM", "--angle", "2=44.5", "--copy", "15")
    assert told.startswith("RM, copy 15: recorded; status bent\n")
    assert "the far end was not measured" in told
    assert "as built: RM#15 measured: mark 2 has 44.5°" in said(capsys, "show", "RM")
    for copy in ("1", "2"):  # the same bend of two copies is not a bend made twice
        assert main(["job", "record", "RM", "--made", "1=22.5", "--copy", copy]) == 0
        assert "bent already" not in capsys.readouterr().out
    assert main(["job", "record", "RM", "--made", "1=22.5", "--copy", "2"]) == 0
    assert "mark 1 is recorded as bent already" in capsys.readouterr().out
    entries = exported(capsys)["entries"]
    assert [(e["what"]["kind"], e.get("copy")) for e in entries] == [
        ("status", None),
        ("readings", 15),
        ("status", 15),
        ("made", 1),
        ("made", 2),
        ("made", 2),
    ]


def test_copies_that_are_new_are_not_bent_and_those_that_were_bent_before_are(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever is said of all of them meanwhile."""
    said(capsys, "set", "in", "RM")
    assert main(["job", "times", "12", "RM"]) == 0
    told = capsys.readouterr()
    assert told.out == "RM: 12 alike\n"
    assert told.err == "RM: copies 13 to 20 count no more, though what is there is bent already\n"
    assert "in place" in said(capsys, "status")
    said(capsys, "set", "wired", "RM")
    assert said(capsys, "times", "22", "RM") == (
        "RM: 22 alike: 12 of 22 wired, 8 in place, 2 measured\n"
        "RM: copies 13 to 20 count again, with what is kept of them: in place\n"
    )
    assert "12 of 22 wired, 8 in place, 2 measured" in said(capsys, "status")
    said(capsys, "undo")
    assert "RM x 12  wired" in said(capsys, "status")
    said(capsys, "redo")
    said(capsys, "undo", "RM")
    assert "RM x 12  wired" in said(capsys, "status")
    assert said(capsys, "undo", "RM")
    assert "RM x 12  in place" in said(capsys, "status")
    assert said(capsys, "undo", "RM")
    assert "RM x 20  in place" in said(capsys, "status")
    said(capsys, "set", "bent", "RM", "--copy", "3-20")
    said(capsys, "set", "measured", "RM")
    said(capsys, "record", "RM", "--made", "1=22.5", "--copy", "4")
    assert main(["job", "times", "2", "RM"]) == 0
    assert capsys.readouterr().err == "RM: copy 4 counts no more, though it is begun already\n"
    said(capsys, "set", "bent", "RM")
    assert said(capsys, "times", "5", "RM") == (
        "RM: 5 alike: 2 of 5 bent, 3 measured\n"
        "RM: copies 3 to 5 count again, with what is kept of them: measured (copy 4: mark 1 made)\n"
    )
    assert "2 of 5 bent, 3 measured" in said(capsys, "status")
    said(capsys, "set", "in", "RM")
    assert said(capsys, "times", "1", "RM") == "RM: there is one\n"
    assert "  RM  in place" in said(capsys, "status")


def test_copies_that_count_again_are_told_as_far_as_they_are(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was made on one leaves it planned."""
    said(capsys, "plan")
    said(capsys, "record", "RM", "--made", "1=22.5", "--copy", "4")
    said(capsys, "times", "3", "RM")
    assert said(capsys, "times", "6", "RM") == (
        "RM: 6 alike\nRM: copy 4 counts again, with what is kept of it: planned (copy 4: mark 1 made)\n"
    )
    said(capsys, "set", "bent", "RM", "--copy", "1-2")
    said(capsys, "times", "2", "RM")
    assert said(capsys, "times", "6", "RM").startswith("RM: 6 alike: 2 of 6 bent, 1 planned, 3 measured\n")


def test_a_half_bent_copy_that_counts_no_more_and_again_is_told(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "times", "5", "RM")
    said(capsys, "set", "measured", "RM")
    said(capsys, "record", "RM", "--copy", "5", "--made", "1=22.5", "--made", "2=45")
    assert main(["job", "times", "4", "RM"]) == 0
    assert capsys.readouterr().err == "RM: copy 5 counts no more, though it is begun already\n"
    assert said(capsys, "times", "6", "RM") == (
        "RM: 6 alike: 1 of 6 planned, 5 measured\n"
        "RM: copy 5 counts again, with what is kept of it: planned (copy 5: marks 1 and 2 made)\n"
    )
    assert said(capsys, "times", "6", "RM") == "RM: 6 alike, as before\n"
    said(capsys, "times", "4", "RM")
    said(capsys, "set", "bent", "RM")
    assert said(capsys, "times", "7", "RM") == (
        "RM: 7 alike: 4 of 7 bent, 1 planned, 2 measured\n"
        "RM: copy 5 counts again, with what is kept of it: planned (copy 5: marks 1 and 2 made)\n"
    ), "all that count were bent meanwhile"
    assert said(capsys, "undo", "RM").endswith("status bent\n"), "what was said again goes with it"
    assert "copy 5: marks 1 and 2 made" in said(capsys, "times", "8", "RM")


def test_a_status_that_comes_of_work_while_one_was_wanted_is_of_the_first(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It may come late, from a device that has not heard of the others; of one run no words name a copy."""
    said(capsys, "times", "1", "RM")
    with JobStore.open(shop) as store:
        right = AngleReading(number=2, angle_deg=90)
        answer = job_record(JobRecordRequest(job=store.load("orchard"), run="RM", measured=(right,)), Known())
        assert answer.words == ("RM measured: mark 2 has 90°",)
        (run,) = set_times(store, "orchard", ["RM"], 20)
        noted = [Noted(run, answer.what, answer.pins, answer.piece, one) for one in answer.copies or (None,)]
        add_noted(store, "orchard", noted)
        assert status_words(store.load("orchard").statuses(run)) == "1 of 20 bent, 19 planned"
    assert "RM#1: bent" in said(capsys, "log", "RM")
    said(capsys, "times", "1", "RM")
    log = said(capsys, "log", "RM")
    assert "  bent  [" in log
    assert "RM#1" not in log
    said(capsys, "set", "measured", "RM")
    assert exported(capsys)["entries"][-1].get("copy") is None


def test_a_tick_that_names_no_copy_from_a_device_that_knew_of_one_bends_the_first_alone(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Devices of before wrote none, and may be heard once more are wanted: by all that asks the shop file."""
    pins, at = Pins(run=1, marks="4K7WQX"), "2026-05-04T10:32:07.{}Z"
    with JobStore.open(shop) as store:
        run = store.run("orchard", "RM").value
        tick = Entry(run=run.id, piece=1, what=Made(bends=(BendMade(number=1),)), pins=pins, by="Kim", at=at.format(1))
        status = Entry(run=run.id, what=StatusSet(status="bent"), pins=pins, by="Kim", at=at.format(2))
        store.add_entries("orchard", [tick, status])
        for times in (2, 5):
            set_times(store, "orchard", ["RM"], times)
        assert (
            status_words(store.load("orchard").statuses(store.run("orchard", "RM").value)) == "1 of 5 bent, 4 planned"
        )
    assert "RM#1: bent" in said(capsys, "log", "RM")


def test_a_file_with_a_status_of_before_reads_as_it_stood(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Bent while one was wanted, by entries that name no copy, then wanted more often, and set bent, all of them."""
    said(capsys, "times", "1", "RM")
    with JobStore.open(shop) as store:
        run, at = store.run("orchard", "RM"), "2026-05-04T10:32:07+00:00"
        pins = Pins(run=run.revision, marks="4K7WQX")
        for what in (Made(bends=(BendMade(number=1),)), StatusSet(status="bent")):
            piece = 1 if isinstance(what, Made) else None
            store.add_entries("orchard", [Entry(run=run.value.id, piece=piece, what=what, pins=pins, by="Kim", at=at)])

    def put_back(key: str) -> str:
        """What the lists say of it here, and of the file of it brought in anew."""
        (shop.parent / "old.json").write_text(said(capsys, "export", "-", "--job", "orchard"), encoding="utf-8")
        said(capsys, "import", str(shop.parent / "old.json"), "--key", key)
        told = [said(capsys, "status", "--job", job).partition(":")[2] for job in ("orchard", key)]
        assert told[0] == told[1]
        return told[0]

    assert "RM  bent" in put_back("one")
    said(capsys, "times", "3", "RM", "--job", "orchard")
    assert "1 of 3 bent, 2 measured" in put_back("three")
    with JobStore.open(shop) as store:
        run = store.run("orchard", "RM")
        what, later = StatusSet(status="bent"), Pins(run=run.revision, marks="4K7WQX")
        store.add_entries(
            "orchard", [Entry(run=run.value.id, what=what, pins=later, by="Kim", at=at.replace("10", "11"))]
        )
    assert "RM x 3  bent" in put_back("all")


def test_what_was_made_while_there_was_one_is_of_the_first(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The pieces that `times` adds are not there yet: they are cut and bent."""
    said(capsys, "times", "1", "RM")
    said(capsys, "record", "RM", "--made", "2=90", "--note", "windy")
    said(capsys, "times", "3", "RM")
    assert [row[4] for row in listed("job_cut", exported(capsys))[1]["Cut list"]] == ["RM#2", "RM#3"]
    assert "Cut already, so not on the cut list: RM#1 (begun, STOP)" in said(capsys, "cut")
    shown = said(capsys, "show", "RM")
    assert "as built: RM#1 made: mark 2 bent to 90°; windy" in shown
    assert "RM#1: mark 2 is recorded at 90°" in shown
    assert "RM#2" not in shown
    said(capsys, "times", "1", "RM")
    assert "RM: mark 2 is recorded at 90°" in said(capsys, "status")


def test_a_straight_piece_is_cut_once_somebody_says_so_and_not_by_the_bends_of_another(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of two pieces the first has the only bend; with it made the run is bent."""
    box = tmp_path / "box.yaml"
    run = {"name": "Box", "raceway": "EMT 1/2", "surface": "wall", "going": "up"}
    ends = {"start": {"fitting": "set-screw"}, "end": {"fitting": "set-screw"}}
    walk = [{"leg": 44, "from": "face", "to": "wall"}, {"turn": "away"}, {"leg": 96, "from": "wall", "to": "face"}]
    box.write_text(json.dumps({"racewright": 1, "units": "in", "run": {**run, **ends, "walk": walk}}), encoding="utf-8")
    said(capsys, "remove", "RM")
    said(capsys, "add", str(box), "--key", "BX", "--times", "2")
    said(capsys, "plan")

    def there(job: Any) -> tuple[list[str], list[str], bool]:
        cuts = [row[4] for row in listed("job_cut", job)[1]["Cut list"]]
        labels = json.loads(ask_json("job_labels", json.dumps({"job": job})))["labels"]
        kits = said(capsys, "kits")
        return cuts, [one["label"] for one in labels], "There already, yet in the kits: BX-1#1 (bent)." in kits

    said(capsys, "record", "BX", "--copy", "1", "--made", "1=90")
    left = ["BX-2#1", "BX-1#2", "BX-2#2"]
    cuts, labels, told = there(exported(capsys))
    assert (sorted(cuts), sorted(labels), told) == (sorted(left), sorted(left), True)
    assert "Cut already, so not on the cut list: BX-1#1 (bent)." in said(capsys, "cut")
    assert said(capsys, "set", "bent", "BX", "--copy", "1") == "BX: 1 of 2 bent, 1 planned\n"
    assert sorted(there(exported(capsys))[0]) == left[1:]
    assert "Cut already, so not on the cut list: BX#1 (bent)." in said(capsys, "cut")


def test_another_survey_leaves_bent_what_is_bent(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys, "set", "bent", "RM", "--copy", "1-3")
    moved = tmp_path / "RM.yaml"
    moved.write_text(Path(SADDLE).read_text().replace("centre: 26 1/8", "centre: 26 5/8"))
    assert moved.read_text() != Path(SADDLE).read_text()
    assert main(["job", "add", str(moved), "--replace", "--times", "22"]) == 0
    told = capsys.readouterr()
    assert "RM: is 3 of 20 bent, 17 planned already, and its plan changes now" in told.err
    assert "replaced, 22 alike" in told.out
    assert "3 of 22 bent, 19 measured" in said(capsys, "status")
    back = said(capsys, "undo", "RM")
    assert back == ("RM: back to revision 1; taken back: RM#4 to 22: measured; status 3 of 20 bent, 17 planned\n")


def test_the_states_that_a_command_takes_are_those_of_the_records() -> None:
    assert STATES == STATUSES


def test_old_bodies_read_as_they_were() -> None:
    """A run of one, and an entry of all, are kept as they were before there were copies."""
    survey: Any = saddle_survey()
    data = {"racewright_job": 2, "head": {"name": "x"}, "runs": [{"key": "A", "survey": survey}]}
    answer = json.loads(ask_json("job_status", json.dumps({"job": data})))
    assert answer["runs"][0]["statuses"] == ["measured"]
    entry = Entry(run="0" * 32, what=StatusSet(status="bent"))
    assert "copy" not in body_of(entry)
    from racewright.records.parse import job_from_data

    job: Job = job_from_data(data)
    assert "times" not in body_of(job.runs[0])
    assert '"times"' not in job_to_json(job)
    many: JobRun = job_from_data({**data, "runs": [{"key": "A", "survey": survey, "times": 3}]}).runs[0]
    assert (many.times, many.alike) == (3, "3 alike")


def test_what_is_to_be_set_is_said_once_where_it_is_of_all() -> None:
    assert to_set(["measured"] * 3, ["planned"] * 3) == ((None, "planned"),)
    assert to_set(["measured", "bent", "planned"], ["planned"] * 3) == ((1, "planned"),)
    assert to_set(["planned"], ["planned"]) == ()
    assert status_words(["bent"] * 4) == "bent"
    assert status_words(["bent", "in", "bent"]) == "1 of 3 in place, 2 bent"


def test_the_bill_counts_those_alike_and_the_cut_list_those_that_are_not_bent() -> None:
    job = a_job(("A", saddle_survey()))
    run = job["runs"][0] | {"id": "1" * 32, "times": 5}
    bent = [{"run": run["id"], "copy": n, "what": {"kind": "status", "status": "bent"}} for n in (1, 3, 4)]
    many = job | {"runs": [run], "entries": bent}
    assert [row[4] for row in listed("job_cut", many)[1]["Cut list"]] == ["A#2", "A#5"]
    straps = [
        next(int(row[2]) for row in listed("job_bill", one)[1]["Bill"] if "strap" in row[1]) for one in (many, job)
    ]
    assert straps[0] == 5 * straps[1]


def test_offcuts_of_runs_alike_are_counted_for_each_and_told() -> None:
    survey = {"units": "in", "run": {"name": "E", "raceway": "EMT 3/4", "offcuts": ["31"], "walk": [{"leg": "29"}]}}
    job = a_job(("E", survey))
    job["runs"][0]["times"] = 4
    answer, tables = listed("job_cut", job)
    (told,) = [f for f in answer["findings"] if f["rule"] == "job.offcuts"]
    assert 'an offcut of 31" is named by run E for each of 4 alike: counted as 4' in told["message"]
    assert "no new stick" in tables["Cut sums"][0][1]


def test_the_pack_counts_each_and_says_how_many(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "set", "bent", "RM", "--copy", "1-14")
    request = {"job": exported(capsys), "form": "svg"}
    svg = json.loads(ask_json("job_pack", json.dumps(request)))["svg"]
    texts = [re.findall(r"<text[^>]*>([^<]*)</text>", page) for page in svg]
    pages = [" ".join(html.unescape(" ".join(words)).split()) for words in texts]
    # 20 pieces, 60 bends, 20 times 58 7/8 in, as the bill counts them
    assert f"EMT 1/2 20 60 {20 * 58.875 / 12:.1f} ft 10" in pages[0]
    assert "Rooms 20 6 14" in pages[0]
    index = next(page for page in pages if "pieces, bends, length = of one" in page)
    assert "20 alike" in index
    assert "14 of 20 bent, 6 planned" in index
    assert any("RM Pump house, disconnect to pump 2 starter, 20 alike" in page for page in pages)  # its card
    assert [n for n in range(1, 21) if any(f"RM#{n} Pump house" in page for page in pages)] == list(range(1, 21))
    batch = next(page for page in pages if page.startswith("orchard batch list"))
    assert "RM#15 to 20" in batch
    assert "no order can do with fewer" in batch
    assert "Hold the handle" in " ".join(pages)


def test_models_hold_the_run_once_and_say_how_many(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ezdxf")
    request = {"job": exported(capsys), "kinds": ["dxf", "gltf"]}
    answer = json.loads(ask_json("job_models", json.dumps(request)))
    dxf, gltf = (base64.b64decode(file["data"]).decode("utf-8", "replace") for file in answer["files"])
    assert "RM (20 alike) A" in dxf
    assert gltf.count("RM Pump house, disconnect to pump 2 starter, 20 alike") == 1
