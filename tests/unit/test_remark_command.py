"""`racewright remark`: new marks for a half-bent piece, what it cannot meet, and input that cannot be used."""

import json
import re
from math import radians
from pathlib import Path

import msgspec
import pytest
from typed import typed

from racewright.cli import cmd_remark
from racewright.cli import main as cli
from racewright.errors import InputError, RacewrightError
from racewright.fit.finishing import HalfBent
from racewright.fit.jacobian import walk
from racewright.fit.made import MadeBend, as_made
from racewright.fit.measured import end_gap
from racewright.fit.replan import replan
from racewright.marks.mark import arc_start_from_mark_mm
from racewright.operations.bent import BentRequest, bent
from racewright.operations.common import Known
from racewright.operations.kept_before import plane_off_deg
from racewright.operations.remark import remarked
from racewright.plan.plan_run import plan_run
from racewright.records.entry import BendMade, Made, MadeEntry
from racewright.records.ids import new_id
from racewright.records.model import MadeReading
from racewright.store.survey_file import read_planned_file, read_survey_file
from racewright.units.tape import TapeStyle

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = str(EXAMPLES / "pump-house-saddle.yaml")
TURNS = str(EXAMPLES / "packing-shed-two-turns.yaml")
COLUMN = str(EXAMPLES / "packing-shed-column.yaml")


def remark(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str]:
    code = typed(cmd_remark, *args)
    return code, capsys.readouterr().out


def as_data(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, dict]:  # type: ignore[type-arg]
    code, out = remark(capsys, *args, "--json")
    return code, json.loads(out)


def test_a_plane_that_a_hand_cannot_tell_from_the_planned_one_is_that_and_another_is_named() -> None:
    piece = bent(BentRequest(survey=read_planned_file(TURNS).survey), Known())
    kept = remarked(piece, [MadeReading(number=9, angle_deg=93.0)])
    off = {mark.number: abs(plane_off_deg(mark.roll_deg, piece.bends[mark.number - 1])) for mark in kept.marks}
    assert kept.keep is not None
    record = [MadeEntry(id=new_id(), what=kept.keep)]
    for number in (4, 2, 3, 1):  # two are off by a twentieth of a degree, which no hand holds
        record.append(MadeEntry(id=new_id(), what=Made(bends=(BendMade(number=number),))))
        if off[number] < 0.25:
            assert remarked(piece, [MadeReading(number=9)], record=record).made
    assert [round(off[number], 2) for number in (4, 2, 3, 1)] == [0.01, 0.05, 0.04, 0.27]
    with pytest.raises(InputError, match=r"turn the plane of mark 1 0\.3° counterclockwise, seen from A\."):
        remarked(piece, [MadeReading(number=9)], record=record)


def test_made_as_planned_leaves_the_marks_and_the_plans_own_turns(capsys: pytest.CaptureFixture[str]) -> None:
    job = plan_run(read_survey_file(TURNS).survey)
    cli.main(["plan", TURNS, "--json"])
    planned = json.loads(capsys.readouterr().out)["pieces"][0]["bends"]
    first = min(planned, key=lambda b: b["order"])
    code, data = as_data(capsys, TURNS, "--made", str(first["number"]))
    assert code == 0
    assert data["met"]
    assert [b["number"] for b in data["marks"]] == [
        b["number"] for b in sorted(planned, key=lambda b: b["order"]) if b is not first
    ]
    by_number = {b["number"]: b for b in planned}
    for bend in data["marks"]:
        was = by_number[bend["number"]]
        assert bend["mark"]["mm"] == pytest.approx(was["mark_mm"], abs=1e-5)
        assert bend["angle_deg"] == pytest.approx(was["angle_deg"], abs=1e-6)
        # half a turn has two signs, and both say the same
        assert abs(bend["spin_deg"]) == pytest.approx(abs(was["spin_deg"]), abs=1e-5)
        if abs(was["spin_deg"]) < 179.9:
            assert bend["spin_deg"] == pytest.approx(was["spin_deg"], abs=1e-5)
        assert (bend["line_deg"] - was["line_deg"] + 180.0) % 360.0 == pytest.approx(180.0, abs=1e-5)
        assert (bend["hook"], bend["reference"]) == (was["hook"], was["reference"])
        assert bend["stance"] == was["stance"]
        assert ("Swap ends" in bend["spin_words"]) == was["end_for_end"]
    assert data["cut"]["mm"] == pytest.approx(job.pieces[0].piece.cut_length_mm, abs=1e-5)


