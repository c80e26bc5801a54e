"""Tube models made by hand for tests of the model files: no planner is asked."""

from __future__ import annotations

from math import cos, pi, radians, sin

from racewright.exports.tubes import Pencil, Tube, TubeModel, TubeRun, set_out
from racewright.fit.way_in import Solid
from racewright.geometry.chain import Centreline, Turn
from racewright.geometry.solids import Box, Cylinder, HalfSpace
from racewright.geometry.vector import Frame
from racewright.plan.fitting_bodies import FittingBody

RADIUS_MM = 113.6
OUTSIDE_MM, INSIDE_MM = 17.93, 15.8
RIGHT = pi / 2.0

#: name -> length, turns (arc start mm, angle, roll). Straight; in one plane both ways; rolled; more than half a turn.
SHAPES: dict[str, tuple[float, tuple[tuple[float, float, float], ...]]] = {
    "straight": (900.0, ()),
    "back to back": (1200.0, ((200.0, RIGHT, 0.0), (600.0, RIGHT, 0.0))),
    "offset": (1500.0, ((300.0, radians(30.0), 0.0), (500.0, radians(30.0), pi))),
    "rolled": (2400.0, ((250.0, RIGHT, 0.3), (700.0, radians(22.5), 1.9), (1300.0, radians(45.0), -2.4))),
    "no straight between": (800.0, ((100.0, RIGHT, 0.0), (100.0 + RADIUS_MM * RIGHT, RIGHT, RIGHT))),
    "long way round": (1400.0, ((200.0, radians(200.0), 0.7),)),
}


#: An expansion fitting that stands by itself: 180 mm of barrel, 40 of piston, 25 of socket.
BODY = FittingBody(
    label="expansion fitting between pieces 1 and 2",
    parts=(
        Cylinder(start=(900.0, 0.0, 0.0), end=(1080.0, 0.0, 0.0), radius_mm=21.0),
        Cylinder(start=(1080.0, 0.0, 0.0), end=(1120.0, 0.0, 0.0), radius_mm=16.7),
        Cylinder(start=(1120.0, 0.0, 0.0), end=(1145.0, 0.0, 0.0), radius_mm=21.0),
    ),
)


def tube(name: str, shape: str, frame: Frame = Frame()) -> Tube:  # noqa: B008
    length, bends = SHAPES[shape]
    turns = [Turn(start, angle, roll, RADIUS_MM) for start, angle, roll in bends]
    marks = tuple(Pencil(start, f"({k}) mark") for k, (start, _, _) in enumerate(bends, start=1))
    return Tube(name, "EMT 1/2", Centreline.from_turns(length, turns, frame), OUTSIDE_MM, INSIDE_MM, marks)


def tilted_frame() -> Frame:
    """A frame square to no axis of the room."""
    a, b = 0.7, 0.4
    axis = (cos(a) * cos(b), sin(a) * cos(b), sin(b))
    normal = (-cos(a) * sin(b), -sin(a) * sin(b), cos(b))
    return Frame((120.0, -40.0, 900.0), axis, normal)


def every_shape() -> TubeModel:
    """One run a shape, each level and tilted, side by side in two areas."""
    runs = []
    for k, shape in enumerate(SHAPES):
        frames = (Frame(), tilted_frame())
        tubes = tuple(tube(f"R-{k + 1}-{n}", shape, frame) for n, frame in enumerate(frames, start=1))
        area = "pump house" if k % 2 else "packing shed"
        runs.append(TubeRun(f"R-{k + 1}", f"orchard, {shape}", area, tubes))
    solids = (
        Solid(
            name="duct",
            solid=Box(corner=(10.0, 20.0, 0.0), edge_x=(90.0, 0, 0), edge_y=(0, 60.0, 0), edge_z=(0, 0, 30.0)),
        ),
        Solid(name="water pipe", solid=Cylinder(start=(300.0, -80.0, 20.0), end=(300.0, 80.0, 50.0), radius_mm=21.0)),
        Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -9.0), normal=(0.0, 0.0, 1.0))),
    )
    runs[0] = runs[0]._replace(solids=solids, fittings=(BODY,))
    return TubeModel("Orchard cooperative", tuple(set_out(runs)))
