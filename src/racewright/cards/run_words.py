"""What is written down about a run of a job, in lines of words: wires, what was measured and corrected, its name."""

from __future__ import annotations

from math import degrees

from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured
from racewright.records.model import JobRun, TweakMade
from racewright.units.tape import TapeStyle, format_length, style_of


def short_name(name: str, area: str) -> str:
    """The name without the area that it begins with: under the area's heading it need not be said again."""
    head, comma, rest = name.partition(", ")
    return rest if comma and area and head.casefold() == area.casefold() else name


def wire_lines(run: JobRun) -> tuple[str, ...]:
    """What is pulled into the run, in words; the survey's wires where the run names none of its own."""
    if run.wires:
        return tuple(
            " ".join(part for part in (f"{w.count} × {w.size}", w.insulation, w.material, w.colour) if part)
            for w in run.wires
        )
    return tuple(str(wire) for wire in run.survey.run.wires)


def as_built_lines(run: JobRun) -> tuple[str, ...]:
    """What was measured on bent pieces and what was corrected, in words."""
    style = style_of(run.survey.units, run.survey.fraction)
    lines = []
    for seen in run.as_bent:
        words = "; ".join(_measured(measured, style) for measured in seen.measured)
        lines.append(_signed(f"piece {seen.piece}: {words}".removesuffix(": "), seen.note, seen.by, seen.at))
    for tweak in run.tweaks:
        lines.append(_signed(f"piece {tweak.piece}, corrected: {_moves(tweak)}", tweak.note, tweak.by, tweak.at))
    return tuple(lines)


def _moves(tweak: TweakMade) -> str:
    return ", ".join(f"bend {m.number} {m.kind} {degrees(m.by_rad):+.3g}°" for m in tweak.moves)


def _measured(measured: Measured, style: TapeStyle) -> str:
    if isinstance(measured, BendAngle):
        return f"bend {measured.number} has {degrees(measured.angle_rad):.4g}°"
    if isinstance(measured, ApexRise):
        return f"rise under bend {measured.number} {format_length(measured.rise_mm, style)}"
    if isinstance(measured, LegLean):
        return f"last leg leans {measured.way} {degrees(measured.lean_rad):.3g}°"
    place = "end B" if measured.station_mm is None else f"{format_length(measured.station_mm, style)} from end A"
    return f"off {measured.way} by {format_length(measured.off_mm, style)} at {place}"


def _signed(text: str, note: str, by: str, at: str) -> str:
    who = " ".join(part for part in (by, at) if part)
    return "; ".join(part for part in (text, note) if part) + (f" ({who})" if who else "")
