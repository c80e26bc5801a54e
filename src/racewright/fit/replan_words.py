"""What new marks change, in words, and what of the end they cannot meet."""

from __future__ import annotations

from collections.abc import Collection
from math import degrees, radians

from racewright.bends.model import Bend, BentPiece
from racewright.errors import Finding
from racewright.fit.accuracy import Tolerance
from racewright.fit.measured import INCHES, gap_words
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length, read_tape


def findings_of(
    piece: BentPiece,
    met: bool,
    gap: tuple[float, float, float, float, float],
    tolerance: Tolerance,
    least_straight_mm: float,
    largest_angle_rad: float,
    stock_length_mm: float | None,
    tape: TapeStyle = INCHES,
    done: Collection[int] = (),
) -> list[Finding]:
    """What of the end is not met, and which limits are passed; lengths mm, angles rad, `tape` for the words. The
    angles of the bends `done` (counted from 0) are past asking."""
    out = []
    if not met:
        can = [
            name
            for name, ok in (
                ("its place sideways", max(abs(gap[0]), abs(gap[1])) <= tolerance.length_mm),
                ("its place lengthwise", abs(gap[2]) <= tolerance.length_mm),
                ("its direction", max(abs(gap[3]), abs(gap[4])) <= tolerance.angle_rad),
            )
            if ok
        ]
        out.append(
            Finding(
                rule="replan.end",
                severity="problem",
                message=(
                    f"the end cannot be brought to its fitting with what is left to bend: {gap_words(gap, tape)}. "
                    f"{'What can be met: ' + ', '.join(can) + '.' if can else 'Nothing of it can be met.'}"
                ),
                citation="geometry",
                where="end B",
                measured=max(abs(gap[0]), abs(gap[1]), abs(gap[2])),
                allowed=tolerance.length_mm,
                unit="mm",
            )
        )
    for k, straight in enumerate(piece.straights_mm()):
        if straight < least_straight_mm - 0.05:
            out.append(
                Finding(
                    rule="replan.straight",
                    severity="problem",
                    message=f"straight {k + 1} from end A would be {format_length(straight, tape)} long.",
                    citation="geometry",
                    where=f"straight {k + 1}",
                    measured=straight,
                    allowed=least_straight_mm,
                    unit="mm",
                )
            )
    if stock_length_mm is not None and piece.cut_length_mm > stock_length_mm + 0.05:
        out.append(
            Finding(
                rule="replan.stock",
                severity="problem",
                message=f"the piece would need {format_length(piece.cut_length_mm, tape)} of conduit.",
                citation="geometry",
                where="cut",
                measured=piece.cut_length_mm,
                allowed=stock_length_mm,
                unit="mm",
            )
        )
    for i, bend in enumerate(piece.bends):
        if i not in done and bend.angle_rad > largest_angle_rad + 1e-6:
            out.append(
                Finding(
                    rule="replan.angle",
                    severity="problem",
                    message=f"bend {i + 1} would turn {format_angle(bend.angle_rad)}.",
                    citation="geometry",
                    where=f"bend {i + 1}",
                    measured=degrees(bend.angle_rad),
                    allowed=degrees(largest_angle_rad),
                    unit="deg",
                )
            )
    return out


def words_of(plan: BentPiece, now: BentPiece, done: set[int], tape: TapeStyle = INCHES) -> list[str]:
    """What changes against the plan as far as the tape shows it, one line each; `done` are the bends made already,
    counted from 0."""
    out = []
    for i, (old, new) in enumerate(zip(plan.bends, now.bends, strict=True)):
        if i in done:
            continue
        out += _bend_words(i + 1, old, new, tape)
    cut = now.cut_length_mm - plan.cut_length_mm
    if _shows(cut, tape):
        out.append(f"cut {format_length(abs(cut), tape)} {'longer' if cut > 0.0 else 'shorter'}")
    return out


def _shows(length_mm: float, tape: TapeStyle) -> bool:
    return read_tape(length_mm, tape).shown_mm != 0.0


def _bend_words(number: int, old: Bend, new: Bend, tape: TapeStyle) -> list[str]:
    out = []
    shift = new.arc_start_mm - old.arc_start_mm
    if _shows(shift, tape):
        out.append(
            f"move bend {number} {format_length(abs(shift), tape)} {'toward end B' if shift > 0 else 'toward end A'}"
        )
    if abs(new.angle_rad - old.angle_rad) > radians(0.05):
        out.append(f"make bend {number} {format_angle(new.angle_rad)} instead of {format_angle(old.angle_rad)}")
    roll = new.roll_rad - old.roll_rad
    if abs(roll) > radians(0.05):
        sense = "clockwise" if roll > 0.0 else "counter-clockwise"
        out.append(f"roll bend {number} {format_angle(abs(roll))} more {sense}, seen from end A")
    return out
