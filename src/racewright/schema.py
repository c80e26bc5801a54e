"""The only place that knows JSON: written surveys in, plans out, and the published JSON Schema of the survey file."""

from __future__ import annotations

from typing import Any

import msgspec

from racewright.catalogue.model import BenderProfile
from racewright.errors import InputError
from racewright.fit.insertion import InsertionAnswer
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.rules.check_run import RunCheck
from racewright.schema_words import SPELT, explained, one_spelling
from racewright.survey.written import FORMAT_VERSION, WrittenSurvey


def survey_from_data(data: object) -> WrittenSurvey:
    """A written survey from plain dicts, lists and strings, `center` or `centre`. Raises InputError that names the
    field."""
    data = one_spelling(data)
    try:
        return msgspec.convert(data, WrittenSurvey, strict=False)
    except msgspec.ValidationError as err:
        raise _told(str(err), data) from None


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
    "units": "in",
    "fraction": "16",
    "racewright": "1",
}
_METRIC = {"leg": "1270 mm", "centre": "530 mm", "height": "90 mm", "width": "90 mm", "rise": "100 mm", "fraction": "1"}


def survey_json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a survey file."""
    schema = msgspec.json.schema(WrittenSurvey)
    _both_spellings(schema["$defs"])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Racewright survey, format 1",
        **schema,
    }


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
    return plain_json(plan_to_data(plan))


def plain_json(data: object) -> str:
    """Data as indented JSON text in which characters without a shape of their own (control characters, marks that turn
    the reading direction round) stand as \\uXXXX: the same data, and safe to print."""
    text = msgspec.json.format(msgspec.json.encode(data), indent=2).decode()
    return "\n".join(line if line.isprintable() else _escaped(line) for line in text.split("\n"))


def _escaped(line: str) -> str:
    codes = ((c, c.encode("utf-16-be").hex()) for c in line)
    return "".join(
        c if c.isprintable() else "".join(f"\\u{code[i : i + 4]}" for i in range(0, len(code), 4)) for c, code in codes
    )
