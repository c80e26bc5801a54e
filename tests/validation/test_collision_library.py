"""Clearances against two outside libraries.

- Open CASCADE (through build123d's binding): its extrema between the axis, edge by edge, and the solid. Tolerance
  1e-6 mm, for axes outside the solid; inside, the kernel says 0.
- FCL (through python-fcl): its distance and collision queries on the tube as round-ended bars, arcs as 64 chords.
  Tolerance: the chords' sagitta plus 1e-3 mm, FCL's own iterative distance was within 1e-5 mm on straights alone.
"""

from __future__ import annotations

import random
from itertools import pairwise
from math import cos, pi
from random import Random
from typing import Any

import pytest

from racewright.geometry.chain import Arc, Centreline, Turn
from racewright.geometry.clearance import least_distance
from racewright.geometry.solids import Box, Cylinder, HalfSpace
from racewright.geometry.vector import Vec, add, cross, dot, norm, scale, sub, unit

pytestmark = pytest.mark.oracle

KERNEL_TOLERANCE_MM = 1e-6
FCL_TOLERANCE_MM = 1e-3
CHORDS = 64


def random_vector(rng: Random, size: float) -> Vec:
    return (rng.uniform(-size, size), rng.uniform(-size, size), rng.uniform(-size, size))


def random_axes(rng: Random) -> tuple[Vec, Vec, Vec]:
    x = unit(random_vector(rng, 1.0))
    y = unit(cross(x, random_vector(rng, 1.0)))
    return x, y, cross(x, y)


def random_piece(rng: Random) -> tuple[list[Turn], Centreline]:
    s, turns = 0.0, []
    for _ in range(rng.randrange(0, 5)):
        s += rng.uniform(5.0, 400.0)
        turn = Turn(s, rng.uniform(0.05, 2.2), rng.uniform(-pi, pi), rng.uniform(80.0, 250.0))
        turns.append(turn)
        s += turn.angle_rad * turn.radius_mm
    length = s + rng.uniform(50.0, 400.0)
    return turns, Centreline.from_turns(length, turns)


def random_box(rng: Random) -> Box:
    x, y, z = random_axes(rng)
    a, b, c = (rng.uniform(1.0, 500.0) for _ in range(3))
    return Box(corner=random_vector(rng, 800.0), edge_x=scale(x, a), edge_y=scale(y, b), edge_z=scale(z, c))


def random_cylinder(rng: Random) -> Cylinder:
    return Cylinder(start=random_vector(rng, 800.0), end=random_vector(rng, 800.0), radius_mm=rng.uniform(1.0, 200.0))


def kernel_solid(solid: Box | Cylinder | HalfSpace) -> Any:
    gp = pytest.importorskip("OCP.gp")
    prim = pytest.importorskip("OCP.BRepPrimAPI")
    if isinstance(solid, Box):
        at = gp.gp_Ax2(gp.gp_Pnt(*solid.corner), gp.gp_Dir(*solid.edge_z), gp.gp_Dir(*solid.edge_x))
        edges = (norm(solid.edge_x), norm(solid.edge_y), norm(solid.edge_z))
        return prim.BRepPrimAPI_MakeBox(at, *edges).Solid()
    if isinstance(solid, Cylinder):
        along = sub(solid.end, solid.start)
        at = gp.gp_Ax2(gp.gp_Pnt(*solid.start), gp.gp_Dir(*along))
        return prim.BRepPrimAPI_MakeCylinder(at, solid.radius_mm, norm(along)).Solid()
    # a half-space: the plane's face, 100 m square
    faces = pytest.importorskip("OCP.BRepBuilderAPI")
    plane = gp.gp_Pln(gp.gp_Pnt(*solid.point), gp.gp_Dir(*solid.normal))
    return faces.BRepBuilderAPI_MakeFace(plane, -5e4, 5e4, -5e4, 5e4).Face()


def kernel_edges(line: Centreline) -> list[Any]:
    """Each straight by its ends, each arc by three points on it."""
    gp = pytest.importorskip("OCP.gp")
    make = pytest.importorskip("OCP.BRepBuilderAPI").BRepBuilderAPI_MakeEdge
    arc = pytest.importorskip("OCP.GC").GC_MakeArcOfCircle
    edges = []
    for segment in line.segments:
        stations = (segment.start_s, 0.5 * (segment.start_s + segment.end_s), segment.end_s)
        a, b, c = (gp.gp_Pnt(*segment.point_at(s)) for s in stations)
        edges.append(make(arc(a, b, c).Value()).Edge() if isinstance(segment, Arc) else make(a, c).Edge())
    return edges


