"""A written survey from plain data, and the published JSON Schema of the survey file."""

from __future__ import annotations

from typing import Any

import msgspec

from racewright.errors import InputError
from racewright.field_words import SPELT, explained, one_spelling
from racewright.survey.written import FORMAT_VERSION, WrittenSurvey


def survey_from_data(data: object) -> WrittenSurvey:
    """A written survey from plain dicts, lists and strings, `center` or `centre`. Raises InputError that names the
    field."""
    data = _switched(one_spelling(data))
    try:
        return msgspec.convert(data, WrittenSurvey, strict=False)
    except msgspec.ValidationError as err:
        raise _told(str(err), data) from None


#: What a yes or no is written as, and where one stands.
_SWITCH = {"true": True, "yes": True, "false": False, "no": False}
_SWITCHES = (("run", "coupled"), ("run", "climate", "sun"), ("run", "start", "fixed"), ("run", "end", "fixed"))


def _switched(data: object) -> object:
    """The data with its yes and no, as words, in true and false. Raises InputError for a number in their place."""
    for path in _SWITCHES:
        data = _switch(data, path, ".".join(path))
    return data


def _switch(data: object, path: tuple[str, ...], field: str) -> object:
    if not isinstance(data, dict) or path[0] not in data:
        return data
    value: object = data[path[0]]
    if path[1:]:
        return data | {path[0]: _switch(value, path[1:], field)}
    if value is None or isinstance(value, bool | dict | list):
        return data
    if str(value).lower() not in _SWITCH:
        raise InputError(
            f"{field} is '{value}': expected true or false.",
            hint="yes and no will do; see docs/survey-file.md",
            field=field,
        )
    return data | {path[0]: _SWITCH[str(value).lower()]}


def _told(text: str, data: object) -> InputError:
    metric = isinstance(data, dict) and data.get("units") == "mm"
    examples = _EXAMPLES | _METRIC if metric else _EXAMPLES
    err = explained(text, data, WrittenSurvey, see="see docs/survey-file.md", examples=examples)
    if err.field == "racewright":
        err.message = f"racewright: the file is of another format; this version reads format {FORMAT_VERSION}."
        err.hint = f"write racewright: {FORMAT_VERSION}, or bring Racewright up to date"
    if err.field.endswith(".turn"):
        err.hint = TURN_HINT
    return err


#: A wall has an up, and a run has not: it is told by the hand that it turns to.
TURN_HINT = (
    "stand on the surface that carries the conduit and look along the run: left and right stay on it, away leaves it "
    "(up the wall ahead), toward goes round an outside corner. On a wall, as one faces it, a run going right turns up "
    "by left and down by right, one going left turns up by right and down by left, and away comes toward you; on a "
    "floor, up is away. `going: up` says that the run itself begins upward"
)


_EXAMPLES = {
    "run": "(a run with name, raceway and walk)",
    "name": "Pump house, panel to pump 2",
    "raceway": "EMT 1/2",
    "walk": "(legs and turns)",
    "leg": "50 in",
    "centre": "21 in",
    "height": "3 1/2 in",
    "width": "3 1/2 in",
    "rise": "4 in",
    "turn": "right",
    "angle": "90",
    "units": "in",
    "fraction": "16",
    "racewright": "1",
}


_METRIC = {"leg": "1270 mm", "centre": "530 mm", "height": "90 mm", "width": "90 mm", "rise": "100 mm", "fraction": "1"}


def survey_json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a survey file."""
    schema = msgspec.json.schema(WrittenSurvey)
    for kind in schema["$defs"].values():  # how far a docstring is indented depends on the Python
        kind["description"] = " ".join(kind.get("description", "").split())
    _both_spellings(schema["$defs"])
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Racewright survey, format 1", **schema}


def _both_spellings(kinds: dict[str, Any]) -> None:
    """`center` beside `centre`, wherever the schema has it: exactly one of the two, and either word as a value."""
    for kind in kinds.values():
        fields = kind.get("properties", {})
        for name in SPELT:
            for choice in (fields.get(name, {}), *fields.get(name, {}).get("anyOf", ())):
                words = [word for word in choice.get("enum", ()) if "centre" in str(word)]
                if words:
                    choice["enum"] = sorted([*choice["enum"], *(word.replace("centre", "center") for word in words)])
        if "centre" in fields:
            fields["center"] = fields["centre"]
            kind["required"] = [name for name in kind["required"] if name != "centre"]
            kind["oneOf"] = [{"required": ["centre"]}, {"required": ["center"]}]
