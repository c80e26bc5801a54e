"""`racewright job pack` and `job models`: a shop file's job as one PDF, and as model files."""

from __future__ import annotations

import json
import re
import struct
from pathlib import Path

import msgspec
import pytest
from typed import type_in

from racewright.errors import InputError, UnknownName
from racewright.fit.measured import BendAngle
from racewright.job.plan_job import plan_job
from racewright.operations.answer import ask_json
from racewright.operations.job_files import file_names
from racewright.operations.jobs import in_areas, only_area
from racewright.records.entry import BendMade, Corrected, Entry, Made, MoveMade, Pins, Readings, StatusSet
from racewright.records.ids import digest
from racewright.records.model import Area, Job, JobHead, JobRun, Wire
from racewright.store.job_file import job_to_json
from racewright.store.job_store import JobStore
from racewright.store.survey_file import read_survey_file

EXAMPLES = Path(__file__).parents[2] / "examples"


def made_job() -> Job:
    saddle = read_survey_file(EXAMPLES / "pump-house-saddle.yaml").written
    stub = read_survey_file(EXAMPLES / "workshop-panel-stub.yaml").written
    impossible = msgspec.structs.replace(stub, run=msgspec.structs.replace(stub.run, bend_radius="40 ft"))
    ph_1 = digest("PH-1")
    seen = Readings(measured=(BendAngle(number=2, angle_rad=0.8),))
    return Job(
        head=JobHead(name="Orchard cooperative", areas=(Area(name="Workshop"), Area(name="Pump house"))),
        runs=(
            JobRun(
                id=ph_1,
                key="PH-1",
                survey=saddle,
                area="Pump house",
                wires=(Wire(size="12", count=3, colour="black"),),
            ),
            JobRun(key="WS-1", survey=stub, area="Workshop"),
            JobRun(key="WS-2", survey=impossible, area="Workshop", note="ask for the radius"),
        ),
        entries=(
            Entry(run=ph_1, piece=1, what=Made(bends=(BendMade(number=1, angle_rad=0.5, mark_mm=508.0),)), by="Sam"),
            Entry(run=ph_1, piece=1, what=seen, pins=Pins(run=1, marks="K7M3QX"), by="Kim", at="2 May"),
            Entry(run=ph_1, piece=1, what=Corrected(moves=(MoveMade(number=2, by_rad=-0.01),), note="opened a little")),
            Entry(run=ph_1, what=StatusSet(status="bent"), by="Kim"),
        ),
    )


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    path = tmp_path / "jobs.rwshop"
    with JobStore.open(path, create=True) as store:
        store.create_job("orchard", made_job())
    return path


def call(shop: Path, *words: str) -> int:
    return type_in(*words, "--shop", str(shop))


