"""The only place that knows JSON: written surveys in, plans out, and the published JSON Schema of the survey file."""

from __future__ import annotations

import re
from typing import Any, get_args

import msgspec

from racewright.catalogue.model import BenderProfile
from racewright.errors import InputError
from racewright.fit.insertion import InsertionAnswer
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.rules.check_run import RunCheck
from racewright.survey.written import WrittenSurvey

_AT = re.compile(r"^(?P<what>.*?) - at `\$?\.?(?P<path>[^`]*)`$")
_UNKNOWN = re.compile(r"Object contains unknown field `(?P<name>[^`]*)`")
_MISSING = re.compile(r"Object missing required field `(?P<name>[^`]*)`")


def survey_from_data(data: object) -> WrittenSurvey:
    """A written survey from plain dicts, lists and strings. Raises InputError that names the field."""
    try:
        return msgspec.convert(data, WrittenSurvey, strict=False)
    except msgspec.ValidationError as err:
        raise _explained(str(err), data) from None


def _explained(text: str, data: object) -> InputError:
    match = _AT.match(text)
    what, path = (match["what"], match["path"]) if match else (text, "")
    unknown, missing = _UNKNOWN.search(what), _MISSING.search(what)
    if unknown:
        field = f"{path}.{unknown['name']}".lstrip(".")
        known = _fields_at(path)
        return InputError(
            f"{field}: no such field here.",
            hint=f"the fields here are: {', '.join(known)}" if known else "see docs/survey-file.md",
            field=field,
            expected=", ".join(known),
        )
    if missing:
        field = f"{path}.{missing['name']}".lstrip(".")
        return InputError(
            f"{field}: is missing.",
            hint=f"add it: {missing['name']}: {_EXAMPLES.get(missing['name'], '...')}",
            field=field,
            expected=missing["name"],
            example=_EXAMPLES.get(missing["name"], ""),
        )
    name = re.sub(r"\[\d*\.*\]", "", path).rpartition(".")[2]
    allowed = _choices_at(path)
    expected = f"one of {', '.join(allowed)}" if allowed else what.removeprefix("Expected ").replace("`", "")
    got = _value_at(data, path)
    shown = f" is '{got}'" if isinstance(got, str | int | float) else ""
    return InputError(
        f"{path or 'the file'}{shown}: expected {expected}.",
        hint=f"for example: {name}: {_EXAMPLES.get(name, allowed[0] if allowed else '...')}"
        if name
        else "see docs/survey-file.md",
        field=path,
        expected=expected,
        example=_EXAMPLES.get(name, allowed[0] if allowed else ""),
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
    "units": "in",
    "fraction": "16",
    "racewright": "1",
}


def _type_at(path: str) -> Any:
    """The annotation that the written survey has at this path, or None."""
    here: Any = WrittenSurvey
    for raw in path.split("."):
        name = raw.partition("[")[0]
        here = next((a for a in (here, *get_args(here)) if isinstance(a, type) and issubclass(a, msgspec.Struct)), None)
        if here is None:
            return None
        field = next((f for f in msgspec.structs.fields(here) if f.encode_name == name), None)
        if field is None:
            return None
        here = field.type
        if "[" in raw:
            here = get_args(here)[0]
    return here


def _fields_at(path: str) -> list[str]:
    here = _type_at(path) if path else WrittenSurvey
    struct = next((a for a in (here, *get_args(here)) if isinstance(a, type) and issubclass(a, msgspec.Struct)), None)
    return [] if struct is None else [f.encode_name for f in msgspec.structs.fields(struct)]


def _choices_at(path: str) -> list[str]:
    here = _type_at(path)
    args = get_args(here)
    flat = [b for a in args for b in (get_args(a) or (a,))] if args else []
    return [str(a) for a in flat if isinstance(a, str | int) and not isinstance(a, bool)]


def _value_at(data: object, path: str) -> object:
    here = data
    for name, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", path):
        if name and isinstance(here, dict):
            here = here.get(name)
        elif index and isinstance(here, list) and int(index) < len(here):
            here = here[int(index)]
        else:
            return None
    return here


