"""One bend shape on its own: its exact marks, the rule of thumb beside them, other angles."""

from __future__ import annotations

from functools import reduce
from operator import or_
from typing import TYPE_CHECKING, Annotated

import msgspec

from racewright.operations.common import Fraction, Known, LengthText
from racewright.operations.shapes import nineties, offsets, racks, saddles
from racewright.operations.shapes.asked import Asked, Shape
from racewright.operations.shapes.report import ShapeAnswer
from racewright.operations.which_tool import ToolRequest, bender_or_radius
from racewright.units.tape import style_of

#: Every shape, in the order in which they are listed. The command's options and the request's types come from it.
SHAPES: tuple[type[Shape], ...] = (*nineties.SHAPES, *offsets.SHAPES, *saddles.SHAPES, *racks.SHAPES)

if TYPE_CHECKING:
    AnyShape = Shape
else:
    AnyShape = reduce(or_, SHAPES)


class ShapeRequest(ToolRequest, frozen=True, kw_only=True):
    """One shape of these readings, on a bender."""

    shape: AnyShape
    fraction: Annotated[
        Fraction | None, msgspec.Meta(title="Round to 1/N", description="round to 1/N of an inch (or mm)")
    ] = None
    least_straight: Annotated[
        LengthText,
        msgspec.Meta(
            title="Straight between two bends", description="straight that the bender needs between two bends"
        ),
    ] = ""


def shape(request: ShapeRequest, known: Known) -> ShapeAnswer:
    """Marks of one shape. Raises InputError for a reading, LimitError for what cannot be bent, UnknownName."""
    own = request.bender is not None or bool(request.bender_name)
    asked = Asked(
        request.shape,
        bender_or_radius(request, known),
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
