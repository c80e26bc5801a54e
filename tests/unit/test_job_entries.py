"""Entries of runs by command: pinned, shown, taken back; and runs of one key, told apart wherever they are listed."""

import json
import re
from math import degrees, radians
from pathlib import Path

import msgspec
import pytest
from typed import type_in

from racewright import __version__
from racewright.cli.main import main
from racewright.errors import InputError
from racewright.fit.measured import BendAngle, OffAt
from racewright.job.plan_job import plan_one
from racewright.operations.answer import ask_json
from racewright.operations.job_run import run_of
from racewright.operations.read_otherwise import questions_of_readings
from racewright.plan.model import BendPlanned
from racewright.records.entry import Anew, BendMade, Entry, Made, MarkAnew, Pins, Readings, StatusSet
from racewright.records.far_off import far_off
from racewright.records.ids import digest
from racewright.records.model import Job, JobHead
from racewright.records.naming import keys_told_apart, keys_twice, runs_called, short_ids, told_apart
from racewright.records.parse import job_from_data
from racewright.store.job_file import job_to_data, load_job
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore
from racewright.units.tape import TapeStyle

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")
DEMO = load_job(EXAMPLES / "orchard-job.json")
FIRST, SECOND = (
    msgspec.structs.replace(run, id=digest(name), key=key, area="")
    for run, name, key in ((DEMO.runs[0], "first", "PH-07"), (DEMO.runs[1], "second", "ph-07"))
)
TWINS = Job(
    head=JobHead(name="Orchard"),
    runs=(FIRST, SECOND, msgspec.structs.replace(DEMO.runs[2], area="")),
    entries=(Entry(run=SECOND.id, what=StatusSet(status="bent")),),
)
LABELS = [f"PH-07-{FIRST.id[:6]}", f"ph-07-{SECOND.id[:6]}"]


@pytest.fixture
def here(empty_folder: Path) -> Path:
    assert type_in("new", "orchard", "--by", "Kim") == 0
    return empty_folder


def made_of(job: Job) -> list[Entry]:
    return [entry for entry in job.entries if isinstance(entry.what, Made)]


def kept() -> Job:
    with JobStore.open("jobs.rwshop") as store:
        return store.load("orchard")


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


