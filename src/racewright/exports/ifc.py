"""Tubes -> IFC4: each piece a conduit segment, a disk swept along the exact centreline. Needs ifcopenshell.

Entities and attributes: ISO 16739-1:2018 (IFC4), read through the schema in ifcopenshell. Lengths mm, angles radians.
Site and project stand for the job, a building for each area, one storey in each. A piece is an IfcCableCarrierSegment
(CONDUITSEGMENT) with a body (IfcSweptDiskSolid), an axis, its quantities, and a port at each end; the pieces of a run
are joined port to port and are one IfcDistributionSystem, with the bodies of expansion fittings as
IfcCableCarrierFitting.
"""

from __future__ import annotations

import uuid
from importlib import import_module
from itertools import pairwise
from math import pi
from typing import Any

from racewright.errors import MissingExtra
from racewright.exports.tubes import Tube, TubeModel, TubeRun
from racewright.geometry.chain import Arc, any_normal
from racewright.geometry.vector import Vec, add, scale, sub
from racewright.plan.fitting_bodies import FittingBody
from racewright.printable import printable

#: Names made from this and a run's key stay the same from export to export, so that a model can take a newer file.
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "racewright:ifc")
_LABEL_MOST = 255


def to_ifc(model: TubeModel, *, written_at: str = "") -> bytes:
    """The model as an IFC4 file. `written_at`: date and time for the file's head, 'YYYY-MM-DDThh:mm:ss'.

    Raises MissingExtra when ifcopenshell is not installed.
    """
    try:
        library = import_module("ifcopenshell")
    except ImportError as error:
        raise MissingExtra("IFC", "ifc") from error
    file: Any = library.file(schema="IFC4")
    file.header.file_description.description = ("ViewDefinition [notYetAssigned]",)
    file.header.file_name.name = _label(model.title)
    file.header.file_name.time_stamp = written_at or "1970-01-01T00:00:00"
    file.header.file_name.originating_system = "Racewright"
    file.header.file_name.authorization = ""
    _Writer(file, model).write()
    return str(file.to_string()).encode()


