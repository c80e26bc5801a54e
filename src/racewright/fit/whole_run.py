"""The whole run as it stands: its pieces with the fittings between them, one of them as it is or will be.

What a bent piece must keep clear of is not only what stands around: it is the rest of its own run as well, and itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from racewright.bends.model import BentPiece
from racewright.budget import ITSELF_OF_A_LOOK, Budget
from racewright.geometry.chain import Arc, Centreline, Line, Turn
from racewright.geometry.itself import Meeting, Tube, meetings
from racewright.geometry.vector import Frame

#: Less than this between two stretches shows on no tape: they touch (half of 1/16 in, mm).
TOUCH_MM = 25.4 / 32.0


class RunPart(NamedTuple):
    """One piece where it lies: end A in the room, and where along the run that is."""

    piece: BentPiece
    frame: Frame
    start_mm: float


class Body(msgspec.Struct, frozen=True):
    """The fitting behind end B of a part (from 0): its middle so far beyond that end, half its length and half its
    outside diameter."""

    part: int
    beyond_mm: float
    half_length_mm: float
    half_mm: float


class WholeRun:
    """The pieces of a run in order, the fittings between them, and which of its bends (from 0) are turns: a leg goes to
    the end of its turn."""

    def __init__(self, parts: Sequence[RunPart], bodies: Sequence[Body], turns: frozenset[int]) -> None:
        self._parts, self._bodies, self._turns = tuple(parts), tuple(bodies), turns
        self._first = [sum(len(part.piece.bends) for part in parts[:k]) for k in range(len(parts))]
        self._tubes = [self._of(k, part) for k, part in enumerate(self._parts)]
        radii = [bend.radius_mm for part in parts for bend in part.piece.bends if bend.angle_rad > 0.0]
        self._radius_mm = min(radii, default=0.0)

    def meetings(self, budget: Budget) -> list[Meeting]:
        """Where two legs of the run touch, or lie in each other."""
        return self._meetings([tube for own in self._tubes for tube in own], budget)

    def with_piece(self, number: int, now: BentPiece) -> WholeRun:
        """The run with this piece (from 0) made otherwise, from the same end A; the others stay where they lie, and
        count along it from where it ends."""
        more = self._longer_mm(number, now)
        parts = [
            part._replace(piece=now) if k == number else part._replace(start_mm=part.start_mm + more * (k > number))
            for k, part in enumerate(self._parts)
        ]
        return WholeRun(parts, self._bodies, self._turns)

    def short_mm(self, number: int, now: BentPiece) -> float:
        """By how much the run with this piece (from 0) made otherwise misses standing clear of itself, where it misses
        most; 0 where it does not. Only what has to do with the piece is looked at."""
        before = [tube for kept in self._tubes[:number] for tube in kept]
        own = self._of(number, self._parts[number]._replace(piece=now))
        more = self._longer_mm(number, now)
        after = [t._replace(begin_mm=t.begin_mm + more) for kept in self._tubes[number + 1 :] for t in kept]
        moved = range(len(before), len(before) + len(own))
        found = self._meetings([*before, *own, *after], Budget(ITSELF_OF_A_LOOK), moved)
        return max((TOUCH_MM - place.clear_mm for place in found), default=0.0)

    def _longer_mm(self, number: int, now: BentPiece) -> float:
        return now.cut_length_mm - self._parts[number].piece.cut_length_mm

    def _meetings(self, tubes: Sequence[Tube], budget: Budget, moved: range | None = None) -> list[Meeting]:
        if self._radius_mm == 0.0:
            return []
        return meetings(tubes, self._radius_mm, TOUCH_MM, budget, moved)

    def _of(self, number: int, part: RunPart) -> list[Tube]:
        piece, bend = part.piece, self._first[number]
        turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.bends]
        line = Centreline.from_turns(piece.cut_length_mm, turns, part.frame)
        # a bend that is left out has no arc, and its turn is none
        arcs = iter(k for k, b in enumerate(piece.bends, start=bend) if b.angle_rad > 0.0)
        leg = 1 + sum(turn < bend for turn in self._turns)
        half = 0.5 * piece.outside_diameter_mm
        out = []
        for stretch in line.segments:
            out.append(Tube(stretch, part.start_mm + stretch.start_s, half, leg))
            leg += isinstance(stretch, Arc) and next(arcs) in self._turns
        end = line.end_frame
        for body in self._bodies:
            if body.part == number:
                low = body.beyond_mm - body.half_length_mm
                straight = Line(0.0, 2.0 * body.half_length_mm, end.advanced(low))
                out.append(Tube(straight, part.start_mm + piece.cut_length_mm + low, body.half_mm, leg))
        return out
