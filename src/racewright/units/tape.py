"""What a tape can show: an exact length rounded once, with the rounding kept beside it."""

from __future__ import annotations

from fractions import Fraction
from math import gcd, isfinite
from typing import Literal

import msgspec

from racewright.units.nearest import HALF_MM, nearest

MM_PER_INCH = Fraction(254, 10)
_INCH_MM, _MM = (127, 5), (1, 1)
TapeUnit = Literal["in", "mm"]


class TapeStyle(msgspec.Struct, frozen=True):
    """How lengths are shown: `unit` 'in' with a fraction of 1/`denominator`, or 'mm' to 1/`denominator` of 1 mm."""

    unit: TapeUnit = "in"
    denominator: int = 16

    @property
    def step_mm(self) -> Fraction:
        """The smallest step of this tape."""
        return (MM_PER_INCH if self.unit == "in" else Fraction(1)) / self.denominator


def style_of(unit: TapeUnit, denominator: int | None = None) -> TapeStyle:
    """The tape of a unit, to 1/`denominator`: to 1/16 in or whole mm where nothing is said."""
    return TapeStyle(unit, denominator or (16 if unit == "in" else 1))


class TapeReading(msgspec.Struct, frozen=True, kw_only=True):
    """`text` as printed ('31 5/16'), `shown_mm` what the text says exactly, `off_mm` = shown - exact."""

    text: str
    shown_mm: float
    off_mm: float


def read_tape(value_mm: float | Fraction, style: TapeStyle) -> TapeReading:
    """Round an exact length once to the tape's step (halves away from zero; what a float misses a half by 1e-4 mm or
    less is noise, and counts as the half) and keep the rounding.

    Raises ValueError for a length that is not finite.
    """
    per_step, steps = (_INCH_MM if style.unit == "in" else _MM), style.denominator
    count = _steps(value_mm, per_step, steps)
    shown = count * per_step[0] / (per_step[1] * steps)
    if isinstance(value_mm, Fraction):
        off = float(Fraction(count * per_step[0], per_step[1] * steps) - value_mm)
    else:
        off = shown - value_mm
    return TapeReading(text=_text(count, style), shown_mm=shown, off_mm=off)


def _steps(value_mm: float | Fraction, per_step: tuple[int, int], steps: int) -> int:
    """How many tape steps, by the rule of `units.nearest`."""
    if isinstance(value_mm, Fraction):
        return nearest(value_mm * per_step[1] * steps / per_step[0])
    size = value_mm * per_step[1] * steps / per_step[0]
    if not isfinite(size):
        raise ValueError(f"{value_mm} is no length that a tape can show")
    return nearest(size, HALF_MM * per_step[1] * steps / per_step[0])


def format_length(value_mm: float | Fraction, style: TapeStyle) -> str:
    """'31 5/16"' or '795 mm'."""
    return reading(read_tape(value_mm, style).text, style.unit)


def reading(text: str, unit: TapeUnit) -> str:
    """A tape reading with its unit: '31 5/16"', '795 mm'."""
    return f'{text}"' if unit == "in" else f"{text} mm"


def coarseness(value_mm: float | Fraction, style: TapeStyle) -> int:
    """The denominator that the rounded reading needs (1 for whole inches ... 16): smaller is easier to find."""
    count = _steps(value_mm, _INCH_MM if style.unit == "in" else _MM, style.denominator)
    return style.denominator // gcd(count, style.denominator)


def _text(count: int, style: TapeStyle) -> str:
    sign = "-" if count < 0 else ""
    whole, part = divmod(abs(count), style.denominator)
    if part == 0:
        return f"{sign}{whole}"
    if style.unit == "mm":
        return f"{sign}{abs(count) / style.denominator:.5f}".rstrip("0")
    common = gcd(part, style.denominator)
    fraction = f"{part // common}/{style.denominator // common}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"
