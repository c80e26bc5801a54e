"""A correction in words, and the refusal where none is sensible."""

from __future__ import annotations

from math import degrees, radians
from typing import Literal, NamedTuple

from racewright.bends.model import BentPiece
from racewright.errors import LimitError
from racewright.fit.jacobian import walk
from racewright.geometry.frame import Frame
from racewright.geometry.ties import even
from racewright.geometry.vector import Vec, cross, dot, sub
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle, format_length

# More than this is another bend rather than a tweak. Common practice, from memory, no source.
ROLL_LIMIT_RAD = radians(10.0)

# Turned by less than this the last leg is said to keep its direction.
_NO_TURN_RAD = radians(0.05)

MoveKind = Literal["angle", "roll", "spin"]


class Move(NamedTuple):
    """One correction: bend `number` (from 1) gets `by_rad` more angle (negative: opened), or it and what follows
    is rolled right-handed about the axis from A to B; 'spin' turns the whole piece in the fitting at end A."""

    number: int
    kind: MoveKind
    by_rad: float


def words_of(now: BentPiece, move: Move) -> str:
    """'open bend 3 by 1 1/2°'; for a roll also which way the far end goes."""
    size = format_angle(abs(move.by_rad))
    if move.kind == "angle":
        if move.by_rad < 0.0:
            return f"open bend {move.number} by {size}"
        return f"give bend {move.number} another {size}"
    sense = "clockwise" if move.by_rad > 0.0 else "counter-clockwise"
    walked = walk(now)
    joint = walked.joints[move.number - 1]
    swing = cross(joint.start.axis, sub(walked.end.origin, joint.start.origin))
    goes = _way(swing if move.by_rad > 0.0 else (-swing[0], -swing[1], -swing[2]))
    what = f"roll bend {move.number} and what follows"
    if move.kind == "spin":
        what = "turn the whole piece in its fitting"
    return f"{what} by {size} {sense}, seen from end A (the far end goes {goes})"


def end_words(end_mm: Vec, lean_rad: float, tape: TapeStyle) -> str:
    """What a correction does to the far end: 'the far end keeps its place and direction', or how far it moves and which
    way (up, left, forward), in the tape's steps, and how far the last leg turns."""
    names = (("up", "down"), ("left", "right"), ("forward", "back"))
    moves = [
        f"{format_length(abs(size), tape)} {there if size > 0.0 else back}"
        for size, (there, back) in zip(end_mm, names, strict=True)
        if abs(size) > float(tape.step_mm) / 2.0
    ]
    place = f"moves {' and '.join(moves)}" if moves else "keeps its place"
    turns = f"the last leg turns by {format_angle(lean_rad)}" if lean_rad > _NO_TURN_RAD else ""
    if not turns:
        return f"the far end {place}; the last leg keeps its direction"
    return f"the far end {place}, and {turns}"


def left_words(left_mm: float, left_rad: float, tape: TapeStyle) -> str:
    """How near what was measured comes to what was wanted, never finer than the tape and a quarter of a degree."""
    length = format_length(max(left_mm, float(tape.step_mm)), tape)
    return f"what you measured is then right within {length} and {format_angle(max(left_rad, radians(0.25)))}"


def after_words(end_mm: Vec, lean_rad: float, left_mm: float, left_rad: float, tape: TapeStyle) -> tuple[str, str]:
    """Two sentences behind the moves: what they do to the far end, and how right what was measured then is."""
    end, left = end_words(end_mm, lean_rad, tape), left_words(left_mm, left_rad, tape)
    return f"{end[0].upper()}{end[1:]}.", f"{left[0].upper()}{left[1:]}."


def _way(v: Vec) -> str:
    start = Frame()
    parts = {
        "up": dot(v, start.normal),
        "left": dot(v, cross(start.normal, start.axis)),
        "forward": dot(v, start.axis),
    }
    name = max(parts, key=lambda key: even(abs(parts[key])))
    opposite = {"up": "down", "left": "right", "forward": "back"}
    return name if parts[name] >= 0.0 else opposite[name]


def refusal(refused: tuple[Move, ...] | None, nearest: tuple[float, tuple[Move, ...]], limit: float) -> LimitError:
    """Why no correction is given. `refused`: the smallest that would do but passes a limit, or None. `nearest`: how
    many tolerances the best of the others leaves, and its moves. `limit`: the most that a bend is opened (rad)."""
    if refused is not None:
        opening = max((-m.by_rad for m in refused if m.kind == "angle"), default=0.0)
        size = max((abs(m.by_rad) for m in refused), default=0.0)
        if opening > limit:
            return LimitError(
                f"the misfit could only be taken out by opening a bend by {format_angle(opening)}; more than "
                f"{format_angle(limit)} of unbending flattens or kinks the conduit (common practice).",
                hint="make the piece again, or cut it on a straight and couple a new part on",
                quantity="opening",
                asked=degrees(opening),
                limit=degrees(limit),
                unit="deg",
            )
        return LimitError(
            f"the misfit needs a correction of {format_angle(size)}, which is a new bend rather than a tweak.",
            hint="make the piece again; check the measurement and the side it was taken on first",
            quantity="correction",
            asked=degrees(size),
            limit=degrees(ROLL_LIMIT_RAD),
            unit="deg",
        )
    return LimitError(
        "no change of the bends' angles and rolls takes out what was measured; the best still leaves "
        f"{nearest[0]:.1f} times the tolerance.",
        hint="a wrong length cannot be bent away: trim, move a fitting, or measure again which way it is off",
        quantity="misfit left, in tolerances",
        asked=nearest[0],
        limit=1.0,
        unit="",
    )
