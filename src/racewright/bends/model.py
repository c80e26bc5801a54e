"""A bent piece: bends know a radius, never a bender."""

from __future__ import annotations

import msgspec


class Bend(msgspec.Struct, frozen=True, kw_only=True):
    """One bend of a piece, in material coordinates from end A.

    `arc_start_mm`: where the arc begins. `angle_rad` > 0. `roll_rad`: the bend's plane, right-handed about the
    axis from A to B, in the frame carried along without twist; 0 = the first bend's plane.
    `shape` and `role` say what it belongs to: the shape's label, and one of `bends.roles`.
    """

    arc_start_mm: float
    angle_rad: float
    roll_rad: float
    radius_mm: float
    shape: str = ""
    role: str = ""

    @property
    def arc_length_mm(self) -> float:
        """Material that the arc takes."""
        return self.radius_mm * self.angle_rad

    @property
    def arc_end_mm(self) -> float:
        """Where the arc ends."""
        return self.arc_start_mm + self.radius_mm * self.angle_rad


class BentPiece(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of conduit: cut length and bends in material order. `up_roll_rad`: where up is at end A as it lies (away
    from the surface that carries the conduit there), as a bend's roll: 0 = the way that the first bend turns."""

    cut_length_mm: float
    outside_diameter_mm: float
    bends: tuple[Bend, ...]
    up_roll_rad: float = 0.0

    def straights_mm(self) -> tuple[float, ...]:
        """The straights between end A, the arcs and end B: len(bends) + 1 of them."""
        out = []
        last = 0.0
        for bend in self.bends:
            out.append(bend.arc_start_mm - last)
            last = bend.arc_end_mm
        out.append(self.cut_length_mm - last)
        return tuple(out)
