"""A bend that is recorded far from what belongs there is told until it is mended or measured."""

import json
from math import radians
from pathlib import Path

import pytest
from msgspec.structs import replace
from typed import kept, made_of, type_in

from racewright.fit.jacobian import walk
from racewright.geometry.vector import norm, sub
from racewright.job.plan_job import plan_one
from racewright.operations.answer import ask_json
from racewright.plan.model import BendPlanned
from racewright.records.entry import Anew, BendMade, Entry, Made, MarkAnew, Pins
from racewright.records.far_off import far_off
from racewright.store.job_file import job_to_data, load_job

EXAMPLES = Path(__file__).parents[2] / "examples"

SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")

DEMO = load_job(EXAMPLES / "orchard-job.json")


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
        ("2=45, roll 5", "with its plane 5° clockwise off the plan's, seen from A: end B comes out about 2 1/16\" off"),
        ("2=45, roll -2", ""),  # as near as a plane is sighted
        (
            "3=22.5, roll 9",
            "with its plane 9° clockwise off the plan's, seen from A: end B comes out about 1 3/8\" off",
        ),
        ("3=22.5, roll 3", ""),  # end B comes out by less than 1/2 in
        ("1=26", 'at 26°, and 22 1/2° belongs there: end B comes out about 2 3/8" off'),
        ("1=24", ""),  # as near as hands bend
        ("3=26.5", 'at 26 1/2°, and 22 1/2° belongs there: end B comes out about 1 1/2" off'),
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


def test_how_far_end_b_comes_out_is_reckoned_where_the_run_doubles_back(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It lies nearer to bend 1 than the conduit between them is long."""
    legs = [{"leg": "24", "from": "face", "to": "back"}, {"leg": "26", "from": "inside", "to": "back"}]
    legs += [{"leg": "30", "from": "inside", "to": "face"}]
    way = [legs[0], {"turn": "left"}, legs[1], {"turn": "left"}, legs[2]]
    end = {"fitting": "set-screw"}
    run = {"name": "round the tank", "raceway": "EMT 1/2", "surface": "floor", "start": end, "end": end, "walk": way}
    Path("tank.yaml").write_text(json.dumps({"racewright": 1, "units": "in", "run": run}), encoding="utf-8")
    type_in("add", "tank.yaml", "--key", "PH-02")
    (planned,) = plan_one(kept().runs[0], kept()).pieces
    piece, off_rad = planned.piece, radians(4.0)
    first = replace(piece.bends[0], angle_rad=piece.bends[0].angle_rad + off_rad)
    off = replace(piece, bends=(first, *piece.bends[1:]))
    true_mm = norm(sub(walk(off).end.origin, walk(piece).end.origin))
    assert planned.bends_planned[0].reach_mm * off_rad == pytest.approx(true_mm, rel=0.05)
    capsys.readouterr()
    type_in("record", "PH-02", "--made", "1=94")
    told = " ".join(capsys.readouterr().out.split())
    assert 'end B comes out about 2 5/8" off' in told


@pytest.mark.parametrize(
    ("made", "then", "told"),
    [
        ("1=25@19-3/4", "2=44, roll 30", "with its plane 30° clockwise off the plan's, seen from A. It is kept"),
        ("1=25@19-3/4", "2=44, roll 5", 'seen from A: end B comes out about 2 1/16" off'),
        ("1=25@19-3/4", "2=44, roll -2", ""),
        # bend 1 is twisted into its plane first, with what lies beyond it, and bend 2 belongs where it is planned
        ("1=22.5, roll 4", "2=45, roll 4", ""),
    ],
)
def test_a_plane_that_is_off_is_told_of_a_bend_by_new_marks_too(
    made: str, then: str, told: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They say in which plane it belongs."""
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("record", "PH-01", "--made", made, "--new-marks")
    for words in (["record", "PH-01", "--made", then], ["status"], ["show", "PH-01"], ["batch"]):
        capsys.readouterr()
        type_in(*words)
        said = " ".join(capsys.readouterr().out.split())
        assert ("job.far_off" in said) == bool(told), words
        assert told in said
    assert ("Finish it by its new marks" in said) == (not told)


def test_a_plane_is_held_to_that_of_the_new_marks() -> None:
    run = DEMO.runs[0]
    planned = [(BendPlanned(22.5, 500.0), BendPlanned(45.0, 664.0, roll_deg=-180.0), BendPlanned(22.5, 830.0))]

    def told(off_deg: float, turned_deg: float, mark_deg: float | None = -150.0) -> list[str]:
        roll_rad = None if mark_deg is None else radians(mark_deg)
        marks = (MarkAnew(number=2, mark_mm=664.0, angle_rad=radians(45.0), roll_rad=roll_rad),)
        anew = Made(bends=(BendMade(number=1),), anew=Anew(marks=marks, turned_rad=radians(turned_deg)))
        then = Made(bends=(BendMade(number=2, roll_off_rad=radians(off_deg)),))
        entries = [Entry(run=run.id, piece=1, what=what, pins=Pins(marks="K7M3QX")) for what in (anew, then)]
        return [one.message for one in far_off(run, entries, "K7M3QX", planned)]

    assert told(30.0, 0.0) == told(-330.0, 0.0) == told(0.0, 10.0) == told(0.0, 0.0, None) == []
    (is_off,) = told(0.0, 0.0)
    assert "with its plane as the plan's, seen from A, and 30° clockwise off the plan's belongs there." in is_off


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
