"""Tubes -> glTF 2.0 in one binary file: metres, y up, one node a piece. Written by hand: json and struct are enough.

Source of the layout: glTF 2.0 specification (ISO/IEC 12113:2022), binary container in section 4.4; from memory.
Room (x, y, z up) becomes (x, z, -y), a plain turn, so that nothing is mirrored. Meshes are in room coordinates, mm;
their faces turn counterclockwise as seen from outside.
"""

from __future__ import annotations

import struct
import sys
from array import array
from collections.abc import Iterator
from math import ceil, cos, pi, radians, sin
from typing import Any, NamedTuple

import msgspec

from racewright.exports.tubes import Tube, TubeModel, TubeRun
from racewright.geometry.chain import Arc, Centreline, any_normal
from racewright.geometry.solids import Box, Cylinder
from racewright.geometry.vector import Frame, Vec, add, along, cross, dot, scale, sub, unit
from racewright.printable import printable
from racewright.records.naming import NO_AREA

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
    corners = box.corners()
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


_FLOAT, _UNSIGNED = 5126, 5125
_VERTICES, _INDICES = 34962, 34963

#: material -> base colour (linear red, green, blue, alpha), metal, roughness
_MATERIALS = {
    "galvanised steel": ((0.60, 0.61, 0.62, 1.0), 0.7, 0.45),
    "plastic, gray": ((0.30, 0.31, 0.33, 1.0), 0.0, 0.6),
    "obstacle": ((0.55, 0.35, 0.20, 0.45), 0.0, 0.9),
}


def to_gltf(model: TubeModel) -> bytes:
    """The model as a .glb file. Nodes: model, area (where there are several), run, piece; `extras` hold the
    raceway and the lengths in mm."""
    return _Writer(model).file()


class _Writer:
    def __init__(self, model: TubeModel) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.nodes: list[dict[str, Any]] = []
        self.materials: dict[str, int] = {}
        areas = model.areas
        children = []
        for area in areas:
            runs = [self._run(run) for run in model.runs if run.area == area]
            children += [self._node(area or NO_AREA, children=runs)] if len(areas) > 1 else runs
        self.root = self._node(model.title, children=children)

    def file(self) -> bytes:
        document: dict[str, Any] = {
            "asset": {"version": "2.0", "generator": "Racewright"},
            "scene": 0,
            "scenes": [{"nodes": [self.root]}],
            "nodes": self.nodes,
        }
        if self.meshes:
            document |= {
                "meshes": self.meshes,
                "materials": [_material(name) for name in self.materials],
                "accessors": self.accessors,
                "bufferViews": self.views,
                "buffers": [{"byteLength": len(self.data)}],
            }
        text = msgspec.json.encode(document)
        text += b" " * (-len(text) % 4)
        chunks = struct.pack("<I4s", len(text), b"JSON") + text
        if self.meshes:
            chunks += struct.pack("<I4s", len(self.data), b"BIN\0") + bytes(self.data)
        return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks

    def _run(self, run: TubeRun) -> int:
        children = [self._tube(tube) for tube in run.tubes]
        for body in run.fittings:
            parts = [self._shape(body.label, cylinder_mesh(part), "plastic, gray") for part in body.parts]
            children.append(self._node(body.label, children=parts))
        for solid in run.solids:
            if isinstance(solid.solid, Box):
                children.append(self._shape(solid.name, box_mesh(solid.solid), "obstacle"))
            elif isinstance(solid.solid, Cylinder):
                children.append(self._shape(solid.name, cylinder_mesh(solid.solid), "obstacle"))
        extras = {"key": run.key, "area": run.area}
        name = run.name if run.key == run.name else f"{run.key} {run.name}"
        return self._node(name, children=children, at=run.shift, extras=extras)

    def _tube(self, tube: Tube) -> int:
        extras = {
            "raceway": tube.raceway,
            "cut_length_mm": tube.centreline.length_mm,
            "outside_diameter_mm": tube.outside_diameter_mm,
        }
        kind = "plastic, gray" if tube.raceway.startswith("PVC") else "galvanised steel"
        return self._shape(f"{tube.name}, {tube.raceway}", tube_mesh(tube), kind, extras)

    def _shape(self, name: str, mesh: Mesh, material: str, extras: dict[str, Any] | None = None) -> int:
        primitive = {
            "attributes": {"POSITION": self._vectors(mesh.points, 0.001), "NORMAL": self._vectors(mesh.normals, 1.0)},
            "indices": self._indices(mesh.triangles),
            "material": self.materials.setdefault(material, len(self.materials)),
            "mode": 4,
        }
        self.meshes.append({"name": printable(name), "primitives": [primitive]})
        return self._node(name, mesh=len(self.meshes) - 1, at=mesh.origin, extras=extras)

    def _node(
        self,
        name: str,
        *,
        children: list[int] | None = None,
        mesh: int | None = None,
        at: Vec | None = None,
        extras: dict[str, Any] | None = None,
    ) -> int:
        node: dict[str, Any] = {"name": printable(name)}
        if children:
            node["children"] = children
        if mesh is not None:
            node["mesh"] = mesh
        if at is not None:
            node["translation"] = _turned(at, 0.001)
        if extras:
            node["extras"] = extras
        self.nodes.append(node)
        return len(self.nodes) - 1

    def _vectors(self, vectors: list[Vec], factor: float) -> int:
        flat = array("f")
        for vector in vectors:
            flat.extend(_turned(vector, factor))
        low = [min(flat[k::3]) for k in range(3)]
        high = [max(flat[k::3]) for k in range(3)]
        view = self._view(flat, _VERTICES)
        self.accessors.append(
            {
                "bufferView": view,
                "componentType": _FLOAT,
                "count": len(vectors),
                "type": "VEC3",
                "min": low,
                "max": high,
            }
        )
        return len(self.accessors) - 1

    def _indices(self, indices: list[int]) -> int:
        view = self._view(array("I", indices), _INDICES)
        self.accessors.append({"bufferView": view, "componentType": _UNSIGNED, "count": len(indices), "type": "SCALAR"})
        return len(self.accessors) - 1

    def _view(self, values: array[Any], target: int) -> int:
        """Items of four bytes, little-endian, so every view begins at a multiple of four."""
        if sys.byteorder == "big":
            values.byteswap()
        raw = values.tobytes()
        self.views.append({"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target})
        self.data += raw
        return len(self.views) - 1


def _turned(vector: Vec, factor: float) -> tuple[float, float, float]:
    return (vector[0] * factor, vector[2] * factor, -vector[1] * factor)


def _material(name: str) -> dict[str, Any]:
    colour, metal, rough = _MATERIALS[name]
    out: dict[str, Any] = {
        "name": name,
        "pbrMetallicRoughness": {"baseColorFactor": colour, "metallicFactor": metal, "roughnessFactor": rough},
    }
    if colour[3] < 1.0:
        out |= {"alphaMode": "BLEND", "doubleSided": True}
    return out
