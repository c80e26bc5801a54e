"""How to see whether a piece is cut or twisted for new marks, in words: done twice either spoils it."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees

from racewright.sequence.words import clock_words, mark_names
from racewright.units.angle import format_degrees
from racewright.units.tape import TapeStyle, format_length


def cut_seen_words(places_mm: Iterable[tuple[int, float]], trim_mm: float, tape: TapeStyle) -> str:
    """Where the mark of a made bend stands before and after end A is cut, of those that are made, by their numbers; ''
    where nothing shows it."""
    for at_mm, number in sorted((at_mm, number) for number, at_mm in places_mm):
        if at_mm > trim_mm:
            was, then = (format_length(place, tape) for place in (at_mm, at_mm - trim_mm))
            return f"Measure first: {mark_names([number])} stands {was} from end A until it is cut, then {then}."
    return ""


def twist_seen_words(number: int, was_rad: float, then_rad: float) -> str:
    """How far the plane of a bend is off before and after it is twisted."""
    was, then = (off_words(degrees(off)) for off in (was_rad, then_rad))
    return (
        f"Measure its plane first, from the line at end A: {mark_names([number])} lies {was} off the plan, seen from A,"
        f" until it is twisted, then {then}."
    )


def off_words(off_deg: float) -> str:
    """'2° clockwise', '0°'."""
    shown, level = format_degrees(abs(off_deg)), format_degrees(0.0)
    return shown if shown == level else f"{shown} {clock_words(off_deg)}"