def survey_json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a survey file."""
    schema = msgspec.json.schema(WrittenSurvey)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Racewright survey, format 1",
        **schema,
    }


def plan_to_data(plan: Plan) -> dict[str, Any]:
    """A plan as plain data for JSON: see docs/plan-json.md for every field's meaning and unit."""
    return {
        "format": "racewright plan 1",
        "name": plan.name,
        "raceway": plan.raceway.name,
        "tape": msgspec.to_builtins(plan.tape),
        "pieces": [_piece(p) for p in plan.pieces],
        "bender": None if plan.bender is None else _bender(plan.bender),
        "corners_mm": [list(c) for c in plan.corners],
        "developed_length_mm": plan.developed_length_mm,
        "total_bend_deg": plan.total_bend_deg,
        "obstacles": msgspec.to_builtins(plan.obstacles),
        "rules_of_thumb": msgspec.to_builtins(plan.thumb),
        "notes": msgspec.to_builtins(plan.blocks),
        "couplings_mm": list(plan.couplings_mm),
        "checks": None if plan.checks is None else _checks(plan.checks),
        "steps": msgspec.to_builtins(plan.steps),
        "cautions": list(plan.cautions),
        "measured": list(plan.measured_lines),
        "findings": [
            {"rule": f.rule, "severity": f.severity, "message": f.message, "citation": f.citation}
            | {k: v for k, v in msgspec.to_builtins(f).items() if k not in ("rule", "severity", "message", "citation")}
            for f in plan.findings
        ],
    }


def _bender(bender: BenderProfile) -> dict[str, Any]:
    return {
        "name": bender.name,
        "radius_mm": bender.radius_mm,
        "arrow_lead_mm": bender.arrow_lead_mm,
        "centre_mm": bender.centre_mm,
        "star_mm": bender.star_mm,
        "take_up_mm": bender.take_up_mm,
        "gain_mm": bender.gain_mm,
        "hook_reach_mm": bender.hook_reach_mm,
        "grip_mm": bender.grip_mm,
        "source": bender.source,
        "standing": bender.standing,
    }


def _checks(checks: RunCheck) -> dict[str, Any]:
    straps = checks.supports
    return {
        "straps_mm": [] if straps is None else list(straps.stations_mm),
        "pulls": [
            {
                "from_mm": pull.start_mm,
                "to_mm": pull.end_mm,
                "feed_from": pull.better,
                "tension_n": pull.chosen.tension_n,
            }
            for pull in checks.pulls
        ],
    }


def _piece(piece: PlannedPiece) -> dict[str, Any]:
    return {
        "label": piece.label,
        "cut_length_mm": piece.cut_length_mm,
        "cut_length_tape": piece.cut_tape.text,
        "outside_diameter_mm": piece.outside_diameter_mm,
        "bend_radius_mm": piece.bend_radius_mm,
        "least_stock_mm": piece.least_stock_mm,
        "extra_a_mm": piece.extra_a_mm,
        "extra_b_mm": piece.extra_b_mm,
        "run_start_mm": piece.run_start_mm,
        "stock_mm": piece.stock_mm,
        "forecast": None if piece.forecast is None else msgspec.to_builtins(piece.forecast),
        "insertion": None if piece.insertion is None else _insertion(piece.insertion),
        "ways": msgspec.to_builtins(piece.ways),
        "order_proved": piece.order_proved,
        "trim_after": piece.trim_after,
        "trim_marks": msgspec.to_builtins(piece.trim_marks),
        "end_a": {"fitting": piece.fitting_a, "insertion_mm": piece.insert_a_mm},
        "end_b": {"fitting": piece.fitting_b, "insertion_mm": piece.insert_b_mm},
        "start": {"point_mm": piece.start_point, "axis": piece.start_axis, "normal": piece.start_normal},
        "bends": [_bend(b) for b in piece.bends],
    }


def _insertion(answer: InsertionAnswer) -> dict[str, Any]:
    return {
        "captured": answer.captured,
        "possible": answer.possible,
        "loosen": answer.loosen,
        "slide_mm": answer.slide_mm,
        "coupling": answer.coupling,
        "path_clear": answer.path_clear,
        "steps": list(answer.steps),
    }


def _bend(bend: MarkedBend) -> dict[str, Any]:
    data: dict[str, Any] = msgspec.to_builtins(bend)
    tape = data.pop("tape")
    data["mark_tape"] = tape["text"]
    data["mark_rounding_mm"] = tape["off_mm"]
    return data


def plan_to_json(plan: Plan) -> str:
    """A plan as indented JSON text."""
    return msgspec.json.format(msgspec.json.encode(plan_to_data(plan)), indent=2).decode()
