"""What is typed wrong (figures beyond the trade, names, endings, options) is refused in words that a person knows."""

import json
import time
from pathlib import Path

import pytest

from racewright.cli.main import main

HEAD = "racewright: 1\nunits: in\nrun:\n  name: packing shed, panel to sorter\n"

WALK = "  walk:\n    - leg: 64\n    - turn: left\n    - leg: 40\n"

EMT = "  raceway: EMT 3/4\n"


def test_what_the_command_line_says_wrong_is_not_told_of_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(HEAD + EMT + WALK, encoding="utf-8")
    assert main(["plan", str(path), "--bender", "lost-shoe"]) == 2
    assert "shed.yaml" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "option",
    [["--friction", f] for f in ("500", "1e308", "-1", "nan", "inf")]
    + [["--sidewall-limit", "1e-300"], ["--sidewall-limit", "0"], ["--feed-tension", "1e308"], ["--feed-tension=-1"]],
)
def test_a_pull_with_figures_beyond_the_trade_is_refused_with_the_range(
    option: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["pull", "--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 THHN", "--path", "straight 90, bend 90"]
    assert main([*words, *option]) == 2
    assert "it must lie from" in capsys.readouterr().err


def test_a_pull_through_a_hundred_bends_stays_a_number(capsys: pytest.CaptureFixture[str]) -> None:
    path = ", ".join(["straight 5, bend 90"] * 99)
    words = ["pull", "--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 THHN", "--path", path, "--friction", "2"]
    assert main([*words, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["pulls"][0]["fed_at_a"]["tension_n"] == 1e9


@pytest.mark.parametrize(
    ("words", "options"),
    [
        (["wires", "ampacity", "8 THHN"], ["--ambient-c", "--ambient-f", "--carrying", "--terminals", "--load"]),
        (
            ["wires", "drop", "8", "--current", "30", "--volts", "208", "--length", "90"],
            ["--current", "--volts", "--length", "--sets", "--limit", "--resistance", "--reactance", "--power-factor"],
        ),
        (["wires", "box", "--conductors", "6 x 12"], ["--supports", "--volume"]),
        (["shape", "segmented", "--radius", "40"], ["--shots", "--radius"]),
        (["shape", "concentric", "--radius", "40", "--spacing", "4"], ["--count", "--radius", "--spacing", "--shot"]),
        (
            ["shape", "offset", "--rise", "7", "--angle", "30"],
            ["--rise", "--angle", "--at", "--length", "--bend-radius"],
        ),
    ],
    ids=lambda words: words[1] if words[0][0] != "-" else "",
)
@pytest.mark.parametrize("figure", ["1e308", "-1", "nan", "inf", "1e-308", "0", "9" * 20, "9" * 5000])
def test_no_figure_breaks_a_command(
    words: list[str], options: list[str], figure: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for option in options:
        started = time.process_time()
        try:
            code = main([*words, f"{option}={figure}"])
        except SystemExit as left:  # the option parser's own refusal
            code = int(left.code or 0)
        assert code in (0, 1, 2, 3)
        assert time.process_time() - started < 2.0
        out = capsys.readouterr().out.split()
        assert "nan" not in out
        assert "inf" not in out


OUTPUTS = [
    ["plan", "SURVEY", "--pdf", "x.svg"],
    ["plan", "SURVEY", "--svg", "x.pdf"],
    ["plan", "SURVEY", "--strip", "x.png"],
    ["export", "SURVEY", "--dxf", "x.pdf"],
    ["export", "SURVEY", "--gltf", "x.gltf"],
    ["export", "SURVEY", "--ifc", "x"],
    ["job", "bill", "--out", "x.pdf"],
    ["job", "cut", "--out", "x"],
    ["job", "pack", "x.csv"],
    ["job", "export", "x.csv"],
    ["job", "models", "--gltf", "x.dxf"],
]


@pytest.mark.parametrize("words", OUTPUTS, ids=lambda words: " ".join(words))
def test_nothing_is_written_under_an_ending_that_says_something_else(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    survey = Path(__file__).parents[2] / "examples" / "workshop-panel-stub.yaml"
    assert main([str(survey) if word == "SURVEY" else word for word in words]) == 2
    said = capsys.readouterr().err
    assert "a file whose name ends with" in said
    assert "hint: for example: x." in said
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("walk", "words"),
    [
        ("- box_offset: {rise: 3/8}", "exactly one of starts_at, done_by; none is given"),
        ("- box_offset: {rise: 3/8, starts_at: 9, done_by: 20}", "2 are given"),
        ("- saddle: 30", "saddle is '30': expected fields below it, each written as name: value."),
    ],
)
def test_a_refusal_is_said_as_a_person_says_it(
    walk: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(f"{HEAD}{EMT}  walk:\n    - leg: 60\n      features:\n        {walk}\n", encoding="utf-8")
    assert main(["plan", str(path)]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("angle", ["95", "0", "-4"])
def test_an_angle_out_of_range_is_told_in_plain_figures(angle: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", "offset", "--rise", "5", f"--angle={angle}"]) == 2
    assert "it must be above 0 and at most 90 degrees" in capsys.readouterr().err


def test_a_saddle_too_near_the_end_has_no_coupling_to_move(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", "saddle", "--rise", "2-3/4", "--centre", "3"]) == 3
    said = capsys.readouterr().err
    assert "coupling" not in said
    assert "begin the conduit farther away" in said


@pytest.mark.parametrize("words", ["job set done PH-01", "wires drop --lenght 90", "wires box --colour red", "pull"])
def test_a_command_line_that_is_not_understood_gets_a_hint(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(words.split())
    assert caught.value.code == 2
    assert "\nhint: `racewright " in capsys.readouterr().err
