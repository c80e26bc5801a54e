"""glTF files taken apart by the layout of the glTF 2.0 specification with json and struct alone, apart from the writer.

Tolerance: 1e-4 mm for single precision at a few metres; where rings stand up to 5 degrees apart, the bend's outside is
flattened by less than (R + D/2) (1 - cos 2.5 deg) = 0.12 mm.
"""

from __future__ import annotations

import json
import struct
from math import cos, dist, pi, radians, sqrt
from pathlib import Path
from typing import Any

import pytest
from export_factory import BODY, INSIDE_MM, OUTSIDE_MM, RADIUS_MM, every_shape

from racewright.exports.gltf import to_gltf
from racewright.exports.tubes import Tube, TubeModel, tubes_of
from racewright.geometry.vector import Vec, add
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
TOLERANCE_MM = 1e-4
FLAT_MM = (RADIUS_MM + OUTSIDE_MM / 2.0) * (1.0 - cos(radians(2.5)))


class Glb:
    """A binary file as its parts; points in room mm again (x, y, z up)."""

    def __init__(self, data: bytes) -> None:
        magic, version, length = struct.unpack_from("<4sII", data)
        assert (magic, version, length) == (b"glTF", 2, len(data))
        size, kind = struct.unpack_from("<I4s", data, 12)
        assert kind == b"JSON"
        assert size % 4 == 0
        self.json = json.loads(data[20 : 20 + size])
        self.bin = b""
        if len(data) > 20 + size:
            length, kind = struct.unpack_from("<I4s", data, 20 + size)
            assert kind == b"BIN\0"
            self.bin = data[28 + size : 28 + size + length]
            assert len(self.bin) == self.json["buffers"][0]["byteLength"]

    def numbers(self, accessor: int) -> list[tuple[float, ...]]:
        a = self.json["accessors"][accessor]
        view = self.json["bufferViews"][a["bufferView"]]
        wide, code = (3, "f") if a["type"] == "VEC3" else (1, "I")
        assert a["componentType"] == (5126 if code == "f" else 5125)
        flat = struct.unpack_from(f"<{a['count'] * wide}{code}", self.bin, view["byteOffset"])
        rows = [flat[k : k + wide] for k in range(0, len(flat), wide)]
        if wide == 3:
            assert a["min"] == [min(row[k] for row in rows) for k in range(3)]
            assert a["max"] == [max(row[k] for row in rows) for k in range(3)]
        return rows

    def meshes(self) -> list[tuple[dict[str, Any], list[Vec], list[Vec], list[int]]]:
        """Nodes with a mesh: the node, points and normals in room mm, triangle corners."""
        out: list[Any] = []

        def walk(index: int, at: Vec) -> None:
            node = self.json["nodes"][index]
            x, y, z = node.get("translation", (0.0, 0.0, 0.0))
            here = add(at, (x * 1000.0, -z * 1000.0, y * 1000.0))
            if "mesh" in node:
                (part,) = self.json["meshes"][node["mesh"]]["primitives"]
                points = self.numbers(part["attributes"]["POSITION"])
                normals = self.numbers(part["attributes"]["NORMAL"])
                out.append(
                    (
                        node,
                        [add(here, (p[0] * 1000.0, -p[2] * 1000.0, p[1] * 1000.0)) for p in points],
                        [(n[0], -n[2], n[1]) for n in normals],
                        [int(row[0]) for row in self.numbers(part["indices"])],
                    )
                )
            for child in node.get("children", ()):
                walk(child, here)

        for root in self.json["scenes"][self.json["scene"]]["nodes"]:
            walk(root, (0.0, 0.0, 0.0))
        return out


def volume_mm3(points: list[Vec], corners: list[int]) -> float:
    """Of the body that the triangles close, by the divergence theorem; negative where they face inward."""
    origin = points[0]
    total = 0.0
    for k in range(0, len(corners), 3):
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (
            tuple(points[i][j] - origin[j] for j in range(3)) for i in corners[k : k + 3]
        )
        total += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    return total / 6.0


def tight_box(tube: Tube, shift: Vec) -> tuple[list[float], list[float]]:
    """The tube's true bounding box: at each axis point the wall reaches r sqrt(1 - t_k^2) along coordinate k."""
    line, r = tube.centreline, OUTSIDE_MM / 2.0
    low, high = [1e9] * 3, [-1e9] * 3
    stations = [line.length_mm * k / 4000.0 for k in range(4001)]
    stations += [s for segment in line.segments for s in (segment.start_s, segment.end_s)]
    for s in stations:
        p, t = add(line.point_at(s), shift), line.tangent_at(s)
        for k in range(3):
            reach = r * sqrt(max(0.0, 1.0 - t[k] ** 2))
            low[k], high[k] = min(low[k], p[k] - reach), max(high[k], p[k] + reach)
    return low, high


@pytest.fixture(scope="module")
def model() -> TubeModel:
    return every_shape()


