"""A bending tool: physical constants of its bend, in mm, each with where it comes from."""

from __future__ import annotations

from math import pi
from typing import Literal

import msgspec

#: The end of the conduit that the hook faces.
HookEnd = Literal["A", "B"]
HOOKS: tuple[HookEnd, HookEnd] = ("A", "B")
#: The mark of the shoe that stands on the pencil mark.
Reference = Literal["arrow", "center", "star"]
REFERENCES: tuple[Reference, ...] = ("arrow", "center", "star")


class BenderProfile(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One shoe on one raceway (physical constants of the bend). All lengths mm.

    Positions along the conduit count from the hook-side tangent point, positive away from the hook:
    arrow at -arrow_lead_mm, centre mark at centre_mm, star (back of a 90) at star_mm.
    Pointer: to be left with angle A (rad) after relaxing, pull to A + springback_b0_rad + springback_b1 * A;
    None where the user has not calibrated it.
    """

    name: str
    raceway_type: str
    trade_size: str
    outside_diameter_mm: float
    radius_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    hook_reach_mm: float
    grip_mm: float
    take_up_mm: float
    gain_mm: float
    springback_b0_rad: float | None = None
    springback_b1: float | None = None
    handle_length_mm: float = 965.2
    shoe_width_mm: float = 50.8
    source: str = ""
    standing: str = ""

    @property
    def least_straight_mm(self) -> float:
        """The straight that the hook needs beside an earlier bend: from the arrow to where the bend begins, and what
        the hook holds past the arrow."""
        return max(0.0, self.arrow_lead_mm + self.hook_reach_mm)

    def pointer_rad(self, angle_rad: float) -> float | None:
        """What the pointer must read while pulling, or None where springback is not calibrated."""
        if self.springback_b0_rad is None or self.springback_b1 is None:
            return None
        return angle_rad + self.springback_b0_rad + self.springback_b1 * angle_rad


def radius_from_gain_mm(gain_mm: float, outside_diameter_mm: float) -> float:
    """R from the gain of a 90 measured over the backs: G = D + R (2 - pi/2)."""
    return (gain_mm - outside_diameter_mm) / (2.0 - pi / 2.0)
