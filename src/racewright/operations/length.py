"""One length read as a person writes it."""

from __future__ import annotations

from racewright.operations.common import (
    Answer,
    Fraction,
    LengthText,
    Name,
    Request,
    TapeUnit,
)
from racewright.operations.known import Known
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length, read_tape


class LengthRequest(Request, frozen=True, kw_only=True):
    """Read a length as a person writes it: '31 5/16', '2 ft 3', '795 mm'. A number without a unit is in `unit`."""

    text: LengthText
    unit: TapeUnit = "in"
    fraction: Fraction = 16
    field: Name = ""
    allow_negative: bool = False
    allow_zero: bool = True


class LengthAnswer(Answer, frozen=True, kw_only=True):
    """`mm` exact; `tape` as shown on the tape, `off_mm` = shown - exact; `inches` and `millimetres` in words."""

    mm: float
    tape: str
    off_mm: float
    inches: str
    millimetres: str


def length(request: LengthRequest, _: Known) -> LengthAnswer:
    """One length as a person writes it. Raises InputError naming the request's `field`."""
    exact = parse_length(
        request.text,
        request.unit,
        field=request.field,
        allow_negative=request.allow_negative,
        allow_zero=request.allow_zero,
    )
    reading = read_tape(exact, TapeStyle(request.unit, request.fraction))
    inches = request.fraction if request.unit == "in" else 16
    return LengthAnswer(
        mm=float(exact),
        tape=reading.text,
        off_mm=reading.off_mm,
        inches=format_length(exact, TapeStyle("in", inches)),
        millimetres=format_length(exact, TapeStyle("mm", 1)),
    )
