"""The `pull` command: what it prints and its exit codes."""

from __future__ import annotations

import json
import re
from functools import partial

import pytest
from typed import typed

from racewright.cli import cmd_pull
from racewright.errors import InputError, LimitError

_run = partial(typed, cmd_pull)


def _plain(size: str = "2", *more: str) -> int:
    path = "straight 200, bend 90 r 24, straight 30 up"
    return _run("--raceway", "EMT", "--size", size, "--wires", "3 x 4/0 XHHW", "--path", path, *more)


def test_prints_both_directions(capsys: pytest.CaptureFixture[str]) -> None:
    assert _plain() == 0
    out = capsys.readouterr().out
    assert "Feed at A, pull from B" in out
    assert "Feed at B, pull from A" in out
    assert "pull.direction" in out
    assert "5078 lb" in out


def test_grip_limit_is_a_problem(capsys: pytest.CaptureFixture[str]) -> None:
    path = "straight 600, bend 90 r 24, straight 600"
    words = ("--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 XHHW", "--path", path)
    assert _run(*words, "--grip", "--sidewall-limit", "1000") == 1
    assert "problem:" in capsys.readouterr().out


def test_several_sections(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--raceway", "rigid", "--size", "2", "--wires", "3 x 4/0 XHHW,1 x 4 THHN", "--metal", "al")
    assert _run(*words, "--path", "straight 90, pull point, straight 40", "--capstan") == 0
    assert "Pull 2" in capsys.readouterr().out


def test_wires_that_do_not_go_in() -> None:
    with pytest.raises(LimitError):
        _plain("1")


@pytest.mark.parametrize("option", ["--friction", "--feed-tension", "--sidewall-limit"])
def test_useless_numbers(option: str) -> None:
    with pytest.raises(InputError):
        _plain("2", option, "-1")
    with pytest.raises(InputError):
        _plain("2", option, "nan")


def test_json_has_the_same_tension(capsys: pytest.CaptureFixture[str]) -> None:
    assert _plain("2", "--json") == 0
    (pull,) = json.loads(capsys.readouterr().out)["pulls"]
    assert pull["better"] == "B"
    assert pull["fed_at_a"]["tension_n"] / 4.4482216 == pytest.approx(798.6, abs=0.1)


def test_friction_line(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 XHHW")
    _run(*words, "--path", "straight 10")
    assert "whatever the friction (up to 2)" in capsys.readouterr().out
    _run(*words, "--path", "straight 300, bend 90 r 24, straight 300")
    assert "up to a friction of 0." in capsys.readouterr().out
    _run(*words, "--path", "straight 10", "--feed-tension", "90000")
    assert "It passes a limit whatever" in capsys.readouterr().out


def test_every_pull_says_to_stand_clear_of_the_line_and_who_decides(capsys: pytest.CaptureFixture[str]) -> None:
    """A loaded rope that lets go hurts whoever stands by it, so the answer says it, as text and as data."""
    assert _plain() == 0
    text = capsys.readouterr().out
    assert _plain("2", "--json") == 0
    data = json.loads(capsys.readouterr().out)["cautions"]
    for words in (text, " ".join(data)):
        assert "Stand clear of the line" in words
        assert "By machine: only by people trained" in words
        assert "lock out, tag, and prove dead" in words
        assert "authority having jurisdiction and a licensed person decide" in words


def test_a_pull_names_what_is_from_memory(capsys: pytest.CaptureFixture[str]) -> None:
    """Five wires share a pull by a figure from memory; one wire needs none."""
    words = ("--raceway", "EMT", "--size", "2", "--path", "straight 90")
    assert _run(*words, "--wires", "5 x 6 RHH") == 0
    out = capsys.readouterr().out
    assert "from memory, not read in print: diameter of 6 RHH; 0.8 of the conductors' strength" in out
    assert _run(*words, "--wires", "1 x 6 THHN") == 0
    assert "from memory" not in capsys.readouterr().out


def _tension_lb(capsys: pytest.CaptureFixture[str], path: str, held_lb: int = 0) -> float:
    words = ("--raceway", "EMT", "--size", "2", "--wires", "3 x 2/0 XHHW", "--path", path, "--json")
    assert _run(*words, "--feed-tension", str(held_lb)) == 0
    (pull,) = json.loads(capsys.readouterr().out)["pulls"]
    return float(pull["fed_at_a"]["tension_n"]) / 4.4482216152605 - held_lb


def test_pulling_uphill_costs_more_than_level_and_downhill_less(capsys: pytest.CaptureFixture[str]) -> None:
    """80 ft at 30 degrees: the weight's own share, half of it, comes on top going up and is taken off going down.
    Straight up it is the whole weight and no friction."""
    level = _tension_lb(capsys, "straight 80")
    up = _tension_lb(capsys, "straight 80 slope 30")
    down = _tension_lb(capsys, "straight 80 slope -30", held_lb=100)
    upright = _tension_lb(capsys, "straight 80 up")
    assert up > level > down
    assert up - down == pytest.approx(upright, rel=1e-9)
    assert _run("--raceway", "EMT", "--size", "2", "--wires", "3 x 2/0 XHHW", "--path", "straight 80") == 0
    weight_lb = 80 * float(capsys.readouterr().out.split("Weight ")[1].split(" lb/ft")[0])
    assert upright == pytest.approx(weight_lb, rel=0.01)


def test_a_bend_that_lifts_the_wires_costs_more_than_one_that_lowers_them(capsys: pytest.CaptureFixture[str]) -> None:
    lifted = _tension_lb(capsys, "straight 150, bend 90 r 36, straight 20 up")
    lowered = _tension_lb(capsys, "straight 150, bend 90 r 36, straight 20 down")
    assert lifted > lowered + 2 * 20  # twenty feet of wire above one pound a foot, up and not down


def test_a_pull_speaks_in_one_unit_system(capsys: pytest.CaptureFixture[str]) -> None:
    """A path in feet is answered in ft and lb, a path in meters in m and N, table and findings alike."""
    words = ("--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 XHHW")
    for more in ((), ("--json",)):
        _run(*words, "--path", "straight 170, pull point, straight 250, bend 90 r 20, straight 40 up", *more)
        out = capsys.readouterr().out
        assert " lb" in out
        assert not re.search(r"\d (N|kN/m|N/m|mm|m)\b", out)
        _run(*words, "--path", "straight 52 m, pull point, straight 76 m, bend 90 r 508 mm, straight 12 m up", *more)
        out = capsys.readouterr().out
        assert re.search(r"\d N\b", out)
        assert not re.search(r"\d (lb|lb/ft|ft|in)\b(?! a bend)", out)


def test_a_path_says_what_its_bare_numbers_are(capsys: pytest.CaptureFixture[str]) -> None:
    """A bare straight is feet: the answer says so. Beside meters a bare number is refused, not taken for inches."""
    assert _plain() == 0
    assert "a bare number of a straight is read as feet" in capsys.readouterr().out
    words = ("--raceway", "EMT", "--size", "2", "--wires", "3 x 4/0 XHHW")
    for path in ("straight 50 m, bend 90 r 700", "straight 50 m, bend 90, straight 9"):
        with pytest.raises(InputError, match="has no unit"):
            _run(*words, "--path", path)
