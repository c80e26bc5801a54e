"""DXF files opened by ezdxf, a library that is not ours: audit without errors, and geometry measured from its entities.

Tolerance: 1e-6 mm, far below what a tape shows; the writer prints 16 digits.
"""

from __future__ import annotations

from io import StringIO
from itertools import pairwise
from math import dist, radians
from pathlib import Path
from typing import Any

import pytest
from export_factory import BODY, OUTSIDE_MM, every_shape

from racewright.exports.dxf import APPLICATION, to_dxf
from racewright.exports.tubes import TubeModel, plane_normal, tubes_of
from racewright.geometry.vector import add
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

ezdxf = pytest.importorskip("ezdxf")
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
TOLERANCE_MM = 1e-6


def opened(model: TubeModel) -> Any:
    return ezdxf.read(StringIO(to_dxf(model).decode("utf-8")))


def length_of(entity: Any) -> float:
    if entity.dxftype() == "LINE":
        return float((entity.dxf.end - entity.dxf.start).magnitude)
    return float(entity.dxf.radius * radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0))


def ends_of(entity: Any) -> tuple[Any, Any]:
    """Both ends in room coordinates; ezdxf turns an ARC's plane into the room by itself."""
    if entity.dxftype() == "LINE":
        return tuple(entity.dxf.start), tuple(entity.dxf.end)
    return tuple(entity.start_point), tuple(entity.end_point)


def pieces_of(doc: Any) -> dict[tuple[str, str], list[Any]]:
    """Centreline entities by run and piece, in the file's order."""
    out: dict[tuple[str, str], list[Any]] = {}
    for entity in doc.modelspace().query('*[layer=="CENTRELINE"]'):
        tags = [tag.value for tag in entity.get_xdata(APPLICATION)]
        out.setdefault((tags[0], tags[1]), []).append(entity)
    return out


@pytest.fixture(scope="module")
def model() -> TubeModel:
    return every_shape()


def test_the_audit_finds_nothing(model: TubeModel) -> None:
    auditor = opened(model).audit()
    assert (auditor.errors, auditor.fixes) == ([], [])


def test_the_drawing_is_in_millimetres(model: TubeModel) -> None:
    doc = opened(model)
    assert (doc.units, doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (4, 4, 1)


def test_lines_and_arcs_add_up_to_the_cut_length(model: TubeModel) -> None:
    found = pieces_of(opened(model))
    for run in model.runs:
        for tube in run.tubes:
            entities = found[f"run {run.key}", f"{tube.name}, {tube.raceway}"]
            total = sum(length_of(entity) for entity in entities)
            assert total == pytest.approx(tube.centreline.length_mm, abs=TOLERANCE_MM)
            assert entities[0].get_xdata(APPLICATION)[2].value == pytest.approx(tube.centreline.length_mm)


def test_every_entity_begins_where_the_one_before_ends(model: TubeModel) -> None:
    found = pieces_of(opened(model))
    for run in model.runs:
        for tube in run.tubes:
            ends = [ends_of(e) for e in found[f"run {run.key}", f"{tube.name}, {tube.raceway}"]]
            assert dist(ends[0][0], add(tube.centreline.point_at(0.0), run.shift)) < TOLERANCE_MM
            assert dist(ends[-1][1], add(tube.centreline.end_frame.origin, run.shift)) < TOLERANCE_MM
            assert all(dist(a[1], b[0]) < TOLERANCE_MM for a, b in pairwise(ends))


def test_edges_stand_half_a_diameter_off_the_axis(model: TubeModel) -> None:
    flat = [(run, tube) for run in model.runs for tube in run.tubes if plane_normal(tube.centreline)]
    assert len(flat) == 6
    for run, tube in flat:
        doc = opened(TubeModel("one", (run._replace(tubes=(tube,), solids=()),)))
        edges = [ends_of(e) for e in doc.modelspace().query('*[layer=="OUTSIDE"]')]
        count = len(tube.centreline.segments)
        for side in (edges[:count], edges[count:]):
            assert all(dist(a[1], b[0]) < TOLERANCE_MM for a, b in pairwise(side))
            start = add(tube.centreline.point_at(0.0), run.shift)
            assert dist(side[0][0], start) == pytest.approx(OUTSIDE_MM / 2.0, abs=TOLERANCE_MM)


def test_marks_stand_on_the_axis(model: TubeModel) -> None:
    points = [tuple(p.dxf.location) for p in opened(model).modelspace().query("POINT")]
    wanted = [
        add(tube.centreline.point_at(mark.station_mm), run.shift)
        for run in model.runs
        for tube in run.tubes
        for mark in tube.marks
    ]
    assert len(points) == len(wanted)
    assert all(dist(a, b) < TOLERANCE_MM for a, b in zip(points, wanted, strict=True))


def test_an_expansion_fitting_is_drawn_by_the_rims_and_sides_of_its_parts(model: TubeModel) -> None:
    space = opened(model).modelspace()
    rims = sorted(e.dxf.radius for e in space.query('CIRCLE[layer=="FITTING"]'))
    assert rims == pytest.approx(sorted(part.radius_mm for part in BODY.parts for _ in range(2)))
    sides = sorted(length_of(e) for e in space.query('LINE[layer=="FITTING"]'))
    assert sides == pytest.approx(sorted(dist(p.start, p.end) for p in BODY.parts for _ in range(4)))


def test_each_run_is_a_group_even_when_its_name_is_not_one(model: TubeModel) -> None:
    odd = tuple(run._replace(key=key) for run, key in zip(model.runs, ("a/b", "a_b", "*", "é"), strict=False))
    doc = opened(TubeModel("odd", odd))
    assert len(list(doc.groups)) == 4
    assert doc.audit().errors == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_run(path: Path) -> None:
    plan = plan_run(read_survey_file(path).survey)
    doc = opened(TubeModel(plan.name, (tubes_of(plan),)))
    assert doc.audit().errors == []
    total = sum(length_of(e) for e in doc.modelspace().query('*[layer=="CENTRELINE"]'))
    assert total == pytest.approx(sum(p.cut_length_mm for p in plan.pieces), abs=TOLERANCE_MM * len(plan.pieces))
