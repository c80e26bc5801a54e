"""A forgotten space in a fraction ('441/2' for '44 1/2') is refused wherever a person writes a number, and said."""

import json
import re
from math import degrees
from pathlib import Path

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.cli.cmd_remark import made_reading
from racewright.cli.main import main
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import InputError, UnknownName
from racewright.operations.shapes.asked import read_angle
from racewright.store.survey_file import survey_from_text
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length
from racewright.units.tape import TapeUnit
from racewright.wires.conductors import parse_groups

CASES = json.loads((Path(__file__).parent / "length_cases.json").read_text(encoding="utf-8"))
SURVEY = "run: {{name: workshop vise, raceway: EMT 1/2, walk: [{{leg: 60}}, {{turn: left, angle: {}}}, {{leg: 50}}]}}"


@pytest.mark.parametrize(("text", "unit", "mm", "meant"), [(*row, [])[:4] for row in CASES])
def test_a_length_is_read_as_the_table_that_the_page_is_tested_on_says(
    text: str, unit: TapeUnit, mm: float | None, meant: list[str]
) -> None:
    if mm is None:
        with pytest.raises(InputError) as caught:
            parse_length(text, unit)
        asked = re.search(r"did you mean (.*)\?", caught.value.message)
        assert (asked.group(1).split(" or ") if asked else []) == meant
    else:
        assert float(parse_length(text, unit)) == pytest.approx(mm, abs=1e-8)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("523/4", "52 3/4"),
        ("81/8", "8 1/8"),
        ("1013/16", "10 13/16 or 101 3/16"),
        ("3/2", "1 1/2"),
        ("17/16", "1 7/16 or 1 1/16"),
        ("24/8", "2 4/8"),
        ("8/8", "1?"),
        ("2' 91/4\"", "9 1/4"),
    ],
)
def test_a_length_with_a_forgotten_space_is_asked_back(written: str, meant: str) -> None:
    with pytest.raises(InputError, match="a fraction of 1 or more; did you mean") as caught:
        parse_length(written, field="run.walk[0].leg")
    assert meant in caught.value.message


@pytest.mark.parametrize("text", ["221/2", "371/2", "90/1", "45/2"])
def test_an_angle_with_a_forgotten_space_is_never_bent(text: str) -> None:
    for read in (
        lambda: read_degrees(text, least=0.0, most=360.0),
        lambda: read_angle(text, "--angle"),
        lambda: made_reading(f"1: angle {text}"),
        lambda: survey_from_text(SURVEY.format(text)).survey,
    ):
        with pytest.raises(InputError, match="did you mean"):
            read()


@pytest.mark.parametrize(
    ("text", "value"), [("22 1/2", 22.5), ("22-1/2 deg", 22.5), ("37.8°", 37.8), ("1/2", 0.5), ("90 degrees", 90.0)]
)
def test_angles_are_read_alike_everywhere(text: str, value: float) -> None:
    assert read_degrees(text, least=0.0, most=90.0) == value
    assert degrees(read_angle(text)) == pytest.approx(value)
    assert made_reading(f"1: angle {text}").angle_deg == value


@pytest.mark.parametrize(("size", "meant"), [("11/4", "1 1/4"), ("21/2", "2 1/2"), ("3/2", "1 1/2"), ("5/4", "1 1/4")])
def test_a_trade_size_with_a_forgotten_space_is_no_other_size(size: str, meant: str) -> None:
    with pytest.raises(UnknownName) as caught:
        find_raceway("EMT", size)
    assert f"did you mean {meant}?" in caught.value.hint


def test_the_command_line_asks_back_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", "offset", "--rise", "61/2", "--angle", "30"]) == 2
    assert "did you mean 6 1/2?" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["XHHW", "XHHW-2", "XHH", "xhhw-2"])
@pytest.mark.parametrize(("before", "count"), [("", 1), ("4 x ", 4), ("4x", 4), ("4 × ", 4), ("4 X ", 4)])
def test_an_insulation_that_begins_with_x_is_no_multiplication(name: str, before: str, count: int) -> None:
    (group,) = parse_groups([f"{before}6 {name}"], load_edition(DEFAULT_EDITION))
    assert (group.count, group.wire.size, group.wire.insulation) == (count, "6", name.upper())