def test_a_run_gets_another_key_and_keeps_what_is_kept_of_it(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("add", STUB, "--key", "WS-01")
    type_in("set", "bent", "PH-01")
    assert type_in("rename", "ph-01", "PH-20") == 0
    assert [(run.key, kept().status(run)) for run in kept().runs] == [("PH-20", "bent"), ("WS-01", "measured")]
    with pytest.raises(InputError, match="has a run 'WS-01' already"):
        type_in("rename", "PH-20", "ws-01")
    with pytest.raises(InputError, match="cannot be kept"):
        type_in("rename", "PH-20", "two words")
    assert type_in("rename", "PH-20", "ph-20") == 0  # another case of its own
    capsys.readouterr()
    type_in("log", "ph-20")
    assert "run PH-01 called PH-20" in capsys.readouterr().out


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


def test_adding_asks_for_a_key_of_its_own(here: Path, tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "pump-house-saddle.yaml").write_text(Path(SADDLE).read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(InputError, match="has a run 'pump-house-saddle' already"):
        type_in("add", SADDLE, "b/pump-house-saddle.yaml")
    assert kept().runs == ()


def test_a_second_job_breaks_no_command_and_job_overrules(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("new", "barn", "--by", "Kim")
    type_in("add", STUB, "--key", "B-1")
    capsys.readouterr()
    for words, run in (((), "B-1"), (("--job", "orchard"), "PH-01")):
        assert type_in("status", "--json", *words) == 0
        assert [row["run"] for row in json.loads(capsys.readouterr().out)["runs"]] == [run]


def test_runs_of_one_key_are_told_apart_and_told_of_wherever_they_are_listed() -> None:
    job = job_to_data(TWINS)
    for name, more in (("job_status", {}), ("job_plan", {}), ("job_bill", {}), ("job_cut", {"all": True})):
        answer = json.loads(ask_json(name, json.dumps({"job": job, **more})))
        (finding,) = (f for f in answer["findings"] if f["rule"] == "job.keys")
        assert (finding["severity"], finding["where"]) == ("caution", "PH-07")
        assert f"{FIRST.id[:6]} ({FIRST.name}); {SECOND.id[:6]} ({SECOND.name})" in finding["message"]
        said = json.dumps(answer)
        assert all(label in said for label in LABELS), name
        if "runs" in answer:
            assert [(row["run"], row["status"]) for row in answer["runs"]] == [
                (LABELS[0], "measured"),
                (LABELS[1], "bent"),
                ("PH-03", "measured"),
            ]
    plans = json.loads(ask_json("job_plan", json.dumps({"job": job})))["runs"]
    assert plans[0]["plan"]["marks"] != plans[1]["plan"]["marks"]  # each its own plan


def test_a_pack_has_a_card_for_each_run_of_one_key() -> None:
    pack = json.loads(ask_json("job_pack", json.dumps({"job": job_to_data(TWINS), "form": "svg"})))
    assert "job.keys" in [finding["rule"] for finding in pack["findings"]]
    words = " ".join(pack["svg"])
    assert all(f"run {label}, sheet 1 of 1" in words for label in LABELS)


def test_a_run_of_a_request_is_named_by_key_or_id() -> None:
    job = job_to_data(TWINS)

    def ask(name: str) -> dict[str, dict[str, str]]:
        told: dict[str, dict[str, str]] = json.loads(ask_json("job_run", json.dumps({"job": job, "run": name})))
        return told

    assert ask(SECOND.id[:8])["status"] == "bent"
    assert ask(LABELS[0])["status"] == "measured"
    error = ask("PH-07")["error"]
    assert error["message"] == "2 runs are called 'PH-07'."
    assert SECOND.name in error["hint"]


@pytest.mark.parametrize("same", [5, 6, 12, 31])
def test_ids_that_begin_alike_are_shown_as_far_as_it_takes(same: int) -> None:
    ids = ["a" * 32, "a" * same + "b" * (32 - same), "c" * 32]
    keys = ["PH-07", "ph-07", "PH-07"]
    runs = [msgspec.structs.replace(FIRST, id=one, key=key) for one, key in zip(ids, keys, strict=True)]
    digits = max(6, same + 1)
    begins = short_ids(runs)
    assert begins == {one: one[:digits] for one in ids}
    apart = keys_told_apart(runs)
    assert len({one.casefold() for one in apart}) == 3
    assert all(len(one) <= 40 for one in apart)
    for run, name in zip(runs, apart, strict=True):
        assert runs_called(runs, name) == runs_called(runs, begins[run.id]) == (run,)
    assert len(runs_called(runs, "aaaaa")) == 2  # as one types it who does not know
    with pytest.raises(InputError) as caught:
        run_of(Job(head=JobHead(name="x"), runs=tuple(runs)), "ph-07")
    assert all(begin in caught.value.hint for begin in begins.values())


def test_a_run_that_is_called_as_another_is_told_apart_is_told_apart_from_it() -> None:
    runs = [
        msgspec.structs.replace(FIRST, id=one * 32, key=key)
        for one, key in (("a", "PH-07"), ("b", "PH-07"), ("c", "PH-07-aaaaaa"), ("d", "bbbbbb"))
    ]
    apart = keys_told_apart(runs)
    assert apart == ("PH-07-aaaaaaa", "PH-07-bbbbbbb", "PH-07-aaaaaa", "bbbbbb")
    assert [runs_called(runs, name) for name in apart] == [(run,) for run in runs]
    assert runs_called(runs, short_ids(runs)["b" * 32]) == (runs[1],)


def test_keys_differ_by_more_than_case() -> None:
    assert list(keys_twice(TWINS.runs)) == ["PH-07"]
    assert [run.key for run in told_apart(TWINS).runs] == [*LABELS, "PH-03"]
    assert told_apart(DEMO) is DEMO


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"piece": 77, "what": {"kind": "note", "note": "seen"}}, "entries[0].piece is '77'"),
        ({"what": {"kind": "made", "bends": []}}, "entries[0].what names no bend, and no step that is done"),
        ({"what": {"kind": "corrected", "moves": [{"number": 1, "by_rad": 1e300}]}}, "entries[0].what.moves[0].by_rad"),
    ],
)
def test_an_entry_of_a_job_file_holds_only_what_a_piece_can_have(more: dict[str, object], told: str) -> None:
    entries = [{"run": DEMO.runs[0].id, **more}]
    with pytest.raises(InputError) as err:
        job_from_data(job_to_data(DEMO) | {"entries": entries})
    assert told in str(err.value)


