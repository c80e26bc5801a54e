"""What a person can measure on a finished piece, and what a piece of given bends would show there.

Directions are those of the piece at end A: up is away from the surface that carries it there (`up_roll_rad`), left is
to the left hand when looking from A to B with up above, forward is along the first leg.
"""

from __future__ import annotations

from math import asin, degrees, hypot, radians, tau
from typing import Annotated, Literal

import msgspec

from racewright.bends import roles
from racewright.bends.model import BentPiece
from racewright.errors import InputError, LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.jacobian import Walk, point_at, walk
from racewright.geometry.vector import Frame, Vec, cross, dot, sub
from racewright.units.angle import format_degrees
from racewright.units.length import ABSURD_MM
from racewright.units.said import said
from racewright.units.tape import TapeStyle, format_length, read_tape, reading

INCHES = TapeStyle()
MARKS_COUNT = "marks count from end A, the first is 1"

Way = Literal["up", "left", "forward"]
#: The other way, for a figure below zero.
BACK: dict[Way, str] = {"up": "down", "left": "right", "forward": "back"}


#: What a measurement may be where it is kept: a bend of a piece, counted from end A; a place along the conduit; how
#: far off something is, either way; an angle.
BendNumber = Annotated[int, msgspec.Meta(ge=1, le=120)]
Place = Annotated[float, msgspec.Meta(ge=0.0, le=float(ABSURD_MM))]
Off = Annotated[float, msgspec.Meta(ge=-float(ABSURD_MM), le=float(ABSURD_MM))]
Angle = Annotated[float, msgspec.Meta(ge=-tau, le=tau)]


class OffAt(msgspec.Struct, frozen=True, kw_only=True, tag="off"):
    """The conduit at a material station from end A is off by so much that way (negative: down, right, back).
    Daylight under a leg is an OffAt 'up'. `station_mm` None is end B."""

    way: Way
    off_mm: Off
    station_mm: Place | None = None


class ApexRise(msgspec.Struct, frozen=True, kw_only=True, tag="apex"):
    """The rise measured at bend `number` (from 1), from the leg before its shape, the way that the first bend of that
    shape turns: under the middle of the bend; of an offset's second bend and of the two beside a flat top where the
    bend runs out into the leg that lies level there."""

    rise_mm: Place
    number: BendNumber


class LegLean(msgspec.Struct, frozen=True, kw_only=True, tag="lean"):
    """The last leg leans that way by so much more than it should."""

    way: Way
    lean_rad: Angle


class BendAngle(msgspec.Struct, frozen=True, kw_only=True, tag="angle"):
    """The angle that bend `number` (from 1) really has, read with a level after letting go."""

    number: BendNumber
    angle_rad: Angle


Measured = OffAt | ApexRise | LegLean | BendAngle


#: A last leg that leans by more, and a bend that is closed or opened by more, is another bend and none to be corrected
#: (our own choice).
MOST_CORRECTED_RAD = radians(60.0)


def check_lean(lean_rad: float, field: str = "lean_rad") -> None:
    """Raises LimitError where a last leg cannot lean so far."""
    words = f"a last leg that leans by {_deg(lean_rad)} has another bend before it"
    _no_more(lean_rad, words, "say by how much it leans from where it should be, or read the bend's angle", field)


def check_correction(by_rad: float, field: str) -> None:
    """Raises LimitError where a bend is not closed or opened by so much."""
    words = f"a bend that is {'closed' if by_rad > 0.0 else 'opened'} by {_deg(by_rad)} becomes another bend"
    _no_more(by_rad, words, "say by how much it was closed or opened, not the angle that it has", field)


def _deg(angle_rad: float) -> str:
    return format_degrees(abs(degrees(angle_rad)))


def _no_more(angle_rad: float, words: str, hint: str, field: str) -> None:
    if abs(angle_rad) > MOST_CORRECTED_RAD:
        raise LimitError(
            f"{words}; the most is {_deg(MOST_CORRECTED_RAD)}.",
            hint=hint,
            field=field,
            quantity="angle that is corrected",
            asked=degrees(abs(angle_rad)),
            limit=degrees(MOST_CORRECTED_RAD),
            unit="deg",
        )


def way_vector(way: Way, piece: BentPiece, start: Frame) -> Vec:
    """The unit vector of 'up', 'left' or 'forward' at end A, which lies in `start`."""
    if way == "forward":
        return start.axis
    up = start.toward(piece.up_roll_rad)
    return up if way == "up" else cross(up, start.axis)


def finer(tape: TapeStyle) -> TapeStyle:
    """The same unit in steps small enough for an error or a doubt: 1/64 in, or 0.1 mm."""
    return TapeStyle(tape.unit, max(tape.denominator, 64 if tape.unit == "in" else 10))


def check_bend(piece: BentPiece, number: int) -> None:
    """Raises InputError where the piece does not have a bend of this number."""
    count = len(piece.bends)
    if not 1 <= number <= count:
        raise InputError(
            f"mark {number} was named, and the piece has {count} mark{'' if count == 1 else 's'}.",
            hint=MARKS_COUNT,
            field="number",
        )


