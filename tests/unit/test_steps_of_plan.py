"""The steps of a plan that are no bends, on record: who did them is told, a cut list cuts nothing twice, and no status
and no new marks hang on them."""

from pathlib import Path
from typing import get_args

import pytest
from kept_new_marks import SADDLE
from typed import kept, type_in

from racewright.cards.entry_words import as_built_lines
from racewright.errors import InputError
from racewright.job.bench_list import bench_list
from racewright.job.cut_already import cut_already, straight_left
from racewright.job.plan_job import PlannedRun, plan_one
from racewright.operations.answer import answer
from racewright.operations.remark import RemarkAnswer
from racewright.plan.model import StepKind
from racewright.records.entry import Entry, Made, StepMade
from racewright.records.steps import STEPS, StepName


@pytest.fixture
def here(empty_folder: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    type_in("new", "orchard", "--by", "Kim")
    type_in("add", SADDLE, "--key", "PH-1")
    capsys.readouterr()
    return empty_folder


def test_the_table_has_every_step_of_a_plan_that_is_work_on_a_piece_and_no_bend() -> None:
    assert tuple(STEPS) == get_args(StepName)
    planned = [row.planned for row in STEPS.values() if row.planned]
    assert sorted([*planned, "bend", "stop"]) == sorted(get_args(StepKind))
    for row in STEPS.values():
        assert (row.of == "plan") == (row.planned is not None)


def test_steps_are_recorded_and_told_with_who_did_them(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("record", "PH-1", "--done", "length", "--done", "lay-out", "--by", "Ana")
    assert capsys.readouterr().out.splitlines() == [
        "PH-1: recorded; status planned",
        "PH-1 made: cut to length; lines drawn",
    ]
    type_in("record", "PH-1", "--made", "2=45", "--by", "Ana")
    type_in("record", "PH-1", "--done", "ream", "--done", "insert 2", "--by", "Ana")
    assert kept().statuses(kept().runs[0]) == ("planned",)
    capsys.readouterr()
    type_in("show", "PH-1")
    built = [
        line.split("made: ")[1].partition(" (plan")[0]
        for line in capsys.readouterr().out.splitlines()
        if "PH-1 made: " in line
    ]
    assert built == ["cut to length; lines drawn", "mark 2 bent to 45°", "reamed; put in (2)"]
    type_in("log", "PH-1")
    assert "PH-1 made: reamed" in capsys.readouterr().out


def test_steps_that_are_ticked_off_in_one_minute_are_one_line_and_else_each_has_its_own_time(here: Path) -> None:
    (run,) = kept().runs
    ticks = [("length", "20:58:07"), ("lay-out", "20:58:40"), ("ream", "21:10:02")]
    entries = [
        Entry(
            run=run.id,
            what=Made(bends=(), steps=(StepMade(kind=kind, number=1),)),  # type: ignore[arg-type]
            by="Ann",
            at=f"2026-05-04T{time}+00:00",
        )
        for kind, time in ticks
    ]
    assert [line.partition("made: ")[2] for line in as_built_lines(run, entries, "", 1)] == [
        "cut to length; lines drawn (Ann 2026-05-04T20:58:40+00:00)",
        "reamed (Ann 2026-05-04T21:10:02+00:00)",
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("length", "length: that is recorded as done already"),
        ("strap 2", "strap 2: the plan of the piece has no such step"),
        ("trim", "trim: the plan of the piece has no such step"),
        ("cut", "cut: no new marks that hold for the piece want that"),
        ("strap 0", "--done strap 0: steps count from 1"),
        ("saw", "--done saw is no step"),
    ],
)
def test_a_step_that_is_done_or_that_the_plan_does_not_have_is_refused(here: Path, words: str, said: str) -> None:
    type_in("record", "PH-1", "--done", "length")
    with pytest.raises(InputError) as err:
        type_in("record", "PH-1", "--done", words)
    assert said in str(err.value)
    with pytest.raises(InputError, match="length: that is recorded as done already"):
        type_in("record", "PH-1", "--done", "ream", "--done", "length")
    assert len(kept().entries) == 2


@pytest.mark.parametrize(
    ("step", "told"),
    [
        ({"kind": "ream"}, "does not say which step"),
        ({"kind": "ream", "number": 1, "trim_mm": 3.0}, "says by how much"),
        ({"kind": "cut", "trim_mm": 3.0, "number": 1}, "names a bend"),
        ({"kind": "twist", "number": 1}, "does not say by how much"),
    ],
)
def test_what_a_step_may_not_say(step: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        StepMade(**step)  # type: ignore[arg-type]


def test_new_marks_reckon_with_no_step_of_the_plan(here: Path) -> None:
    type_in("record", "PH-1", "--done", "length")
    type_in("record", "PH-1", "--made", "2=44", "--new-marks")
    type_in("record", "PH-1", "--done", "lay-out")
    record = [{"id": one.id, "what": one.what} for one in kept().entries if isinstance(one.what, Made)]
    assert len(record) == 3
    told = answer("remark", {"survey": kept().runs[0].survey, "record": record})
    assert isinstance(told, RemarkAnswer)
    assert told.keep is not None
    assert kept().entries[-1].what.steps[0].by_marks == record[1]["id"]  # type: ignore[union-attr]


def test_what_is_done_once_a_piece_is_bent_is_done_again_for_new_marks(here: Path) -> None:
    type_in("record", "PH-1", "--done", "length", "--done", "check", "--done", "ream")
    type_in("record", "PH-1", "--made", "2=44", "--new-marks")
    by = kept().entries[-1].id
    type_in("record", "PH-1", "--done", "ream")
    assert kept().entries[-1].what == Made(bends=(), steps=(StepMade(kind="ream", number=1, by_marks=by),))
    for again in ("ream", "length"):
        with pytest.raises(InputError, match="recorded as done already"):
            type_in("record", "PH-1", "--done", again)
    type_in("undo", "PH-1", "--new-marks")
    with pytest.raises(InputError, match="recorded as done already"):
        type_in("record", "PH-1", "--done", "ream")


def test_what_is_cut_to_length_is_not_cut_again_and_is_still_to_be_bent(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-1", "--done", "length")
    job = kept()
    (run,) = job.runs
    plan = plan_one(run, job)
    assert cut_already(job, run, plan) == {(1, 1): ""}
    batch = bench_list(job, [PlannedRun(run=run, plan=plan)], ("measured", "planned"))
    assert [[one.there for one in kind.pieces] for kind in batch.kinds] == [[True]]
    assert batch.begun == ()
    capsys.readouterr()
    type_in("batch")
    assert "kind 1: PH-1 CUT ALREADY" in capsys.readouterr().out
    type_in("cut")
    out = " ".join(capsys.readouterr().out.split())
    assert "Cut already, so not on the cut list: PH-1 (cut). Finish it by its card" in out


def test_a_straight_piece_that_is_cut_to_length_is_not_left_to_be_cut(here: Path) -> None:
    """Its run is bent by the bends of another piece alone."""
    Path("long.yaml").write_text(
        "run:\n  name: Packing shed\n  raceway: EMT 1/2\n  walk:\n    - leg: 190\n    - turn: left\n    - leg: 40\n",
        encoding="utf-8",
    )
    type_in("add", "long.yaml", "--key", "PS-2")
    run = kept().runs[-1]
    plan = plan_one(run, kept())
    straight = [number for number, piece in enumerate(plan.pieces, 1) if not piece.bends]
    first = {step.piece: step.kind for step in reversed(plan.steps) if step.kind in ("cut", "stock")}
    for number, piece in enumerate(plan.pieces, 1):
        for bend in piece.bends:
            type_in("record", "PS-2", "--piece", str(number), "--made", f"{bend.number}=90")
    assert {piece for _, piece in straight_left(kept(), run, plan)} == set(straight)
    assert straight
    for number in straight:
        type_in("record", "PS-2", "--piece", str(number), "--done", "length" if first[number] == "cut" else "stock")
    assert straight_left(kept(), run, plan) == set()
    assert {piece for _, piece in cut_already(kept(), run, plan)} == {*range(1, len(plan.pieces) + 1)}


@pytest.mark.parametrize(("step", "is_cut"), [("lay-out", False), ("strap", False), ("length", True), ("ream", True)])
def test_a_piece_is_cut_once_a_step_is_done_that_says_so(here: Path, step: str, is_cut: bool) -> None:
    type_in("record", "PH-1", "--done", step)
    (run,) = kept().runs
    assert bool(cut_already(kept(), run, plan_one(run, kept()))) == is_cut


def test_a_copy_of_which_only_steps_are_done_counts_again_with_them(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("times", "3", "PH-1")
    type_in("record", "PH-1", "--copy", "3", "--done", "length")
    type_in("times", "2", "PH-1")
    capsys.readouterr()
    type_in("times", "3", "PH-1")
    told = capsys.readouterr().out
    assert "PH-1: copy 3 counts again, with what is kept of it: planned (copy 3: cut to length)" in told


def test_a_piece_that_is_only_cut_for_another_plan_is_told_so_by_every_list(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-1", "--done", "length", "--done", "lay-out")
    old = plan_one(kept().runs[0], kept()).digest
    written = Path(SADDLE).read_text(encoding="utf-8")
    Path("shorter.yaml").write_text(written.replace("leg: 56 1/4", "leg: 54"), encoding="utf-8")
    assert written != Path("shorter.yaml").read_text(encoding="utf-8")

    def out(*words: str) -> str:
        capsys.readouterr()
        type_in(*words)
        return " ".join("".join(capsys.readouterr()).split())

    assert "PH-1: it is cut already, and its plan changes now" in out(
        "add", "shorter.yaml", "--key", "PH-1", "--replace"
    )
    shorter = "Where it is long enough, mark it by its new card and cut it shorter"
    for name in ("batch", "cut", "bill"):
        told = out(name)
        assert f"PH-1 (cut for plan {old})" in told
        assert told.count(shorter) == 2, "at the list and in run.superseded"
        assert "ask for new marks" not in told
        assert "CUT ALREADY" not in told
    assert f"PH-1 (cut for plan {old})" in out("kits")
    assert "1 label" in out("labels", "labels.csv")
    assert f"it was cut for plan {old}, and this is recorded" in out("record", "PH-1", "--made", "2=45")
    type_in("undo", "PH-1", "--made", "2")
    assert "job.other_plan" not in out("record", "PH-1", "--done", "length", "--done", "lay-out")
    assert "kind 1: PH-1 CUT ALREADY" in (told := out("batch"))
    assert "run.superseded" not in told


def test_a_saw_cuts_many_copies_and_each_has_an_entry(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("times", "4", "PH-1")
    type_in("record", "PH-1", "--copy", "1-2", "--done", "length")
    assert "PH-1, copies 1 to 2: recorded" in capsys.readouterr().out
    assert [one.copy for one in kept().entries if isinstance(one.what, Made)] == [1, 2]
    assert kept().statuses(kept().runs[0]) == ("planned", "planned", "measured", "measured")
    with pytest.raises(InputError, match="copy 2: length: that is recorded as done already"):
        type_in("record", "PH-1", "--copy", "2-3", "--done", "length")
    with pytest.raises(InputError, match="on a piece is of one of them"):
        type_in("record", "PH-1", "--copy", "3-4", "--done", "length", "--made", "2=45")
    with pytest.raises(InputError, match="on a piece is of one of them"):
        type_in("record", "PH-1", "--done", "length")


def test_what_comes_once_a_piece_is_bent_is_told_before_and_of_several_which_it_is(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("record", "PH-1", "--done", "length", "--done", "insert 2")
    told = capsys.readouterr()
    assert "insert 2 is: Last: " in told.out
    words = " ".join(told.out.split())
    assert 'PH-1: --done "insert 2" comes once it is bent' in words
    assert 'job undo PH-1 --done "insert 2"' in words
    with pytest.raises(InputError, match=r"insert 2 .Last: .*: that is recorded as done already"):
        type_in("record", "PH-1", "--done", "insert 2")
    with pytest.raises(InputError) as err:
        type_in("record", "PH-1", "--done", "cut")
    assert "length is the cut to length" in err.value.hint
    type_in("record", "PH-1", "--made", "2=45", "--done", "ream")
    assert "job.steps_early" not in capsys.readouterr().out
