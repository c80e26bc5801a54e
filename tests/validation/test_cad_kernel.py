"""Bent pieces against a CAD kernel: Open CASCADE, reached through build123d's binding.

The kernel builds each piece from its own circles and lines, moved by its own transformations; measures the wire's
length by its own quadrature; and finds stations along it by its own arc-length inversion. Tolerance 1e-6 mm on
pieces of up to some 6 m. The kernel's inversion is asked for 1e-9 mm.
"""

from __future__ import annotations

import random
from math import hypot, pi
from typing import Any

import pytest
from chain_inverse import turns_to_corners

from racewright.geometry.chain import Arc, Centreline, Turn, corners_to_turns

pytestmark = pytest.mark.oracle

TOLERANCE_MM = 1e-6
PIECES = 240


def random_piece(rng: random.Random, count: int) -> tuple[float, list[Turn]]:
    s, turns = 0.0, []
    for _ in range(count):
        s += rng.choice([0.0, rng.uniform(5.0, 400.0)])
        turn = Turn(s, rng.uniform(0.02, 2.8), rng.uniform(-pi, pi), rng.uniform(60.0, 400.0))
        turns.append(turn)
        s += turn.angle_rad * turn.radius_mm
    return s + rng.uniform(1.0, 500.0), turns


def kernel_edges(length: float, turns: list[Turn]) -> tuple[list[Any], Any]:
    """The piece as kernel edges, and the kernel's transformation at end B.

    Local frame: axis x, a bend at roll 0 turns toward z, about -y.
    """
    gp = pytest.importorskip("OCP.gp")
    make = pytest.importorskip("OCP.BRepBuilderAPI")
    origin, along, up = gp.gp_Pnt(0, 0, 0), gp.gp_Dir(1, 0, 0), gp.gp_Dir(0, 0, -1)

    def rotation(axis: Any, angle: Any) -> Any:
        step = gp.gp_Trsf()
        step.SetRotation(axis, angle)
        return step

    def placed(edge: Any, at: Any) -> Any:
        return make.BRepBuilderAPI_Transform(edge, at, True).Shape()

    here = gp.gp_Trsf()
    edges, s = [], 0.0

    def straight(here: Any, size: Any) -> Any:
        if size < 1e-9:
            return here
        edge = make.BRepBuilderAPI_MakeEdge(origin, gp.gp_Pnt(size, 0, 0)).Edge()
        edges.append(placed(edge, here))
        step = gp.gp_Trsf()
        step.SetTranslation(gp.gp_Vec(size, 0, 0))
        return here.Multiplied(step)

    for turn in turns:
        here = straight(here, turn.arc_start_mm - s)
        here = here.Multiplied(rotation(gp.gp_Ax1(origin, along), turn.roll_rad))
        centre, about = gp.gp_Pnt(0, 0, turn.radius_mm), gp.gp_Dir(0, -1, 0)
        circle = gp.gp_Circ(gp.gp_Ax2(centre, about, up), turn.radius_mm)
        edges.append(placed(make.BRepBuilderAPI_MakeEdge(circle, 0.0, turn.angle_rad).Edge(), here))
        here = here.Multiplied(rotation(gp.gp_Ax1(centre, about), turn.angle_rad))
        here = here.Multiplied(rotation(gp.gp_Ax1(origin, along), -turn.roll_rad))
        s = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
    return edges, straight(here, length - s)


def kernel_curve(edges: list[Any]) -> Any:
    """The edges joined to one wire, as one curve."""
    make = pytest.importorskip("OCP.BRepBuilderAPI")
    adaptor = pytest.importorskip("OCP.BRepAdaptor")
    topods = pytest.importorskip("OCP.TopoDS").TopoDS
    wire = make.BRepBuilderAPI_MakeWire()
    for edge in edges:
        wire.Add(topods.Edge_s(edge) if hasattr(topods, "Edge_s") else topods.Edge(edge))
    assert wire.IsDone()
    return adaptor.BRepAdaptor_CompCurve(wire.Wire())