class _Writer:
    def __init__(self, file: Any, model: TubeModel) -> None:
        self.file = file
        self.model = model
        self.types: dict[str, tuple[Any, list[Any]]] = {}
        self.z = file.create_entity("IfcDirection", (0.0, 0.0, 1.0))
        self.x = file.create_entity("IfcDirection", (1.0, 0.0, 0.0))

    def write(self) -> None:
        project = self._project()
        site = self._rooted("IfcSite", "site", Name=_label(self.model.title), CompositionType="ELEMENT")
        site.ObjectPlacement = self._placement(None, (0.0, 0.0, 0.0))
        self._aggregate(project, [site])
        buildings = []
        for area in self.model.areas:
            name = _label(area or self.model.title)
            building = self._rooted("IfcBuilding", f"building {area}", Name=name, CompositionType="ELEMENT")
            building.ObjectPlacement = self._placement(site.ObjectPlacement, (0.0, 0.0, 0.0))
            storey = self._rooted(
                "IfcBuildingStorey", f"storey {area}", Name="level", CompositionType="ELEMENT", Elevation=0.0
            )
            storey.ObjectPlacement = self._placement(building.ObjectPlacement, (0.0, 0.0, 0.0))
            self._aggregate(building, [storey])
            buildings.append(building)
            pieces = [p for run in self.model.runs if run.area == area for p in self._run(run, building, storey)]
            if pieces:
                self._rooted(
                    "IfcRelContainedInSpatialStructure",
                    f"contained {area}",
                    RelatedElements=pieces,
                    RelatingStructure=storey,
                )
        if buildings:
            self._aggregate(site, buildings)
        for name, (kind, pieces) in self.types.items():
            self._rooted("IfcRelDefinesByType", f"typed {name}", RelatedObjects=pieces, RelatingType=kind)

    def _project(self) -> Any:
        make = self.file.create_entity
        units = [
            make("IfcSIUnit", UnitType="LENGTHUNIT", Prefix="MILLI", Name="METRE"),
            make("IfcSIUnit", UnitType="AREAUNIT", Prefix="MILLI", Name="SQUARE_METRE"),
            make("IfcSIUnit", UnitType="VOLUMEUNIT", Prefix="MILLI", Name="CUBIC_METRE"),
            make("IfcSIUnit", UnitType="PLANEANGLEUNIT", Name="RADIAN"),
        ]
        origin = self._axes((0.0, 0.0, 0.0))
        context = make("IfcGeometricRepresentationContext", None, "Model", 3, 1e-6, origin, None)
        self.body, self.axis = (
            make(
                "IfcGeometricRepresentationSubContext",
                ContextIdentifier=name,
                ContextType="Model",
                ParentContext=context,
                TargetView=view,
            )
            for name, view in (("Body", "MODEL_VIEW"), ("Axis", "GRAPH_VIEW"))
        )
        return self._rooted(
            "IfcProject",
            "project",
            Name=_label(self.model.title),
            RepresentationContexts=[context],
            UnitsInContext=make("IfcUnitAssignment", units),
        )

    def _run(self, run: TubeRun, building: Any, storey: Any) -> list[Any]:
        pieces, ports = [], []
        for number, tube in enumerate(run.tubes, start=1):
            piece = self._piece(run, number, tube, storey)
            ends = self._ports(run, number, tube, piece)
            self._rooted("IfcRelNests", f"ports {run.key} {number}", RelatingObject=piece, RelatedObjects=ends)
            pieces.append(piece)
            ports.append(ends)
        for number, (before, after) in enumerate(pairwise(ports), start=1):
            self._rooted(
                "IfcRelConnectsPorts", f"joint {run.key} {number}", RelatingPort=before[1], RelatedPort=after[0]
            )
        pieces += [self._fitting(run, number, body, storey) for number, body in enumerate(run.fittings, start=1)]
        if pieces:
            system = self._rooted(
                "IfcDistributionSystem",
                f"system {run.key}",
                Name=_label(run.key),
                LongName=_label(run.name),
                PredefinedType="ELECTRICAL",
            )
            self._rooted("IfcRelAssignsToGroup", f"grouped {run.key}", RelatedObjects=pieces, RelatingGroup=system)
            self._rooted(
                "IfcRelServicesBuildings", f"served {run.key}", RelatingSystem=system, RelatedBuildings=[building]
            )
        return pieces

    def _piece(self, run: TubeRun, number: int, tube: Tube, storey: Any) -> Any:
        make = self.file.create_entity
        curve = self._directrix(tube)
        inner = tube.inside_diameter_mm / 2.0
        radius = tube.outside_diameter_mm / 2.0
        solid = make("IfcSweptDiskSolid", curve, radius, inner if 0.0 < inner < radius else None, None, None)
        shape = make(
            "IfcProductDefinitionShape",
            Representations=[
                make("IfcShapeRepresentation", self.axis, "Axis", "Curve3D", [curve]),
                make("IfcShapeRepresentation", self.body, "Body", "AdvancedSweptSolid", [solid]),
            ],
        )
        piece = self._rooted(
            "IfcCableCarrierSegment",
            f"piece {run.key} {number}",
            Name=_label(tube.name),
            Description=_label(run.name),
            ObjectType=_label(tube.raceway),
            Tag=_label(run.key),
            PredefinedType="CONDUITSEGMENT",
            ObjectPlacement=self._placement(storey.ObjectPlacement, add(run.shift, tube.centreline.point_at(0.0))),
            Representation=shape,
        )
        self._quantities(run, number, tube, piece)
        self._type_of(tube)[1].append(piece)
        return piece

    def _fitting(self, run: TubeRun, number: int, body: FittingBody, storey: Any) -> Any:
        """An expansion fitting: a disk swept along each of its round parts."""
        make = self.file.create_entity
        origin = body.parts[0].start
        solids = []
        for part in body.parts:
            ends = [make("IfcCartesianPoint", sub(p, origin)) for p in (part.start, part.end)]
            solids.append(make("IfcSweptDiskSolid", make("IfcPolyline", ends), part.radius_mm, None, None, None))
        shown = make("IfcShapeRepresentation", self.body, "Body", "AdvancedSweptSolid", solids)
        return self._rooted(
            "IfcCableCarrierFitting",
            f"fitting {run.key} {number}",
            Name=_label(f"{run.key} {body.label}"),
            Description=_label(run.name),
            ObjectType=_label("expansion fitting"),
            Tag=_label(run.key),
            PredefinedType="USERDEFINED",
            ObjectPlacement=self._placement(storey.ObjectPlacement, add(run.shift, origin)),
            Representation=make("IfcProductDefinitionShape", Representations=[shown]),
        )

    def _directrix(self, tube: Tube) -> Any:
        """The centreline from the piece's own origin: straights by two points, arcs by three."""
        line = tube.centreline
        origin = line.point_at(0.0)
        points: list[Vec] = [(0.0, 0.0, 0.0)]
        parts = []
        for segment in line.segments:
            first = len(points)
            if isinstance(segment, Arc):
                points.append(sub(segment.point_at(0.5 * (segment.start_s + segment.end_s)), origin))
            points.append(sub(segment.point_at(segment.end_s), origin))
            kind = "IfcArcIndex" if isinstance(segment, Arc) else "IfcLineIndex"
            parts.append(self.file.create_entity(kind, tuple(range(first, len(points) + 1))))
        listed = self.file.create_entity("IfcCartesianPointList3D", points)
        return self.file.create_entity("IfcIndexedPolyCurve", listed, parts, False)

    def _ports(self, run: TubeRun, number: int, tube: Tube, piece: Any) -> list[Any]:
        """A port at end A and one at end B; the z of each points out of the conduit."""
        line = tube.centreline
        origin = line.point_at(0.0)
        ends = (
            ("A", (0.0, 0.0, 0.0), scale(line.start_frame.axis, -1.0)),
            ("B", sub(line.end_frame.origin, origin), line.end_frame.axis),
        )
        return [
            self._rooted(
                "IfcDistributionPort",
                f"port {run.key} {number} {name}",
                Name=name,
                ObjectPlacement=self._placement(piece.ObjectPlacement, at, outward),
                FlowDirection="SOURCEANDSINK",
                PredefinedType="CABLECARRIER",
                SystemType="ELECTRICAL",
            )
            for name, at, outward in ends
        ]

    def _quantities(self, run: TubeRun, number: int, tube: Tube, piece: Any) -> None:
        make = self.file.create_entity
        length, diameter = tube.centreline.length_mm, tube.outside_diameter_mm
        area = pi / 4.0 * (diameter**2 - min(tube.inside_diameter_mm, diameter) ** 2)
        quantities = [make("IfcQuantityLength", "Length", None, None, length)]
        if area > 0.0:
            quantities.append(make("IfcQuantityArea", "CrossSectionArea", None, None, area))
        # Pappus: the surface of a disk swept square to its path is perimeter times path length
        quantities.append(make("IfcQuantityArea", "OuterSurfaceArea", None, None, pi * diameter * length))
        listed = self._rooted(
            "IfcElementQuantity",
            f"quantities {run.key} {number}",
            Name="Qto_CableCarrierSegmentBaseQuantities",
            Quantities=quantities,
        )
        self._rooted(
            "IfcRelDefinesByProperties",
            f"measured {run.key} {number}",
            RelatedObjects=[piece],
            RelatingPropertyDefinition=listed,
        )

    def _type_of(self, tube: Tube) -> tuple[Any, list[Any]]:
        if tube.raceway not in self.types:
            kind = self._rooted(
                "IfcCableCarrierSegmentType",
                f"type {tube.raceway}",
                Name=_label(tube.raceway),
                PredefinedType="CONDUITSEGMENT",
            )
            self.types[tube.raceway] = (kind, [])
        return self.types[tube.raceway]

    def _aggregate(self, whole: Any, parts: list[Any]) -> None:
        self._rooted("IfcRelAggregates", f"parts of {whole.GlobalId}", RelatingObject=whole, RelatedObjects=parts)

    def _placement(self, within: Any, at: Vec, z: Vec | None = None) -> Any:
        return self.file.create_entity("IfcLocalPlacement", within, self._axes(at, z))

    def _axes(self, at: Vec, z: Vec | None = None) -> Any:
        make = self.file.create_entity
        up, right = self.z, self.x
        if z is not None:
            up, right = make("IfcDirection", z), make("IfcDirection", any_normal(z))
        return make("IfcAxis2Placement3D", make("IfcCartesianPoint", at), up, right)

    def _rooted(self, kind: str, what: str, **attributes: Any) -> Any:
        """An entity with an identity of its own, the same in every export of this model."""
        from ifcopenshell.guid import compress

        identity = uuid.uuid5(_NAMESPACE, f"{self.model.title}\0{what}")
        return self.file.create_entity(kind, GlobalId=compress(identity.hex), **attributes)


def _label(text: str) -> str:
    return printable(text)[:_LABEL_MOST]
