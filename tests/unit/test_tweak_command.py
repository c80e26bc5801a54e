"""`racewright tweak`: what it prints, its exit codes, and what it says to input that cannot be used."""

import json
from pathlib import Path

import pytest

from racewright.cli import main as cli

SADDLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = cli.main(["tweak", SADDLE, *args])
    out = capsys.readouterr()
    return code, out.out, out.err


def test_an_angle_read_too_large_is_opened(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "--angle", "2=47")
    assert (code, err) == (0, "")
    assert "open bend 2 by 2°" in out
    assert "kinks" in out


def test_up_and_down_are_mirror_images(capsys: pytest.CaptureFixture[str]) -> None:
    moves = []
    for flag in ("--end-up", "--end-down"):
        _, out, _ = run(capsys, flag, "3/8", "--json")
        moves.append([(m["bend"], m["kind"], m["by_deg"]) for m in json.loads(out)["corrections"]])
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
        assert (code, err) == (0, ""), args
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
        (("--angle", "two=47"), "bend number"),
        (("--angle", "9=47"), "3 bends"),
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
    assert [m["words"] for m in one["corrections"]] == [m["words"] for m in two["corrections"]]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda plan: plan.update(format="racewright plan 9"), "plan 9"),
        (lambda plan: plan.pop("pieces"), "pieces: is missing"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(number=7), "do not make a piece"),
        (lambda plan: plan["pieces"][0]["bends"][0].update(arc_start_mm="far"), "expected a number"),
    ],
)
def test_a_spoilt_plan_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path, change, said: str) -> None:  # type: ignore[no-untyped-def]
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
