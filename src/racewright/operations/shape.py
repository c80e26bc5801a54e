"""One bend shape on its own: its exact marks, the rule of thumb beside them, other angles."""

from __future__ import annotations

from functools import reduce
from operator import or_
from typing import TYPE_CHECKING, Annotated

import msgspec

from racewright.catalogue.raceways import find_raceway
from racewright.operations.common import BenderRecord, Fraction, Known, LengthText, Name, Request, TapeUnit
from racewright.operations.shapes import nineties, offsets, racks, saddles
from racewright.operations.shapes.asked import Asked, Shape
from racewright.operations.shapes.report import ShapeAnswer
from racewright.operations.which_tool import OWN_NAME, finder
from racewright.tools.benders import BenderProfile, default_bender, radius_only_profile
from racewright.units.length import parse_length
from racewright.units.tape import style_of

#: Every shape, in the order in which they are listed. The command's options and the request's types come from it.
SHAPES: tuple[type[Shape], ...] = (*nineties.SHAPES, *offsets.SHAPES, *saddles.SHAPES, *racks.SHAPES)

if TYPE_CHECKING:
    AnyShape = Shape
else:
    AnyShape = reduce(or_, SHAPES)


class ShapeRequest(Request, frozen=True, kw_only=True):
    """One shape of these readings, on a bender. `bender` is a profile of the asker's own; with neither it nor a name,
    the trade's shoe for the raceway. `raceway` and `size` count where no bender is given."""

    shape: AnyShape
    bender: BenderRecord | None = None
    bender_name: Annotated[Name, msgspec.Meta(description="a bender profile (`racewright bender` lists them)")] = ""
    raceway: Annotated[
        Name, msgspec.Meta(description="raceway, for the trade's hand shoe", extra={"metavar": "TYPE"})
    ] = "EMT"
    size: Annotated[Name, msgspec.Meta(description="trade size", extra={"metavar": "SIZE"})] = "1/2"
    bend_radius: Annotated[
        LengthText, msgspec.Meta(description="no shoe: centerline radius of the bend (heated PVC)")
    ] = ""
    unit: Annotated[TapeUnit, msgspec.Meta(description="unit of the tape and of plain numbers")] = "in"
    fraction: Annotated[Fraction | None, msgspec.Meta(description="round to 1/N of an inch (or mm)")] = None
    least_straight: Annotated[
        LengthText, msgspec.Meta(description="straight that the bender needs between two bends")
    ] = ""


def shape(request: ShapeRequest, known: Known) -> ShapeAnswer:
    """Marks of one shape. Raises InputError for a reading, LimitError for what cannot be bent, UnknownName."""
    own = request.bender is not None or bool(request.bender_name)
    asked = Asked(
        request.shape,
        _bender(request, known),
        style_of(request.unit, request.fraction),
        least_straight=request.least_straight,
        rack_shoe=own,
    )
    report = request.shape.work_out(asked)
    measured = request.shape.measured
    if report.rise_mm is not None:
        over = report.shown(abs(report.rise_mm) + report.bender.outside_diameter_mm)
        measured += f"; over the outside of the conduit, far edge to far edge, the rise is {over}"
    return report.answer(f"{measured}; marks and cut length along the conduit.")


def _bender(request: ShapeRequest, known: Known) -> BenderProfile:
    if request.bend_radius:
        radius = parse_length(request.bend_radius, request.unit, field="bend_radius", allow_zero=False)
        return radius_only_profile(find_raceway(request.raceway, request.size), float(radius))
    if request.bender is not None or request.bender_name:
        return finder(request.bender, known)(request.bender_name or OWN_NAME)
    return default_bender(request.raceway, request.size)