def test_the_new_marks_bend_a_piece_that_fits(capsys: pytest.CaptureFixture[str]) -> None:
    """The printed marks and angles go back through the shoe to a chain; its end is where the plan has it."""
    job = plan_run(read_survey_file(SADDLE).survey)
    plan = job.pieces[0].piece
    code, data = as_data(capsys, SADDLE, "--made", "1: angle 25, mark 19 15/16", "--have", "62")
    assert code == 0
    shoe = job.shoe
    first = job.pieces[0].bends[0]
    made = [
        MadeBend(
            number=1,
            angle_rad=radians(25.0),
            arc_start_mm=arc_start_from_mark_mm(19.9375 * 25.4, radians(25.0), first.hook, first.reference, shoe),
        )
    ]
    for bend in data["marks"]:
        angle = radians(bend["angle_deg"])
        start = arc_start_from_mark_mm(bend["mark"]["mm"], angle, bend["hook"], bend["reference"], shoe)
        made.append(
            MadeBend(number=bend["number"], angle_rad=angle, arc_start_mm=start, roll_rad=radians(bend["roll_deg"]))
        )
    bent = msgspec.structs.replace(as_made(plan, made), cut_length_mm=data["cut"]["mm"])
    gap = end_gap(walk(plan).end, walk(bent).end)
    assert max(abs(g) for g in gap) < 1e-4  # mm and sine; the figures are printed with nine places
    assert data["cut"]["mm"] <= 62 * 25.4


def test_a_longer_piece_is_needed_only_where_it_may_be(capsys: pytest.CaptureFixture[str]) -> None:
    asked = (SADDLE, "--made", "1: angle 24, mark 19 15/16", "--made", "2: angle 47")
    _, bound = as_data(capsys, *asked)
    _, free = as_data(capsys, *asked, "--have", "10 ft")
    assert bound["cut"]["mm"] <= bound["was_cut"]["mm"] + 0.05
    assert free["cut"]["mm"] > free["was_cut"]["mm"]


def test_many_bends_left_still_meet_the_end(capsys: pytest.CaptureFixture[str]) -> None:
    code, data = as_data(
        capsys, TURNS, "--made", "9: angle 88, roll 2", "--made", "4", "--made", "mark 1", "--have", "120"
    )
    assert code == 0
    assert data["met"]
    assert max(abs(v) for v in (*data["gap"]["across_mm"], data["gap"]["along_mm"])) < 1e-3


def test_what_cannot_be_met_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = remark(capsys, SADDLE, "--made", "1: angle 24", "--made", "2: angle 52", "--made", "3")
    assert code == 1
    flat = " ".join(out.split())
    assert "problem: piece 1 is scrap: " in flat
    assert "at best end B comes out " in flat
    assert "- Make a new piece as planned: cut 58 7/8" in flat
    assert "meets its fitting" not in flat
    assert "after letting go" not in flat
    code, data = as_data(capsys, SADDLE, "--made", "1", "--made", "2: angle 52", "--made", "3")
    assert code == 1
    assert data["scrap"]
    assert (data["marks"], data["words"], data["room"], data["left_out"], data["met"]) == ([], [], [], [], False)
    assert [f["rule"] for f in data["findings"]] == ["replan.scrap"]
    assert data["cut"] == data["was_cut"]


def test_a_miss_that_a_hand_mends_is_no_scrap(capsys: pytest.CaptureFixture[str]) -> None:
    """Two bends off by a degree: the new marks want more grip than the plan's least stick has, and the first bend is
    opened instead."""
    code, data = as_data(capsys, COLUMN, "--made", "1: angle 23.6", "--made", "2: angle 44.6")
    assert code == 0
    assert not data["scrap"]
    assert [(o["number"], round(o["by_deg"], 6)) for o in data["opened"]] == [(1, 1.1)]
    assert "Open mark 1 by 1°." in data["notes"]
    assert [m["number"] for m in data["marks"] if not m["further_deg"]] == [3]
    assert "correcting" not in data["cautions"]


