"""How what is measured on a finished piece changes with a correction: the derivative of the chain, in closed form.

Notation (end A held still, mm and rad)
    P, t        the axis at a material station, and its direction there
    (w, u)      one unit of a move takes all that lies beyond its bend by the rigid motion dP = w x P + u
    R, a        radius of the bend, and the axis where it begins
    d           the direction in which is measured: d . dP = w . (P x d) + u . d
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

from racewright.bends.model import BentPiece
from racewright.fit.jacobian import Walk, angle_column, frame_at, twist_column
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, rise_at, way_vector
from racewright.fit.words import Move
from racewright.geometry.linalg import Matrix, Row
from racewright.geometry.vector import ZERO, Frame, Vec, cross, dot
from racewright.tools.benders import HookEnd

#: The cosine of a last leg that stands square to the way of its lean, below which it leans no further that way.
_SQUARE = 1e-9


class _Motion(NamedTuple):
    """One unit of a move of a bend (from 0): from the station `begins_mm` on the axis moves, from `ends_mm` on by
    `turn` x P + `shift`. `grows`: it opens or closes the bend's arc, whose station `stays`: 0 where it begins, 1 where
    it ends."""

    bend: int
    begins_mm: float
    ends_mm: float
    turn: Vec
    shift: Vec
    grows: bool
    stays: float


def shown_slopes(
    piece: BentPiece,
    walked: Walk,
    measured: Sequence[Measured],
    chosen: Sequence[Move],
    hooks: Sequence[HookEnd] = (),
) -> Matrix:
    """d(`measured.shown`)/d(move): a row for each reading, a column for each move, whose size is not looked at."""
    motions = _motions(walked, chosen, hooks)
    return [_of_reading(piece, walked, item, motions) for item in measured]


def end_slopes(wanted: Frame, walked: Walk, chosen: Sequence[Move], hooks: Sequence[HookEnd] = ()) -> Matrix:
    """d(`measured.end_gap`)/d(move) with end B wanted there."""
    motions = _motions(walked, chosen, hooks)
    point, axis, _ = walked.end
    ways = (wanted.normal, wanted.binormal, wanted.axis)
    rows = [_toward(motions, point, way) for way in ways]
    return rows + [[dot(motion.turn, cross(axis, way)) for motion in motions] for way in ways[:2]]


def _motions(walked: Walk, chosen: Sequence[Move], hooks: Sequence[HookEnd]) -> list[_Motion]:
    out = []
    for number, kind, _ in chosen:
        placed = walked.bends[number - 1]
        hook: HookEnd = hooks[number - 1] if number <= len(hooks) else "A"
        grows = kind == "angle"
        shift, turn = angle_column(placed, ZERO, hook) if grows else twist_column(placed, ZERO)
        begins = placed.bend.arc_start_mm
        ends = placed.bend.arc_end_mm if grows else begins
        out.append(_Motion(number - 1, begins, ends, turn, shift, grows, 1.0 if hook == "B" else 0.0))
    return out


def _toward(motions: Sequence[_Motion], point: Vec, way: Vec) -> Row:
    """How far a point beyond all these bends moves that way."""
    lever = cross(point, way)
    return [dot(motion.turn, lever) + dot(motion.shift, way) for motion in motions]


def _of_reading(piece: BentPiece, walked: Walk, item: Measured, motions: Sequence[_Motion]) -> Row:
    if isinstance(item, BendAngle):
        return [1.0 if motion.grows and motion.bend == item.number - 1 else 0.0 for motion in motions]
    if isinstance(item, LegLean):
        way = way_vector(item.way, piece, Frame())
        part = dot(walked.end.axis, way)
        cosine = sqrt(max(0.0, 1.0 - part * part))
        lever = cross(walked.end.axis, way)
        return [dot(motion.turn, lever) / cosine if cosine > _SQUARE else 0.0 for motion in motions]
    if isinstance(item, ApexRise):
        return _of_rise(piece, walked, item, motions)
    way = way_vector(item.way, piece, Frame())
    if item.station_mm is None:
        return _toward(motions, walked.end.origin, way)
    return _at_station(walked, item.station_mm, way, motions)


def _at_station(walked: Walk, station_mm: float, way: Vec, motions: Sequence[_Motion]) -> Row:
    """How far the axis at a station moves that way."""
    here = frame_at(walked, station_mm)
    row = []
    for motion, beyond in zip(motions, _toward(motions, here.origin, way), strict=True):
        if station_mm <= motion.begins_mm:
            row.append(0.0)
        elif station_mm >= motion.ends_mm:
            row.append(beyond)
        else:
            # within the arc that grows: its own circle, along which it slides where the arc's end is what stays
            placed = walked.bends[motion.bend]
            slide = dot(placed.start.axis, way) - dot(here.axis, way)
            row.append(-motion.stays * placed.bend.radius_mm * slide)
    return row


def _of_rise(piece: BentPiece, walked: Walk, item: ApexRise, motions: Sequence[_Motion]) -> Row:
    """A rise counts from the leg before its shape: what moves that leg moves the rise with it, and the shape's first
    bend turned about that leg turns all of it. Its place on its own arc goes with the arc."""
    own, (first, share) = item.number - 1, rise_at(piece, item)
    bend, leg = piece.bends[own], walked.bends[first]
    station = bend.arc_start_mm + share * bend.arc_length_mm
    along = dot(frame_at(walked, station).axis, leg.toward)
    row = []
    for motion, moved in zip(motions, _at_station(walked, station, leg.toward, motions), strict=True):
        if motion.bend < first or motion.bend > own or (motion.bend == first and not motion.grows):
            row.append(0.0)
        elif motion.bend == own and motion.grows:
            row.append(moved + (share - motion.stays) * bend.radius_mm * along)
        else:
            row.append(moved)
    return row
