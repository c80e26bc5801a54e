"""The bent piece is off: what to correct."""

from __future__ import annotations

from math import degrees, radians
from typing import Annotated, Literal

import msgspec

from racewright.bends.model import BentPiece
from racewright.cautions import cautions_for
from racewright.drawing.project import trace
from racewright.fit import measured as fit
from racewright.fit.tweak import tweak as least_correction
from racewright.fit.tweak_words import after_words
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.vector import Vec
from racewright.operations.common import (
    Answer,
    BendNumber,
    Degrees,
    LengthText,
    Part,
    PieceNumber,
    Request,
    SurveyRequest,
    TapeUnit,
)
from racewright.operations.known import Known
from racewright.operations.planned import piece_of
from racewright.plan.model import PlannedPiece
from racewright.units.length import parse_length


class OffReading(Request, frozen=True, kw_only=True, tag_field="what", tag="off"):
    """The piece is off by so much that way (negative: down, right, back) at `station` along it from end A ('' = at
    end B)."""

    way: Literal["up", "left", "forward"]
    off: LengthText
    station: LengthText = ""


class RiseReading(Request, frozen=True, kw_only=True, tag_field="what", tag="rise"):
    """The rise measured under the middle of bend `number`, from the surface the first leg lies on to the conduit's
    underside."""

    rise: LengthText
    number: BendNumber


class LeanReading(Request, frozen=True, kw_only=True, tag_field="what", tag="lean"):
    """The last leg leans that way by so many degrees more than it should."""

    way: Literal["up", "left"]
    lean_deg: Degrees


class AngleReading(Request, frozen=True, kw_only=True, tag_field="what", tag="angle"):
    """The angle that bend `number` really has, read with a level after letting go."""

    number: BendNumber
    angle_deg: Degrees


Reading = OffReading | RiseReading | LeanReading | AngleReading


class TweakRequest(SurveyRequest, frozen=True, kw_only=True):
    """The finished piece is off: what to correct. `piece` counts from 1. `may_spin`: it can be turned in the
    fitting at end A."""

    measured: Annotated[tuple[Reading, ...], msgspec.Meta(min_length=1, max_length=20)]
    piece: PieceNumber = 1
    may_spin: bool = False


class MoveData(Part, frozen=True, kw_only=True):
    """One correction. 'angle': bend `number` gets `by_deg` more (negative: open it); 'roll': it and all that follows
    is rolled about the axis from A to B; 'spin': the whole piece is turned in the fitting at end A."""

    number: int
    what: Literal["angle", "roll", "spin"]
    by_deg: float


class TweakAnswer(Answer, frozen=True, kw_only=True):
    """`nothing_to_do`: within the tolerance as it is. `words` says the moves, one line each, then what they do to the
    far end and what stays off; `left_mm`, `left_deg` what stays off; `planned` and `corrected` are the axis as planned
    and as it will be (room, mm); `cautions`: what to take care of while it is corrected, and who decides."""

    nothing_to_do: bool
    moves: tuple[MoveData, ...]
    words: tuple[str, ...]
    left_mm: float
    left_deg: float
    planned: tuple[Vec, ...]
    corrected: tuple[Vec, ...]


def tweak(request: TweakRequest, known: Known) -> TweakAnswer:
    """What to correct. Raises InputError for readings that are not on the piece, LimitError where nothing helps."""
    plan, piece = piece_of(request, request.piece, known)
    unit = request.survey.units
    readings = [_reading(item, unit, f"measured[{i}]") for i, item in enumerate(request.measured)]
    hooks = tuple(b.hook for b in sorted(piece.bends, key=lambda b: b.number))
    answer = least_correction(piece.piece, readings, hooks=hooks, may_spin=request.may_spin)
    return TweakAnswer(
        nothing_to_do=not answer.moves,
        moves=tuple(MoveData(number=v.number, what=v.kind, by_deg=round(degrees(v.by_rad), 9)) for v in answer.moves),
        words=(
            *answer.words,
            *(
                after_words(answer.end_mm, answer.lean_rad, answer.left_mm, answer.left_rad, plan.tape)
                if answer.moves
                else ()
            ),
        ),
        left_mm=answer.left_mm,
        left_deg=degrees(answer.left_rad),
        planned=_axis(piece.piece, piece),
        corrected=_axis(answer.piece, piece),
        cautions=cautions_for("correct"),
    )


def _reading(item: Reading, unit: TapeUnit, field: str) -> fit.Measured:
    if isinstance(item, OffReading):
        off = parse_length(item.off, unit, field=f"{field}.off", allow_negative=True)
        station = parse_length(item.station, unit, field=f"{field}.station") if item.station else None
        return fit.OffAt(way=item.way, off_mm=float(off), station_mm=None if station is None else float(station))
    if isinstance(item, RiseReading):
        rise = parse_length(item.rise, unit, field=f"{field}.rise", allow_negative=True)
        return fit.ApexRise(rise_mm=float(rise), number=item.number)
    if isinstance(item, LeanReading):
        return fit.LegLean(way=item.way, lean_rad=radians(item.lean_deg))
    return fit.BendAngle(number=item.number, angle_rad=radians(item.angle_deg))


def _axis(bent: BentPiece, piece: PlannedPiece) -> tuple[Vec, ...]:
    turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in bent.bends]
    return trace(Centreline.from_turns(bent.cut_length_mm, turns, piece.frame), step_deg=5.0)
