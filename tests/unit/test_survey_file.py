import json
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import msgspec
import pytest
import yaml

from racewright.errors import InputError
from racewright.store.survey_file import read_survey_file, survey_from_text
from racewright.survey.from_data import survey_json_schema
from racewright.survey.model import Saddle
from racewright.survey.written import WrittenSurvey

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
GOOD = """\
racewright: 1
units: in
run:
  name: Pump house
  raceway: EMT 1/2
  walk:
    - leg: 50
      features:
        - saddle: {centre: 23, height: 3 1/4}
    - turn: away
    - leg: 20
"""


def changed(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


def test_readings_come_out_in_mm_and_radians() -> None:
    survey = survey_from_text(GOOD).survey
    assert survey.legs[0].length_mm == pytest.approx(1270.0)
    saddle = survey.legs[0].features[0]
    assert isinstance(saddle, Saddle)
    assert (saddle.centre_mm, saddle.height_mm, saddle.angle_rad) == (pytest.approx(584.2), pytest.approx(82.55), None)
    assert survey.turns[0].angle_rad == pytest.approx(1.5707963267948966)
    assert survey.legs[0].measured_from == "face"
    assert survey.legs[1].measured_from == "back"


@pytest.mark.parametrize(
    ("text", "field", "line", "said"),
    [
        (changed("centre: 23", "centre: 31 5/0"), "run.walk[0].features[0].saddle.centre", 9, "divides by zero"),
        (changed("centre: 23, ", ""), "run.walk[0].features[0].saddle.centre", 9, "missing"),
        (changed("height: 3 1/4", "hight: 3"), "run.walk[0].features[0].saddle.hight", 9, "no such field"),
        (changed("turn: away", "turn: up"), "run.walk[1].turn", 10, "left, right, away, toward"),
        (changed("units: in", "units: feet"), "units", 2, "in, mm"),
        (changed("leg: 50", "leg: -50"), "run.walk[0].leg", 7, "negative"),
        (changed("leg: 50", "leg: 0"), "run.walk[0].leg", 7, "zero"),
        (changed("raceway: EMT 1/2", "raceway: EMT"), "run.raceway", 5, "trade size"),
        (changed("    - turn: away\n", ""), "run.walk[1]", 10, "follows another"),
        (changed("    - leg: 20\n", ""), "run.walk[1]", 10, "ends with a turn"),
        (changed("- leg: 20", "- leg: 20\n      from: face"), "run.walk[2].from", 12, "wall, back"),
        (changed("{centre: 23, height: 3 1/4}", "{centre: 23}"), "run.walk[0].features[0].saddle", 9, "height"),
        (changed("racewright: 1", "racewright: 2"), "racewright", 1, "format 1"),
        (changed("height: 3 1/4}", "height: 3, angle: 200}"), "run.walk[0].features[0].saddle.angle", 9, "120"),
        (changed("  name: Pump house\n", ""), "run.name", 3, "missing"),
        (changed("  name: Pump house\n", "  name: Pump house\n  name: twice\n"), "run.name", 5, "twice"),
    ],
)
def test_a_wrong_file_gets_line_field_and_what_was_expected(text: str, field: str, line: int, said: str) -> None:
    with pytest.raises(InputError) as caught:
        survey_from_text(text, name="shed.yaml")
    err = caught.value
    assert err.field == field
    assert err.line == line
    assert f"shed.yaml, line {line}" in err.message
    assert said in f"{err.message} {err.hint} {err.expected}"
    assert err.hint


@pytest.mark.parametrize(
    "text", ["", "   \n", "- 1\n- 2\n", "just words", "a: [1, 2", "a: b: c", "\t- x", "{}", "run: 3", "? {a: b}\n: c"]
)
def test_what_is_no_survey_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        survey_from_text(text)


def test_a_file_that_swells_or_nests_is_refused() -> None:
    bomb = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"{chr(98 + i)}: &{chr(98 + i)} [{','.join(['*' + chr(97 + i)] * 9)}]\n" for i in range(8)
    )
    with pytest.raises(InputError, match="fields"):
        survey_from_text(bomb)
    with pytest.raises(InputError, match="levels"):
        survey_from_text("[" * 200 + "]" * 200)


def test_files_that_cannot_be_read_say_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_survey_file(tmp_path / "none.yaml")
    (tmp_path / "binary.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_survey_file(tmp_path / "binary.yaml")
    (tmp_path / "huge.yaml").write_bytes(b" " * 1_000_001)
    with pytest.raises(InputError, match="longer than 1,000,000 bytes"):
        read_survey_file(tmp_path / "huge.yaml")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_match_the_published_schema_and_json_is_the_same_survey(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    data = yaml.load(text, Loader=yaml.BaseLoader)
    published = json.loads(json.dumps(survey_json_schema()))
    jsonschema.Draft202012Validator.check_schema(published)
    typed = yaml.safe_load(text)
    assert not list(jsonschema.Draft202012Validator(published).iter_errors(typed))
    assert survey_from_text(json.dumps(data)).survey == survey_from_text(text).survey


def test_the_published_schema_is_the_one_in_force() -> None:
    published = Path(__file__).parents[2] / "docs" / "survey.schema.json"
    assert json.loads(published.read_text(encoding="utf-8")) == json.loads(json.dumps(survey_json_schema()))


def test_the_schema_refuses_what_the_reader_refuses() -> None:
    validator = jsonschema.Draft202012Validator(survey_json_schema())
    assert list(validator.iter_errors(yaml.safe_load(changed("height: 3 1/4", "hight: 3"))))
    assert list(validator.iter_errors(yaml.safe_load(changed("turn: away", "turn: up"))))


def _numbers(kind: object, said: bool = False) -> Iterator[bool]:
    """Of every number below that may be a fraction: whether it says what it is of."""
    if isinstance(kind, msgspec.inspect.FloatType):
        yield said
    elif isinstance(kind, msgspec.inspect.Metadata):
        yield from _numbers(kind.type, said=True)
    elif isinstance(kind, msgspec.inspect.StructType):
        for field in kind.fields:
            yield from _numbers(field.type)
    elif isinstance(kind, msgspec.inspect.VarTupleType):
        yield from _numbers(kind.item_type, said)
    elif isinstance(kind, msgspec.inspect.UnionType):
        for part in kind.types:
            yield from _numbers(part, said)


def test_every_number_says_whether_it_is_a_length_an_angle_or_a_temperature() -> None:
    numbers = list(_numbers(msgspec.inspect.type_info(WrittenSurvey)))
    assert len(numbers) > 40
    assert all(numbers)


@pytest.mark.parametrize(
    ("word", "meant"), [("yes", True), ("Yes", True), ("true", True), ("no", False), ("False", False)]
)
def test_yes_and_no_are_written_as_words(word: str, meant: bool) -> None:
    survey = survey_from_text(
        f"run:\n  name: packing shed, lamps\n  raceway: EMT 1/2\n  coupled: {word}\n  end: {{fixed: {word}}}\n"
        "  walk:\n    - leg: 8 ft\n"
    ).survey
    assert survey.coupled is meant
    assert survey.end.fixed is meant
