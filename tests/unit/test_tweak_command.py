"""`racewright tweak`: what it prints, its exit codes, and what it says to input that cannot be used."""

import json
from fractions import Fraction
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest

from racewright.cli import main as cli

SADDLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = cli.main(["tweak", SADDLE, *args])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_an_angle_read_too_large_is_opened(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--angle", "2=47")
    assert (code, err) == (1, "")  # the far end was not measured, and may be out of its fitting
    assert "open mark 2 by 2°" in out
    assert "kinks" in out


def test_up_and_down_are_mirror_images(capsys: pytest.CaptureFixture[str]) -> None:
    moves = []
    for flag in ("--end-up", "--end-down"):
        _, out, _ = run(capsys, flag, "3/8", "--json")
        moves.append([(m["number"], m["what"], m["by_deg"]) for m in json.loads(out)["moves"]])
    assert [(b, k) for b, k, _ in moves[0]] == [(b, k) for b, k, _ in moves[1]]
    assert [d for *_, d in moves[0]] == pytest.approx([-d for *_, d in moves[1]])


def test_every_way_of_measuring_is_understood(capsys: pytest.CaptureFixture[str]) -> None:
    for args in (
        ("--end-left", "1/2"),
        ("--end-right", "1/2"),
        ("--lean-up", "1"),
        ("--lean-down", "1.5°"),
        ("--lean-left", "1"),
        ("--lean-right", "1"),
        ("--rise", "2-15/16", "--end-up", "0"),
        ("--rise", "2=2-15/16", "--end-up", "0"),
        ("--daylight", "50=1/4"),
        ("--end-up", "3/8", "--end-left", "1/4"),
    ):
        code, out, err = run(capsys, *args)
        # sideways alone, or a lean to the side: the rise of this saddle's far end may well be out of its fitting
        aside = args[0].endswith(("left", "right"))
        assert (code, err) == (int(aside), ""), args
        assert ("problem: the far end was not measured" in out) == aside
        assert "1. " in out


def test_within_the_tolerance_it_is_left(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "--end-up", "1/32")
    assert code == 0
    assert "leave it" in out


@pytest.mark.parametrize(
    ("args", "said"),
    [
        ((), "nothing was measured"),
        (("--angle", "2"), "where and how much"),
        (("--angle", "two=47"), "mark's number"),
        (("--angle", "9=47"), "3 marks"),
        (("--angle", "2=wide"), "degrees"),
        (("--end-up", "a lot"), "a lot"),
        (("--daylight", "500=1/4"), "not on the piece"),
        (("--piece", "3", "--end-up", "1"), "the run has 1"),
    ],
)
def test_input_that_cannot_be_used_ends_with_2(
    capsys: pytest.CaptureFixture[str], args: tuple[str, ...], said: str
) -> None:
    code, out, err = run(capsys, *args)
    assert code == 2
    assert out == ""
    assert said in err
    assert "hint:" in err


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("--end-left", "1", "--angle", "1=88"), 3, 'the best still leaves 1", and 1/16" is the most that may be left'),
        (("--rise", "10", "--angle", "1=88"), 3, "the best still leaves"),
        (("--lean-up", "2", "--angle", "1=88"), 1, "open mark 1 by 2°"),
        (("--end-up", "1/4", "--angle", "1=89"), 1, "open mark 1"),
    ],
)
def test_a_piece_of_one_bend_whose_angle_was_read_is_corrected_or_told_what_stays_off(
    capsys: pytest.CaptureFixture[str], args: tuple[str, ...], code: int, said: str
) -> None:
    """Nothing is left to guess at: every angle is known, and no bend lies behind another."""
    stub = str(Path(SADDLE).parent / "workshop-panel-stub.yaml")
    assert cli.main(["tweak", stub, *args]) == code
    out = capsys.readouterr()
    assert said in out.out + out.err
    assert "times the tolerance" not in out.err


