"""A routed run: the corner points of the wanted centerline in the room, each saying what it belongs to; and what a
choice of angles is weighed against."""

from __future__ import annotations

from typing import Literal

import msgspec

from racewright.bends.saddle_clearance import BoxObstacle, RoundObstacle, SaddleClearance, clear_obstacle
from racewright.errors import Finding
from racewright.geometry.solids import Obstacle
from racewright.geometry.vector import Vec


class BendLimits(msgspec.Struct, frozen=True):
    """What the bender sets: centerline radius, and the straight it needs between two arcs (mm)."""

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


ShapeKind = Literal["saddle 3", "saddle 4", "offset", "rolling offset", "box offset", "kick", "turn"]


class Dimension(msgspec.Struct, frozen=True, kw_only=True):
    """A dimension to draw between two points of the room, with its text ('31 5/16 to center'), drawn off to `side`.
    `field`: the reading that it shows, or ''."""

    start: Vec
    end: Vec
    text: str
    side: Vec
    field: str = ""


class Corner(msgspec.Struct, frozen=True):
    """A corner point (mm) and what bends there."""

    point: Vec
    shape: str
    role: str
    field: str


class PlacedObstacle(msgspec.Struct, frozen=True, kw_only=True):
    """An obstacle in the room and the room it wants to the conduit's surface (mm). `field`: where the survey has it."""

    name: str
    field: str
    solid: Obstacle
    wanted_mm: float
    at: Vec


class RoutedShape(msgspec.Struct, frozen=True, kw_only=True):
    """A shape of the run, for the rules of thumb and the tables of choices.

    `first` and `count` say which bends it made. `plan_from_base_mm` is the plan distance along its leg from the base
    (the last tangent point before the shape, or end A) to the shape's own reference: apex for saddles, first corner
    for offsets and kicks, and the back of the bend for turns.
    """

    kind: ShapeKind
    label: str
    first: int
    count: int
    rise_mm: float
    angle_rad: float
    plan_from_base_mm: float
    away_mm: float = 0.0
    left_mm: float = 0.0
    flat_mm: float = 0.0
    chosen: bool = False
    detail: str = ""
    crossing: Crossing | None = None


class Route(msgspec.Struct, frozen=True, kw_only=True):
    """`corners` without the ends; `start` and `end` are the conduit's own ends (insertion included). `lies`: for each
    straight between two of the points, where along it the run lies at the strap's height on its surface."""

    start: Vec
    end: Vec
    corners: tuple[Corner, ...]
    obstacles: tuple[PlacedObstacle, ...]
    shapes: tuple[RoutedShape, ...]
    dimensions: tuple[Dimension, ...]
    findings: tuple[Finding, ...]
    surfaces: tuple[tuple[Vec, Vec], ...]
    lies: tuple[tuple[float, float] | None, ...]

    @property
    def points(self) -> tuple[Vec, ...]:
        """All points of the path, ends included."""
        return (self.start, *(c.point for c in self.corners), self.end)
