"""What a tape can show: an exact length rounded once, with the rounding kept beside it."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal

import msgspec

MM_PER_INCH = Fraction(254, 10)
TapeUnit = Literal["in", "mm"]


class TapeStyle(msgspec.Struct, frozen=True):
    """How lengths are shown: `unit` 'in' with a fraction of 1/`denominator`, or 'mm' to 1/`denominator` of 1 mm."""

    unit: TapeUnit = "in"
    denominator: int = 16

    @property
    def step_mm(self) -> Fraction:
        """The smallest step of this tape."""
        return (MM_PER_INCH if self.unit == "in" else Fraction(1)) / self.denominator


class TapeReading(msgspec.Struct, frozen=True, kw_only=True):
    """`text` as printed ('31 5/16'), `shown_mm` what the text says exactly, `off_mm` = shown - exact."""

    text: str
    shown_mm: float
    off_mm: float


def read_tape(value_mm: float | Fraction, style: TapeStyle) -> TapeReading:
    """Round an exact length once to the tape's step (halves away from zero) and keep the rounding.

    Raises ValueError for a length that is not finite.
    """
    exact = Fraction(value_mm)
    step = style.step_mm
    count = int(abs(exact) / step + Fraction(1, 2))
    shown = step * count * (1 if exact >= 0 else -1)
    return TapeReading(text=_text(shown, style), shown_mm=float(shown), off_mm=float(shown - exact))


def format_length(value_mm: float | Fraction, style: TapeStyle, *, with_unit: bool = True) -> str:
    """'31 5/16"' or '795 mm' (`with_unit` False: '31 5/16', '795')."""
    text = read_tape(value_mm, style).text
    if not with_unit:
        return text
    return f'{text}"' if style.unit == "in" else f"{text} mm"


def coarseness(value_mm: float | Fraction, style: TapeStyle) -> int:
    """The denominator that the rounded reading needs (1 for whole inches ... 16): smaller is easier to find."""
    return Fraction(round(Fraction(value_mm) / style.step_mm), style.denominator).denominator


def _text(shown_mm: Fraction, style: TapeStyle) -> str:
    value = shown_mm / MM_PER_INCH if style.unit == "in" else shown_mm
    sign = "-" if value < 0 else ""
    whole, part = divmod(abs(value), 1)
    if part == 0:
        return f"{sign}{whole}"
    if style.unit == "mm":
        return f"{sign}{float(abs(value)):.3f}".rstrip("0")
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"
