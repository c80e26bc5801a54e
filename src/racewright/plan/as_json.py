"""The only place that knows JSON: written surveys in, plans out, and the published JSON Schema of the survey file."""

from __future__ import annotations

from typing import Any

import msgspec

from racewright.fit.insertion import InsertionAnswer
from racewright.inspection.check_run import RunCheck
from racewright.plan.model import MarkedBend, Plan, PlannedPiece
from racewright.tools.model import BenderProfile


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
