"""IFC4 files judged and read back by ifcopenshell, a library that is not ours: its schema check with the standard's own
rules (ISO 16739-1:2018), its geometry engine, and lengths worked out from the points in the file.

Tolerance: 1e-6 mm for lengths from points; 0.5 % for the engine's volume, which it takes from flat facets.
"""

from __future__ import annotations

import re
from math import acos, dist, pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from export_factory import BODY, INSIDE_MM, OUTSIDE_MM, every_shape

from racewright.exports.ifc import to_ifc
from racewright.exports.tubes import TubeModel, set_out, tubes_of
from racewright.geometry.vector import Vec, add, dot, sub
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file

ifcopenshell = pytest.importorskip("ifcopenshell")
pytestmark = pytest.mark.oracle
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
TOLERANCE_MM = 1e-6


def complaints(data: bytes) -> list[Any]:
    import ifcopenshell.validate

    logger = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(opened(data), logger, express_rules=True)
    return list(logger.statements)


def opened(data: bytes) -> Any:
    return ifcopenshell.file.from_string(data.decode())


def arc_length(a: Vec, b: Vec, c: Vec) -> float:
    """The arc from a over b to c, by the three points alone: circumradius and the angle at the centre."""
    ab, bc, ca = dist(a, b), dist(b, c), dist(c, a)
    half = (ab + bc + ca) / 2.0
    area = sqrt(half * (half - ab) * (half - bc) * (half - ca))
    radius = ab * bc * ca / (4.0 * area)
    # the inscribed angle at b stands on the arc that does not hold b
    at_b = acos(dot(sub(a, b), sub(c, b)) / (ab * bc))
    return radius * (2.0 * pi - 2.0 * at_b)


def axis_length(piece: Any) -> float:
    solid = next(r for r in piece.Representation.Representations if r.RepresentationIdentifier == "Body").Items[0]
    points = solid.Directrix.Points.CoordList
    total = 0.0
    for part in solid.Directrix.Segments:
        at = [points[k - 1] for k in part.wrappedValue]
        total += dist(*at) if part.is_a("IfcLineIndex") else arc_length(*at)
    return total


@pytest.fixture(scope="module")
def model() -> TubeModel:
    return every_shape()


@pytest.fixture(scope="module")
def data(model: TubeModel) -> bytes:
    return to_ifc(model)


@pytest.fixture(scope="module")
def examples() -> TubeModel:
    plans = [plan_run(read_survey_file(path).survey) for path in EXAMPLES]
    return TubeModel("Examples", tuple(set_out([tubes_of(plan) for plan in plans])))


def test_the_schema_and_its_rules_have_no_complaint(model: TubeModel, examples: TubeModel) -> None:
    """All in one file: the judge makes its rules ready for each, which takes seconds."""
    assert complaints(to_ifc(TubeModel("Everything", (*model.runs, *examples.runs)))) == []


def test_the_judge_does_complain_of_a_broken_file(data: bytes) -> None:
    nameless = re.sub(rb"=IFCPROJECT\('[^']*'", b"=IFCPROJECT($", data)
    assert nameless != data
    # a radius of the bore larger than the tube's breaks a rule of IfcSweptDiskSolid
    wide = nameless.replace(f",{OUTSIDE_MM / 2.0},".encode(), b",1.,", 1)
    assert wide != nameless
    found = [one["attribute"] for one in complaints(wide)]
    assert found == ["IfcProject.GlobalId", "IfcSweptDiskSolid.InnerRadiusSize"]


def test_lengths_come_back(model: TubeModel, data: bytes) -> None:
    import ifcopenshell.util.element as elements

    file = opened(data)
    pieces = {piece.Name: piece for piece in file.by_type("IfcCableCarrierSegment")}
    assert len(pieces) == sum(len(run.tubes) for run in model.runs)
    for run in model.runs:
        for tube in run.tubes:
            piece = pieces[tube.name]
            assert axis_length(piece) == pytest.approx(tube.centreline.length_mm, abs=TOLERANCE_MM)
            told = elements.get_psets(piece, qtos_only=True)["Qto_CableCarrierSegmentBaseQuantities"]["Length"]
            assert told == pytest.approx(tube.centreline.length_mm, abs=TOLERANCE_MM)
            assert elements.get_predefined_type(piece) == "CONDUITSEGMENT"
            assert elements.get_type(piece).Name == "EMT 1/2"


