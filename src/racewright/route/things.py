"""What stands beside a leg, as solids in the room: pipes, ducts and columns placed by tape readings.

Notation (mm): `line` is the leg's own line; x along it, a off the surface-wise line, b to the left.
"""

from __future__ import annotations

from typing import NamedTuple

from racewright.geometry.solids import Box, Cylinder, Obstacle
from racewright.geometry.vector import Vec, add, along, cross, scale
from racewright.survey.model import KeepClear, Saddle

#: How long a crossing pipe or wall is drawn and checked to each side (mm), where the survey does not say.
CROSSING_MM = 304.8


class LegLine(NamedTuple):
    """A leg's line: its first corner point, its heading, and the normal of the surface that carries it."""

    origin: Vec
    heading: Vec
    normal: Vec

    @property
    def left(self) -> Vec:
        """To the left, facing the heading with the surface underfoot: normal x heading."""
        return cross(self.normal, self.heading)

    def place(self, x: float, a: float = 0.0, b: float = 0.0) -> Vec:
        """The room point at x along the leg, `a` off its line away from the surface and `b` to the left."""
        p = along(self.origin, self.heading, x)
        return add(p, add(scale(self.normal, a), scale(self.left, b)))


def crossing(
    line: LegLine,
    foot: Vec,
    over: str,
    *,
    top_mm: float,
    lift_mm: float,
    width_mm: float | None,
    depth_mm: float = 2.0 * CROSSING_MM,
) -> tuple[Obstacle, Vec]:
    """A thing on the surface at `foot`, from `lift_mm` to `top_mm` off it, crossing the run; and its middle. A round
    one is as wide as it is tall."""
    tall = top_mm - lift_mm
    if over == "round":
        middle = along(foot, line.normal, top_mm - tall / 2.0)
        ends = (along(middle, line.left, -depth_mm / 2.0), along(middle, line.left, depth_mm / 2.0))
        return Cylinder(start=ends[0], end=ends[1], radius_mm=tall / 2.0), middle
    assert width_mm is not None
    low = along(along(along(foot, line.normal, lift_mm), line.heading, -width_mm / 2.0), line.left, -depth_mm / 2.0)
    solid = Box(
        corner=low,
        edge_x=scale(line.heading, width_mm),
        edge_y=scale(line.left, depth_mm),
        edge_z=scale(line.normal, tall),
    )
    return solid, along(foot, line.normal, (top_mm + lift_mm) / 2.0)


def column(
    line: LegLine, saddle: Saddle, x: float, height_mm: float, a_mm: float, b_mm: float, side: float
) -> tuple[Obstacle, Vec]:
    """A thing standing on the surface beside the run that reaches past its middle line; and its middle at the foot.

    `height_mm`: the leg's line over the surface, `a_mm` and `b_mm`: the conduit off that line; `side`: +1 for a thing
    dodged to the left, -1 to the right.
    """
    assert saddle.reach_mm is not None
    assert saddle.width_mm is not None
    width = saddle.width_mm
    across = scale(line.left, side)
    far = along(line.place(x, -height_mm, b_mm), across, saddle.reach_mm)
    tall = height_mm + max(a_mm, 0.0) + CROSSING_MM
    if saddle.over == "round":
        foot = along(far, across, -width / 2.0)
        return Cylinder(start=foot, end=along(foot, line.normal, tall), radius_mm=width / 2.0), foot
    deep = 2.0 * width
    corner = along(along(far, across, -deep), line.heading, -width / 2.0)
    solid = Box(
        corner=corner, edge_x=scale(line.heading, width), edge_y=scale(across, deep), edge_z=scale(line.normal, tall)
    )
    return solid, along(far, across, -deep / 2.0)


def keep_clear(line: LegLine, thing: KeepClear, x: float, height_mm: float, b_mm: float) -> tuple[Obstacle, Vec]:
    """A surveyed obstacle that no bend was asked for; and its middle."""
    foot = line.place(x, -height_mm, b_mm + thing.side_mm)
    return crossing(
        line,
        foot,
        thing.over,
        top_mm=thing.height_mm,
        lift_mm=thing.lift_mm,
        width_mm=thing.width_mm,
        depth_mm=thing.depth_mm,
    )
