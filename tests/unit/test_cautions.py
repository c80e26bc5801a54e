"""What to take care of, and who decides, stand once on every answer about work: printed, as data, on paper."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest
import yaml
from ask_samples import a_job

from racewright.cards.pack import RunCards
from racewright.cards.text.tail import finding_line, tail
from racewright.cautions import DECIDES, Work, cautions_for
from racewright.cli.cmd_remark import made_reading
from racewright.cli.main import COMMANDS, main
from racewright.errors import Finding
from racewright.operations.answer import answer
from racewright.operations.common import NOTHING_KNOWN, Refused
from racewright.operations.job_files import JobPackRequest, job_pack
from racewright.operations.plan import PlanAnswer
from racewright.operations.remark import RemarkAnswer
from racewright.store.job_store import JobStore

pytestmark = pytest.mark.usefixtures("plans_once")
EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = str(EXAMPLES / "pump-house-saddle.yaml")
STUB = str(EXAMPLES / "workshop-panel-stub.yaml")
BEND, CORRECT, CUT = "handle that backs off", "little at a time", "running blade"

#: command line -> what the fitting caution must name
WORK = {
    f"plan {SADDLE}": (BEND, CUT, "Ladders"),
    "shape offset --rise 5": (BEND,),
    "shape concentric --spacing 2": (BEND,),
    "bender": (),
    "bender show EMT-1/2": (BEND,),
    f"tweak {SADDLE} --angle 2=47": (CORRECT, BEND),
    f"tweak {SADDLE} --angle 2=45": (),
    f"remark {SADDLE} --made 1:angle_24": (BEND,),
    f"remark {SADDLE} --made 1:angle_20 --have 62": (BEND, CORRECT, CUT),
    f"diagnose {EXAMPLES}/finished/orchard-three-pieces.yaml": (BEND,),
    f"check {SADDLE}": (),
    f"export {SADDLE} --gltf run.glb": (),
    "wires fit 3_x_12_THHN --raceway EMT --size 1/2": ("dead circuits",),
    "pull --raceway EMT --size 1 --wires 3_x_4_THHN --path straight_40": ("dead circuits", "clear of the line"),
    "job plan": ("before you cut",),
    "job status": ("before you cut",),
    "job show pump-house-saddle": (BEND, CUT),
    "job bill": ("no offer",),
    "job cut": (CUT,),
    "job kits": ("no offer",),
    "job batch": (BEND,),
    "job labels labels.svg": ("before you cut",),
    "job models --gltf job.glb": (),
}
#: these answer nothing about work: they start the page, write it, describe a file
NO_WORK = {"serve", "site", "schema", "devices"}


@pytest.fixture
def shop(empty_folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    assert main(["job", "new", "orchard", "--by", "Kim"]) == 0
    assert main(["job", "add", SADDLE, STUB, "--by", "Kim"]) == 0
    capsys.readouterr()
    return empty_folder


def one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_every_command_about_work_is_looked_at() -> None:
    assert {line.split()[0] for line in WORK} | NO_WORK == set(COMMANDS)


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("line", WORK)
def test_an_answer_about_work_says_once_who_decides_and_what_to_take_care_of(
    line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([part.replace("_", " ") for part in line.split(" ")]) in (0, 1)
    out, err = capsys.readouterr()
    said = one_line(out + err)
    assert said.count(DECIDES) == 1
    assert len(re.findall("licensed person", said)) == 1
    for caution in WORK[line]:
        assert caution in said


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize(
    ("line", "fitting"),
    [
        (f"plan {SADDLE}", BEND),
        ("shape stub --height 12", BEND),
        ("bender list", DECIDES),
        ("bender show EMT-1/2", BEND),
        (f"tweak {SADDLE} --angle 2=47", CORRECT),
        (f"remark {SADDLE} --made 1:angle_24", BEND),
        (f"diagnose {EXAMPLES}/finished/orchard-three-pieces.yaml", BEND),
        (f"check {SADDLE}", DECIDES),
        ("job bill", "no offer"),
    ],
)
def test_a_program_gets_the_cautions_as_data(line: str, fitting: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*(part.replace("_", " ") for part in line.split(" ")), "--json"]) in (0, 1)
    cautions = json.loads(capsys.readouterr().out)["cautions"]
    assert cautions[-1] == DECIDES
    assert any(fitting in text for text in cautions)


def survey() -> dict[str, object]:
    walk = [{"leg": "60", "features": [{"offset": {"rise": "5", "starts_at": "20"}}]}]
    return {"units": "in", "run": {"name": "Shed, feed", "raceway": "EMT 1/2", "walk": walk}}


@pytest.mark.parametrize(
    ("operation", "request_", "fitting"),
    [
        ("tweak", {"survey": survey(), "measured": [{"what": "angle", "number": 2, "angle_deg": 33}]}, CORRECT),
        ("remark", {"survey": survey(), "made": [{"number": 1, "angle_deg": 28}]}, BEND),
        ("job_cut", {"job": a_job(("a", survey()))}, CUT),
    ],
)
def test_an_answer_to_the_page_carries_its_cautions(operation: str, request_: object, fitting: str) -> None:
    got = answer(operation, request_)
    assert not isinstance(got, Refused)
    assert got.cautions[-1] == DECIDES
    assert any(fitting in text for text in got.cautions)


def test_a_practice_sheet_says_what_to_take_care_of_when_it_is_bent() -> None:
    sheet: Any = answer("practice", {"count": 1, "kinds": ["stub"]})
    assert any(BEND in text for text in sheet.cautions)
    assert sheet.cautions[-1] == DECIDES


@pytest.mark.parametrize("cards", ["bench", "whole", "none"])
def test_every_page_of_the_pack_says_once_who_decides_and_the_cut_list_warns_of_the_saw(
    shop: Path, cards: RunCards
) -> None:
    with JobStore.open(shop / "jobs.rwshop") as store:
        job = store.load("orchard")
    pages = job_pack(JobPackRequest(job=job, form="svg", cards=cards), NOTHING_KNOWN).svg
    texts = [one_line(" ".join(re.findall(r"<text[^>]*>([^<]*)</text>", page))) for page in pages]
    assert all(len(re.findall("licensed person", text)) == 1 for text in texts)
    saw = next(i for i, text in enumerate(texts) if "Cut list" in text and "marks count from the end" in text)
    assert any(CUT in text for text in texts[saw:])


def test_cautions_are_said_once_however_many_kinds_of_work_share_them() -> None:
    told = cautions_for("cut", "thread", "cut")
    assert len(told) == len(set(told))
    assert told[-1] == DECIDES
    assert cautions_for() == (DECIDES,)
    assert max(len(line) for line in tail((), (), cautions_for("correct", "cut", "height", "order"))) <= 100


def test_every_step_of_a_plan_carries_the_caution_of_its_own_work() -> None:
    wanted = {"cut": CUT, "trim": CUT, "ream": CUT, "bend": BEND, "check": CORRECT, "loosen": "Ladders"}
    wanted |= {"insert": "Ladders", "strap": "Ladders"}
    seen = set()
    for path in sorted(EXAMPLES.glob("*.yaml")):
        survey = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
        planned = answer("plan", {"survey": survey, "pictures": []})
        assert isinstance(planned, PlanAnswer), path
        plan = msgspec.to_builtins(planned.plan)
        assert len(planned.step_cautions) == len(plan["steps"])
        for step, said in zip(plan["steps"], planned.step_cautions, strict=True):
            assert said[-1] == DECIDES
            assert wanted.get(step["kind"], "") in " ".join(said), (path, step)
            seen.add(step["kind"])
    assert seen >= set(wanted)


RIGID = """units: in
run:
  name: Packing shed, roof unit
  raceway: RMC 3/4
  cut: after
  start: {fitting: threaded}
  end: {fitting: threaded}
  walk:
    - leg: 70
      features:
        - offset: {rise: 5, angle: 30, starts_at: 22}
