"""Temperatures as people say them: in the scale in which they were written."""

from __future__ import annotations

from typing import Literal

from racewright.units.factors import fahrenheit

Scale = Literal["F", "C"]


def format_warmth(celsius_degrees: float, scale: Scale) -> str:
    """A temperature to the tenth of a degree: '55 °F', '12.5 °C'."""
    degrees = fahrenheit(celsius_degrees) if scale == "F" else celsius_degrees
    tenths = round(degrees * 10.0 + 1e-6) / 10.0
    return f"{tenths + 0.0:g} °{scale}"


def ten_degrees(scale: Scale) -> tuple[float, str]:
    """Ten degrees of the scale in kelvin, and how they are said."""
    return (10.0 / 1.8 if scale == "F" else 10.0), f"10 °{scale}"
