"""New marks on paper: the sheets of a run, alone and in its pack, and the step in which a turned piece goes in."""

import json
import re
from base64 import b64decode
from html import unescape
from pathlib import Path

import msgspec
import pytest
from kept_new_marks import BY_ITS_CARD, MARKS, NUMBERED, SADDLE, TRIMMED, record, sheet, words_of
from typed import kept, type_in

from racewright.cards.pack import build_pack
from racewright.cards.pack_model import Pack
from racewright.job.plan_job import plan_job
from racewright.operations.answer import answer, ask_json
from racewright.operations.remark import RemarkAnswer
from racewright.records.ids import new_id
from racewright.store.job_file import job_to_data


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    assert type_in("add", SADDLE, "--key", "PH-01") == 0
    return empty_folder


def test_the_pack_says_on_the_bench_page_and_before_it_that_new_marks_hold(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    job = kept()
    pack = Pack(job=job, runs=tuple(plan_job(job)))
    made = build_pack(pack)
    first = made.first_pages["PH-01"] - 1
    words = words_of(made.scene.pages[first])
    assert NUMBERED in words
    assert words.index("NEW MARKS") < words.index("Mark it")
    before = " ".join(map(words_of, made.scene.pages[:first]))
    assert "NEW MARKS, " in before
    assert "New marks hold for the rest of a piece, not those of its bench page: PH-01" in before


def test_a_sheet_of_the_run_alone_says_it_as_the_pack_does(here: Path) -> None:
    type_in("record", "PH-01", "--made", "1=25", "--new-marks")
    data = job_to_data(kept())
    asked = {"survey": data["runs"][0]["survey"], "job": data}

    def words(svg: str) -> str:
        return " ".join(unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)", svg))).split())

    for what, before in (("card", "Mark it"), ("bench", "Mark it"), ("strip", "Print at 100 %")):
        page = words(json.loads(ask_json("card", json.dumps({**asked, "what": what})))["pages"][0])
        assert page.index("NEW MARKS") < page.index(NUMBERED) < page.index(before), what
        files = json.loads(ask_json("export", json.dumps({**asked, "kinds": [f"{what}.svg"]})))
        assert NUMBERED in words(b64decode(files["files"][0]["data"]).decode()), what
        assert [one["message"] for one in files["findings"] if one["rule"] == "job.new_marks"] == [
            f"{BY_ITS_CARD} {MARKS}"
        ]
        without = json.loads(ask_json("card", json.dumps({"survey": asked["survey"], "what": what})))
        assert "NEW MARKS" not in words(without["pages"][0]), what
    several = {**data, "runs": [*data["runs"], {**data["runs"][0], "id": new_id(), "key": "PH-02"}]}
    refused = json.loads(ask_json("card", json.dumps({**asked, "job": several})))["error"]
    assert (refused["message"], refused["field"]) == ("a sheet is of one run, and the job holds 2.", "job.runs")


TURN = "turn the whole piece 2° counterclockwise in its fitting at end A, seen from A."


def test_how_new_marks_turn_a_piece_in_its_fitting_is_told_in_the_step_in_which_it_goes_in(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("new", "orchard")
    type_in("add", str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml"), "--key", "PH-01")
    (plain,) = plan_job(kept())
    assert plain.plan is not None
    planes = ("--made", "1=22.5, roll 2", "--made", "2=45@27 7/16, roll 5")
    type_in("record", "PH-01", *planes, "--new-marks")
    (told,) = plan_job(kept())
    assert told.plan is not None
    changed = [at for at, (one, was) in enumerate(zip(told.plan.steps, plain.plan.steps, strict=True)) if one != was]
    (into,) = changed
    assert into == next(at for at, step in enumerate(plain.plan.steps) if step.kind == "insert")
    assert told.plan.steps[into].detail.startswith(f"By the new marks, when it goes in, {TURN} ")
    survey = job_to_data(kept())["runs"][0]["survey"]
    words = sheet("card")
    assert f'into disconnect (set-screw), 3/4" deep; by the new marks, when it goes in, {TURN} End B into' in words
    assert f"By the new marks, when it goes in, {TURN}" in words
    capsys.readouterr()
    type_in("show", "PH-01")
    assert f"By the new marks, when it goes in, {TURN}" in " ".join(capsys.readouterr().out.split())
    again = answer("remark", {"survey": survey, "record": msgspec.to_builtins(record())})
    assert isinstance(again, RemarkAnswer)
    assert again.turn == (f"when it goes in, {TURN[:-1]}",)
    type_in("record", "PH-01", "--made", "3=22.5", "--by-card")
    (lost,) = plan_job(kept())
    assert lost.plan is not None
    assert not any("By the new marks" in step.detail for step in lost.plan.steps), "they do not hold any more"


def test_of_runs_alike_the_step_in_which_a_piece_goes_in_names_the_copy_that_is_turned(
    empty_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("new", "orchard")
    path = Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml"
    type_in("add", str(path), "--key", "PH-01", "--times", "2")
    planes = ("--made", "1=22.5, roll 2", "--made", "2=45@27 7/16, roll 5")
    type_in("record", "PH-01", "--copy", "2", *planes, "--new-marks")
    (told,) = plan_job(kept())
    assert told.plan is not None
    (into,) = [step.detail for step in told.plan.steps if "by the new marks" in step.detail]
    assert into.startswith(f"PH-01#2: by the new marks, when it goes in, {TURN} ")


def told_of_the_cut(*copy: str) -> tuple[str, str]:
    """The step in which a piece with new marks is cut after bending, and its sheet."""
    type_in("new", "orchard")
    Path("trimmed.json").write_text(json.dumps(TRIMMED), encoding="utf-8")
    type_in("add", "trimmed.json", "--key", "PH-09", "--times", "2" if copy else "1")
    type_in("record", "PH-09", *copy, "--made", "1=31", "--new-marks")
    (told,) = plan_job(kept())
    assert told.plan is not None
    (step,) = [one for one in told.plan.steps if one.kind == "trim"]
    return f"{step.title}. {step.detail}", sheet("card")


CUT_B = 'ut it on line B, 85 3/16" from end A'


def test_the_step_in_which_an_end_is_cut_says_what_the_new_marks_cut_and_no_more_what_the_plan_did(
    empty_folder: Path,
) -> None:
    step, words = told_of_the_cut()
    assert step == f"C{CUT_B}. Square, by the new marks: what was drawn for it before does not count."
    assert f'STOCK, at least 86 1/8" cut after bending; by the new marks, c{CUT_B} ' in words
    assert f"; by the new marks, c{CUT_B}. NEW MARKS" in words, "at what end B goes into"
    assert ('then 85 1/8"' in words, 'finished 85 1/8"' in words) == (False, False)
    type_in("record", "PH-09", "--made", "2=30", "--by-card")
    (lost,) = plan_job(kept())
    assert lost.plan is not None
    assert not any(CUT_B in step.title for step in lost.plan.steps), "they do not hold any more"


def test_of_runs_alike_the_step_in_which_an_end_is_cut_names_the_copy_with_new_marks(empty_folder: Path) -> None:
    step, words = told_of_the_cut("--copy", "2")
    planned = 'Square; along the bends it is then 85 1/8".'
    assert step == f"Cut it on line B. PH-09#2: by the new marks, c{CUT_B}. {planned}"
    assert f"PH-09#2: by the new marks, c{CUT_B}. {planned}" in words


def test_where_the_plan_cuts_nothing_after_bending_the_ends_are_cut_by_new_marks_before_they_are_reamed(
    here: Path,
) -> None:
    type_in("record", "PH-01", "--made", "1=20", "--have", "62", "--new-marks")
    (told,) = plan_job(kept())
    assert told.plan is not None
    (ream,) = [step.detail for step in told.plan.steps if step.kind == "ream"]
    assert ream.startswith('By the new marks, cut 3 1/8" off at end B. Ream inside')
    assert 'By the new marks, cut 3 1/8" off at end B. Ream inside' in sheet("card")
