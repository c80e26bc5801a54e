"""Triangles for tubes, blocks and round bars. Room coordinates mm; faces turn anticlockwise as seen from outside."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, cos, pi, radians, sin
from typing import NamedTuple

from racewright.exports.tubes import Tube, box_corners
from racewright.geometry.chain import Arc, Centreline, any_normal
from racewright.geometry.clearance import Box, Cylinder
from racewright.geometry.frame import Frame
from racewright.geometry.vector import Vec, add, along, cross, dot, scale, sub, unit

SIDES = 24
STEP_DEG = 5.0


class Mesh(NamedTuple):
    """Corner points, the outward direction at each, and triangles as triples of indices. Points count from `origin`."""

    origin: Vec
    points: list[Vec]
    normals: list[Vec]
    triangles: list[int]

    def vertex(self, point: Vec, normal: Vec) -> int:
        """Add a corner; returns its index."""
        self.points.append(sub(point, self.origin))
        self.normals.append(normal)
        return len(self.points) - 1


def stations(line: Centreline, step_deg: float = STEP_DEG) -> Iterator[float]:
    """Where rings stand: the ends of every segment, and along arcs so often that none turns more than `step_deg`."""
    yield 0.0
    for segment in line.segments:
        parts = ceil(segment.angle_rad / radians(step_deg) - 1e-9) if isinstance(segment, Arc) else 1
        for k in range(1, max(1, parts) + 1):
            yield segment.start_s + (segment.end_s - segment.start_s) * k / max(1, parts)


def tube_mesh(tube: Tube) -> Mesh:
    """The wall of a tube: outside, inside and the two cut ends. Ring points lie on the true surfaces."""
    line = tube.centreline
    mesh = Mesh(line.point_at(0.0), [], [], [])
    frames = [line.frame_at(s) for s in stations(line)]
    outer, inner = tube.outside_diameter_mm / 2.0, tube.inside_diameter_mm / 2.0
    _skin(mesh, frames, outer, 1.0)
    if 0.0 < inner < outer:
        _skin(mesh, frames, inner, -1.0)
    else:
        inner = 0.0
    _cut_end(mesh, frames[0], outer, inner, -1.0)
    _cut_end(mesh, frames[-1], outer, inner, 1.0)
    return mesh


def box_mesh(box: Box) -> Mesh:
    """A block, flat faces."""
    mesh = Mesh(box.corner, [], [], [])
    corners = box_corners(box)
    middle = add(box.corner, scale(add(add(box.edge_x, box.edge_y), box.edge_z), 0.5))
    for a, b, c, d in ((0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)):
        face = [corners[a], corners[b], corners[c], corners[d]]
        normal = unit(cross(sub(face[1], face[0]), sub(face[3], face[0])))
        if dot(normal, sub(face[0], middle)) < 0.0:
            face.reverse()
            normal = scale(normal, -1.0)
        i, j, k, m = (mesh.vertex(p, normal) for p in face)
        mesh.triangles.extend((i, j, k, i, k, m))
    return mesh


def cylinder_mesh(bar: Cylinder) -> Mesh:
    """A round bar with flat ends."""
    mesh = Mesh(bar.start, [], [], [])
    axis = unit(sub(bar.end, bar.start))
    start = Frame(bar.start, axis, any_normal(axis))
    end = start._replace(origin=bar.end)
    _skin(mesh, [start, end], bar.radius_mm, 1.0)
    _cut_end(mesh, start, bar.radius_mm, 0.0, -1.0)
    _cut_end(mesh, end, bar.radius_mm, 0.0, 1.0)
    return mesh


def _spokes(frame: Frame) -> list[Vec]:
    return [_spoke(frame, 2.0 * pi * k / SIDES) for k in range(SIDES)]


def _spoke(frame: Frame, angle: float) -> Vec:
    return add(scale(frame.normal, cos(angle)), scale(frame.binormal, sin(angle)))


def _skin(mesh: Mesh, frames: list[Frame], radius_mm: float, way: float) -> None:
    """The rings of a round surface; `way` 1 faces outward, -1 toward the axis."""
    before: list[int] = []
    for frame in frames:
        ring = [mesh.vertex(along(frame.origin, e, radius_mm), scale(e, way)) for e in _spokes(frame)]
        for k in range(len(before)):
            a, b = before[k], before[(k + 1) % SIDES]
            c, d = ring[(k + 1) % SIDES], ring[k]
            mesh.triangles.extend((a, b, c, a, c, d) if way > 0.0 else (a, c, b, a, d, c))
        before = ring


def _cut_end(mesh: Mesh, frame: Frame, outer_mm: float, inner_mm: float, way: float) -> None:
    """A flat ring (or disc, where `inner_mm` is 0) that faces along the axis (`way` 1) or against it."""
    normal = scale(frame.axis, way)
    spokes = _spokes(frame)
    rim = [mesh.vertex(along(frame.origin, e, outer_mm), normal) for e in spokes]
    if inner_mm > 0.0:
        hole = [mesh.vertex(along(frame.origin, e, inner_mm), normal) for e in spokes]
    else:
        hole = [mesh.vertex(frame.origin, normal)] * SIDES
    for k in range(SIDES):
        a, b, c, d = rim[k], rim[(k + 1) % SIDES], hole[(k + 1) % SIDES], hole[k]
        turn = (a, b, c, a, c, d) if inner_mm > 0.0 else (a, b, c)
        mesh.triangles.extend(turn if way > 0.0 else reversed(turn))
