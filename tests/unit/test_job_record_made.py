"""Bends made and readings by command: what a record is held to, when a run is bent, what cannot be right."""

import json
import re
import shlex
from math import radians
from pathlib import Path

import msgspec
import pytest
from typed import kept, made_of, type_in

from racewright.cli.main import main
from racewright.errors import InputError
from racewright.fit.measured import BendAngle, OffAt
from racewright.job.plan_job import plan_one
from racewright.operations.answer import ask_json
from racewright.records.entry import BendMade, Entry, Made, Pins, Readings, StatusSet
from racewright.records.parse import job_from_data
from racewright.records.read_otherwise import read_otherwise
from racewright.store.job_file import job_to_data, load_job
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore

#: The same bend, read by two.
ANA, BO = "--made 1=25 --by Ana", "--made 1=20 --by Bo"
EXAMPLES = Path(__file__).parents[2] / "examples"

SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")

DEMO = load_job(EXAMPLES / "orchard-job.json")


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
        (
            ["--made 1=22.5 --made 2=47 --new-marks", "--angle 1=25 --off up=0"],
            ("mark 1 has 22.5°", "mark 1 has 25°"),
        ),
        (["--made 2=47", "--made 2=45", "--angle 2=45 --off up=0"], ()),
        (["--off up=1/8 --made 1=22.5", "--made 3=22.5", "--off up=1/2"], ()),
        (
            ["--made 1=22.5", "--off up=1/8", "--made 1=22.5", "--off up=1/2"],
            ('off up by 1/8" at end B', 'off up by 1/2" at end B'),
        ),
        (["--made 1=25", "--made 3=22.5", "--angle 1=22.5 --off up=0"], ("mark 1 has 25°", "mark 1 has 22.5°")),
        ([f"{ANA} --new-marks", f"{BO} --new-marks"], ("mark 1 has 25°", "mark 1 has 20°")),
        ([f"{ANA} --new-marks", "--made 1=24.2 --new-marks"], ()),
        ([f"{ANA} --new-marks", f"{BO} --new-marks", BO], ()),
        ([f"{ANA} --new-marks", f"{BO} --new-marks", f"{BO} --new-marks"], ()),
        ([f"{ANA} --new-marks", f"{BO} --new-marks", "--made 1=22.5", "--made 2=45", "--new-marks"], ()),
        (
            [f"{ANA} --new-marks", f"{BO} --new-marks", "--angle 1=25 --off up=0"],
            ("mark 1 has 20°", "mark 1 has 25°"),  # the marks that hold are worked out from 20°
        ),
        ([f"{ANA} --new-marks", f"{BO} --new-marks", f"{ANA} --new-marks"], ()),
        ([f"{BO} --new-marks", "--made 1=22 --new-marks"], ()),  # they bend it another 2 1/2°
        (
            ["--made 1=25@19-3/4 --new-marks", "--made 1=25@20-1/4 --new-marks"],
            ('mark 1 stands 19 3/4" from end A', 'mark 1 stands 20 1/4" from end A'),
        ),
        (
            ["--made '1=22.5@19-3/4' --made '2=44@27-7/16, roll 3' --new-marks", "--made '2=44, roll 5' --new-marks"],
            (
                "the plane of mark 2 is 3° clockwise off the plan",
                "the plane of mark 2 is 5° clockwise off the plan",
            ),
        ),
        (["--made 1=21 --by Lee", "--made 1=23 --by Kim"], ("mark 1 has 21°", "mark 1 has 23°")),
        (["--made 1=21 --by Lee", "--made 1=23 --by Lee"], ()),
        (["--made 1=21 --by Lee", "--made 1=22 --by Kim"], ()),  # as near as both read
        (["--made 1=21 --by Lee", "--made 1=23 --by Kim", "--made 1=22.5 --by Lee"], ()),
        (["--made 1=21 --by Lee", "--made 1=23 --by Kim", "--made 1=23 --by Kim"], ()),
        (
            ["--made 1=22.5@19-3/4 --by Lee", "--made 1=22.5@20-1/4 --by Kim"],
            ('mark 1 stands 19 3/4" from end A', 'mark 1 stands 20 1/4" from end A'),
        ),
    ],
)
def test_readings_that_cannot_both_be_right_are_told(
    steps: list[str], told: tuple[str, ...], here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each may be misread by 1/16 in, or half a degree; what was corrected or bent between is read anew. Where they are
    recorded, and wherever the run is looked at, until a reading settles it; of a bend that is made twice that is told
    where it is recorded."""
    type_in("add", SADDLE, "--key", "PH-01")
    for step in steps:
        capsys.readouterr()
        assert type_in("record", "PH-01", *shlex.split(step)) == 0
    twice = "--by Lee" in steps[0]
    if twice:
        assert "job.made_twice" in capsys.readouterr().out
    for look in (["show", "PH-01"], ["status"]) if twice else ((), ["show", "PH-01"], ["status"]):
        if look:
            type_in(*look)
        said = " ".join(capsys.readouterr().out.split())
        assert ("job.read_otherwise" in said) == bool(told), look
        if told:
            assert f"PH-01: '{told[0]}' and '{told[1]}' cannot both be right." in said


def test_readings_that_cannot_both_be_right_stay_open_where_later_new_marks_have_what_was_read_before(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody read that bend again; on Bend and Check the page tells it by the same question."""
    type_in("add", SADDLE, "--key", "PH-01")
    for step in (f"{BO} --new-marks", f"{ANA} --new-marks", "--made 2=44.1", "--made 2=43.5 --new-marks"):
        assert type_in("record", "PH-01", *step.split()) == 0
    last = made_of(kept())[-1].what
    assert isinstance(last, Made)
    assert [bend.number for bend in last.bends] == [1, 2]
    capsys.readouterr()
    type_in("show", "PH-01")
    told = " ".join(capsys.readouterr().out.split())
    assert (
        "caution: PH-01: 'mark 1 has 20°' and 'mark 1 has 25°' cannot both be right. Both are kept: measure it again"
        " and record it, record what was corrected between, or take back the one that is wrong. The new marks kept last"
        " were worked out from 'mark 1 has 25°': bend nothing more by them until that is settled, and where it is wrong"
        " ask for new ones. [job.read_otherwise]"
    ) in told
    (row,) = json.loads(ask_json("job_plan", json.dumps({"job": job_to_data(kept())})))["findings"][-1:]
    assert row["rule"] == "job.read_otherwise"
    pack = json.loads(ask_json("job_pack", json.dumps({"job": job_to_data(kept()), "form": "svg"})))
    assert "Readings of a piece cannot both be right, so measure it again: PH-01" in pack["svg"][0]


def test_nothing_more_is_bent_of_a_piece_of_which_two_say_otherwise_how_it_is_bent(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The next mark follows from what the bend is."""

    def said(*words: str) -> str:
        capsys.readouterr()
        assert type_in(*words) == 0
        return " ".join(capsys.readouterr().out.split())

    type_in("add", SADDLE, "--key", "PH-01")
    for made, by in (("1=21", "Lee"), ("1=23", "Kim")):
        said("record", "PH-01", "--made", made, "--by", by)
    assert "Finish it by its own card" not in said("batch")
    assert "PH-01. Bend nothing more of it" in said("batch")
    assert "PH-01 (begun, STOP)" in said("cut")
    said("record", "PH-01", "--made", "1=23", "--by", "Lee")
    assert "Finish it by its own card." in said("batch")
    assert "STOP" not in said("cut")


def test_what_was_read_of_a_bend_that_is_ticked_off_since_is_read_anew() -> None:
    """As a page does, without an angle."""
    run = DEMO.runs[0]
    read, again = (Readings(measured=(BendAngle(number=1, angle_rad=radians(deg)),)) for deg in (22.5, 25.0))
    for what, told in (((read, again), 1), ((read, Made(bends=(BendMade(number=1),)), again), 0)):
        entries = [Entry(run=run.id, piece=1, what=one, pins=Pins(marks="K7M3QX")) for one in what]
        assert len(read_otherwise(run, entries, "K7M3QX", ())) == told
    # what two read of it as made stays open where it is ticked off once more
    made = [(BendMade(number=1, angle_rad=0.4), "Lee"), (BendMade(number=1, angle_rad=0.45), "Kim")]
    made.append((BendMade(number=1), "Lee"))
    two = [Entry(run=run.id, piece=1, what=Made(bends=(b,)), by=by, pins=Pins(marks="K7M3QX")) for b, by in made]
    assert len(read_otherwise(run, two, "K7M3QX", ())) == 1


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
