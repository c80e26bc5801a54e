"""What the bender sets, and what a saddle goes over: enough to weigh any angle against both."""

from __future__ import annotations

import msgspec

from racewright.bends.saddle_clearance import BoxObstacle, RoundObstacle, SaddleClearance, clear_obstacle


class BendLimits(msgspec.Struct, frozen=True):
    """What the bender sets: centreline radius, and the straight it needs between two arcs (mm)."""

    radius_mm: float
    least_straight_mm: float


class Crossing(msgspec.Struct, frozen=True, kw_only=True):
    """What a saddle goes over, as the clearance module takes it, so that other angles can be weighed too."""

    obstacle: RoundObstacle | BoxObstacle
    clearance_mm: float
    standoff_mm: float
    outside_diameter_mm: float

    def clear(self, angle_rad: float, limits: BendLimits) -> SaddleClearance:
        """The three- and four-bend saddles that clear it at an angle."""
        return clear_obstacle(
            self.obstacle,
            angle_rad=angle_rad,
            radius_mm=limits.radius_mm,
            outside_diameter_mm=self.outside_diameter_mm,
            clearance_mm=self.clearance_mm,
            standoff_mm=self.standoff_mm,
            least_straight_mm=limits.least_straight_mm,
        )