def test_a_run_is_bent_once_every_bend_of_its_pieces_is_made(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def record(*made: str, more: tuple[str, ...] = ()) -> str:
        capsys.readouterr()
        type_in("record", "PH-01", *(word for one in made for word in ("--made", one)), *more)
        return capsys.readouterr().out.splitlines()[0]

    type_in("add", SADDLE, "--key", "PH-01")
    record("1=22.5", "2=45", "3=22.5", more=("--plan", "K7M3QX"))
    assert kept().statuses(kept().runs[0]) == ("measured",)  # by another plan's marks
    assert record("1=22.5", "2=45") == "PH-01: recorded; status planned"
    assert kept().statuses(kept().runs[0]) == ("planned",)
    assert record("3=22.5") == "PH-01: recorded; status bent"
    assert [entry.what for entry in kept().entries][-1] == StatusSet(status="bent")
    assert type_in("undo", "PH-01", "--anyone") == 0
    assert kept().statuses(kept().runs[0]) == ("planned",)
    # the last one is to be bent on: it is left until it was, and the piece stays bent where a bend is recorded anew
    record("3=20", more=("--new-marks",))
    assert kept().statuses(kept().runs[0]) == ("planned",)
    record("3=22.5")
    assert kept().statuses(kept().runs[0]) == ("bent",)
    record("3=22")
    assert sum(entry.what == StatusSet(status="bent") for entry in kept().entries) == 1


@pytest.mark.parametrize(
    ("steps", "told"),
    [
        (["--off up=1/8 --off up=1"], ('off up by 1/8" at end B', 'off up by 1" at end B')),
        (["--off up=1/8 --off down=1/8"], ('off up by 1/8" at end B', 'off down by 1/8" at end B')),
        (["--off left=1", "--off right=1"], ('off left by 1" at end B', 'off right by 1" at end B')),
        (["--angle 2=45 --off up=0 --made 2=47"], ("mark 2 has 47°", "mark 2 has 45°")),
        (["--made 2=47", "--angle 2=45 --off up=0"], ("mark 2 has 47°", "mark 2 has 45°")),
        (["--off up=1 --lean up=2", "--off up=1 --lean up=4"], ("last leg leans up 2°", "last leg leans up 4°")),
        (["--off up=1/8 --off up=3/16 --off left=1 --off up=1@20"], ()),
        (["--off up=1/8 --off up=1/4"], ()),
        (["--off up=1/8 --off up=17/64"], ('off up by 1/8" at end B', 'off up by 1/4" at end B')),
        (["--off up=1", "--corrected 1=1", "--off up=0"], ()),
        (["--made 1=22.5 --made 2=47 --new-marks", "--angle 1=25 --off up=0"], ()),
        (["--made 2=47", "--made 2=45", "--angle 2=45 --off up=0"], ()),
        (["--off up=1/8 --made 1=22.5", "--made 3=22.5", "--off up=1/2"], ()),
        (
            ["--made 1=22.5", "--off up=1/8", "--made 1=22.5", "--off up=1/2"],
            ('off up by 1/8" at end B', 'off up by 1/2" at end B'),
        ),
        (["--made 1=25", "--made 3=22.5", "--angle 1=22.5 --off up=0"], ("mark 1 has 25°", "mark 1 has 22.5°")),
    ],
)
def test_readings_that_cannot_both_be_right_are_told(
    steps: list[str], told: tuple[str, ...], here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each may be misread by 1/16 in, or half a degree; what was corrected or bent between is read anew."""
    type_in("add", SADDLE, "--key", "PH-01")
    for step in steps:
        capsys.readouterr()
        assert type_in("record", "PH-01", *step.split()) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert ("job.read_otherwise" in said) == bool(told)
    if told:
        assert f"PH-01: '{told[0]}' and '{told[1]}' cannot both be right." in said


def test_what_was_read_of_a_bend_that_is_ticked_off_since_is_read_anew() -> None:
    """As a page does, without an angle."""
    read, again = (Readings(measured=(BendAngle(number=1, angle_rad=radians(deg)),)) for deg in (22.5, 25.0))
    for before, told in (((read,), True), ((read, Made(bends=(BendMade(number=1),))), False)):
        rules = [one.rule for one in questions_of_readings(before, [again], TapeStyle(), "")]
        assert ("job.read_otherwise" in rules) == told


def test_of_runs_of_many_pieces_and_copies_each_bend_of_the_copy_counts(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", str(EXAMPLES / "packing-shed-long-run.yaml"), "--key", "PS-01")
    type_in("times", "2", "PS-01")
    job = kept()
    pieces = enumerate(plan_one(job.runs[0], job).pieces, 1)
    todo = [(str(at), f"{bend.number}={bend.angle_deg}") for at, piece in pieces for bend in piece.bends]
    assert len({at for at, _ in todo}) > 1
    for at, made in reversed(todo):
        assert kept().statuses(kept().runs[0])[1] != "bent"
        assert type_in("record", "PS-01", "--copy", "2", "--piece", at, "--made", made) == 0
        capsys.readouterr()
        type_in("batch")
        lists = capsys.readouterr().out
        type_in("cut")
        lists += capsys.readouterr().out
        # a piece of which no bend is left is sent to no card, while others of the run are still to be bent
        whole = at not in {other for other, _ in todo[: todo.index((at, made))]}
        assert (f"No bend of it is left: PS-01-{at}#2" in lists) == (whole and (at, made) != todo[0]), at
        assert (f"PS-01-{at}#2 (begun)" in lists) == (not whole), at
    assert kept().statuses(kept().runs[0]) == ("measured", "bent")


def test_a_mark_that_its_piece_does_not_have_is_refused_with_the_piece_and_those_that_have_some(here: Path) -> None:
    type_in("add", str(EXAMPLES / "packing-shed-long-run.yaml"), "--key", "PS-01")
    job = kept()
    bends = [len(piece.bends) for piece in plan_one(job.runs[0], job).pieces]
    straight, bent = bends.index(0) + 1, next(n for n, count in enumerate(bends, 1) if count)
    for option in ("--made", "--angle"):
        with pytest.raises(InputError, match=f"PS-01-{straight}: mark 1 was named, and the piece has 0 marks") as err:
            type_in("record", "PS-01", "--piece", str(straight), option, "1=90")
        assert f"name another piece with --piece: piece {bent} has {bends[bent - 1]} mark" in err.value.hint


def test_bends_made_are_held_to_the_conduit(here: Path) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    for said, told in (
        ("1=20@99", "and the conduit ends 58 7/8"),
        ("1=20@99", "name the plan that it was bent from, if that is another one"),
        ("1=-20", "no angle that a bend has"),
    ):
        with pytest.raises(InputError) as err:
            type_in("record", "PH-01", "--made", said)
        assert told in str(err.value)
    with pytest.raises(InputError, match="they overlap"):
        type_in("record", "PH-01", "--made", "1=22@20", "--made", "2=45@20-1/4")
    with pytest.raises(InputError, match="mark 1 is said to be bent twice"):
        type_in("record", "PH-01", "--made", "1=22", "--made", "1=23")
    assert kept().entries == ()


def test_bends_made_are_held_to_those_recorded_before(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    assert type_in("record", "PH-01", "--made", "1=22@20", "--by", "Ana") == 0
    with pytest.raises(InputError, match=r"beside what is recorded as bent already \(mark 1\): .*overlap"):
        type_in("record", "PH-01", "--made", "2=45@20-1/4", "--by", "Kim")
    assert len(made_of(kept())) == 1
    capsys.readouterr()
    assert type_in("record", "PH-01", "--made", "1=23@15", "--made", "2=45@20-1/4", "--by", "Kim") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "caution: PH-01: mark 1 is recorded as bent already, by Ana" in told
    assert "job.made_twice" in told
    assert len(made_of(kept())) == 2  # kept all the same
    assert type_in("record", "PH-01", "--made", "3=22", "--by", "Kim") == 0
    assert "job.made_twice" not in capsys.readouterr().out
    assert type_in("record", "PH-01", "--piece", "1", "--made", "3=22", "--plan", "K7M3QX") == 0  # of another plan
    assert "job.made_twice" not in capsys.readouterr().out


def test_a_bend_that_is_far_from_its_planned_angle_is_told_and_kept(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    capsys.readouterr()
    assert type_in("record", "PH-01", "--made", "1=90") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "caution: PH-01: mark 1 is recorded at 90°, and 22 1/2° belongs there. It is kept as it was said." in told
    assert "job.far_off" in told
    assert len(made_of(kept())) == 1
    type_in("record", "PH-01", "--made", "1=24")
    assert "job.far_off" not in capsys.readouterr().out
    type_in("record", "PH-01", "--angle", "2=9")
    off = "PH-01: mark 2 is recorded at 9°, and 45° belongs there"
    assert off in " ".join(capsys.readouterr().out.split())
    # until it is mended it stands wherever the job is looked at, and is among the pack's open items
    for words in (["status"], ["plan"], ["show", "PH-01"], ["bill"], ["batch", "--status", "bent"]):
        type_in(*words)
        said = " ".join(capsys.readouterr().out.split())
        assert off in said, words
        assert "mark 1 is recorded" not in said
    pack = json.loads(ask_json("job_pack", json.dumps({"job": job_to_data(kept()), "form": "svg"})))
    assert [f["where"] for f in pack["findings"] if f["rule"] == "job.far_off"] == ["PH-01"]
    assert any("2 is recorded at 9°" in page for page in pack["svg"])
    assert "is recorded far from what belongs there, so look at it first: PH-01" in pack["svg"][0]
    type_in("record", "PH-01", "--corrected", "2=35.5")
    assert "job.far_off" not in capsys.readouterr().out
    type_in("status")
    assert "is recorded at" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (
            "2=45@30",
            'with its mark at 30", and 27 7/16" belongs there: what lies beyond it comes out 1 15/16" off',
        ),
        ("2=45@27-1/2", ""),
        ("2=45, roll -12", "with its plane 12° counterclockwise off the plan's, seen from A"),
        ("2=45, roll 5", ""),
        ("1=26", 'at 26°, and 22 1/2° belongs there: end B comes out as much as 2 7/16" off'),
        ("1=24", ""),  # as near as hands bend
        ("3=26.5", 'at 26 1/2°, and 22 1/2° belongs there: end B comes out as much as 1 1/2" off'),
    ],
)
def test_a_bend_that_is_far_from_its_angle_its_place_or_its_plane_is_told_until_the_piece_is_measured(
    made: str, told: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The far end says what it comes to. Until then nothing more is bent, so no list sends it to its card."""

    def said(*words: str) -> str:
        capsys.readouterr()
        type_in(*words)
        return " ".join(capsys.readouterr().out.split())

    type_in("add", SADDLE, "--key", "PH-01")
    for words in (["record", "PH-01", "--made", made], ["status"], ["show", "PH-01"], ["batch"]):
        assert ("job.far_off" in said(*words)) == bool(told), words
    assert told in said("status")
    assert ("Finish it by its own card." in said("batch")) == (not told)
    assert ("PH-01 (begun, STOP)" in said("cut")) == bool(told)
    said("record", "PH-01", "--off", "up=3/8")
    assert "job.far_off" not in said("status")


def test_a_bent_piece_that_new_marks_want_opened_is_to_be_bent_until_it_is(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def said(*words: str) -> str:
        capsys.readouterr()
        type_in(*words)
        return " ".join(capsys.readouterr().out.split())

    type_in("add", SADDLE, "--key", "PH-01")
    made = ["--made", "1=22.5@20", "--made", "2=45@27.4", "--made", "3=24.5@34.25"]
    assert "status bent" in said("record", "PH-01", *made)
    assert "status planned" in said("record", "PH-01", "--new-marks", "--have", "60")
    assert "1 planned, 0 bent" in said("status")
    assert "new marks were kept for the rest: PH-01." in said("batch")
    assert "PH-01 (begun, new marks)" in said("cut")
    assert "0 measured, 1 planned" in said("plan", "--again") + said("status"), "what is there is no piece of before"
    assert "status bent" in said("record", "PH-01", "--made", "3=22.5")
    assert "0 planned, 1 bent" in said("status")


def test_what_a_command_takes_for_a_place_or_an_option_is_one(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "RM-1", "--times", "4")
    with pytest.raises(InputError, match="says no place behind the @"):
        type_in("record", "RM-1", "--copy", "1", "--made", "2=45@")
    assert not kept().entries
    type_in("set", "bent", "RM-1", "--copy", "1-2", "--copy", "4")
    assert kept().statuses(kept().runs[0]) == ("bent", "bent", "measured", "bent"), "both of what was given twice"
    capsys.readouterr()
    with pytest.raises(SystemExit):
        main(["job", "record", "RM-1", "--roll", "3"])
    told = capsys.readouterr().err
    assert told.endswith("unrecognized arguments: --roll 3\nhint: `racewright job record --help` says what it takes\n")


def test_a_bend_that_is_recorded_twice_is_told_with_the_time_as_a_person_reads_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    for _ in range(2):
        capsys.readouterr()
        type_in("record", "PH-01", "--made", "1=22.5", "--by", "Ana")
    told = " ".join(capsys.readouterr().out.split())
    assert re.search(r"recorded as bent already, by Ana \d{4}-\d\d-\d\d \d\d:\d\d UTC: the last one counts", told)


def test_what_is_advised_of_a_bend_that_is_far_off_mends_that_bend(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever was recorded of other copies since: taking back the last change would take back a good bend."""
    type_in("add", SADDLE, "--key", "RM-1", "--times", "3")
    type_in("record", "RM-1", "--copy", "2", "--made", "1=44")
    type_in("record", "RM-1", "--copy", "3", "--made", "1=22.5")
    capsys.readouterr()
    type_in("status")
    advised = "racewright job record RM-1 --copy 2 --made 1=DEG@PLACE"
    assert advised in " ".join(capsys.readouterr().out.split())
    type_in(*advised.replace("DEG@PLACE", "22.5").split()[2:])
    capsys.readouterr()
    type_in("status")
    assert "job.far_off" not in capsys.readouterr().out
    assert kept().copies_begun(kept().runs[0]) == (2, 3)


def test_new_marks_take_a_bend_that_is_far_off_as_it_is() -> None:
    run = DEMO.runs[0]
    planned = [(BendPlanned(22.5, 500.0), BendPlanned(45.0, 664.0), BendPlanned(22.5, 830.0))]

    def entry(*bends: tuple[int, float], anew: Anew | None = None) -> Entry:
        made = tuple(BendMade(number=number, angle_rad=radians(angle)) for number, angle in bends)
        return Entry(run=run.id, piece=1, what=Made(bends=made, anew=anew), pins=Pins(marks="K7M3QX"))

    new = Anew(marks=(MarkAnew(number=2, mark_mm=500.0, angle_rad=radians(60.0)),))
    off = entry((1, 44.0))
    assert [f.measured for f in far_off(run, [off], "K7M3QX", planned)] == [pytest.approx(44.0)]
    assert far_off(run, [off], "ANOTHR", planned) == []
    assert far_off(run, [off, entry((1, 44.0), anew=new)], "K7M3QX", planned) == []
    assert far_off(run, [off, entry((1, 44.0), anew=new), entry((2, 60.0), (3, 23.0))], "K7M3QX", planned) == []
    (told,) = far_off(run, [off, entry((1, 44.0), anew=new), entry((2, 45.0))], "K7M3QX", planned)
    assert (told.measured, told.allowed) == (pytest.approx(45.0), pytest.approx(60.0))


def test_a_wrong_bend_that_was_offered_does_not_hold_up_those_that_are_recorded(here: Path) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("record", "PH-01", "--made", "1=22@20")
    (first,) = made_of(kept())
    odd = Entry(run=first.run, piece=1, what=Made(bends=(BendMade(number=99),)), pins=first.pins, by="Sam")
    with JobStore.open("jobs.rwshop") as store:
        offer(store, kept().id, [Offered(kind="entry", id=odd.id, data=msgspec.to_builtins(odd))], by="phone")
    assert type_in("record", "PH-01", "--made", "2=45@27") == 0


IN_MM = {"units: in": "units: mm", "56 1/4": "1429", "26 1/8": "664", "2 7/8": "73", "clearance: 1/4": "clearance: 6"}


@pytest.mark.parametrize(
    ("job_in", "run_in", "mark", "mark_mm", "off", "off_mm", "have", "have_mm", "said"),
    [
        ("in", "mm", "664", 664.0, "3", 3.0, "1520", 1520.0, ("664 mm", "1520 mm", "3 mm")),
        ("mm", "in", "26-1/8", 663.575, "1/8", 3.175, "60", 1524.0, ('26 1/8"', '60"', '1/8"')),
    ],
)
def test_bare_lengths_of_a_record_are_in_the_runs_tape_and_said_in_it(
    job_in: str,
    run_in: str,
    mark: str,
    mark_mm: float,
    off: str,
    off_mm: float,
    have: str,
    have_mm: float,
    said: tuple[str, str, str],
    here: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """As its card is, whatever the job's list of purchases is in."""
    survey = Path(SADDLE).read_text(encoding="utf-8")
    for inches, mm in IN_MM.items() if run_in == "mm" else ():
        survey = survey.replace(inches, mm)
    (here / "PH-01.yaml").write_text(survey, encoding="utf-8")
    type_in("new", "other", "--units", job_in)
    type_in("add", "PH-01.yaml")
    capsys.readouterr()
    assert type_in("record", "PH-01", "--made", f"2=44.5@{mark}", "--new-marks", "--have", have) == 0
    told = capsys.readouterr().out
    assert f"PH-01 made: mark 2 bent to 44.5°, its mark {said[0]} from end A" in told
    assert f"conduit in hand: {said[1]} from end A, before these marks cut it" in told
    assert type_in("record", "PH-01", "--off", f"up={off}") == 0
    assert f"PH-01 measured: off up by {said[2]} at end B" in capsys.readouterr().out
    with JobStore.open("jobs.rwshop") as store:
        what = [entry.what for entry in store.load("other").entries]
    (bend,), (end,) = ([one for one in what if isinstance(one, kind)] for kind in (Made, Readings))
    assert isinstance(bend, Made)
    assert isinstance(end, Readings)
    assert bend.anew
    assert (bend.bends[0].mark_mm, bend.anew.in_hand_mm) == (pytest.approx(mark_mm), pytest.approx(have_mm))
    assert end.measured == (OffAt(way="up", off_mm=off_mm),)


def test_a_finished_piece_is_recorded_with_its_far_end_or_that_is_told(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of this piece alone, and with what was recorded of it before."""
    type_in("add", SADDLE, "--key", "PH-01")
    told = []
    for more in (["--angle", "2=45"], ["--rise", "2=3-1/8"], ["--off", "up=0"], ["--angle", "2=45.5"]):
        capsys.readouterr()
        assert type_in("record", "PH-01", *more) == 0
        told.append("the far end was not measured: what is recorded" in " ".join(capsys.readouterr().out.split()))
    assert told == [True, True, False, False]


@pytest.mark.parametrize(
    ("of", "told"),
    [
        ({}, False),
        ({"piece": None}, False),
        ({"copy": None}, False),
        ({"piece": 2}, True),
        ({"copy": 2}, True),
        ({"pins": {"marks": "K7M3QX"}}, True),
        ({"what": {"kind": "note", "note": "dry"}}, True),
    ],
)
def test_the_far_end_of_another_piece_copy_or_plan_says_nothing_of_this_one(
    here: Path, of: dict[str, object], told: bool
) -> None:
    type_in("add", SADDLE, "--key", "PH-01", "--times", "3")
    type_in("record", "PH-01", "--copy", "1", "--off", "up=0")
    data = job_to_data(kept())
    (reading,) = (one for one in data["entries"] if one["what"]["kind"] == "readings")
    reading.update(of)
    asked = {"job": data, "run": "PH-01", "copies": [1], "measured": [{"what": "angle", "number": 2, "angle_deg": 45}]}
    found = json.loads(ask_json("job_record", json.dumps(asked)))["findings"]
    assert [one["rule"] for one in found if one["rule"] != "job.other_plan"] == ["tweak.unmeasured"] * told


def test_a_record_names_the_card_that_was_bent_from(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    now = plan_one(kept().runs[0], kept()).digest
    assert type_in("record", "PH-01", "--made", "1=22", "--plan", now.lower()) == 0
    assert "caution" not in capsys.readouterr().out
    assert type_in("record", "PH-01", "--made", "1=22@99", "--plan", "K7M3QX") == 0  # that plan may have been longer
    told = capsys.readouterr()
    assert f"recorded for plan K7M3QX; the plan is now {now}" in told.out + told.err
    assert [(e.pins.marks, e.pins.run) for e in made_of(kept())] == [(now, 1), ("K7M3QX", 0)]
    type_in("show", "PH-01")
    shown = capsys.readouterr().out
    assert f"PH-01 made: mark 1 bent to 22° (plan {now}; " in shown
    assert f"(for plan K7M3QX; the plan is now {now}; " in shown
    with pytest.raises(InputError, match="is no plan's digest") as err:
        type_in("record", "PH-01", "--made", "1=22", "--plan", "OLD")
    assert err.value.field == "--plan"


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


def test_a_run_that_is_not_there_is_told_those_that_are_by_names_that_serve(here: Path) -> None:
    with JobStore.open("jobs.rwshop") as store:
        store.create_job("twins", TWINS)
    with pytest.raises(InputError) as err:
        type_in("show", "PH-99", "--job", "twins")
    assert err.value.hint == f"runs: {LABELS[0]}, {LABELS[1]}, PH-03"
    assert type_in("log", LABELS[0], "--job", "twins") == 0
