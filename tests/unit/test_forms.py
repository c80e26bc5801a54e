"""Forms of the page, made from the requests: a new field is in its form by itself, and nothing is retyped."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Annotated, Literal

import msgspec
import pytest
from msgspec import inspect

from racewright.operations.common import LengthText, Name
from racewright.operations.operations import OPERATIONS
from racewright.operations.shape import SHAPES
from racewright.operations.wires_common import CodeRequest, TradeSize
from racewright.records.model import JobHead
from racewright.records.person import Person

SCRIPT = Path(__file__).resolve().parents[2] / "web-ui" / "scripts" / "make_forms.py"


@pytest.fixture(scope="module")
def made() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_forms", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Tray(CodeRequest, frozen=True, kw_only=True):
    """A question that is not asked yet."""

    depth: Annotated[LengthText, msgspec.Meta(title="Depth", description="inside, to the rungs")]
    size: TradeSize = ""
    load_a: Annotated[float | None, msgspec.Meta(title="Load", extra={"unit": "A"})] = None
    kind: Literal["back", "centre"] = "centre"
    covers: tuple[Name, ...] = ()
    open_top: bool = False
    rungs: int = 4


def test_a_field_is_in_the_form_by_itself(made: ModuleType) -> None:
    fields = {field["name"]: field for field in made.fields_of(Tray)}
    assert list(fields)[-1] == "edition"
    assert fields["depth"] == {
        "name": "depth",
        "kind": "length",
        "label": "Depth",
        "help": "inside, to the rungs",
        "required": True,
    }
    assert fields["size"]["kind"] == "choice"
    assert fields["size"]["of"] == "trade sizes"
    sizes = [value for value, _ in fields["size"]["choices"]]
    assert sizes[:5] == ["1/2", "3/4", "1", "1-1/4", "1-1/2"]
    assert (fields["load_a"]["kind"], fields["load_a"]["unit"]) == ("number", "A")
    assert fields["kind"]["choices"] == [["back", "back"], ["centre", "center"]]
    assert fields["kind"]["usual"] == "centre"
    assert (fields["covers"]["kind"], fields["open_top"]["kind"]) == ("list", "switch")
    assert (fields["open_top"]["label"], fields["rungs"]["usual"]) == ("Open top", "4")


def test_every_question_and_shape_has_its_form_with_all_its_fields(made: ModuleType) -> None:
    forms = {form["key"]: form for operation in made.asked_alone() for form in made.forms_of(operation)}
    assert {f"shape/{shape.label()}" for shape in SHAPES} < set(forms)
    wanted = {name for name in OPERATIONS if name.startswith("wires_")}
    assert wanted == {key for key, form in forms.items() if form["view"] == "code"}
    for name in (*wanted, "pull"):
        info = inspect.type_info(OPERATIONS[name].request)
        assert isinstance(info, inspect.StructType)
        assert {field["name"] for field in forms[name]["fields"]} == {field.name for field in info.fields}
    beside = {field["name"] for field in forms["shape/stub"]["beside"]}
    assert beside == set(OPERATIONS["shape"].request.__struct_fields__) - {"shape", "bender"}


def test_help_is_the_command_s_sentence(made: ModuleType, capsys: pytest.CaptureFixture[str]) -> None:
    from racewright.cli.main import main

    (form,) = made.forms_of(OPERATIONS["wires_drop"])
    with pytest.raises(SystemExit):
        main(["wires", "drop", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    for field in form["fields"]:
        assert field["help"], field["name"]
        assert field["help"] in told


def test_settings_take_what_is_usual_from_the_engine() -> None:
    """A figure that stands where a record says nothing is nowhere written again in the page's settings."""
    head, person = JobHead(name="orchard"), Person(name="Kim")
    usual = {head.cutting.kerf, head.cutting.keep, head.wire_slack, person.mark, person.cut}
    parts = (SCRIPT.parents[1] / "src" / "app" / "settings").glob("*.tsx")
    again = [(part.name, text) for part in parts for text in usual if f"'{text}'" in part.read_text(encoding="utf-8")]
    assert again == []
