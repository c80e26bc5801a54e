"""How well a hand marks, bends, rolls and cuts, and how much a fitting forgives.

The figures are standard deviations of common practice, no source; everybody may put in their own.
"""

from __future__ import annotations

from math import hypot, isfinite, radians

import msgspec

from racewright.errors import InputError

SIXTEENTH_MM = 25.4 / 16.0


class Accuracy(msgspec.Struct, frozen=True, kw_only=True):
    """Standard deviations of what the hand does (common practice, no source).

    `mark_mm`: one mark, measured from end A on its own. `angle_rad`: one bend's angle after letting go.
    `roll_rad`: one bend's plane against the bend it is sighted on. `cut_mm`: the cut at end B.
    """

    mark_mm: float = SIXTEENTH_MM
    angle_rad: float = radians(1.0)
    roll_rad: float = radians(1.5)
    cut_mm: float = SIXTEENTH_MM

    def check(self) -> None:
        """Raises InputError where a figure is negative or not a number."""
        for name in ("mark_mm", "angle_rad", "roll_rad", "cut_mm"):
            value = getattr(self, name)
            if not isfinite(value) or value < 0.0:
                raise InputError(
                    f"the accuracy '{name}' is {value}; it must be zero or more.",
                    hint="give the spread (standard deviation) of several repeats of the same step",
                    field=name,
                )


class Capture(msgspec.Struct, frozen=True, kw_only=True):
    """How far off the far end may be and still enter its fitting: `across_mm` sideways in any direction,
    `along_mm` in or out, `angle_rad` out of line. Common practice, no source; 3/4 in sideways is about what a hand
    springs half-inch EMT over a free length of 30 in (cantilever, F L^3 / 3 E I, 10 lb)."""

    across_mm: float = 12.0 * SIXTEENTH_MM
    along_mm: float = 6.0 * SIXTEENTH_MM
    angle_rad: float = radians(3.0)

    def takes(self, gap: tuple[float, float, float, float, float]) -> bool:
        """Whether an end that is off by so much still enters: across twice, along (mm), and lean twice (rad)."""
        up, side, along, lean_up, lean_side = gap
        near = hypot(up, side) <= self.across_mm and abs(along) <= self.along_mm
        return near and hypot(lean_up, lean_side) <= self.angle_rad


#: How far off an end may be that stays open: no fitting waits for it, and it is judged by eye (own values, no source).
OPEN_END = Capture(across_mm=25.4, along_mm=25.4, angle_rad=radians(3.0))


class Tolerance(msgspec.Struct, frozen=True, kw_only=True):
    """What counts as right: `length_mm` 1/16 in and `angle_rad` 1/2 degree unless told."""

    length_mm: float = SIXTEENTH_MM
    angle_rad: float = radians(0.5)