"""
UPSIDE, FLOOR, THREAD = "Bender upside down", "Bent on the floor", "Threading"


@pytest.mark.parametrize(
    "made",
    ["1: angle 41", "1: angle 42 1/2", "1", "1: angle 20", "2: angle 40", "1: angle 24", "1: mark 3", "1: angle 28"],
)
@pytest.mark.parametrize("run", ["pump-house-saddle", "workshop-bench-u", "packing-shed-two-turns", "rigid"])
def test_new_marks_take_care_of_what_they_ask_for_and_of_nothing_else(run: str, made: str) -> None:
    """Told from the answer's own words: stance by stance, what is bent again, cut and threaded."""
    text = RIGID if run == "rigid" else (EXAMPLES / f"{run}.yaml").read_text(encoding="utf-8")
    request = {"survey": yaml.safe_load(text), "made": [msgspec.to_builtins(made_reading(made))]}
    told = answer("remark", {**request, "stock": "130" if run == "rigid" else ""})
    assert isinstance(told, RemarkAnswer), told
    said, notes = " ".join(told.cautions), " ".join(told.notes)
    for stance, caution in (("upside down", UPSIDE), ("floor", FLOOR)):
        assert (caution in said) == any(mark.stance in (stance, None) for mark in told.marks)
    assert (CORRECT in said) == any(mark.further_deg for mark in told.marks)
    assert (BEND in said) == bool(told.marks)
    if "off at end" in notes or "until it is cut" in notes:
        assert CUT in said
    elif told.met:
        assert CUT not in said
    assert (THREAD in said) == ("Thread end" in notes)
    assert (THREAD in said) == (run == "rigid" and not told.scrap)
    assert (CUT in said) or not told.scrap


