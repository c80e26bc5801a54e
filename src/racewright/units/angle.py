"""Degrees live at the edge only; inside, angles are radians."""

from __future__ import annotations

import re
from fractions import Fraction
from math import degrees

from racewright.errors import InputError
from racewright.units.nearest import HALF_DEG, nearest
from racewright.units.number import read_number

_DEGREE_RE = re.compile(r"\s*(?:°|deg\b\.?|degrees)\s*$", re.IGNORECASE)


def read_degrees(
    text: str,
    *,
    least: float,
    most: float,
    field: str = "",
    what: str = "an angle in degrees",
    hint: str = "write degrees such as 30, 22.5 or 22 1/2",
    example: str = "22 1/2",
) -> float:
    """Degrees as a person writes them: '30', '22.5', '22 1/2', '22-1/2 deg', '30°'.

    Raises InputError (naming `field`) for what is no number, a fraction of 1 or more ('221/2'), or a figure that does
    not lie from `least` to `most`.
    """
    try:
        value = read_number(_DEGREE_RE.sub("", text))
        if not least <= value <= most:
            span = f"above 0 and at most {most:g}" if 0.0 < least < 1e-6 else f"from {least:g} to {most:g}"
            raise ValueError(f"it must be {span} degrees")
    except ValueError as err:
        raise InputError(
            f"{field}{': ' if field else ''}cannot take '{text[:40]}' as {what}: {err}.".replace("?.", "?"),
            hint=hint,
            field=field,
            expected="degrees",
            example=example,
        ) from None
    return value


def hand_angle(angle_deg: float) -> str:
    """'22 1/2°', '8°': the nearest half of a degree, which is as near as a hand bends."""
    whole, half = divmod(nearest(abs(angle_deg) * 2.0, 2.0 * HALF_DEG), 2)
    sign = "-" if angle_deg < 0.0 and (whole or half) else ""
    parts = [str(whole)] if whole or not half else []
    return f"{sign}{' '.join([*parts, '1/2'] if half else parts)}°"


def format_angle(angle_rad: float) -> str:
    """As `format_degrees`."""
    return format_degrees(degrees(angle_rad))


def format_degrees(angle_deg: float) -> str:
    """'22 1/2°', '45°', '37.8°': quarters of a degree as fractions where exact to 0.01, else one decimal."""
    quarter = Fraction(round(angle_deg * 4), 4)
    if abs(float(quarter) - angle_deg) < 0.01:
        whole, part = divmod(abs(quarter), 1)
        sign = "-" if quarter < 0 else ""
        if part == 0:
            return f"{sign}{whole}°"
        return f"{sign}{whole} {part}°" if whole else f"{sign}{part}°"
    return f"{nearest(angle_deg * 10.0, 10.0 * HALF_DEG) / 10.0:.1f}°"