def test_what_bending_cannot_mend_ends_with_3(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--angle", "2=54")
    assert (code, out) == (3, "")
    assert "hint:" in err


def test_a_plan_written_as_json_gives_the_same_answer(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert cli.main(["plan", SADDLE, "--json"]) == 0
    written = tmp_path / "plan.json"
    written.write_text(capsys.readouterr().out, encoding="utf-8")
    asked = ["--rise", "2-15/16", "--end-up", "0", "--end-left", "1/4", "--json"]
    _, from_survey, _ = run(capsys, *asked)
    assert cli.main(["tweak", str(written), *asked]) == 0
    one, two = json.loads(from_survey), json.loads(capsys.readouterr().out)
    assert (one["moves"], one["words"]) == (two["moves"], two["words"])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda plan: plan.update(format="racewright plan 9"), "plan 9"),
        (lambda plan: plan.pop("pieces"), "pieces: is missing"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(number=7), "do not make a piece"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(arc_start_mm="far"), "expected a number"),
    ],
)
def test_a_spoilt_plan_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path, change: Any, said: str) -> None:
    cli.main(["plan", SADDLE, "--json"])
    plan = json.loads(capsys.readouterr().out)
    change(plan)
    written = tmp_path / "plan.json"
    written.write_text(json.dumps(plan), encoding="utf-8")
    assert cli.main(["tweak", str(written), "--end-up", "1"]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert "hint:" in err


def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["tweak", "no-such-plan.json", "--end-up", "1"]) == 2
    assert "cannot be read" in capsys.readouterr().err


RUN = """
run:
  name: Cold store, to the fan
  raceway: EMT 1/2
  start: {fitting: none}
  end: {fitting: none}
  walk:
    - leg: 95
      features:
        - saddle: {name: drain, rise: 2 1/2, centre: 29, angle: 22.5, bends: 3}
        - offset: {rise: 2 3/4, starts_at: 58, angle: 22.5}
"""


def corrected_points(capsys: pytest.CaptureFixture[str], file: Path, *args: str) -> tuple[str, float, float, float]:
    """The words of a correction, and how far it moves the saddle's top, the leg behind it and the far end, in inches,
    up, by a walk in the plane of its own from the plan's arcs."""
    assert cli.main(["plan", str(file), "--json"]) == 0
    piece = json.loads(capsys.readouterr().out)["pieces"][0]
    code = cli.main(["tweak", str(file), *args])
    words = capsys.readouterr().out
    assert cli.main(["tweak", str(file), *args, "--json"]) == code
    by = {m["number"]: m["by_deg"] for m in json.loads(capsys.readouterr().out)["moves"]}
    rows = []
    for corrections in ({}, by):
        up, slope, here, heights = 0.0, 0.0, 0.0, []
        for bend in piece["bends"]:
            more = radians(corrections.get(bend["number"], 0.0))
            angle = radians(bend["angle_deg"]) + more
            # the tangent point on the hook's side stays
            start = bend["arc_start_mm"] - (piece["bend_radius_mm"] * more if bend["hook"] == "B" else 0.0)
            sense = 1.0 if abs(bend["roll_deg"]) < 1.0 else -1.0
            radius = piece["bend_radius_mm"]
            up += (start - here) * sin(slope)
            if bend["number"] == 4:
                heights.append(up)
            middle = slope + sense * angle / 2.0
            if bend["number"] == 2:
                heights.append(up + sense * radius * (cos(slope) - cos(middle)))
            up += sense * radius * (cos(slope) - cos(slope + sense * angle))
            slope += sense * angle
            here = start + radius * angle
        heights.append(up + (piece["cut_length_mm"] - here) * sin(slope))
        rows.append(heights)
    top, leg, end = ((after - before) / 25.4 for before, after in zip(*rows, strict=True))
    return words, top, leg, end


