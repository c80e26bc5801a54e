"""Stub-ups and two 90s back to back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, ClassVar, Literal

import msgspec

from racewright.bends import landing
from racewright.bends.model import Bend
from racewright.bends.nineties import back_to_back, stub_up
from racewright.marks import thumb
from racewright.operations.common import LengthText
from racewright.operations.shapes.asked import Asked, Shape, check_room
from racewright.operations.shapes.report import Report

To = Annotated[
    Literal["back", "centre", "inside"],
    msgspec.Meta(title="Measured to", description="measured to the back, center or inside (back)"),
]


class Stub(Shape, frozen=True, kw_only=True, tag="stub"):
    """a 90 whose short leg stands a wanted height"""

    measured: ClassVar[str] = "stub and leg to the back of the bend, its outer side"

    height: Annotated[LengthText, msgspec.Meta(title="Stub height", description="stub height")]
    leg: Annotated[
        LengthText, msgspec.Meta(title="The other leg", description="the other leg, to the back: gives the cut length")
    ] = ""
    to: To = "back"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        bender, to = asked.bender, self.to
        made = stub_up(asked.length("height"), bender.radius_mm, bender.outside_diameter_mm, measured_to=to)
        report = asked.report(f"Stub-up: {asked.said('height')} to the {to}, 90°")
        report.length("stub to the back", made.height_mm)
        report.length("least stub to the back", made.least_height_mm)
        report.length("gain over the backs", made.back_gain_mm)
        leg = asked.maybe("leg")
        if leg is not None:
            report.length("leg to the back", leg)
            report.cut(made.cut_length_mm(leg))
        bends = report.bends = made.bends(made.arc_start_mm, "stub")
        diameter = bender.outside_diameter_mm

        def words(rule_bends: Sequence[Bend], length: float) -> str:
            stands = landing.land_stub(rule_bends, length, diameter)
            return f"stub stands {report.shown(stands)} to the back"

        report.beside(lambda: thumb.deduct_rule(made.height_mm, bender.take_up_mm), bends, None, words)
        return report


class BackToBack(Shape, frozen=True, kw_only=True, tag="back-to-back"):
    """two 90s a distance apart"""

    measured: ClassVar[str] = "distance and stubs to the backs of the bends, their outer sides"

    distance: Annotated[
        LengthText,
        msgspec.Meta(title="Between the two 90s", description="between the two bends, measured as `to` says"),
    ]
    stub: Annotated[
        LengthText, msgspec.Meta(title="First stub", description="stub height to the back: marks count from end A")
    ] = ""
    second_stub: Annotated[
        LengthText, msgspec.Meta(title="Second stub", description="second stub to the back: gives the cut length")
    ] = ""
    to: To = "back"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        bender, to = asked.bender, self.to
        diameter = bender.outside_diameter_mm
        made = back_to_back(asked.length("distance"), bender.radius_mm, diameter, measured_to=to)
        report = asked.report(f"Two 90s, {asked.said('distance')} apart, {to} to {to}")
        report.length("between the backs", made.between_backs_mm)
        report.length("straight between the arcs", made.straight_mm)
        report.length("least between the backs", made.least_between_backs_mm)
        first_stub = asked.maybe("stub")
        start = bender.arrow_lead_mm
        report.counted_from = "the first bend's arrow mark (give 'stub' to count from end A)"
        if first_stub is not None:
            start = stub_up(first_stub, bender.radius_mm, diameter).arc_start_mm
            report.counted_from = "end A"
            second = asked.maybe("second_stub")
            if second is not None:
                stub_up(second, bender.radius_mm, diameter)
                report.cut(made.cut_length_mm(first_stub, second))
        bends = report.bends = made.bends(start, "back-to-back")

        def words(rule_bends: Sequence[Bend], _length: float) -> str:
            pair = (bends[0], *rule_bends[-1:])
            return f"backs {report.shown(landing.between_backs_mm(pair, diameter))} apart"

        report.beside(lambda: thumb.star_rule(bends[0], made.between_backs_mm, diameter), bends[1:], None, words)
        check_room(report, made.straight_mm, asked)
        return report


SHAPES = (Stub, BackToBack)