def test_the_pack_is_written_and_says_what_has_no_plan(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("reportlab")
    out = tmp_path / "pack.pdf"
    assert call(shop, "pack", str(out), "--made-by", "Kim", "--paper", "a4") == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "problem: WS-2: no plan, so left out: " in told.err
    reader = pypdf.PdfReader(out)
    assert [round(float(v) / 72 * 25.4) for v in reader.pages[0].mediabox[2:]] == [210, 297]
    words = [page.extract_text() for page in reader.pages]
    assert "Kim" in words[0]
    assert "WS-2: no plan, so left out: " in words[0]
    last = " ".join(words[-2:])
    assert "3 × 12 THWN-2 copper black" in last
    assert 'PH-1 made: mark 1 bent to 28.65°, its mark 20" from end A (Sam)' in last
    assert re.search(
        r"PH-1 measured: mark 2 has 45\.84° \(for plan K7M3QX; the plan is now [2-9A-Z]{6}; Kim 2 May\)", last
    )
    assert "PH-1 corrected: mark 2 opened 0.573°; opened a little" in last
    assert "measured, corrected" not in last
    assert "ask for the radius" in last


def test_runs_stand_in_the_order_of_the_jobs_areas() -> None:
    job = made_job()
    assert [p.run.key for p in in_areas(job, list(plan_job(job)))] == ["WS-1", "WS-2", "PH-1"]


def test_only_one_area(shop: Path, tmp_path: Path) -> None:
    pytest.importorskip("reportlab")
    assert call(shop, "pack", str(tmp_path / "a.pdf"), "--area", "pump house", "--no-cards") in (0, 1)
    assert [run.key for run in only_area(made_job(), "PUMP HOUSE").runs] == ["PH-1"]
    with pytest.raises(UnknownName, match="no run is in area 'barn'") as err:
        call(shop, "pack", str(tmp_path / "b.pdf"), "--area", "barn")
    assert "Pump house" in err.value.hint
    assert not (tmp_path / "b.pdf").exists()


def test_model_files_of_a_job(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ezdxf")
    folder, glb = tmp_path / "dxf" / "new", tmp_path / "job.glb"
    assert call(shop, "models", "--dxf", str(folder), "--gltf", str(glb)) == 1
    assert "problem: WS-2: no plan, so left out: " in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == ["PH-1.dxf", "WS-1.dxf"]
    data = glb.read_bytes()
    size = struct.unpack_from("<I", data, 12)[0]
    nodes = json.loads(data[20 : 20 + size])["nodes"]
    names = [node["name"] for node in nodes]
    assert "Pump house" in names
    assert "Workshop" in names
    assert any(name.startswith("PH-1 ") for name in names)
    assert names[-1] == "Orchard cooperative"


def test_a_model_file_must_be_named(shop: Path) -> None:
    with pytest.raises(InputError, match="no file to write"):
        call(shop, "models")


def test_a_folder_that_is_a_file_is_refused(shop: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(InputError, match="cannot be made"):
        call(shop, "models", "--dxf", str(tmp_path / "taken"))


def test_a_drawing_never_takes_the_place_of_the_shop_file(tmp_path: Path) -> None:
    """Also where its name is known only when the runs are: a shop file that is called like one."""
    pytest.importorskip("ezdxf")
    shop = tmp_path / "WS-1.dxf"
    with JobStore.open(shop, create=True) as store:
        store.create_job("orchard", made_job())
    before = shop.read_bytes()
    with pytest.raises(InputError, match="is read by this command, and would be lost"):
        call(shop, "models", "--dxf", str(tmp_path))
    assert shop.read_bytes() == before
    assert not (tmp_path / "PH-1.dxf").exists()


def test_file_names_differ_on_any_disk() -> None:
    assert file_names(["a/b", "A_B", "a.b", "..", "é", "a_b_2"]) == ["a_b", "A_B_2", "a.b", "run", "é", "a_b_2_2"]


def test_the_bill_of_an_area_says_that_it_holds_the_jobs_own_items_and_areas_stand_in_the_jobs_order(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the job itself names is apart from runs of no area, under one name in bill, file, kits and pack."""
    survey = (
        "run:\n  name: Over the door\n  raceway: EMT 1/2\n  walk:\n    - leg: 40\n    - turn: left\n    - leg: 30\n"
    )
    Path("run.yaml").write_text(survey, encoding="utf-8")
    type_in("new", "orchard", "--area", "East", "--area", "West")
    for key, area in (("A-1", ""), ("A-2", "West"), ("A-3", "East")):
        type_in("add", "run.yaml", "--key", key, *(["--area", area] if area else []))
    type_in("items", "4 in square box", "--count", "3")
    capsys.readouterr()
    type_in("bill", "--split", "areas")
    order = ["East", "West", "no area", "the job itself"]
    assert [line for line in capsys.readouterr().out.splitlines() if line in order] == order
    type_in("kits")
    kits = [line.partition(":")[0] for line in capsys.readouterr().out.splitlines()]
    assert [line for line in kits if line in order] == order
    with JobStore.open("jobs.rwshop") as store:
        request = {"job": json.loads(job_to_json(store.load("orchard"))), "form": "svg", "cards": "none"}
    assert "East and the job itself" in " ".join(_pages({**request, "area": "east"}))
    assert "East and" not in " ".join(_pages(request))


def _pages(request: dict[str, object]) -> list[str]:
    svg = json.loads(ask_json("job_pack", json.dumps(request)))["svg"]
    return [" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", page)) for page in svg]
