"""What the shoe or the tape does wrong, from several finished pieces."""

from __future__ import annotations

from collections.abc import Sequence
from math import radians
from typing import Annotated

import msgspec

from racewright.cautions import cautions_for
from racewright.errors import InputError
from racewright.fit.accuracy import Tolerance
from racewright.fit.diagnose import ALL_CAUSES, Cause, CauseFound, Diagnosis, FinishedPiece
from racewright.fit.diagnose import diagnose as shared_causes
from racewright.operations.bent import Bent, BentRequest, bent, readings
from racewright.operations.common import Answer, Known, LengthText, Name, Request
from racewright.records.model import Reading
from racewright.sequence.care import bending_care
from racewright.units.length import parse_length
from racewright.units.said import said_in
from racewright.units.tape import TapeUnit, style_of

NOT_INCLUDED = ("No bender's profile is changed by this.",)


class MeasuredPiece(BentRequest, frozen=True, kw_only=True):
    """One finished piece and what was measured on it. `name` is the run's and the piece's unless told."""

    measured: Annotated[tuple[Reading, ...], msgspec.Meta(max_length=200)]
    name: Name = ""


class DiagnoseRequest(Request, frozen=True, kw_only=True):
    """Finished pieces bent on one shoe. `unit` of lengths without one. `causes`: what to look for (none: all that can
    be). `doubt_length`, `doubt_deg`: how far one reading may be off (standard deviation)."""

    pieces: Annotated[tuple[MeasuredPiece, ...], msgspec.Meta(max_length=200)]
    unit: TapeUnit = "in"
    causes: tuple[Cause, ...] = ()
    doubt_length: LengthText = "1/16 in"
    doubt_deg: float = 0.5


class DiagnoseAnswer(Answer, frozen=True, kw_only=True):
    """`pieces` by name; `rank` of `unknowns` from the `readings`, `condition` of the scaled system; `left` what the
    causes do not explain, in doubts of a reading (about 1 or less: explained). `words` say what that means."""

    pieces: tuple[str, ...]
    causes: tuple[CauseFound, ...]
    rank: int
    unknowns: int
    readings: int
    condition: float
    left: float
    words: tuple[str, ...]


def diagnose(request: DiagnoseRequest, known: Known) -> DiagnoseAnswer:
    """The causes that the pieces share. Raises InputError for readings that are not on a piece and for pieces of
    different shoes, LimitError where the readings do not tell the causes apart."""
    unit = request.unit
    asked = _bent_once(request.pieces, known)
    _one_shoe(asked)
    tape = asked[0].tape if asked and asked[0].tape.unit == unit else style_of(unit)
    with said_in(tape):
        pieces = [
            FinishedPiece(
                name=written.name or f"{piece.plan.name}, {piece.piece.label}",
                piece=piece.arcs,
                measured=readings(piece, written.measured, unit, f"pieces[{index}].measured"),
                hooks=piece.hooks,
                references=piece.references,
            )
            for index, (piece, written) in enumerate(zip(asked, request.pieces, strict=True))
        ]
        told = shared_causes(pieces, causes=_causes(request), tolerance=_doubt(request), tape=tape)
    return DiagnoseAnswer(
        pieces=tuple(piece.name for piece in pieces),
        **msgspec.structs.asdict(told),
        words=_words(told),
        not_included=NOT_INCLUDED,
        cautions=cautions_for(*bending_care(asked[0].shoe)),
    )


def _bent_once(pieces: Sequence[MeasuredPiece], known: Known) -> list[Bent]:
    """The piece that each was measured on; what several were bent from is planned once."""
    made: dict[bytes, Bent] = {}
    out = []
    for index, piece in enumerate(pieces):
        same = msgspec.json.encode(msgspec.structs.replace(piece, measured=(), name=""))
        if same not in made:
            made[same] = bent(piece, known, f"pieces[{index}].")
        out.append(made[same])
    return out


def _one_shoe(asked: Sequence[Bent]) -> None:
    shoes = {(piece.shoe.raceway_type, piece.shoe.trade_size, piece.shoe.name) for piece in asked}
    if len(shoes) > 1:
        named = ", ".join(sorted(f"{name} ({kind} {size})" for kind, size, name in shoes))
        raise InputError(
            f"the pieces were bent on different shoes: {named}.",
            hint="only pieces of one shoe share its causes; ask for each shoe alone",
            field="pieces",
        )


def _causes(request: DiagnoseRequest) -> tuple[Cause, ...]:
    for name in request.causes:
        if name not in ALL_CAUSES:
            raise InputError(
                f"causes: '{name}' is no cause that can be looked for.",
                hint=f"the causes are: {', '.join(ALL_CAUSES)}",
                field="causes",
            )
    return tuple(cause for cause in ALL_CAUSES if cause in request.causes) or ALL_CAUSES


def _doubt(request: DiagnoseRequest) -> Tolerance:
    length = parse_length(request.doubt_length, request.unit, field="doubt_length", allow_zero=False)
    if not 0.0 < request.doubt_deg <= 180.0:
        raise InputError(
            f"doubt_deg: {request.doubt_deg:g} is no doubt of an angle: it must be above 0 and at most 180 degrees.",
            hint="write it as 0.5",
            field="doubt_deg",
        )
    return Tolerance(length_mm=float(length), angle_rad=radians(request.doubt_deg))


def _words(told: Diagnosis) -> tuple[str, ...]:
    apart = (
        f"{told.unknowns} causes from {told.readings} readings, rank {told.rank}, condition number "
        f"{told.condition:.0f} (about 1: told apart as well as can be; past 200 it refuses)."
    )
    if told.readings > told.unknowns:
        fits = "the causes explain the readings" if told.left <= 1.5 else "something else is at work as well"
        left = f"What is left over: {told.left:.1f} times the doubt of a reading; {fits}."
    else:
        left = "There are no more readings than causes, so nothing checks them: measure another piece."
    return (apart, left, "Before you change a profile, make a test bend.")
