"""Temperatures as people say them: in degrees Fahrenheit beside a tape in inches, in Celsius beside one in mm."""

from __future__ import annotations

from racewright.units.factors import fahrenheit
from racewright.units.tape import TapeStyle


def format_warmth(celsius_degrees: float, tape: TapeStyle) -> str:
    """A temperature to the tenth of a degree: '55 °F', '12.5 °C'."""
    degrees = fahrenheit(celsius_degrees) if tape.unit == "in" else celsius_degrees
    tenths = round(degrees * 10.0 + 1e-6) / 10.0
    return f"{tenths + 0.0:g} °{_scale(tape)}"


def ten_degrees(tape: TapeStyle) -> tuple[float, str]:
    """Ten degrees of the scale in kelvin, and how they are said."""
    return (10.0 / 1.8 if tape.unit == "in" else 10.0), f"10 °{_scale(tape)}"


def _scale(tape: TapeStyle) -> str:
    return "F" if tape.unit == "in" else "C"
