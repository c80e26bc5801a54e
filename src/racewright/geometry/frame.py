"""A frame carried along the conduit without twist: where the axis is, where it points, which way is roll 0."""

from __future__ import annotations

from math import cos, sin
from typing import NamedTuple

from racewright.geometry.vector import EX, EZ, ZERO, Vec, along, cross, rotate


class Frame(NamedTuple):
    """`origin` on the axis, unit `axis` from end A to end B, unit `normal`: a bend at roll 0 turns toward it."""

    origin: Vec = ZERO
    axis: Vec = EX
    normal: Vec = EZ

    @property
    def binormal(self) -> Vec:
        """axis x normal: a bend at roll +90 degrees turns toward it."""
        return cross(self.axis, self.normal)

    def toward(self, roll_rad: float) -> Vec:
        """The direction that a bend at this roll turns toward (right-handed about the axis)."""
        c, s = cos(roll_rad), sin(roll_rad)
        n, b = self.normal, self.binormal
        return (n[0] * c + b[0] * s, n[1] * c + b[1] * s, n[2] * c + b[2] * s)

    def advanced(self, length_mm: float) -> Frame:
        """The frame after a straight."""
        return Frame(along(self.origin, self.axis, length_mm), self.axis, self.normal)

    def bent(self, radius_mm: float, angle_rad: float, roll_rad: float) -> Frame:
        """The frame after an arc, carried without twist."""
        toward = self.toward(roll_rad)
        turn_axis = cross(self.axis, toward)
        centre = along(self.origin, toward, radius_mm)
        out = rotate(self.axis, turn_axis, angle_rad)
        spoke = rotate((-toward[0], -toward[1], -toward[2]), turn_axis, angle_rad)
        return Frame(along(centre, spoke, radius_mm), out, rotate(self.normal, turn_axis, angle_rad))
