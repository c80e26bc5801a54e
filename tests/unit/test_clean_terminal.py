"""A name in a file never steers the terminal, turns the reading direction round, or breaks a file that is written."""

import json
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from racewright.cli.main import main
from racewright.cli.terminal import CleanStream, own_codes

EVIL = (
    '"shed\\e]0;TITLE\\a\\e[2J\\e[31m\\x7f\\x9b31m\\u202Ecba\\u2066\\u2069\\u200E\\u061C\\u2028\\uFEFF\\bgone\\rover"'
)
RUN = f"""run:
  name: {EVIL}
  raceway: EMT 1/2
  surface: wall
  start: {{name: {EVIL}, fitting: set-screw}}
  walk:
    - leg: 60
      note: {EVIL}
      features:
        - saddle: {{centre: 30, over: square, height: 3, width: 3, name: {EVIL}}}
        - keep_clear: {{centre: 45, height: 3, width: 3, name: {EVIL}}}
    - turn: right
    - leg: 40
"""
ALLOWED = {"\n", "\t"}


def shown_safe(text: str) -> bool:
    return all(c.isprintable() or c in ALLOWED for c in text)


@pytest.fixture
def survey(tmp_path: Path) -> Path:
    path = tmp_path / "evil.yaml"
    path.write_text(RUN, encoding="utf-8")
    return path


COMMANDS = ["plan", "check", "plan --json", "check --json", "tweak --end-up 1/4", "remark --made 1:angle=20"]


@pytest.mark.parametrize("words", [command.split() for command in COMMANDS], ids=COMMANDS)
def test_names_reach_the_terminal_as_letters_only(
    words: list[str], survey: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([words[0], str(survey), *words[1:]]) in (0, 1, 2, 3)
    out, err = capsys.readouterr()
    assert out + err
    assert shown_safe(out)
    assert shown_safe(err)


def test_colours_are_racewrights_own_alone(survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", str(survey), "--colour", "always"])
    out = capsys.readouterr().out
    assert "\x1b[1m" in out
    for code in ("\x1b[1m", "\x1b[1;31m", "\x1b[33m", "\x1b[0m"):
        out = out.replace(code, "")
    assert shown_safe(out)


def test_refusals_are_clean_too(survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    survey.write_text(RUN.replace("EMT 1/2", 'EMT "\\e[2J"'.replace('"', "")).replace("EMT \\e[2J", '"EMT \\e[2J"'))
    assert main(["plan", str(survey)]) == 2
    assert main(["plan", "no\x1b[2Jsuch\u202efile.yaml"]) == 2
    assert main(["shape", "offset", "--rise", "\x1b[31m6", "--angle", "30"]) == 2
    assert main(["\x1b[2J"]) == 2
    with pytest.raises(SystemExit):
        main(["plan", "x.yaml", "--fraction", "\x1b[2J"])
    assert shown_safe(capsys.readouterr().err)


def test_json_keeps_the_name_as_data(survey: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["plan", str(survey), "--json"])
    name = json.loads(capsys.readouterr().out)["name"]
    assert "\x1b]0;TITLE\x07" in name
    assert "\u202ecba" in name
    assert "\x7f" in name


def test_json_of_a_whole_job_keeps_the_name_as_data(
    survey: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = ["--shop", str(tmp_path / "s.rwshop")]
    assert main(["job", "new", "shed", "--name", "Shed \u202e\x1b[2J", *shop]) in (0, 2)
    if main(["job", "new", "shed2", *shop]) == 0 and main(["job", "add", str(survey), *shop]) == 0:
        capsys.readouterr()
        assert main(["job", "export", "-", *shop]) == 0
        out = capsys.readouterr().out
        assert shown_safe(out)
        assert "\u202ecba" in json.loads(out)["runs"][0]["survey"]["run"]["name"]


def test_a_terminal_without_the_letters_does_not_stop_the_card(survey: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    class Bytes(StringIO):
        errors = "strict"

        def reconfigure(self, errors: Any) -> None:
            self.errors = errors

        def write(self, text: Any) -> Any:
            return super().write(text.encode("ascii", self.errors).decode())

    narrow = Bytes()
    monkeypatch.setattr(sys, "stdout", narrow)
    assert main(["plan", str(survey)]) in (0, 1)
    assert "CUT" in narrow.getvalue()


def test_own_codes_pass_only_where_they_are_asked_for() -> None:
    text, below = "\x1b[1mbold\x1b[0m \x1b[2J \x1b]8;;x\x07", StringIO()
    stream = CleanStream(below)
    stream.write(text)
    assert "\x1b" not in below.getvalue()
    with own_codes(stream):
        stream.write(text)
    assert below.getvalue().count("\x1b") == 2
    stream.write(text)
    assert below.getvalue().count("\x1b") == 2


@pytest.mark.parametrize(("option", "name"), [("--svg", "card.svg"), ("--strip", "strip.svg")])
def test_drawings_hold_no_control_characters(
    option: str, name: str, survey: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["plan", str(survey), option, str(tmp_path / name)])
    assert shown_safe((tmp_path / name).read_text(encoding="utf-8"))


def test_dxf_holds_no_control_characters(survey: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ezdxf")
    main(["export", str(survey), "--dxf", str(tmp_path / "run.dxf")])
    text = (tmp_path / "run.dxf").read_text(encoding="utf-8")
    assert shown_safe(text.replace("\r\n", "\n"))


#: As the system hands over a word typed in another encoding than UTF-8.
LATIN = b"f\xf6rderband".decode("utf-8", "surrogateescape")


@pytest.mark.parametrize(
    "words",
    [
        ["job", "new", "shed", "--name", LATIN],
        ["job", "new", LATIN],
        ["job", "import", f"{LATIN}.json"],
        ["job", "remove", LATIN],
        ["job", "set", "bent", "PS-2", "--by", LATIN],
        ["plan", f"{LATIN}.yaml"],
        ["bender", "show", LATIN],
    ],
    ids=lambda words: " ".join(words[:2]).encode("ascii", "replace").decode(),
)
def test_a_name_that_is_not_utf_8_is_refused_in_plain_words(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["job", "new", "orchard"]) == 0
    assert main(words) == 2
    said = capsys.readouterr().err
    assert "f?rderband" in said
    assert "UTF-8" in said


@pytest.mark.parametrize("words", ["job new shed --area=--", "job new shed --name=--", "plan x.yaml --bender=--"])
def test_two_dashes_are_no_value_of_an_option(
    words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(words.split()) == 2
    assert f"{words.split()[-1][:-3]}: '--' is no value" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