@pytest.fixture(scope="module")
def glb(model: TubeModel) -> Glb:
    return Glb(to_gltf(model))


def tubes_with_meshes(model: TubeModel, glb: Glb) -> list[tuple[Tube, Vec, Any]]:
    meshes = [m for m in glb.meshes() if "extras" in m[0]]
    tubes = [(t, run.shift) for area in model.areas for run in model.runs if run.area == area for t in run.tubes]
    assert len(meshes) == len(tubes)
    return [(t, shift, mesh) for (t, shift), mesh in zip(tubes, meshes, strict=True)]


def test_bounding_boxes_match_the_centreline(model: TubeModel, glb: Glb) -> None:
    # 24 sides leave up to r (1 - cos 7.5 deg) = 0.08 mm of the round wall out
    slack = FLAT_MM + OUTSIDE_MM / 2.0 * (1.0 - cos(pi / 24.0)) + TOLERANCE_MM
    for tube, shift, (_, points, _, _) in tubes_with_meshes(model, glb):
        low, high = tight_box(tube, shift)
        for k in range(3):
            least, most = min(p[k] for p in points), max(p[k] for p in points)
            assert low[k] - TOLERANCE_MM <= least <= low[k] + slack
            assert high[k] - slack <= most <= high[k] + TOLERANCE_MM


def test_walls_are_closed_and_face_outward(model: TubeModel, glb: Glb) -> None:
    """The volume of the closed wall is that of the true tube but for the flats of 24 sides and 5 degree steps: 2 %."""
    wall = pi / 4.0 * (OUTSIDE_MM**2 - INSIDE_MM**2)
    for tube, _, (_, points, _, corners) in tubes_with_meshes(model, glb):
        assert volume_mm3(points, corners) == pytest.approx(wall * tube.centreline.length_mm, rel=0.02)
        # closed: every edge is used once each way, by points that fall together
        names: dict[tuple[Any, ...], int] = {}
        spot = [names.setdefault(tuple(round(c, 3) for c in p), len(names)) for p in points]
        edges: dict[tuple[int, int], int] = {}
        for k in range(0, len(corners), 3):
            i, j, m = (spot[c] for c in corners[k : k + 3])
            for edge in ((i, j), (j, m), (m, i)):
                edges[edge] = edges.get(edge, 0) + 1
        assert all(edges.get((b, a), 0) == n for (a, b), n in edges.items())


def test_points_stand_on_the_true_wall(model: TubeModel, glb: Glb) -> None:
    for tube, shift, (_, points, normals, _) in tubes_with_meshes(model, glb):
        ring = points[:24]
        centre = add(tube.centreline.point_at(0.0), shift)
        assert all(dist(p, centre) == pytest.approx(OUTSIDE_MM / 2.0, abs=TOLERANCE_MM) for p in ring)
        assert all(dist(n, (0.0, 0.0, 0.0)) == pytest.approx(1.0, abs=1e-6) for n in normals)


def test_lengths_names_and_materials_are_told(model: TubeModel, glb: Glb) -> None:
    for tube, _, (node, _, _, _) in tubes_with_meshes(model, glb):
        assert node["extras"]["cut_length_mm"] == tube.centreline.length_mm
        assert node["name"] == f"{tube.name}, EMT 1/2"
    names = [node["name"] for node in glb.json["nodes"]]
    assert {"Orchard cooperative", "pump house", "packing shed", "duct", "water pipe"} <= set(names)
    assert [m["name"] for m in glb.json["materials"]] == ["galvanised steel", "plastic, gray", "obstacle"]


def test_obstacles_have_their_volume(glb: Glb) -> None:
    shapes = {node["name"]: volume_mm3(points, corners) for node, points, _, corners in glb.meshes()}
    assert shapes["duct"] == pytest.approx(90.0 * 60.0 * 30.0, rel=1e-5)
    bar = pi * 21.0**2 * sqrt(160.0**2 + 30.0**2)
    assert shapes["water pipe"] == pytest.approx(bar, rel=0.012)  # a 24-sided bar has 1.1 % less


def test_an_expansion_fitting_has_its_parts_volumes(glb: Glb) -> None:
    found = [
        abs(volume_mm3(points, corners)) for node, points, _, corners in glb.meshes() if node["name"] == BODY.label
    ]
    wanted = [pi * part.radius_mm**2 * dist(part.start, part.end) for part in BODY.parts]
    assert found == pytest.approx(wanted, rel=0.012)


def test_a_model_without_runs_is_a_file_too() -> None:
    assert Glb(to_gltf(TubeModel("empty", ()))).json["nodes"] == [{"name": "empty"}]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_run(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    glb = Glb(to_gltf(TubeModel(plan.name, (tubes_of(plan),))))
    told = [node["extras"]["cut_length_mm"] for node, *_ in glb.meshes() if "extras" in node]
    assert told == pytest.approx([piece.cut_length_mm for piece in plan.pieces], rel=1e-12)