def test_the_engine_sweeps_the_same_volume(model: TubeModel, data: bytes) -> None:
    """Volume of a tube of constant section square to its path: section times length (Pappus)."""
    import ifcopenshell.geom
    import ifcopenshell.util.shape as shapes

    settings = ifcopenshell.geom.settings()
    settings.set("mesher-angular-deflection", 0.15)
    settings.set("mesher-linear-deflection", 0.00002)
    lengths = {tube.name: tube.centreline.length_mm for run in model.runs for tube in run.tubes}
    wall = pi / 4.0 * (OUTSIDE_MM**2 - INSIDE_MM**2)
    file = opened(data)
    for piece in file.by_type("IfcCableCarrierSegment"):
        geometry = ifcopenshell.geom.create_shape(settings, piece).geometry
        assert shapes.get_volume(geometry) * 1e9 == pytest.approx(wall * lengths[piece.Name], rel=0.005)


def test_ports_stand_at_the_ends_and_pieces_are_joined(model: TubeModel, data: bytes) -> None:
    import ifcopenshell.util.placement as placement
    import ifcopenshell.util.system as systems

    file = opened(data)
    pieces = {piece.Name: piece for piece in file.by_type("IfcCableCarrierSegment")}
    for run in model.runs:
        names = [tube.name for tube in run.tubes]
        for tube, name in zip(run.tubes, names, strict=True):
            ports = {port.Name: port for port in systems.get_ports(pieces[name])}
            for end, frame, way in (("A", tube.centreline.start_frame, -1.0), ("B", tube.centreline.end_frame, 1.0)):
                matrix = placement.get_local_placement(ports[end].ObjectPlacement)
                assert dist(matrix[:3, 3], add(frame.origin, run.shift)) < TOLERANCE_MM
                assert dot(tuple(matrix[:3, 2]), frame.axis) == pytest.approx(way, abs=1e-9)
        connected = systems.get_connected_to(pieces[names[0]])
        assert [other.Name for other in connected] == names[1:]
    assert len(file.by_type("IfcDistributionSystem")) == len(model.runs)


def test_an_expansion_fitting_is_a_fitting_of_its_run(model: TubeModel, data: bytes) -> None:
    file = opened(data)
    (fitting,) = file.by_type("IfcCableCarrierFitting")
    assert BODY.label in fitting.Name
    solids = fitting.Representation.Representations[0].Items
    assert [s.Radius for s in solids] == [part.radius_mm for part in BODY.parts]
    lengths = [dist(*(point.Coordinates for point in s.Directrix.Points)) for s in solids]
    assert lengths == pytest.approx([dist(part.start, part.end) for part in BODY.parts])
    (group,) = [rel for rel in fitting.HasAssignments if rel.is_a("IfcRelAssignsToGroup")]
    assert group.RelatingGroup.Name == model.runs[0].key


def test_areas_are_buildings_on_one_site(model: TubeModel, data: bytes) -> None:
    import ifcopenshell.util.element as elements

    file = opened(data)
    assert [b.Name for b in file.by_type("IfcBuilding")] == list(model.areas)
    area_of = {run.key: run.area for run in model.runs}
    for piece in file.by_type("IfcCableCarrierSegment"):
        storey = elements.get_container(piece)
        assert storey.is_a("IfcBuildingStorey")
        assert elements.get_aggregate(storey).Name == area_of[piece.Tag]


def test_identities_stay_from_export_to_export(model: TubeModel, data: bytes) -> None:
    assert to_ifc(model) == data
    fewer = opened(to_ifc(TubeModel(model.title, model.runs[2:3])))
    whole = opened(data)
    old = {piece.Name: piece.GlobalId for piece in whole.by_type("IfcCableCarrierSegment")}
    kept = fewer.by_type("IfcCableCarrierSegment")
    assert len(kept) == 2
    assert all(piece.GlobalId == old[piece.Name] for piece in kept)
    everything = [root.GlobalId for root in whole.by_type("IfcRoot")]
    assert len(everything) == len(set(everything))


def test_lengths_of_every_example_come_back(examples: TubeModel) -> None:
    found = [axis_length(piece) for piece in opened(to_ifc(examples)).by_type("IfcCableCarrierSegment")]
    lengths = [tube.centreline.length_mm for run in examples.runs for tube in run.tubes]
    assert found == pytest.approx(lengths, abs=TOLERANCE_MM)
