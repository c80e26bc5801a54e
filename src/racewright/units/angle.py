"""Degrees live at the edge only; inside, angles are radians."""

from __future__ import annotations

from fractions import Fraction
from math import degrees, radians

_FRACTION_TEXT = {Fraction(1, 4): "1/4", Fraction(1, 2): "1/2", Fraction(3, 4): "3/4"}


def rad(angle_deg: float) -> float:
    """Degrees to radians."""
    return radians(angle_deg)


def deg(angle_rad: float) -> float:
    """Radians to degrees."""
    return degrees(angle_rad)


def format_angle(angle_rad: float) -> str:
    """'22 1/2°', '45°', '37.8°': quarters of a degree as fractions where exact to 0.01, else one decimal."""
    value = degrees(angle_rad)
    quarter = Fraction(round(value * 4), 4)
    if abs(float(quarter) - value) < 0.01:
        whole, part = divmod(abs(quarter), 1)
        sign = "-" if quarter < 0 else ""
        if part == 0:
            return f"{sign}{whole}°"
        text = _FRACTION_TEXT[part]
        return f"{sign}{whole} {text}°" if whole else f"{sign}{text}°"
    return f"{value:.1f}°"
