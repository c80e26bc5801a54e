"""Tubes -> DXF: the exact centreline as LINE and ARC in space, in mm. Needs ezdxf.

Layers: CENTRELINE; OUTSIDE (the two edges, where all bends of a piece lie in one plane); MARK (pencil marks, one POINT
each); TEXT; FITTING (the bodies of expansion fittings); OBSTACLE. A piece carries its run, name and length (mm) as
extended data under the application RACEWRIGHT, and each run is a GROUP.
"""

from __future__ import annotations

from importlib import import_module
from io import StringIO
from math import atan2, degrees
from typing import Any

from racewright.errors import MissingExtra
from racewright.exports.tubes import Tube, TubeModel, TubeRun, plane_normal
from racewright.fit.way_in import Solid
from racewright.geometry.chain import Arc, Line
from racewright.geometry.solids import Box, Cylinder
from racewright.geometry.vector import Vec, add, along, cross, scale, sub, unit
from racewright.printable import printable

APPLICATION = "RACEWRIGHT"
CENTRELINE, OUTSIDE, MARK, TEXT, OBSTACLE = "CENTRELINE", "OUTSIDE", "MARK", "TEXT", "OBSTACLE"
FITTING = "FITTING"
#: layer -> colour index of the drawing program's own table (7 shows black on white, white on black)
LAYERS = {CENTRELINE: 1, OUTSIDE: 7, MARK: 6, TEXT: 7, FITTING: 7, OBSTACLE: 8}
_TEXT_MM = 12.0
#: corners of a box (in the order of `Box.corners`) that an edge joins
_EDGES = ((0, 1), (0, 2), (0, 4), (1, 3), (1, 5), (2, 3), (2, 6), (3, 7), (4, 5), (4, 6), (5, 7), (6, 7))


def to_dxf(model: TubeModel) -> bytes:
    """The model as a DXF file (2010 form, mm). Raises MissingExtra when ezdxf is not installed."""
    try:
        library = import_module("ezdxf")
    except ImportError as error:
        raise MissingExtra("DXF", "dxf") from error
    doc: Any = library.new("R2010", setup=("linetypes",))
    doc.units = library.units.MM
    doc.header["$MEASUREMENT"] = 1
    doc.header["$LUNITS"] = 2
    doc.appids.add(APPLICATION)
    for name, colour in LAYERS.items():
        doc.layers.add(name, color=colour, linetype="CENTER" if name == CENTRELINE else "CONTINUOUS")
    # A centre line's dashes count in drawing units of an inch table; ten times as long reads well on conduit.
    doc.header["$LTSCALE"] = 10.0
    space = doc.modelspace()
    for run in model.runs:
        entities: list[Any] = []
        for tube in run.tubes:
            entities += _tube(space, run, tube)
        for body in run.fittings:
            for part in body.parts:
                entities += _bar(space, run, part, FITTING)
            entities.append(_label(space, body.label, add(body.parts[0].start, run.shift), FITTING))
        for solid in run.solids:
            entities += _solid(space, run, solid)
        doc.groups.new(_symbol_name(run.key, doc.groups), description=printable(run.name)).extend(entities)
    stream = StringIO()
    doc.write(stream)
    return bytes(doc.encode(stream.getvalue()))


def _tube(space: Any, run: TubeRun, tube: Tube) -> list[Any]:
    out = []
    facts = [
        (1000, f"run {printable(run.key)}"[:255]),
        (1000, f"{printable(tube.name)}, {tube.raceway}"[:255]),
        (1040, tube.centreline.length_mm),
    ]
    for segment in tube.centreline.segments:
        entity = _stroke(space, segment, run.shift, CENTRELINE)
        entity.set_xdata(APPLICATION, facts)
        out.append(entity)
    normal = plane_normal(tube.centreline)
    if normal is not None:
        for side in (0.5, -0.5):
            offset = side * tube.outside_diameter_mm
            out += [_edge(space, segment, run.shift, normal, offset) for segment in tube.centreline.segments]
    for mark in tube.marks:
        at = add(tube.centreline.point_at(mark.station_mm), run.shift)
        out.append(space.add_point(at, dxfattribs={"layer": MARK}))
        out.append(_label(space, mark.text, at, MARK))
    named = f"{tube.name} ({run.alike})" if run.alike else tube.name
    start, end = tube.centreline.point_at(0.0), tube.centreline.end_frame.origin
    for name, at in (("A", start), ("B", end)):
        # below the axis: a mark may stand beside the end, and its words above
        out.append(_label(space, f"{named} {name}", add(at, run.shift), TEXT, lines_below=2.0))
    return out


