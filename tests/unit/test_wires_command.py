"""`racewright wires` at the edge: words, JSON, exit codes."""

import json
import re
from functools import partial

import pytest
from typed import typed

from racewright.cli import cmd_wires
from racewright.errors import InputError, LimitError

DROP = ["drop", "--wire-size", "12", "--current", "1", "--length", "9 ft", "--volts", "120"]


run = partial(typed, cmd_wires)


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    return re.sub(r"\s+", " ", capsys.readouterr().out)


def test_size_answers_first_and_cites(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("size", "--raceway", "EMT", "3 x 8 THHN", "1 x 10 bare") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("EMT 1/2 ")
    assert "[NFPA 70-2023 Chapter 9 Tables 4 and 5]" in lines[2]
    assert any("licensed person decide" in line for line in lines)
    assert any("lock out" in line for line in lines)


def test_a_problem_gives_exit_code_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("fit", "--raceway", "EMT", "--size", "1/2", "9 x 8 THHN") == 1
    out = capsys.readouterr().out
    assert "problem: EMT 1/2 is filled" in out
    assert "Not included\n- Heat: more than 3 current-carrying wires" in out


def test_more(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("fit", "--raceway", "EMT", "--size", "3/4", "--more", "12 THHN") == 0
    assert capsys.readouterr().out.startswith("EMT 3/4: 16 x 12 THHN go in")


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["ampacity", "12 THHN", "--circuit", "1 x wye 4-wire nonlinear", "--terminals", "75"], "copper: 24 A"),
        (["ampacity", "4 THHN", "--ambient-f", "104", "--terminals", "90"], "86.45 A"),
        (["drop", "--current", "20", "--length", "100 ft", "--volts", "120"], "8 keeps 3 percent"),
        (["drop", "--wire-size", "8", "--current", "20", "--length", "100 ft", "--volts", "120"], "3.11 V lost"),
        (["ground", "--device", "200"], "6 copper"),
        (["box", "--wire", "8 x 12", "--ground", "4 x 12", "--device", "1 x 12"], "24.75 in3"),
        (["box", "--wire", "4 x 12", "--volume", "12.5"], "12.5 in3 is enough"),
        (["pullbox", "--pull", "u top 2 -> top 2"], "14 in high"),
    ],
)
def test_answers(words: list[str], answer: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(*words) == 0
    first = capsys.readouterr().out
    assert any(each in first for each in answer.split("|"))


@pytest.mark.parametrize(
    "words",
    [
        ["size", "--raceway", "EMT", "3 x 8 THHN"],
        ["fit", "--raceway", "EMT", "--size", "1", "3 x 8 THHN", "--more", "12 THHN"],
        ["ampacity", "12 THHN", "--load", "15"],
        ["drop", "--current", "20", "--length", "30 m", "--volts", "230"],
        ["ground", "--device", "40", "--needed-size", "8", "--used-size", "4"],
        ["box", "--wire", "4 x 14"],
        ["pullbox", "--pull", "straight left 2 -> right 2", "--width", "16", "--height", "8"],
    ],
)
def test_json(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(*words, "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert body["edition"] == "NFPA 70-2023"
    assert body["headline"]
    assert body["steps"]
    assert len(body["cautions"]) == 2
    assert {"findings", "not_included", "from_memory"} <= set(body)


def test_problems_of_box_and_pull_box() -> None:
    assert run("box", "--wire", "8 x 12", "--box", "4 x 1 1/4 octagonal") == 1
    assert run("pullbox", "--pull", "straight left 2 -> right 2", "--width", "15") == 1
    assert run("ampacity", "12 THHN", "--load", "40") == 1


@pytest.mark.parametrize(
    ("words", "error"),
    [
        (["size", "--raceway", "EMT", "0 x 8 THHN"], InputError),
        (["size", "--raceway", "EMT", "3 x 8 THHN", "--nipple", "25 in"], LimitError),
        (["fit", "--raceway", "EMT", "--size", "1"], InputError),
        (["fit", "--raceway", "EMT", "--size", "7", "3 x 8 THHN"], InputError),
        (["ampacity", "12"], InputError),
        (["ampacity", "12 THHN", "--circuit", "two x 2-wire"], InputError),
        (["drop", "--current", "-1", "--length", "100 ft", "--volts", "120"], InputError),
        (["drop", "--current", "1", "--length", "9 ft", "--volts", "120", "--resistance", "0.8"], InputError),
        (["drop", "--current", "1", "--length", "9 ft", "--volts", "120", "--raceway", "EMT"], InputError),
        ([*DROP, "--reactance", "0.05"], InputError),
        ([*DROP, "--power-factor", "0.9", "--system", "dc"], InputError),
        ([*DROP, "--power-factor", "0.9", "--raceway", "bamboo"], InputError),
        (["ground", "--device", "0"], InputError),
        (["ampacity", "12 THHN", "--carrying", "3", "--circuit", "2-wire"], InputError),
        (["ampacity", "12 THHN", "--ambient-c", "30", "--ambient-f", "86"], InputError),
        (["size", "--raceway", "EMT", "3 x 8 THHN", "--edition", "NFPA 70-1950"], InputError),
    ],
)
def test_refusals(words: list[str], error: type[InputError | LimitError]) -> None:
    with pytest.raises(error) as caught:
        run(*words)
    assert caught.value.hint


def test_a_wire_derated_by_its_company_gets_the_breaker_that_its_ampacity_allows(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """25 wires of 10 AWG: 40 x 0.45 = 18 A, so 20 A and not the 30 A that caps the size; 15 A for receptacles."""
    assert run("ampacity", "10 XHHW-2", "--carrying", "25") == 0
    out = one_line(capsys)
    assert out.startswith(
        "10 XHHW-2 copper: 18 A, overcurrent device at most 20 A (15 A for a branch circuit with several receptacles)"
    )
    assert "more than one receptacle for cord-and-plug portable loads" in out
    assert "[NFPA 70-2023 240.4(B) and Table 240.6(A)]" in out
    assert "never more than 30 A, a cap and no permission" in out
    assert run("ampacity", "10 XHHW-2", "--carrying", "25", "--device", "30") == 1
    assert "A device of 30 A is too large for 10 XHHW-2 copper, which carries 18 A here" in one_line(capsys)
    assert run("ampacity", "10 XHHW-2", "--carrying", "25", "--device", "20", "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert [(f["rule"], f["severity"]) for f in body["findings"]][-1] == ("wire.device", "caution")
    assert any("125 percent of continuous loads" in text for text in body["not_included"])
    assert body["result"]["protection"]["largest_a"] == 20


def test_a_circuit_over_100_a_takes_the_75_c_column(capsys: pytest.CaptureFixture[str]) -> None:
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


def test_a_power_factor_brings_the_ac_table_and_its_reactance(capsys: pytest.CaptureFixture[str]) -> None:
    """350 kcmil copper in steel, 290 A, 320 ft, 480 V three phase, 0.88: by hand 0.039 x 0.88 + 0.050 x 0.4750 =
    0.05807 ohm per 1000 ft, so 9.33 V; the dc table gives 5.90 V."""
    words = ["drop", "--wire-size", "350", "--current", "290", "--length", "320 ft", "--volts", "480"]
    words += ["--system", "three"]
    assert run(*words, "--power-factor", "0.88") == 0
    out = capsys.readouterr().out
    assert out.startswith("350 copper: 9.33 V lost")
    assert "steel raceway (steel taken, none was named)" in out
    assert "Chapter 9 Table 9]" in out
    assert "by K" not in out
    assert run(*words) == 0
    out = capsys.readouterr().out
    assert out.startswith("350 copper: 5.90 V lost")
    assert "dc resistance" in out.splitlines()[0]
    assert "neither skin effect nor reactance is in it" in out


@pytest.mark.parametrize(("raceway", "volts"), [("RMC", 9.33), ("PVC-80", 8.43), ("aluminum", 9.14)])
def test_the_raceway_chooses_the_column_of_the_ac_table(
    raceway: str, volts: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """By hand: (0.039, 0.050) in steel, (0.038, 0.040) in PVC, (0.043, 0.040) in aluminum, 350 kcmil copper."""
    words = ["drop", "--wire-size", "350", "--current", "290", "--length", "320 ft", "--volts", "480"]
    run(*words, "--system", "three", "--power-factor", "0.88", "--raceway", raceway)
    assert capsys.readouterr().out.startswith(f"350 copper: {volts:.2f} V lost")


@pytest.mark.parametrize(("size", "metal"), [("700", "copper"), ("1250", "copper"), ("14", "aluminum")])
def test_a_size_that_the_ac_table_lacks_is_refused_and_not_worked_with_dc(
    size: str, metal: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["drop", "--wire-size", size, "--metal", metal, "--current", "9", "--length", "90 ft", "--volts", "480"]
    with pytest.raises(LimitError, match="No table gives the ac resistance") as caught:
        run(*words, "--power-factor", "0.9")
    assert "1000" in caught.value.hint
    assert run(*words, "--power-factor", "0.9", "--resistance", "0.02", "--reactance", "0.05") in (0, 1)


def test_the_size_for_a_drop_is_named_beside_the_size_for_the_current(capsys: pytest.CaptureFixture[str]) -> None:
    """52 A over 35 ft at 240 V: 10 AWG keeps 3 percent and may not carry it; 6 AWG carries 55 A at 60 C."""
    assert run("drop", "--current", "52", "--length", "35 ft", "--volts", "240") == 0
    out = capsys.readouterr().out
    assert out.startswith("Take 6 copper: 1.79 V lost")
    assert "least for the drop: 10 keeps 3 percent" in out
    assert "least for the current: 6 carries 55 A (60 C column" in out
    assert run("drop", "--wire-size", "10", "--current", "52", "--length", "35 ft", "--volts", "240") == 0
    assert "10 copper may not carry 52 A" in one_line(capsys)


def test_parallel_sets_start_at_1_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("drop", "--current", "60", "--sets", "2", "--length", "20 ft", "--volts", "480") == 0
    assert capsys.readouterr().out.startswith("Take 1/0 copper")
    words = ["drop", "--wire-size", "6", "--current", "60", "--sets", "2", "--length", "20 ft", "--volts", "480"]
    assert run(*words) == 0
    assert "[wire.parallel; NFPA 70-2023 310.10(G)]" in one_line(capsys)


def test_an_answer_from_memory_says_so_and_names_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    """The areas of RHH with its covering were never read in print; those of THHN were."""
    assert run("size", "--raceway", "EMT", "3 x 6 RHH") == 0
    assert "note: from memory, not read in print: NFPA 70-2023 Chapter 9 Tables 4 and 5." in capsys.readouterr().out
    assert run("size", "--raceway", "EMT", "3 x 6 RHH", "--json") == 0
    assert json.loads(capsys.readouterr().out)["from_memory"] == ["NFPA 70-2023 Chapter 9 Tables 4 and 5"]
    assert run("size", "--raceway", "EMT", "3 x 6 THHN") == 0
    assert "from memory" not in capsys.readouterr().out


def test_rounding_up_at_the_edge_is_from_memory(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("fit", "--raceway", "EMT", "--size", "1", "8 x 8 THW") == 0
    assert "from memory, not read in print: NFPA 70-2023 Chapter 9 Note 7." in capsys.readouterr().out


def test_a_circuit_length_without_a_unit_is_refused_and_named_in_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """'85' read as inches would be 7 ft, and the wire too thin."""
    with pytest.raises(InputError) as caught:
        run("drop", "--current", "20", "--length", "85", "--volts", "120")
    assert "no unit" in caught.value.message
    assert caught.value.hint == "write 85 ft or 85 m"
    for length in ("85 ft", "85'", "26 m"):
        assert run("drop", "--current", "20", "--length", length, "--volts", "120") == 0
        assert f"{length} one way" in capsys.readouterr().out.splitlines()[0]
    assert run("drop", "--wire-size", "8", "--current", "20", "--length", "85 ft", "--volts", "120") == 0
    assert "85 ft one way" in capsys.readouterr().out.splitlines()[0]


@pytest.mark.parametrize("wire", ["600 THHN", "750 THWN-2", "2 THW"])
def test_over_fifty_amperes_taps_and_transformer_secondaries_are_named_and_no_receptacles(
    capsys: pytest.CaptureFixture[str], wire: str
) -> None:
    """No branch circuit with several receptacles is larger than 50 A (210.3, from memory)."""
    assert run("ampacity", wire, "--terminals", "75", "--carrying", "4") == 0
    out = capsys.readouterr().out
    assert " for a tap or a transformer secondary)" in out.splitlines()[0]
    assert "not with a tap, a transformer secondary" in out
    assert "receptacle" not in out


def test_a_size_thinner_than_the_terminals_columns_is_told_that_the_marking_decides(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run("ampacity", "18 THHN") == 0
    out = capsys.readouterr().out
    assert "what is marked on the terminals decides" in out
    assert "14 to 1 AWG" not in out
    assert run("ampacity", "14 THHN") == 0
    assert "14 to 1 AWG" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (["ampacity", "12 THHN", "--carrying", "0"], "--carrying"),
        (["ampacity", "12 THHN", "--terminals", "80"], "--terminals"),
        (["ampacity", "12 CHEESE"], "wire"),
        (["ampacity", "12 THHN", "--circuit", "5-wire"], "--circuit"),
        (["drop", "--current", "20", "--length", "85", "--volts", "120"], "--length"),
        (["drop", "--current", "-1", "--length", "85 ft", "--volts", "120"], "--current"),
        (["drop", "--current", "20", "--length", "85 ft", "--volts", "120", "--sets", "0"], "--sets"),
        (["ground", "--device", "40", "--needed-size", "8"], "--used-size"),
        (["box", "--wire", "4 x 2"], "--wire"),
        (["box", "--wire", "4 x 12", "--volume", "0"], "--volume"),
        (["pullbox", "--pull", "straight left 2 -> top 2"], "--pull"),
        (["pullbox", "--pull", "u top 2 -> top 2", "--conductor", "13"], "--conductor"),
        (["fit", "--raceway", "EMT", "--size", "7", "3 x 8 THHN"], "--size"),
        (["size", "--raceway", "EMT", "3 x 13 THHN"], "WIRES"),
        (["size", "--raceway", "EMT", "cable 0.0001 in"], "WIRES"),
        (["ground", "--device", "40", "--needed-size", "8", "--used-size", "7"], "--used-size"),
        (["size", "--raceway", "EMT", "3 x 8 THHN", "--nipple", "25 in"], "--nipple"),
    ],
)
def test_what_is_refused_is_told_by_its_option(words: list[str], option: str) -> None:
    with pytest.raises((InputError, LimitError)) as caught:
        run(*words)
    assert caught.value.field == option