def test_more_conduit_in_hand_is_asked_for_before_a_piece_is_scrapped(capsys: pytest.CaptureFixture[str]) -> None:
    made = ("--made", "1: mark 240 mm", "--made", "2: mark 445 mm")
    code, data = as_data(capsys, COLUMN, *made)
    (wants,) = (f for f in data["findings"] if f["rule"] == "replan.in_hand")
    assert wants["allowed"] > wants["measured"]
    assert "measure what is in hand" in wants["message"]
    assert code == 0
    _, told = as_data(capsys, COLUMN, *made, "--have", f"{wants['allowed'] + 1:.0f} mm")
    assert [m["mark"] for m in told["marks"]] == [m["mark"] for m in data["marks"]]
    _, short = as_data(capsys, COLUMN, *made, "--have", f"{wants['measured']:.0f} mm")
    assert not short["scrap"]
    assert not short["met"]
    assert any("spring it into its fitting" in note for note in short["notes"])


def test_what_no_hand_can_bend_is_scrap_and_says_what_is_in_the_way(capsys: pytest.CaptureFixture[str]) -> None:
    made = ("--made", "1: angle 70", "--made", "2: angle 30", "--made", "5: angle 32 1/2")
    code, data = as_data(capsys, TURNS, *made, "--have", "20 ft")
    assert code == 1
    assert (data["scrap"], data["marks"]) == (True, [])
    assert {f["rule"] for f in data["findings"]} == {"replan.scrap", "remark.made"}
    assert "what would fit cannot be bent by hand: mark " in data["findings"][0]["message"]
    assert "below the floor; no other order works" in data["findings"][0]["message"]


def test_a_bend_that_comes_to_nothing_is_left_out_and_no_step_asks_for_it(capsys: pytest.CaptureFixture[str]) -> None:
    made = ("--made", "1: angle 75", "--made", "2: angle 52 1/2", "--made", "3: angle 52 1/2")
    _, data = as_data(capsys, TURNS, *made, "--have", "20 ft")
    assert data["left_out"] == [4]
    assert [mark["number"] for mark in data["marks"]] == [1, 5, 6, 7, 9, 8]
    assert min(mark["angle_deg"] for mark in data["marks"]) > 1.0
    # 'again' keeps its place; the others are counted on from those that are made
    assert [mark["order"] for mark in data["marks"]] == [1, 4, 5, 6, 7, 8]
    assert "Leave mark 4 out: no bend is made there." in data["notes"]
    assert "leave mark 4 out" in data["words"]
    assert not any("mark 4 to" in words or "bend at mark 4" in words for words in data["words"])
    _, out = remark(capsys, TURNS, *made, "--have", "20 ft")
    assert "Leave mark 4 out" in out
    assert " 0° after letting go" not in out


def test_words_in_the_plans_own_unit(capsys: pytest.CaptureFixture[str]) -> None:
    _, out = remark(capsys, str(EXAMPLES / "packing-shed-column.yaml"), "--made", "1: angle 20")
    assert " mm" in out
    assert '"' not in out
    _, out = remark(capsys, SADDLE, "--made", "1: angle 25")
    assert "shoe mark" in out
    assert re.search(r'\d+ \d+/16" ', out)
    assert "Worked out with these marks, the far end meets its fitting" in out


def test_a_made_bend_past_90_is_no_fault_of_the_rest() -> None:
    plan = plan_run(read_survey_file(EXAMPLES / "workshop-bench-u.yaml").survey).pieces[0].piece
    made = [MadeBend(number=4, angle_rad=radians(91.0))]
    answer = replan(HalfBent(plan, made, largest_angle_rad=radians(90.0)))[0]
    assert "replan.angle" not in [f.rule for f in answer.findings]
    words = " ".join(replan(HalfBent(plan, made, tape=TapeStyle("mm", 1)))[0].words)
    assert " mm toward end" in words
    assert '"' not in words