@pytest.mark.parametrize("kind", ["box", "cylinder", "half_space"])
def test_least_distance_agrees_with_the_kernels_extrema(kind: str) -> None:
    extrema = pytest.importorskip("OCP.BRepExtrema").BRepExtrema_DistShapeShape
    rng = random.Random(f"kernel {kind}")
    outside = inside = 0
    for _ in range(120):
        _, line = random_piece(rng)
        solid: Box | Cylinder | HalfSpace
        if kind == "box":
            solid = random_box(rng)
        elif kind == "cylinder":
            solid = random_cylinder(rng)
        else:
            normal = unit(random_vector(rng, 1.0))
            solid = HalfSpace(point=scale(normal, -rng.uniform(0.0, 2500.0)), normal=normal)
        ours = least_distance(line, solid).distance_mm
        shape = kernel_solid(solid)
        kernel = min(extrema(edge, shape).Value() for edge in kernel_edges(line))
        if ours > 1e-6:
            outside += 1
            assert kernel == pytest.approx(ours, rel=0, abs=KERNEL_TOLERANCE_MM)
        else:
            inside += 1
            # a plane's face is a surface, so an axis wholly behind it has a distance: skip that one
            assert kernel == pytest.approx(0.0, abs=KERNEL_TOLERANCE_MM) or kind == "half_space"
    assert outside >= 60
    assert inside >= 1


def chords(line: Centreline) -> tuple[list[tuple[Vec, Vec]], float]:
    """The axis as straight parts, and how far an arc strays from its chords at most."""
    parts: list[tuple[Vec, Vec]] = []
    sagitta = 0.0
    for segment in line.segments:
        count = CHORDS if isinstance(segment, Arc) else 1
        span = (segment.end_s - segment.start_s) / count
        points = [segment.point_at(segment.start_s + span * k) for k in range(count + 1)]
        parts.extend(pairwise(points))
        if isinstance(segment, Arc):
            sagitta = max(sagitta, segment.radius_mm * (1.0 - cos(0.5 * span / segment.radius_mm)))
    return parts, sagitta


def fcl_at(geometry: Box | Any, origin: Vec, x: Vec, y: Vec, z: Vec) -> Any:
    fcl = pytest.importorskip("fcl")
    np = pytest.importorskip("numpy")
    return fcl.CollisionObject(geometry, fcl.Transform(np.array([x, y, z]).T, np.array(origin)))


def square_to(z: Vec) -> tuple[Vec, Vec]:
    other = (1.0, 0.0, 0.0) if abs(z[0]) < 0.7 else (0.0, 1.0, 0.0)
    x = unit(cross(other, z))
    return x, cross(z, x)


def fcl_bar(kind: Any, a: Vec, b: Vec, radius: float) -> Any:
    """FCL's capsule or cylinder, which lie along z about their middle, from a to b."""
    z = unit(sub(b, a))
    x, y = square_to(z)
    return fcl_at(kind(radius, norm(sub(b, a))), scale(add(a, b), 0.5), x, y, z)


def fcl_solid(solid: Box | Cylinder) -> Any:
    fcl = pytest.importorskip("fcl")
    if isinstance(solid, Cylinder):
        return fcl_bar(fcl.Cylinder, solid.start, solid.end, solid.radius_mm)
    x, y, z = (unit(edge) for edge in (solid.edge_x, solid.edge_y, solid.edge_z))
    assert dot(cross(x, y), z) > 0.0
    size = (norm(solid.edge_x), norm(solid.edge_y), norm(solid.edge_z))
    middle = add(solid.corner, scale(add(add(solid.edge_x, solid.edge_y), solid.edge_z), 0.5))
    return fcl_at(fcl.Box(*size), middle, x, y, z)


@pytest.mark.parametrize("kind", ["box", "cylinder"])
def test_gap_of_the_tube_agrees_with_the_collision_library(kind: str) -> None:
    fcl = pytest.importorskip("fcl")
    rng = random.Random(f"library {kind}")
    tube_radius, gaps, touches = 11.7, 0, 0
    for _ in range(150):
        _, line = random_piece(rng)
        solid = random_box(rng) if kind == "box" else random_cylinder(rng)
        parts, sagitta = chords(line)
        other = fcl_solid(solid)
        bars = [fcl_bar(fcl.Capsule, a, b, tube_radius) for a, b in parts]
        ours = least_distance(line, solid).distance_mm - tube_radius
        allowed = sagitta + FCL_TOLERANCE_MM
        hit = any(fcl.collide(bar, other, fcl.CollisionRequest(), fcl.CollisionResult()) for bar in bars)
        if abs(ours) > allowed:
            assert hit == (ours < 0.0)
        if ours > allowed:
            gaps += 1
            request = fcl.DistanceRequest()
            theirs = min(fcl.distance(bar, other, request, fcl.DistanceResult()) for bar in bars)
            assert theirs == pytest.approx(ours, rel=0, abs=allowed)
        else:
            touches += 1
    assert gaps >= 30
    assert touches >= 3