def test_a_piece_that_is_left_as_it_is_asks_for_no_care() -> None:
    survey_ = yaml.safe_load(Path(SADDLE).read_text(encoding="utf-8"))
    told = answer("tweak", {"survey": survey_, "measured": [{"what": "angle", "number": 2, "angle_deg": 45}]})
    assert not isinstance(told, Refused)
    assert told.cautions == (DECIDES,)


def test_the_cautions_are_in_us_spelling() -> None:
    texts = cautions_for(*get_args(Work))
    assert any("de-energize" in text for text in texts)
    assert not any(re.search(r"\w(gis|nis|lis|ris)e[sd]?\b", text) for text in texts)


def test_a_finding_tells_its_place_where_its_words_do_not_say_it_whole() -> None:
    def told(message: str) -> str:
        return finding_line(Finding(rule="a.b", severity="info", message=message, where="bend 1"))

    assert told("bend 12 is near") == "note: bend 1: bend 12 is near [a.b]"
    assert told("bend 1 is near") == "note: bend 1 is near [a.b]"
    assert told("near to bend 1") == "note: bend 1: near to bend 1 [a.b]"
    said = [
        Finding(rule="", severity="info", message=m, where="bend 1").says_where() for m in ("at bend 1.", "at bend 12")
    ]
    assert said == [True, False]


FOOT, UPSIDE, ENCLOSURE = "foot stays firmly on the shoe", "upside down", "de-energize, lock out"
HEAT, FUMES, THREAD, CEMENT, DRILL = "heat-proof gloves", "fumes", "winds up gloves", "Primer and cement", "Drilling"


def cautions_of(run: str, walk: str) -> str:
    text = f"units: in\nrun:\n  name: packing shed, cold room feed\n{run}  walk:\n{walk}"
    survey = yaml.load(text, Loader=yaml.BaseLoader)
    planned = answer("plan", {"survey": survey, "pictures": []})
    assert isinstance(planned, PlanAnswer), planned
    union = {text for said in planned.step_cautions for text in said}
    assert union == set(planned.cautions)
    return " ".join(planned.cautions)


FREE = "  start: {fitting: none}\n  end: {fitting: none}\n"
CORNER = "    - leg: 44 1/2\n    - turn: left\n    - leg: 52 1/4\n"


def test_a_straight_piece_between_free_ends_warns_of_saw_and_height_alone() -> None:
    said = cautions_of(f"  raceway: EMT 3/4\n{FREE}", "    - leg: 71\n")
    assert CUT in said
    assert "Ladders" in said
    for other in (FOOT, BEND, UPSIDE, ENCLOSURE, HEAT, THREAD, CEMENT):
        assert other not in said


def test_a_foot_on_the_shoe_is_said_of_bends_on_the_floor_and_an_enclosure_where_an_end_goes_into_one() -> None:
    said = cautions_of("  raceway: EMT 3/4\n  start: {fitting: none}\n  end: {fitting: compression}\n", CORNER)
    assert FOOT in said
    assert UPSIDE not in said
    assert ENCLOSURE in said
    assert ENCLOSURE not in cautions_of(f"  raceway: EMT 3/4\n{FREE}", CORNER)


def test_each_bend_warns_by_its_own_stance() -> None:
    planned = answer("plan", {"survey": survey(), "pictures": []})
    assert isinstance(planned, PlanAnswer)
    stances = {bend.number: bend.stance for bend in planned.plan.pieces[0].bends}
    assert set(stances.values()) == {"floor", "upside down"}
    for step, told in zip(planned.plan.steps, planned.step_cautions, strict=True):
        if step.bend is not None:
            assert (FOOT in " ".join(told)) == (stances[step.bend] == "floor")
            assert ("Bender upside down" in " ".join(told)) == (stances[step.bend] == "upside down")


def test_heated_pvc_warns_of_heat_and_fumes_and_cement_and_of_no_shoe() -> None:
    said = cautions_of(
        "  raceway: PVC-40 1\n  bend_radius: 9\n  start: {fitting: none}\n  end: {fitting: socket}\n", CORNER
    )
    for wanted in (HEAT, FUMES, CEMENT):
        assert wanted in said
    for other in (FOOT, BEND, UPSIDE):
        assert other not in said


def test_bends_that_no_hand_shoe_makes_say_nothing_of_foot_or_handle_and_threads_have_their_own() -> None:
    said = cautions_of(
        "  raceway: RMC 2-1/2\n  bend_radius: 31\n  start: {fitting: threaded}\n  end: {fitting: hub}\n", CORNER
    )
    assert "By machine or form" in said
    assert THREAD in said
    for other in (FOOT, BEND, UPSIDE, CEMENT, HEAT):
        assert other not in said


def test_drilling_is_said_where_straps_are_fastened() -> None:
    planned = answer("plan", {"survey": survey(), "pictures": []})
    assert isinstance(planned, PlanAnswer)
    for step, told in zip(planned.plan.steps, planned.step_cautions, strict=True):
        assert (DRILL in " ".join(told)) == step.title.startswith("Level and strap")