def test_a_written_plan_gives_the_same_answer(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    cli.main(["plan", SADDLE, "--json"])
    written = tmp_path / "plan.json"
    written.write_text(capsys.readouterr().out, encoding="utf-8")
    asked = ("--made", "1: angle 25")
    assert as_data(capsys, SADDLE, *asked) == as_data(capsys, str(written), *asked)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ([], "no bend is said to be made"),
        (["9: angle 20"], "3 marks"),
        (["0"], "3 marks"),
        (["angle 20"], "mark's number"),
        (["1: angle"], "says nothing"),
        (["1: colour blue"], "says nothing"),
        (["1: angle wide"], "an angle"),
        (["1: angle nan"], "an angle"),
        (["1: angle -5"], "must be from 0 to 180 degrees"),
        (["1: angle 20, angle 21"], "twice"),
        (["1: angle 20", "1: mark 18"], "twice"),
        (["1: mark 18, start 17"], "both"),
        (["1: mark far"], "far"),
    ],
)
def test_input_that_cannot_be_used_is_refused_with_a_hint(made: list[str], said: str) -> None:
    args = [SADDLE]
    for text in made:
        args += ["--made", text]
    with pytest.raises(RacewrightError, match=said) as caught:
        typed(cmd_remark, *args)
    assert caught.value.hint


def test_the_start_of_the_arc_may_be_given(capsys: pytest.CaptureFixture[str]) -> None:
    start = plan_run(read_survey_file(SADDLE).survey).pieces[0].piece.bends[0].arc_start_mm
    _, data = as_data(capsys, SADDLE, "--made", f"1: start {start:.6f} mm")
    for bend in data["marks"]:
        assert bend["mark"]["mm"] == pytest.approx(bend["was"]["mm"], abs=1e-3)


def test_what_is_scrap_stands_above_what_to_do_instead_and_once(capsys: pytest.CaptureFixture[str]) -> None:
    code = cli.main(["remark", SADDLE, "--made", "1: angle 47, mark 19 11/16"])
    out = capsys.readouterr().out
    assert code == 1
    assert out.index("problem: ") < out.index("Make a new piece")
    told = [line for line in out.splitlines() if line.startswith("problem: ")]
    assert len(told) == len(set(told)) > 0
    assert out.rindex("problem: ") < out.index("Make a new piece")


def test_how_long_the_conduit_is_is_asked_for_only_where_it_was_not_said(capsys: pytest.CaptureFixture[str]) -> None:
    for made in ("1: angle 60", "1: angle 29"):  # scrap, and marks with which the end is off
        asked = (SADDLE, "--made", made, "--made", "2: angle 47")
        assert "--have says how long" in remark(capsys, *asked)[1]
        assert "--have" not in remark(capsys, *asked, "--have", "58 7/8")[1]


def test_a_made_bend_of_heated_conduit_is_heated_again_and_no_shoe_is_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "duct.yaml"
    file.write_text(
        "racewright: 1\nunits: mm\nrun:\n  name: Wash-down pump loop\n  raceway: PVC-40 1\n  bend_radius: 160\n"
        "  surface: wall\n  going: up\n  start: {name: pump, fitting: socket}\n  end: {name: timer, fitting: socket}\n"
        "  walk:\n    - {leg: 640, from: face, to: back}\n    - turn: right\n    - {leg: 860, to: back}\n"
        "    - turn: right\n    - {leg: 570, to: face}\n",
        encoding="utf-8",
    )
    code, out = remark(capsys, str(file), "--made", "2: angle 86.5")
    assert code == 0
    assert "Heat mark 2 again and bend it another 3 1/2°." in out
    assert "arrow" not in out.lower()
    rows = [line.split() for line in out.splitlines() if "no shoe" in line]
    assert [row[0] for row in rows] == ["again", "2nd"]
    code = cli.main(["tweak", str(file), "--angle", "2=86.5"])
    assert "heat mark 2 again and bend it another 3 1/2°" in capsys.readouterr().out
    code, data = as_data(capsys, str(file), "--made", "2: angle 93.5", "--have", "2600")
    assert code == 0
    assert max(abs(v) for v in data["gap"]["lean_deg"]) < 0.5


@pytest.mark.parametrize("so_far", ["20", "9", "3"])
def test_a_bend_that_was_stopped_half_way_is_bent_on_to_its_angle(
    capsys: pytest.CaptureFixture[str], so_far: str
) -> None:
    """However much is wanting: the shoe stands on the same mark, and nothing of it is scrap."""
    code, out = remark(capsys, SADDLE, "--made", f"1: angle {so_far}")
    assert code == 0
    assert "replan.scrap" not in out
    assert "pull on to 22 1/2°" in out
    rows = [line.split() for line in out.splitlines() if "after letting go" in line]
    assert [row[:2] for row in rows] == [["again", "1"], ["2nd", "2"], ["3rd", "3"]]
    assert rows[0][2:4] == ["19", '3/4"']
