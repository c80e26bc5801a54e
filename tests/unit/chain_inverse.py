"""The chain of straights and arcs the other way: is it smooth, where are its corners, how it reads from end B.

The engine goes from corners to turns only; tests go back with these.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import tan

from racewright.geometry.chain import ROUNDING, Arc, Centreline, Turn, wrapped
from racewright.geometry.vector import Frame, Vec, distance


def is_sound(line: Centreline) -> bool:
    """True where the chain is tangent-continuous and its length is its straights plus its arcs."""
    position = tangent = total = 0.0
    nexts = [*(segment.frame for segment in line.segments[1:]), line.end_frame]
    for segment, after in zip(line.segments, nexts, strict=True):
        position = max(position, distance(segment.point_at(segment.end_s), after.origin))
        tangent = max(tangent, distance(segment.tangent_at(segment.end_s), after.axis))
        straight = segment.end_s - segment.start_s
        total += segment.radius_mm * segment.angle_rad if isinstance(segment, Arc) else straight
    allowed = ROUNDING * line.length_mm
    return position <= allowed and tangent <= ROUNDING and abs(line.length_mm - total) <= allowed


def turns_to_corners(length_mm: float, turns: Sequence[Turn], frame: Frame | None = None) -> tuple[Vec, ...]:
    """The corner points, ends included, of a piece: where the straights, drawn on, would meet. No bend turns by 180."""
    line = Centreline.from_turns(length_mm, turns, frame or Frame())
    arcs = [segment for segment in line.segments if isinstance(segment, Arc)]
    corners = [arc.frame.advanced(arc.radius_mm * tan(0.5 * arc.angle_rad)).origin for arc in arcs]
    return (line.start_frame.origin, *corners, line.end_frame.origin)


def reversed_turns(length_mm: float, turns: Sequence[Turn]) -> tuple[Turn, ...]:
    """The same piece read from end B: stations from B, rolls about the axis from B to A, first roll 0.

    A twist keeps its hand whichever end it is seen from, so the steps between rolls keep their sign.
    """
    out: list[Turn] = []
    for arc_start, angle, roll, radius in reversed(turns):
        step = 0.0 if not out else turns[len(turns) - len(out)].roll_rad - roll
        before = out[-1].roll_rad if out else 0.0
        out.append(Turn(length_mm - arc_start - radius * angle, angle, wrapped(before + step), radius))
    return tuple(out)
