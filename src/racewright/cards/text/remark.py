"""New marks for a half-bent piece, as text and as JSON."""

from __future__ import annotations

import json
from math import degrees, radians
from typing import NamedTuple

import msgspec

from racewright.cautions import cautions_for, cautions_text
from racewright.cli.planned_pieces import Job, JobPiece
from racewright.fit.replan import MadeBend, ReplanAnswer
from racewright.plan.model import MarkedBend
from racewright.units.angle import format_angle
from racewright.units.tape import format_length, read_tape


class NewMark(NamedTuple):
    """A bend still to be made: where the shoe's mark goes now, its angle, the pointer, the turn since the bend made
    before (degrees, positive clockwise looking from A toward B) in figures and words, and how the bender is held."""

    planned: MarkedBend
    mark_mm: float
    angle_deg: float
    pointer_deg: float
    spin_deg: float
    spin_words: str
    stance: str


def as_text(
    job: Job, piece: JobPiece, answer: ReplanAnswer, marks: list[NewMark], made: list[MadeBend], have_mm: float
) -> str:
    """The answer as lines of text."""
    tape = job.tape
    names = ", ".join(str(m.number) for m in sorted(made, key=lambda m: m.number))
    lines = [f"{job.name}, {piece.label}: made, as measured: {'bend' if len(made) == 1 else 'bends'} {names}."]
    if marks:
        lines += ["", f"  {'bend':<6}{'new mark':<12}{'was':<12}{'shoe mark':<11}{'hook':<6}{'angle':<9}pointer"]
        for m in marks:
            p = m.planned
            was = format_length(p.mark_mm, tape)
            new = format_length(m.mark_mm, tape) if 0.0 <= m.mark_mm <= have_mm else "off it"
            lines.append(
                f"  {p.number:<6}{new:<12}{was:<12}{p.reference:<11}{p.hook:<6}"
                f"{format_angle(radians(m.angle_deg)):<9}{format_angle(radians(m.pointer_deg))} {p.pointer_basis}"
            )
            stance = f" Bend it {m.stance}." if m.stance else ""
            lines.append(f"        {m.spin_words}.{stance}")
    cut, was_cut = answer.piece.cut_length_mm, piece.piece.cut_length_mm
    lines += ["", f"Cut length {format_length(cut, tape)} (was {format_length(was_cut, tape)})."]
    if answer.met:
        lines.append("Worked out with these marks, the far end meets its fitting; measure it when it is bent.")
    lines += [f"{'PROBLEM' if f.severity == 'problem' else f.severity}: {f.message}" for f in answer.findings]
    lines += [f"- {text}" for text in _also(job, piece, answer, have_mm)]
    lines.append(cautions_text("bend", "cut"))
    return "\n".join(lines)


def _also(job: Job, piece: JobPiece, answer: ReplanAnswer, have_mm: float) -> list[str]:
    tape = job.tape
    out = []
    cut = answer.piece.cut_length_mm
    if any(f.rule == "replan.end" for f in answer.findings):
        if abs(cut - have_mm) < 0.1 and not piece.trim_after:
            out.append("The conduit in hand bounds it; if it is not cut yet, say how long it is with --have.")
        out.append("Or finish it as planned, measure it, and see whether it can be corrected: `racewright tweak`.")
    elif read_tape(have_mm - cut, tape).shown_mm > 0.0:
        out.append(f"Cut {format_length(have_mm - cut, tape)} off at end B, after bending.")
    if piece.extra_a_mm:
        beyond = format_length(piece.extra_a_mm, tape)
        out.append(f"Marks count from where end A will be; {beyond} is left on beyond it until it is cut.")
    out.append("Marks count from end A along the straight conduit; where it is bent, along its middle line.")
    return out


def as_json(job: Job, piece: JobPiece, answer: ReplanAnswer, marks: list[NewMark]) -> str:
    """The answer as JSON, lengths mm, angles degrees."""
    across_up, across_side, along, lean_up, lean_side = answer.gap
    return json.dumps(
        {
            "piece": piece.label,
            "met": answer.met,
            "bends": [
                {
                    "number": m.planned.number,
                    "mark_mm": m.mark_mm,
                    "mark_tape": read_tape(m.mark_mm, job.tape).text,
                    "planned_mark_mm": m.planned.mark_mm,
                    "reference": m.planned.reference,
                    "hook": m.planned.hook,
                    "angle_deg": round(m.angle_deg, 9),
                    "roll_deg": round(degrees(answer.piece.bends[m.planned.number - 1].roll_rad), 9),
                    "pointer_deg": round(m.pointer_deg, 9),
                    "pointer_basis": m.planned.pointer_basis,
                    "spin_deg": m.spin_deg,
                    "spin_words": m.spin_words,
                    "stance": m.stance,
                }
                for m in marks
            ],
            "cut_length_mm": answer.piece.cut_length_mm,
            "cut_length_tape": read_tape(answer.piece.cut_length_mm, job.tape).text,
            "planned_cut_length_mm": piece.piece.cut_length_mm,
            "gap": {
                "across_mm": [across_up, across_side],
                "along_mm": along,
                "lean_deg": [degrees(lean_up), degrees(lean_side)],
            },
            "changes": list(answer.words),
            "findings": msgspec.to_builtins(answer.findings),
            "cautions": cautions_for("bend", "cut"),
        },
        indent=2,
        ensure_ascii=False,
    )
