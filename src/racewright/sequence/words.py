"""The words of the bender, each once: how a bend is named, how the conduit is rotated, how the bender is held.

A bend has two counts: its mark's number, along the conduit from end A, and its order, as it is made. A number always
stands behind the word mark; an order is always an ordinal.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

from racewright.sequence.machine import Stance, rotated_rad
from racewright.tools.benders import HookEnd, MadeBy, Reference
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


def mark_words(reference: Reference, hook: str, *, on_shoe: bool) -> tuple[str, str]:
    """What stands on a bend's mark and where the hook points: 'arrow' and 'hook toward A'; without a shoe which end of
    the bend is there, and ''."""
    if not on_shoe:
        return "bend begins" if hook == "A" else "bend ends", ""
    return REFERENCE_WORDS[reference], f"hook toward {hook}"


def read_words(pointer_basis: str, leaves_deg: float) -> str:
    """When the pointer must show the angle: 'read after letting go', 'while bending; leaves 22 1/2°'."""
    if pointer_basis == "under load":
        return f"while bending; leaves {hand_angle(leaves_deg)}"
    return "read after letting go"


def stance_words(stance: Stance) -> str:
    """How the bender stands while the bend is made."""
    return _STANCES[stance]


def hold_words(hook: HookEnd) -> str:
    """What a person does where the hook is on conduit too short to hold."""
    return f"hold the conduit on {'B' if hook == 'A' else 'A'}'s side"


def short_hook_words(on: str, room: str, does: str) -> str:
    """The sentence of a bend whose hook is on conduit too short to hold: on what, how long that is, what is done."""
    return f"Hook on a short {on}, {room}: {does}."


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


def line_deg(first_roll_rad: float, first: Stance, roll_rad: float, stance: Stance) -> float:
    """Where the line along the conduit faces while a bend is made: degrees clockwise from up, seen from A (above -180,
    up to 180).

    The line was drawn on the side that faced up at the first bend.
    """
    turned = rotated_rad(first_roll_rad - roll_rad, stance_change=first != stance)
    faces = round(degrees(turned), 6)
    return 180.0 if faces == -180.0 else faces + 0.0


def line_words(faces_deg: float) -> str:
    """'up', 'down', 'at 3 o'clock', '33 1/2° clockwise of up'."""
    size = abs(faces_deg)
    if size < _SAME_DEG:
        return "up"
    if abs(size - 180.0) < _SAME_DEG:
        return "down"
    if abs(size - 90.0) < _SAME_DEG:
        return "at 3 o'clock" if faces_deg > 0.0 else "at 9 o'clock"
    return f"{hand_angle(size)} {clock_words(faces_deg)} of up"


def rotate_words(before_deg: float, faces_deg: float, *, first: bool, swap: bool = False) -> str:
    """How to rotate the conduit since the bend before, and where its line (see `line_deg`) faces then. `swap`: the hook
    faces the other end than before."""
    if first:
        return "First bend: draw a line along the top of the conduit"
    turn = (faces_deg - before_deg + 180.0) % 360.0 - 180.0
    size, line = abs(turn), line_words(faces_deg)
    if size < _SAME_DEG:
        words = f"Do not rotate: line stays {line}"
    elif same_plane(turn):
        words = f"Rotate 180°: line {line}"
    else:
        words = f"Rotate {hand_angle(size)} {clock_words(turn)}, seen from A: line {line}"
    return f"Swap ends. {words}" if swap else words


def clock_words(turn: float) -> str:
    """Which way round, for one who looks from A toward B."""
    return "clockwise" if turn > 0.0 else "counterclockwise"


def hooks_words(hooks: str) -> str:
    """Of two bends or more: 'hook toward A throughout', or one end a bend in bending order: 'hook toward A, A, B'."""
    if len(set(hooks)) == 1:
        return f"hook toward {hooks[0]} throughout"
    return f"hook toward {', '.join(hooks)}"