def apart(point: tuple[float, ...], kernel_point: Any) -> float:
    return hypot(point[0] - kernel_point.X(), point[1] - kernel_point.Y(), point[2] - kernel_point.Z())


def test_length_stations_and_far_end_agree_with_the_kernel() -> None:
    gp = pytest.importorskip("OCP.gp")
    abscissa = pytest.importorskip("OCP.GCPnts").GCPnts_AbscissaPoint
    rng = random.Random(20_260_101)
    worst_length = worst_point = worst_end = worst_way = 0.0
    for index in range(PIECES):
        length, turns = random_piece(rng, index % 9)
        line = Centreline.from_turns(length, turns)
        edges, far = kernel_edges(length, turns)
        curve = kernel_curve(edges)
        worst_length = max(worst_length, abs(abscissa.Length_s(curve, 1e-10) - line.length_mm))
        first = curve.FirstParameter()
        for part in (0.0, 0.23, 0.5, 0.81, 1.0):
            s = part * length
            at = abscissa(curve, s, first, 1e-9).Parameter() if 0.0 < part < 1.0 else None
            if at is None:
                at = first if part == 0.0 else curve.LastParameter()
            worst_point = max(worst_point, apart(line.point_at(s), curve.Value(at)))
        end = line.end_frame
        worst_end = max(worst_end, apart(end.origin, gp.gp_Pnt(0, 0, 0).Transformed(far)))
        worst_way = max(
            worst_way,
            apart(end.axis, gp.gp_Vec(1, 0, 0).Transformed(far)),
            apart(end.normal, gp.gp_Vec(0, 0, 1).Transformed(far)),
        )
    assert worst_length < TOLERANCE_MM
    assert worst_point < TOLERANCE_MM
    assert worst_end < TOLERANCE_MM
    # unit directions
    assert worst_way < 1e-9


def test_corner_fits_agree_with_the_kernels_fillets() -> None:
    """The kernel rounds each corner of a polyline itself; its arcs' centres must be ours.

    Where an arc uses up a whole leg the kernel makes its radius 1e-5 mm less; those are left out.
    """
    gp = pytest.importorskip("OCP.gp")
    make = pytest.importorskip("OCP.BRepBuilderAPI")
    fillet = pytest.importorskip("OCP.ChFi2d").ChFi2d_FilletAPI
    adaptor = pytest.importorskip("OCP.BRepAdaptor").BRepAdaptor_Curve
    rng = random.Random(7)
    checked, worst = 0, 0.0
    for index in range(60):
        length, turns = random_piece(rng, 1 + index % 4)
        corners = turns_to_corners(length, turns)
        fit = corners_to_turns(corners, [turn.radius_mm for turn in turns])
        line = Centreline.from_turns(*fit)
        for k, turn in enumerate(fit.turns, start=1):
            a, b, c = (gp.gp_Pnt(*corners[k + j]) for j in (-1, 0, 1))
            legs = (make.BRepBuilderAPI_MakeEdge(a, b).Edge(), make.BRepBuilderAPI_MakeEdge(b, c).Edge())
            normal = gp.gp_Dir(gp.gp_Vec(a, b).Crossed(gp.gp_Vec(b, c)))
            rounding = fillet(*legs, gp.gp_Pln(b, normal))
            if not rounding.Perform(turn.radius_mm):
                continue
            circle = adaptor(rounding.Result(b, *legs)).Circle()
            if abs(circle.Radius() - turn.radius_mm) > 1e-9:
                continue
            segment = line.segment_at(turn.arc_start_mm + 0.5 * turn.radius_mm * turn.angle_rad)
            assert isinstance(segment, Arc)
            worst = max(worst, apart(segment.centre, circle.Location()))
            checked += 1
    assert checked >= 100
    assert worst < TOLERANCE_MM
