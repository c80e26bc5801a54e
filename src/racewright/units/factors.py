"""What one unit is of another, each figure once (exact by definition: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, standard
gravity 9.80665 m/s2). `MM_PER_INCH` as a Fraction stands in `tape`."""

from __future__ import annotations

MM_PER_FOOT = 304.8
MM2_PER_SQUARE_INCH = 645.16
#: One pound of force in N.
LBF_N = 4.4482216152605
#: One pound of force a foot in N/mm.
LBF_PER_FT = LBF_N / MM_PER_FOOT


def fahrenheit(celsius_degrees: float) -> float:
    """Degrees Celsius to Fahrenheit."""
    return celsius_degrees * 1.8 + 32.0


def celsius(fahrenheit: float) -> float:
    """Degrees Fahrenheit to Celsius."""
    return (fahrenheit - 32.0) / 1.8