def _stroke(space: Any, segment: Line | Arc, shift: Vec, layer: str) -> Any:
    if isinstance(segment, Line):
        ends = (add(segment.point_at(s), shift) for s in (segment.start_s, segment.end_s))
        return space.add_line(*ends, dxfattribs={"layer": layer})
    normal = cross(segment.frame.axis, segment.toward)
    return _arc(space, segment, normal, segment.radius_mm, shift, layer)


def _arc(space: Any, segment: Arc, normal: Vec, radius_mm: float, shift: Vec, layer: str) -> Any:
    """An ARC about the segment's centre, in its own plane (an ARC lies in the plane square to its extrusion)."""
    from ezdxf.math import OCS

    ocs = OCS(normal)
    spoke = ocs.from_wcs(scale(segment.toward, -1.0))
    start = degrees(atan2(spoke.y, spoke.x))
    return space.add_arc(
        center=ocs.from_wcs(add(segment.centre, shift)),
        radius=radius_mm,
        start_angle=start,
        end_angle=start + degrees(segment.angle_rad),
        dxfattribs={"layer": layer, "extrusion": normal},
    )


def _edge(space: Any, segment: Line | Arc, shift: Vec, normal: Vec, offset_mm: float) -> Any:
    """One edge of a tube in the plane of its bends, `offset_mm` to the left of the axis as seen along the normal."""
    if isinstance(segment, Line):
        left = cross(normal, segment.frame.axis)
        a, b = (add(along(segment.point_at(s), left, offset_mm), shift) for s in (segment.start_s, segment.end_s))
        return space.add_line(a, b, dxfattribs={"layer": OUTSIDE})
    own = cross(segment.frame.axis, segment.toward)
    same = own[0] * normal[0] + own[1] * normal[1] + own[2] * normal[2] > 0.0
    radius = segment.radius_mm - offset_mm if same else segment.radius_mm + offset_mm
    return _arc(space, segment, own, radius, shift, OUTSIDE)


def _label(space: Any, text: str, at: Vec, layer: str, *, lines_below: float = 0.0) -> Any:
    from ezdxf.enums import TextEntityAlignment

    entity = space.add_text(printable(text), height=_TEXT_MM, dxfattribs={"layer": layer})
    place = (at[0] + 0.5 * _TEXT_MM, at[1] + (0.5 - lines_below) * _TEXT_MM, at[2])
    return entity.set_placement(place, align=TextEntityAlignment.LEFT)


def _solid(space: Any, run: TubeRun, solid: Solid) -> list[Any]:
    """The outline of a block or a round bar; a wall or floor without an end is not drawn."""
    attributes = {"layer": OBSTACLE}
    shape = solid.solid
    if isinstance(shape, Box):
        corners = [add(c, run.shift) for c in shape.corners()]
        lines = [space.add_line(corners[a], corners[b], dxfattribs=attributes) for a, b in _EDGES]
        return [*lines, _label(space, solid.name, corners[7], OBSTACLE)]
    if isinstance(shape, Cylinder):
        return [*_bar(space, run, shape, OBSTACLE), _label(space, solid.name, add(shape.end, run.shift), OBSTACLE)]
    return []


def _bar(space: Any, run: TubeRun, bar: Cylinder, layer: str) -> list[Any]:
    """A round bar: its two rims and four lines between them."""
    from ezdxf.math import OCS

    attributes = {"layer": layer}
    axis = unit(sub(bar.end, bar.start))
    ocs = OCS(axis)
    ends = [add(p, run.shift) for p in (bar.start, bar.end)]
    out = [space.add_circle(ocs.from_wcs(p), bar.radius_mm, dxfattribs={**attributes, "extrusion": axis}) for p in ends]
    for angle_x, angle_y in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
        spoke = ocs.to_wcs((angle_x * bar.radius_mm, angle_y * bar.radius_mm, 0.0))
        side = (spoke.x, spoke.y, spoke.z)
        out.append(space.add_line(add(ends[0], side), add(ends[1], side), dxfattribs=attributes))
    return out


def _symbol_name(text: str, taken: Any) -> str:
    """A name that the format allows and that is not taken."""
    name = "".join("_" if c in '<>/\\":;?*|=`,' else c for c in printable(text)).strip() or "RUN"
    trial, k = name, 2
    while trial in taken:
        trial, k = f"{name}_{k}", k + 1
    return trial
