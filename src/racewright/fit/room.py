"""How much room a bent piece leaves to what stands around it, and how that room changes with its bends.

Notation (mm, rad)
    c       clearance: least distance from the piece's axis to a thing, less half the outside diameter
    s, P    material station where the axis comes nearest, and the axis there;  n  the thing's outward normal at P
    x       a bend's start, angle or roll
dc/dx = n . dP/dx at a fixed s: moving along the axis changes nothing at the nearest point.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from racewright.bends.model import BentPiece
from racewright.fit.jacobian import Walk, point_move, walk
from racewright.fit.whole_run import TOUCH_MM, WholeRun
from racewright.geometry.chain import Arc, Centreline, Line, Turn
from racewright.geometry.clearance import Nearest, least_distance
from racewright.geometry.solids import HalfSpace, Obstacle, OutsideCorner, Wall, probe_of
from racewright.geometry.vector import Frame, Vec, dot

Unknown = Literal["start", "angle", "roll", "cut"]
_VALID_MM = 1e-6
#: Clearances that differ by less are the same: what the search for the nearest point promises, and more (mm).
_SAME_MM = 1e-5
#: What is held clear is held by so much more, so that nothing that a solver leaves undone makes it a miss (mm).
_MORE_MM = 0.02

#: What no tape shows of the room that is left, or of how deep a piece goes in: half of 1/16 in (mm).
UNSEEN_MM = 25.4 / 32.0


class Thing(msgspec.Struct, frozen=True):
    """What stands there and the clearance that it wants; by how much less it still counts as kept (`give_mm`).
    `judged` False: it is measured, and asks for nothing."""

    solid: Obstacle | Wall
    wanted_mm: float
    give_mm: float
    judged: bool = True

    def hit_mm(self, outside_diameter_mm: float) -> float:
        """The room below which it is run into: less than nothing, by what a tape shows where hardly any was wanted. A
        wall by conduit that lies its own diameter deeper than planned: so far no strap draws it out (own value)."""
        if isinstance(self.solid, HalfSpace | OutsideCorner):
            return min(self.wanted_mm, 0.0) - outside_diameter_mm
        least = self.wanted_mm - self.give_mm
        return min(0.0, max(least - UNSEEN_MM, -UNSEEN_MM) if self.wanted_mm >= 0.0 else least)


class Contact(msgspec.Struct, frozen=True):
    """One stretch of the piece against one thing: bend `part` // 2 where `part` is odd, else half of a straight, the
    `second` or the first. A flat top over a square thing touches on both of its halves."""

    thing: int
    part: int
    second: bool


class OfRun(msgspec.Struct, frozen=True):
    """The run that the piece belongs to, and which of its pieces it is (from 0). `judged` False: that it meets itself
    is told, and asks for nothing."""

    run: WholeRun
    number: int
    judged: bool = True


class Looked(msgspec.Struct, frozen=True):
    """By how much a piece misses the room that is wanted, less what counts as kept (0: it keeps it); `close`: whether
    it misses any of it; `hit`: it runs into a thing (deeper, where less than nothing is wanted) or its run."""

    short_mm: float
    close: bool
    hit: bool


class Surroundings(msgspec.Struct, frozen=True):
    """End A in the room, what stands around, and the run that must not meet itself (None: it is part of none)."""

    start: Frame
    things: tuple[Thing, ...]
    of_run: OfRun | None = None

    def possible(self, piece: BentPiece) -> bool:
        """Whether the piece can be looked at: no two arcs overlap."""
        return min(piece.straights_mm()) >= -_VALID_MM and all(bend.angle_rad >= 0.0 for bend in piece.bends)

    def nearest(self, piece: BentPiece) -> tuple[Nearest, ...]:
        """Where the axis of the piece comes nearest to each thing."""
        turns = [Turn(b.arc_start_mm, b.angle_rad, b.roll_rad, b.radius_mm) for b in piece.bends]
        line = Centreline.from_turns(piece.cut_length_mm, turns, self.start)
        return tuple(least_distance(line, thing.solid) for thing in self.things)

    def left_mm(self, piece: BentPiece) -> tuple[float, ...]:
        """The clearance to each thing."""
        half = piece.outside_diameter_mm / 2.0
        return tuple(near.distance_mm - half for near in self.nearest(piece))

    def units(self, piece: BentPiece) -> int:
        """What one look at the piece takes of a budget: each of its parts held against each thing."""
        return (2 * len(piece.bends) + 1) * len(self.things)

    def look(self, piece: BentPiece) -> Looked:
        """How the piece keeps the room that is wanted."""
        if not self.possible(piece):
            return Looked(float("inf"), close=False, hit=False)
        half, near = piece.outside_diameter_mm / 2.0, self.nearest(piece)
        into_run = self._into_run_mm(piece)
        kept = [(thing, at.distance_mm - half) for thing, at in zip(self.things, near, strict=True)]
        misses = [thing.wanted_mm - thing.give_mm - left for thing, left in kept if thing.judged]
        worst = max([*misses, into_run])
        close = any(thing.judged and thing.wanted_mm - left > _VALID_MM for thing, left in kept)
        # a wall that the plan goes behind ends somewhere, and is none
        deep = [(thing.hit_mm(piece.outside_diameter_mm), left) for thing, left in kept if thing.judged]
        hit = any(left < least - _SAME_MM for least, left in deep)
        return Looked(worst if worst > _VALID_MM else 0.0, close, hit or into_run > TOUCH_MM + _SAME_MM)

    def short_mm(self, piece: BentPiece) -> float:
        """By how much the piece misses the room that is wanted, where it misses most; 0 where all of it is kept."""
        return self.look(piece).short_mm

    def _into_run_mm(self, piece: BentPiece) -> float:
        """By how much the piece misses standing clear of its own run."""
        if self.of_run is None or not self.of_run.judged:
            return 0.0
        return self.of_run.run.short_mm(self.of_run.number, piece)

    def worst_contact(self, piece: BentPiece) -> Contact | None:
        """Where the piece misses most of the wanted room, none given away; None where it keeps all of it. Of places
        that miss the same the first counts: along a flat top the last bit of a float would choose another each time."""
        half = piece.outside_diameter_mm / 2.0
        worst, found = _VALID_MM, None
        for index, (thing, near) in enumerate(zip(self.things, self.nearest(piece), strict=True)):
            miss = thing.wanted_mm + half - near.distance_mm
            if thing.judged and miss > worst + (_SAME_MM if found is not None else 0.0):
                worst, found = miss, index
        return None if found is None else self._first(piece, found)

    def _first(self, piece: BentPiece, thing: int) -> Contact:
        """The first stretch of the piece that comes as near to a thing as any."""
        walked = walk(piece, self.start)
        parts = [
            (k, second) for k in range(2 * len(piece.bends) + 1) for second in ((False,) if k % 2 else (False, True))
        ]
        contacts = [Contact(thing, part, second) for part, second in parts]
        clear = [self.clear_mm(contact, piece, walked)[0] for contact in contacts]
        return contacts[next(k for k, value in enumerate(clear) if value <= min(clear) + _SAME_MM)]

    def clear_mm(self, contact: Contact, piece: BentPiece, walked: Walk) -> tuple[float, float, Vec, Vec]:
        """At a contact: the clearance beyond what is held there, the station, the axis there and the normal."""
        thing = self.things[contact.thing]
        begin, stretch = _stretch(contact, piece, walked, self.start)
        near = least_distance(Centreline((stretch,), stretch.frame), thing.solid)
        _, nx, ny, nz = probe_of(thing.solid)(*near.point)
        clear = near.distance_mm - piece.outside_diameter_mm / 2.0 - thing.wanted_mm - _MORE_MM
        return clear, begin + near.station_mm, near.point, (nx, ny, nz)


#: Nothing stands around.
NOTHING_AROUND = Surroundings(Frame(), ())


def _stretch(contact: Contact, piece: BentPiece, walked: Walk, start: Frame) -> tuple[float, Line | Arc]:
    """The arc, or the half of a straight, from 0, and the station where it begins; what a solver made shorter than
    nothing is a point."""
    k = contact.part // 2
    if contact.part % 2:
        placed = walked.bends[k]
        bend, angle = placed.bend, max(placed.bend.angle_rad, 1e-6)
        arc = Arc(0.0, bend.radius_mm * angle, placed.start, bend.radius_mm, angle, bend.roll_rad, placed.centre)
        return bend.arc_start_mm, arc
    frame = walked.bends[k - 1].end if k else start
    begin = piece.bends[k - 1].arc_end_mm if k else 0.0
    end = piece.bends[k].arc_start_mm if k < len(piece.bends) else piece.cut_length_mm
    half = 0.5 * max(end - begin, 2e-6)
    if contact.second:
        return begin + half, Line(0.0, half, frame.advanced(half))
    return begin, Line(0.0, half, frame)


def clear_slope(kind: Unknown, bend: int, walked: Walk, station_mm: float, point: Vec, normal: Vec) -> float:
    """dc/dx of one unknown at a contact; the cut moves nothing that lies before it."""
    if kind == "cut":
        return 0.0
    return dot(point_move(walked.bends[bend], kind, station_mm, point), normal)