def check_measured(piece: BentPiece, measured: Measured, tape: TapeStyle | None = None) -> None:
    """Raises InputError where the measurement names a bend or a station that the piece does not have, or a length that
    it cannot show, LimitError for a lean that is none. Without a `tape` the message speaks in the asker's unit."""
    size, most = piece.cut_length_mm, (1.0 if isinstance(measured, ApexRise) else 2.0) * piece.cut_length_mm
    field, by = ("rise_mm", measured.rise_mm) if isinstance(measured, ApexRise) else ("off_mm", _off_mm(measured))
    if abs(by) > most:
        what = "rise by" if field == "rise_mm" else "be off by"
        raise InputError(
            f"a piece of {_shown(size, tape)} cannot {what} {_shown(abs(by), tape)}; the most is {_shown(most, tape)}.",
            hint="look at its unit, and measure from where it should be",
            field=field,
        )
    if isinstance(measured, ApexRise | BendAngle):
        check_bend(piece, measured.number)
    if isinstance(measured, LegLean):
        check_lean(measured.lean_rad)
    if isinstance(measured, OffAt) and measured.station_mm is not None:
        station = measured.station_mm
        if not 0.0 <= station <= piece.cut_length_mm:
            raise InputError(
                f"the place {_shown(station, tape)} from end A is not on the piece, which is "
                f"{_shown(piece.cut_length_mm, tape)} long.",
                hint="measure along the conduit from end A",
                field="station_mm",
            )


def _off_mm(measured: Measured) -> float:
    return measured.off_mm if isinstance(measured, OffAt) else 0.0


def _shown(length_mm: float, tape: TapeStyle | None) -> str:
    return said(length_mm) if tape is None else format_length(length_mm, tape)


def shown(piece: BentPiece, measured: Measured, walked: Walk | None = None) -> float:
    """What this piece shows where `measured` was taken (mm or rad): the axis that way from end A's point, the
    last leg's lean that way, or the bend's angle."""
    start = Frame()
    if isinstance(measured, BendAngle):
        return piece.bends[measured.number - 1].angle_rad
    walked = walked or walk(piece, start)
    if isinstance(measured, LegLean):
        part = dot(walked.end.axis, way_vector(measured.way, piece, start))
        return asin(max(-1.0, min(1.0, part)))
    if isinstance(measured, ApexRise):
        bend, (first, share) = piece.bends[measured.number - 1], rise_at(piece, measured)
        middle = point_at(walked, bend.arc_start_mm + share * bend.arc_length_mm, start)
        leg = walked.bends[first].start
        return dot(sub(middle, leg.origin), leg.toward(piece.bends[first].roll_rad))
    station = piece.cut_length_mm if measured.station_mm is None else measured.station_mm
    return dot(sub(point_at(walked, station, start), start.origin), way_vector(measured.way, piece, start))


def rise_at(piece: BentPiece, rise: ApexRise) -> tuple[int, float]:
    """The first bend of the shape whose rise it is (from 0), and where along its own bend's arc it is measured (0:
    where the arc begins)."""
    bend = piece.bends[rise.number - 1]
    own = [k for k, other in enumerate(piece.bends) if other.shape == bend.shape]
    place = own.index(rise.number - 1)
    if bend.role == roles.OFFSET_SECOND:
        return own[0], 1.0
    if bend.role == roles.SADDLE_FOUR and place in (1, 2):
        return own[0], 1.0 if place == 1 else 0.0
    return own[0], 0.5


def misfit(plan: BentPiece, measured: Measured, walked: Walk | None = None) -> float:
    """How far the finished piece is from its plan there: what was measured minus what was wanted. `walked`: the plan's
    own, where it is known."""
    if isinstance(measured, BendAngle):
        return measured.angle_rad - shown(plan, measured)
    if isinstance(measured, ApexRise):
        return measured.rise_mm - shown(plan, measured, walked)
    return measured.off_mm if isinstance(measured, OffAt) else measured.lean_rad


def tolerance_of(measured: Measured, tolerance: Tolerance) -> float:
    """The tolerance in this measurement's unit."""
    return tolerance.angle_rad if isinstance(measured, LegLean | BendAngle) else tolerance.length_mm


def end_gap(wanted: Frame, got: Frame) -> tuple[float, float, float, float, float]:
    """How far `got` is from `wanted` at end B: across toward the wanted normal and binormal, along (mm), and lean
    toward both (rad, the sine)."""
    off = sub(got.origin, wanted.origin)
    n, b = wanted.normal, wanted.binormal
    return (dot(off, n), dot(off, b), dot(off, wanted.axis), dot(got.axis, n), dot(got.axis, b))


def gap_words(gap: tuple[float, float, float, float, float], tape: TapeStyle = INCHES) -> str:
    """'5/16" to the side, under 1/16" lengthwise, 0.4° out of line', never finer than the tape."""

    def off(length_mm: float) -> str:
        read = read_tape(length_mm, tape)
        step = format_length(tape.step_mm, tape)
        return reading(read.text, tape.unit) if read.shown_mm > 0.0 else f"under {step}"

    return (
        f"{off(hypot(gap[0], gap[1]))} to the side, {off(abs(gap[2]))} lengthwise, "
        f"{degrees(hypot(gap[3], gap[4])):.1f}° out of line"
    )
