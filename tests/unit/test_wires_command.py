"""`racewright wires` at the edge: words, JSON, exit codes."""

import argparse
import json

import pytest

from racewright.cli import cmd_wires
from racewright.errors import InputError, LimitError


def run(*words):
    parser = argparse.ArgumentParser()
    cmd_wires.add_arguments(parser)
    return cmd_wires.run(parser.parse_args(words))


def test_size_answers_first_and_cites(capsys):
    assert run("size", "--raceway", "EMT", "3 x 8 THHN", "1 x 10 bare") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("EMT 1/2 ")
    assert "[NFPA 70-2023 Chapter 9 Tables 4 and 5]" in lines[2]
    assert any("licensed person decide" in line for line in lines)
    assert any("lock out" in line for line in lines)


def test_a_problem_gives_exit_code_1(capsys):
    assert run("fit", "--raceway", "EMT", "--trade-size", "1/2", "9 x 8 THHN") == 1
    assert "problem: EMT 1/2 is filled" in capsys.readouterr().out


def test_more(capsys):
    assert run("fit", "--raceway", "EMT", "--trade-size", "3/4", "--more", "12 THHN") == 0
    assert capsys.readouterr().out.startswith("EMT 3/4: 16 x 12 THHN go in")


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["ampacity", "12 THHN", "--circuit", "1 x wye 4-wire nonlinear", "--terminals", "75"], "copper: 24 A"),
        (["ampacity", "4 THHN", "--ambient-f", "104", "--terminals", "90"], "86.45 A"),
        (["drop", "--current", "20", "--length", "100 ft", "--volts", "120"], "8 copper keeps 3 percent"),
        (["drop", "--wire-size", "8", "--current", "20", "--length", "100 ft", "--volts", "120"], "3.11 V lost"),
        (["ground", "--device", "200"], "6 copper"),
        (["box", "--wire", "8 x 12", "--ground", "4 x 12", "--device", "1 x 12"], "24.75 in3"),
        (["box", "--wire", "4 x 12", "--volume", "12.5"], "12.5 in3 is enough"),
        (["pullbox", "--pull", "u top 2 -> top 2"], "14 in high"),
    ],
)
def test_answers(words, answer, capsys):
    assert run(*words) == 0
    first = capsys.readouterr().out
    assert any(each in first for each in answer.split("|"))


@pytest.mark.parametrize(
    "words",
    [
        ["size", "--raceway", "EMT", "3 x 8 THHN"],
        ["fit", "--raceway", "EMT", "--trade-size", "1", "3 x 8 THHN", "--more", "12 THHN"],
        ["ampacity", "12 THHN", "--load", "15"],
        ["drop", "--current", "20", "--length", "30 m", "--volts", "230"],
        ["ground", "--device", "40", "--needed-size", "8", "--used-size", "4"],
        ["box", "--wire", "4 x 14"],
        ["pullbox", "--pull", "straight left 2 -> right 2", "--width", "16", "--height", "8"],
    ],
)
def test_json(words, capsys):
    assert run(*words, "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert body["question"] == words[0]
    assert body["edition"] == "NFPA 70-2023"
    assert body["answer"]
    assert body["result"]
    assert len(body["cautions"]) == 2


def test_problems_of_box_and_pull_box():
    assert run("box", "--wire", "8 x 12", "--box", "4 x 1 1/4 octagonal") == 1
    assert run("pullbox", "--pull", "straight left 2 -> right 2", "--width", "15") == 1
    assert run("ampacity", "12 THHN", "--load", "40") == 1


@pytest.mark.parametrize(
    ("words", "error"),
    [
        (["size", "--raceway", "EMT", "0 x 8 THHN"], InputError),
        (["size", "--raceway", "EMT", "3 x 8 THHN", "--nipple", "25 in"], LimitError),
        (["fit", "--raceway", "EMT", "--trade-size", "1"], InputError),
        (["fit", "--raceway", "EMT", "--trade-size", "7", "3 x 8 THHN"], InputError),
        (["ampacity", "12"], InputError),
        (["ampacity", "12 THHN", "--circuit", "two x 2-wire"], InputError),
        (["drop", "--current", "-1", "--length", "100 ft", "--volts", "120"], InputError),
        (["drop", "--current", "1", "--length", "9 ft", "--volts", "120", "--power-factor", "0.8"], InputError),
        (["ground", "--device", "0"], InputError),
        (["size", "--raceway", "EMT", "3 x 8 THHN", "--edition", "NFPA 70-1950"], InputError),
    ],
)
def test_refusals(words, error):
    with pytest.raises(error) as caught:
        run(*words)
    assert caught.value.hint


def test_a_wire_derated_by_its_company_gets_the_breaker_that_its_ampacity_allows(capsys):
    """25 wires of 10 AWG: 40 x 0.45 = 18 A, so 20 A and not the 30 A that caps the size; 15 A for receptacles."""
    assert run("ampacity", "10 XHHW-2", "--carrying", "25") == 0
    out = capsys.readouterr().out
    assert out.startswith(
        "10 XHHW-2 copper: 18 A, overcurrent device at most 20 A (15 A for a branch circuit with several receptacles)"
    )
    assert "more than one receptacle for cord-and-plug portable loads" in out
    assert "[NFPA 70-2023 240.4(B) and Table 240.6(A)]" in out
    assert "never more than 30 A, a cap and no permission" in out
    assert run("ampacity", "10 XHHW-2", "--carrying", "25", "--device", "30") == 1
    assert "A device of 30 A is too large for 10 XHHW-2 copper, which carries 18 A here" in capsys.readouterr().out
    assert run("ampacity", "10 XHHW-2", "--carrying", "25", "--device", "20", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert [(f["rule"], f["severity"]) for f in body["findings"]][-1] == ("wire.device", "caution")
    assert body["result"]["protection"]["largest_a"] == 20


def test_a_circuit_over_100_a_takes_the_75_c_column(capsys):
    """1 AWG copper: 110 A at 60 C, 130 A at 75 C. Without a rating the answer says what a larger circuit would get."""
    assert run("ampacity", "1 THHN") == 0
    assert "a circuit rated over 100 A takes 75 C: 130 A" in capsys.readouterr().out
    assert run("ampacity", "1 THHN", "--device", "125") == 0
    out = capsys.readouterr().out
    assert out.startswith("1 THHN copper: 130 A")
    assert "terminals taken as 75 C (a circuit over 100 A" in out
    assert run("ampacity", "1 THHN", "--load", "118") == 0
    assert capsys.readouterr().out.startswith("1 THHN copper: 130 A")
    assert run("ampacity", "1 THHN", "--device", "100") == 0
    assert capsys.readouterr().out.startswith("1 THHN copper: 110 A")