@pytest.mark.parametrize(("rise", "off"), [("2-11/16", 3 / 16), ("2-1/4", -1 / 4)])
def test_a_saddle_at_the_wrong_height_is_mended_and_the_run_behind_it_stays_on_its_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, rise: str, off: float
) -> None:
    file = tmp_path / "run.yaml"
    file.write_text(RUN, encoding="utf-8")
    words, top, leg, end = corrected_points(capsys, file, "--rise", rise)
    assert top == pytest.approx(-off, abs=1 / 16)
    assert leg == pytest.approx(0, abs=1 / 16)
    assert end == pytest.approx(0, abs=1 / 16)
    assert {f"mark {n}" in words for n in (1, 2, 3)} == {True}
    assert "the last leg keeps its direction" in words


def test_what_a_correction_does_to_the_far_end_stands_first_after_it(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "run.yaml"
    file.write_text(RUN, encoding="utf-8")
    words, _, _, end = corrected_points(capsys, file, "--angle", "3=24")
    told = words[words.index("The far end moves") :].splitlines()[0]
    assert words[: words.index(told)].splitlines()[-1] == "  1. open mark 3 by 1 1/2°"
    inches = sum(Fraction(part) for part in told.removeprefix("The far end moves ").partition('"')[0].split())
    assert float(inches) == pytest.approx(abs(end), abs=1 / 32)
    assert f'" {"up" if end > 0 else "down"}' in told
    assert "turns by 1 1/2°" in told
    assert '0"' not in words.replace('10"', "")


def test_a_saddle_that_can_only_be_mended_by_opening_too_far_is_refused_and_the_far_end_asked_for(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "run.yaml"
    file.write_text(RUN, encoding="utf-8")
    assert cli.main(["tweak", str(file), "--rise", "3"]) == 3
    assert "measure the far end too" in capsys.readouterr().err


def test_an_offset_at_the_wrong_rise_keeps_its_legs_parallel(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "run.yaml"
    text = RUN.replace("        - saddle: {name: drain, rise: 2 1/2, centre: 29, angle: 22.5, bends: 3}\n", "")
    file.write_text(text, encoding="utf-8")
    assert cli.main(["tweak", str(file), "--rise", "2=2-3/8"]) == 0
    words = capsys.readouterr().out
    assert "mark 1" in words
    assert "mark 2" in words
    assert "the last leg keeps its direction" in words


def test_of_equal_corrections_the_one_that_opens_nothing_and_moves_the_end_least(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out, _ = run(capsys, "--lean-up", "1")
    assert code == 0
    assert "1. bend mark 2 another 1°" in out


LONG = """\
racewright: 1
units: in
run:
  name: Long wall, well head to sprayer outlet
  raceway: EMT 1/2
  surface: wall
  going: right
  start: {name: well head, fitting: set-screw, height: 1 1/4}
  end: {name: sprayer outlet, fitting: set-screw, height: 1 1/4}
  walk:
    - leg: 8 ft 6
      from: face
      to: face
      features:
        - box_offset: {starts_at: 2}
        - saddle: {name: drain, center: 27, over: round, height: 1 3/4, width: 1}
        - offset: {shift: 3, side: left, middle_at: 56}
        - offset: {shift: 3, side: right, middle_at: 79}
        - box_offset: {done_by: 99}
"""


def test_a_low_saddle_among_many_bends_is_raised_by_its_own_and_the_far_end_stays(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "long.yaml"
    file.write_text(LONG, encoding="utf-8")
    assert cli.main(["tweak", str(file), "--rise", "4=1-1/2", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [(m["what"], m["number"]) for m in data["moves"]] == [("angle", 3), ("angle", 4), ("angle", 5)]
    assert all(m["by_deg"] > 0.0 for m in data["moves"])
    assert max(abs(data["far_end_moves_mm"][way]) for way in ("up", "left")) < 25.4 / 16
    assert data["last_leg_turns_deg"] < 0.5
    room = {r["name"]: r["left"]["mm"] for r in data["room"]}
    assert 0.0 <= room["drain"] + 1e-6 < 2.0 * 25.4 / 16 + 1e-6


def test_the_rise_of_an_offset_is_the_one_that_it_was_asked_for(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """From leg to leg: its second bend's middle lies lower by R (1 - cos(half of its angle)), and is not where it is
    measured. By hand: two bends of 30 opened by d lower it by d times the distance of their corners along the leg."""
    file = tmp_path / "offset.yaml"
    file.write_text(
        "racewright: 1\nunits: mm\nrun:\n  name: Store lamp feed\n  raceway: EMT 1\n  surface: ceiling\n"
        "  start: {name: a, fitting: set-screw}\n  end: {name: b, fitting: set-screw}\n"
        "  walk:\n    - {leg: 2150, from: face, to: face, features: [{offset: {rise: 160, middle_at: 1050}}]}\n",
        encoding="utf-8",
    )
    assert cli.main(["tweak", str(file), "--rise", "2=160"]) == 0
    assert "What you measured is right" in capsys.readouterr().out
    assert cli.main(["tweak", str(file), "--rise", "2=150", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [(m["what"], m["number"]) for m in data["moves"]] == [("angle", 1), ("angle", 2)]
    along = 160.0 * cos(radians(30.0)) / sin(radians(30.0))
    for move in data["moves"]:
        assert move["by_deg"] == pytest.approx(10.0 / along * 180.0 / 3.14159265, abs=0.5)
    assert data["last_leg_turns_deg"] < 0.5


def test_a_small_correction_is_one_that_a_hand_can_make(capsys: pytest.CaptureFixture[str]) -> None:
    for place in ("46=3/16", "50=3/16", "50=1/4", "54=1/4"):
        code, out, _ = run(capsys, "--daylight", place, "--json")
        assert code == 0
        for move in json.loads(out)["moves"]:
            assert move["by_deg"] * 4.0 == pytest.approx(round(move["by_deg"] * 4.0), abs=1e-9), place


def test_a_mark_that_stays_off_its_plan_is_named_and_no_less_is_said_than_is(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The saddle's first bend 1 1/4° flat and the far end right: something else makes up for it."""
    code, out, _ = run(capsys, "--end-up", "0", "--angle", "1=21.25")
    flat = " ".join(out.split())
    assert code == 1  # the likeliest piece hits the wall
    assert "Mark 1 stays 1 1/4° short of its planned angle." in flat
    assert "eave it" not in flat
    # by hand: what follows the first bend is 1.25 degrees lower, over the rest of the piece's length
    data = json.loads(run(capsys, "--end-up", "0", "--angle", "1=21.25", "--json")[1])
    told = next(f for f in data["findings"] if f["rule"] == "tweak.readings")
    plan = json.loads(plan_of(capsys))["pieces"][0]
    lever = plan["cut_length_mm"] - plan["bends"][0]["arc_end_mm"]
    assert told["severity"] == "info"
    assert told["allowed"] == pytest.approx(-lever * sin(radians(1.25)), rel=0.06)


def plan_of(capsys: pytest.CaptureFixture[str]) -> str:
    assert cli.main(["plan", SADDLE, "--json"]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize(("angle", "said"), [("22.5", "1/4°"), ("22.8", "1/2°"), ("22", "1/2°")])
def test_how_right_it_is_is_the_most_that_is_off_rounded_up(
    capsys: pytest.CaptureFixture[str], angle: str, said: str
) -> None:
    data = json.loads(run(capsys, "--end-up", "0", "--angle", f"1={angle}", "--json")[1])
    assert data["moves"] == []
    assert f'What you measured is right within 1/16" and {said}.' in data["words"][0]


def test_readings_that_do_not_fit_each_other_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ("--end-up", "2", "--angle", "1=22.5", "--angle", "2=45", "--angle", "3=22.5")
    data = json.loads(run(capsys, *asked, "--json")[1])
    told = next(f for f in data["findings"] if f["rule"] == "tweak.readings")
    assert told["severity"] == "caution"
    assert 'the far end would be as planned, and it was measured 2" up: they do not fit each other' in told["message"]
    # each bend as it was measured, and the end too: nothing to tell
    fine = json.loads(run(capsys, "--end-up", "0", *asked[2:], "--json")[1])
    assert "tweak.readings" not in [f["rule"] for f in fine["findings"]]


def test_a_far_end_that_lies_off_in_a_way_that_was_not_measured_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The kick's first bend far too large: it bends in the wall's plane, and up is right whatever it has."""
    kick = str(Path(SADDLE).with_name("pump-house-kick.yaml"))
    assert cli.main(["tweak", kick, "--end-up", "0", "--angle", "1=40", "--json"]) in (0, 1)
    data = json.loads(capsys.readouterr().out)
    told = data["findings"][0]
    assert (told["rule"], told["severity"]) == ("tweak.unmeasured", "problem")
    assert "was not measured to the sides: it may be off by" in told["message"]
    assert not any("Leave it" in words for words in data["words"])
    # nearly right: still within its fitting, and told
    assert cli.main(["tweak", kick, "--end-up", "0", "--angle", "1=9", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    told = next(f for f in data["findings"] if f["rule"] == "tweak.readings")
    assert "9 mm left of its place" in told["message"]
    assert "was not measured. Measure it that way too." in told["message"]
    assert not any("Leave it" in words for words in data["words"])


@pytest.mark.parametrize(
    ("readings", "told", "code"),
    [
        (("--angle", "1=22.5", "--angle", "2=45", "--angle", "3=22.5"), "as the readings have it. It may be off by", 0),
        (("--lean-up", "1"), 'This moves it by 1/2": where it is right as it is, bend nothing. It may be off by', 0),
        (("--angle", "2=45.5"), 'it may be off by 13/16" up or down when this is corrected', 1),
        (("--rise", "2-15/16"), "it is taken as right. Measure it before it is relied on.", 0),
    ],
)
def test_a_far_end_that_was_not_measured_at_all_is_said_on_top_with_what_that_leaves_open(
    readings: tuple[str, ...], told: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["tweak", SADDLE, *readings]) == code
    out = " ".join(capsys.readouterr().out.split())
    top = out.index("he far end was not measured")
    assert told in out
    assert top < out.index("What you measured is")
    assert "1. " not in out[:top]
    assert "eave it" not in out
    assert out.count("far end was not measured") == 1
    assert cli.main(["tweak", SADDLE, *readings, "--end-up", "0", "--end-left", "0", "--json"]) in (0, 1, 3)
    assert "far end was not measured" not in capsys.readouterr().out


def test_by_how_much_the_far_end_may_be_off_is_what_the_hand_and_the_level_leave(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A stub of one bend, read right: half a degree over the leg beyond it."""
    stub = str(Path(SADDLE).with_name("workshop-panel-stub.yaml"))
    assert cli.main(["plan", stub, "--json"]) == 0
    (piece,) = json.loads(capsys.readouterr().out)["pieces"]
    lever_in = (piece["cut_length_mm"] - piece["bends"][0]["arc_end_mm"] + piece["bend_radius_mm"]) / 25.4
    assert cli.main(["tweak", stub, "--angle", "1=90", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)["first"]
    assert f'may be off by {round(lever_in * radians(0.5) * 16) // 4}/4" along the first leg' in said


def test_the_axis_as_it_is_lies_off_the_plan_as_measured(capsys: pytest.CaptureFixture[str]) -> None:
    """A saddle of 3 1/8 that was measured 3 3/8: a quarter of an inch too high at its top, and right at both ends."""
    told = json.loads(run(capsys, "--rise", "3-3/8", "--json")[1])
    top = {name: max(z for _, _, z in told[name]) for name in ("planned", "now", "corrected")}
    assert top["now"] - top["planned"] == pytest.approx(25.4 / 4.0, abs=0.3)
    assert top["corrected"] == pytest.approx(top["planned"], abs=1.0)
    assert told["now"][-1][1:] == pytest.approx(told["planned"][-1][1:], abs=1.0)
    assert told["first"].startswith("The far end was not measured: it is taken as right.")
    with_end = json.loads(run(capsys, "--rise", "3-3/8", "--end-up", "0", "--json")[1])
    aside = "The far end was not measured to the sides: it may move there. Say 0 for what is right."
    assert [line for line in with_end["not_included"] if "far end was not measured" in line] == [aside]
