"""The words of the bender, each once: how a bend is named, how the conduit is rotated, how the bender is held.

A bend has two counts: its mark's number, along the conduit from end A, and its order, as it is made. A number always
stands behind the word mark; an order is always an ordinal.
"""

from __future__ import annotations

from collections.abc import Sequence

from racewright.sequence.machine import Stance
from racewright.tools.benders import MadeBy, Reference
from racewright.units.angle import hand_angle

#: How far a plane may be off before rotating the conduit mends it: half of what a hand reads (degrees).
_SAME_DEG = 0.25
_ENDINGS = {1: "st", 2: "nd", 3: "rd"}
#: The marks of a shoe.
REFERENCE_WORDS: dict[Reference, str] = {"arrow": "arrow", "center": "center mark", "star": "star"}
_STANCES: dict[Stance, str] = {"floor": "on the floor", "upside down": "bender upside down, handle on the floor"}


def ordinal(number: int) -> str:
    """'1st', '2nd', '11th'."""
    ending = "th" if number % 100 in (11, 12, 13) else _ENDINGS.get(number % 10, "th")
    return f"{number}{ending}"


def mark_names(numbers: Sequence[int]) -> str:
    """'mark 2', 'marks 1 and 3', 'marks 1, 2 and 4'."""
    if len(numbers) == 1:
        return f"mark {numbers[0]}"
    return f"marks {', '.join(str(n) for n in numbers[:-1])} and {numbers[-1]}"


def bend_name(order: int, number: int) -> str:
    """'1st bend, mark 2': the bend made first, at the second mark from end A."""
    return f"{ordinal(order)} bend, mark {number}"


def stance_words(stance: Stance) -> str:
    """How the bender stands while the bend is made."""
    return _STANCES[stance]


def making_words(how: MadeBy, stance: Stance, begins: str, ends: str) -> str:
    """How a bend is made: how the shoe is held, or, where none is, the stretch of conduit that the bend takes (tape
    readings from end A)."""
    if how == "hand shoe":
        return stance_words(stance)
    if how == "heat":
        return f"heat it from {begins} to {ends}, form it, and hold it until it is cool"
    return f"by machine or form, the bend from {begins} to {ends}"


def same_plane(spin_deg: float) -> bool:
    """Whether a bend lies in the plane of the one before: not rotated, or by half a turn."""
    size = abs(spin_deg)
    return size < _SAME_DEG or abs(size - 180.0) < _SAME_DEG


def rotate_words(spin_deg: float, *, first: bool, swap: bool = False) -> str:
    """How to rotate the conduit since the bend before; positive is clockwise, seen from end A. `swap`: the hook faces
    the other end than before."""
    if first:
        return "First bend: draw a line along the conduit on the side that faces up"
    size = abs(spin_deg)
    if size < _SAME_DEG:
        words = "Do not rotate: same side up"
    elif same_plane(spin_deg):
        words = "Rotate 180°"
    else:
        words = f"Rotate {hand_angle(size)} {clock_words(spin_deg)}, seen from A"
    return f"Swap ends. {words}" if swap else words


def clock_words(turn: float) -> str:
    """Which way round, for one who looks from A toward B."""
    return "clockwise" if turn > 0.0 else "counterclockwise"


def hooks_words(hooks: str) -> str:
    """'hook toward A throughout', or one end a bend in bending order: 'hook toward A, A, B'."""
    if len(set(hooks)) == 1:
        return f"hook toward {hooks[0]}" + (" throughout" if len(hooks) > 1 else "")
    return f"hook toward {', '.join(hooks)}"
