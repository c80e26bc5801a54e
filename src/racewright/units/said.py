"""Lengths and forces in a message, in the unit that the person measures in.

Formulas know no tape. Who asks them says once `with said_in(survey.tape):`, and every refusal and finding made inside
speaks in it; where nobody says, lengths are told in inches and mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from fractions import Fraction
from math import ceil, floor, isfinite

from racewright.units.factors import LBF_N, LBF_PER_FT, MM2_PER_SQUARE_INCH
from racewright.units.nearest import HALF_MM, nearest
from racewright.units.tape import TapeStyle, format_length

_TAPE: ContextVar[TapeStyle | None] = ContextVar("tape", default=None)


@contextmanager
def said_in(tape: TapeStyle | None) -> Iterator[None]:
    """Messages made inside speak in the unit of this tape; None: in inches and mm."""
    token = _TAPE.set(tape)
    try:
        yield
    finally:
        _TAPE.reset(token)


def said(length_mm: float) -> str:
    """A length, rounded to the tape: '3 1/2"' or '89 mm'."""
    return _rounded(length_mm, nearest)


def said_ratio(per_rise: float) -> str:
    """A figure of the trade for the rise: '3/16" per inch', '2 1/2" per inch'; on a tape in mm '0.188 of the rise'."""
    tape = _TAPE.get()
    part = Fraction(per_rise).limit_denominator(16)
    if (tape is not None and tape.unit == "mm") or abs(float(part) - per_rise) > 1e-9:
        return f"{per_rise:.3g} of the rise"
    whole, rest = divmod(part, 1)
    return " ".join(str(p) for p in (whole, rest) if p) + '" per inch'


def said_least(length_mm: float) -> str:
    """A least length, rounded up, so that what it recommends still works."""
    return _rounded(length_mm, lambda steps, give: ceil(steps - give))


def said_most(length_mm: float) -> str:
    """A greatest length, rounded down."""
    return _rounded(length_mm, lambda steps, give: floor(steps + give))


def said_finely(length_mm: float) -> str:
    """A length finer than a tape: '4.471 in' or '113.6 mm'."""
    inches = f"{length_mm / 25.4:.3f}".rstrip("0").rstrip(".")
    return _either(f"{inches} in", f"{length_mm:.1f} mm")


def said_force(force_n: float) -> str:
    """A pull: '120 lb' or '534 N'."""
    return _either(f"{force_n / LBF_N:.0f} lb", f"{force_n:.0f} N")


def said_pull(force_n: float) -> str:
    """A pull that is reckoned: 'about 120 lb', 'less than 1 lb'."""
    force = said_force(force_n)
    return f"less than 1{force[1:]}" if force.startswith("0 ") else f"about {force}"


def said_press(press_n_per_mm: float) -> str:
    """What a bend presses on the wires: '300 lb/ft' or '4.38 kN/m'."""
    return _either(f"{press_n_per_mm / LBF_PER_FT:.0f} lb/ft", f"{press_n_per_mm:.2f} kN/m")


def said_area(area_mm2: float) -> str:
    """An area: '0.573 in2' or '370 mm2'."""
    return _either(f"{area_mm2 / MM2_PER_SQUARE_INCH:.4f} in2", f"{area_mm2:.0f} mm2")


def _either(inches: str, mm: str) -> str:
    tape = _TAPE.get()
    if tape is None:
        return f"{inches} ({mm})"
    return inches if tape.unit == "in" else mm


def _rounded(length_mm: float, whole: Callable[[float, float], int]) -> str:
    if not isfinite(length_mm):
        return "no length"
    tape = _TAPE.get()
    if tape is not None:
        return _shown(length_mm, tape, whole)
    return f"{_shown(length_mm, TapeStyle(), whole)} ({whole(length_mm * 10.0, 10.0 * HALF_MM) / 10.0:.1f} mm)"


def _shown(length_mm: float, tape: TapeStyle, whole: Callable[[float, float], int]) -> str:
    step_mm = float(tape.step_mm)
    return format_length(whole(length_mm / step_mm, HALF_MM / step_mm) * tape.step_mm, tape)
