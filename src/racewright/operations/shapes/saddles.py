"""Saddles of three and four bends, over a given rise or over an obstacle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Annotated, Literal

import msgspec

from racewright.bends import landing
from racewright.bends.choices import choices
from racewright.bends.model import Bend
from racewright.bends.saddle import Saddle, four_bend_saddle, three_bend_saddle
from racewright.bends.saddle_clearance import (
    BoxObstacle,
    Crossed,
    RoundObstacle,
    SaddleClearance,
    clear_obstacle,
    saddle_gap,
)
from racewright.errors import Finding, InputError
from racewright.marks import thumb
from racewright.operations.common import LengthText
from racewright.operations.shapes.asked import Angle, Asked, Rise, Room, Shape, check_room
from racewright.operations.shapes.report import FAR_LEG_MM, Report
from racewright.units.angle import format_angle


class SaddleAsked(Shape, frozen=True, kw_only=True):
    """Base of the saddles: the rise, or the obstacle that finds it."""

    rise: Rise = ""
    centre: Annotated[
        LengthText,
        msgspec.Meta(title="To the middle of the obstacle", description="from end A to the middle of the obstacle"),
    ] = ""
    length: Annotated[
        LengthText, msgspec.Meta(title="Length of the piece", description="overall length of the piece")
    ] = ""
    room: Room = ""
    obstacle: Annotated[
        Literal["round", "square"] | None,
        msgspec.Meta(title="What is crossed", description="what is crossed: finds the rise that clears"),
    ] = None
    height: Annotated[
        LengthText, msgspec.Meta(title="Its height", description="the obstacle's height (round: its diameter)")
    ] = ""
    width: Annotated[
        LengthText,
        msgspec.Meta(title="Its width along the run", description="a square obstacle's width along the conduit"),
    ] = ""
    lift: Annotated[
        LengthText,
        msgspec.Meta(
            title="Its underside off the surface", description="a round obstacle's underside above the surface (0)"
        ),
    ] = ""
    clearance: Annotated[
        LengthText, msgspec.Meta(title="Clearance", description="to keep between obstacle and conduit (0)")
    ] = ""
    standoff: Annotated[
        LengthText,
        msgspec.Meta(
            title="Conduit off the surface", description="conduit's underside above the surface beside it (0)"
        ),
    ] = ""

    def cleared(self, asked: Asked, angle_rad: float) -> tuple[Crossed, SaddleClearance] | None:
        """The obstacle and the saddles that clear it, or None where none was given."""
        if self.obstacle is None:
            return None
        height = asked.length("height")
        crossed: Crossed
        if self.obstacle == "round":
            crossed = RoundObstacle(diameter_mm=height, lift_mm=asked.length("lift", 0.0))
        else:
            crossed = BoxObstacle(height_mm=height, width_mm=asked.length("width"))
        return crossed, clear_obstacle(
            crossed,
            angle_rad=angle_rad,
            radius_mm=asked.bender.radius_mm,
            outside_diameter_mm=asked.bender.outside_diameter_mm,
            clearance_mm=asked.length("clearance", 0.0),
            standoff_mm=asked.length("standoff", 0.0),
        )

    def tell(self, report: Report, asked: Asked, made: Saddle) -> tuple[tuple[Bend, ...], float]:
        """Put the saddle on the report; its bends and the length of the piece (mm)."""
        report.rise_mm = made.rise_mm
        report.length("straight between the arcs", made.straight_mm)
        report.length("shrink to the middle", made.half_shrink_mm)
        report.length("room along the run", made.plan_mm)
        report.length("least rise at this angle", made.least_rise_mm)
        start = asked.bender.arrow_lead_mm
        report.counted_from = "the first arrow mark (give 'center' to count from end A)"
        if self.centre:
            start = made.start_for_centre_mm(asked.length("centre"))
            report.counted_from = "end A"
            report.length("middle, from end A", asked.length("centre"))
        bends = report.bends = made.bends(start, "saddle")
        length = asked.length("length", bends[-1].arc_end_mm + FAR_LEG_MM)
        if length < bends[-1].arc_end_mm:
            raise InputError(
                f"shape.length: {asked.said('length')} ends before the last bend does.",
                hint=f"give {report.shown(bends[-1].arc_end_mm)} or more",
                field="shape.length",
            )
        if self.length:
            report.cut(length)
        check_room(report, made.straight_mm, asked)
        return bends, length


class ThreeBendSaddle(SaddleAsked, frozen=True, kw_only=True, tag="saddle"):
    """over an obstacle with three bends"""

    angle: Angle = "22.5"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        angle, bender = asked.angle(), asked.bender
        crossed, found = self.cleared(asked, angle) or (None, None)
        if found and not self.rise:
            made = found.three
        else:
            made = three_bend_saddle(asked.length("rise"), angle, bender.radius_mm)
        centre_angle = format_angle(2.0 * angle)
        report = asked.report(
            f"Three-bend saddle: {asked.shown(made.rise_mm)}, outer bends {format_angle(angle)}, middle {centre_angle}"
        )
        bends, length = self.tell(report, asked, made)
        if found and crossed:
            _clearance_facts(report, asked, crossed, made, found)
        if self.centre:
            centre, rise = asked.length("centre"), made.rise_mm
            words = _saddle_words(report)
            for from_centre in (False, True):
                report.beside(
                    partial(thumb.saddle_rule, rise, angle, centre, from_centre=from_centre),
                    bends,
                    length,
                    words,
                )
        least, room = asked.hook_room_mm, asked.maybe("room")
        rows = choices("saddle 3", made.rise_mm, bender.radius_mm, least, room_mm=room)
        report.choices("Other outer angles for this rise", rows)
        return report


class FourBendSaddle(SaddleAsked, frozen=True, kw_only=True, tag="four-bend-saddle"):
    """over an obstacle with a flat top"""

    flat: Annotated[LengthText, msgspec.Meta(title="Straight on top", description="straight on top")] = ""
    angle: Angle = "30"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        angle, bender = asked.angle(), asked.bender
        crossed, found = self.cleared(asked, angle) or (None, None)
        if found and not self.rise and not self.flat:
            made = found.four
        else:
            rise = found.four.rise_mm if found and not self.rise else asked.length("rise")
            flat = found.four.flat_mm if found and not self.flat else asked.length("flat")
            made = four_bend_saddle(rise, angle, flat, bender.radius_mm)
        report = asked.report(f"Four-bend saddle: {asked.shown(made.rise_mm)}, four bends {format_angle(angle)}")
        report.length("straight on top", made.flat_mm)
        bends, length = self.tell(report, asked, made)
        if found and crossed:
            _clearance_facts(report, asked, crossed, made, found)
        if self.centre:
            near = asked.length("centre") - made.flat_mm / 2.0
            report.beside(
                lambda: thumb.four_bend_rule(made.rise_mm, angle, near, made.flat_mm),
                bends,
                length,
                _saddle_words(report),
            )
        least, room = asked.hook_room_mm, asked.maybe("room")
        rows = choices("saddle 4", made.rise_mm, bender.radius_mm, least, flat_mm=made.flat_mm, room_mm=room)
        report.choices("Other angles for this rise and flat top", rows)
        return report


def _saddle_words(report: Report) -> Callable[[Sequence[Bend], float], str]:
    def words(bends: Sequence[Bend], length: float) -> str:
        got = landing.land(bends, length)
        off = got.end_off_line_mm
        far = "far leg on the line" if off < 0.05 else f"far leg {report.shown(off)} off the line"
        return f"top rises {report.shown(got.apex_mm)} at {report.shown(got.apex_plan_mm)} from end A, {far}"

    return words


def _clearance_facts(report: Report, asked: Asked, obstacle: Crossed, made: Saddle, found: SaddleClearance) -> None:
    standoff = asked.length("standoff", 0.0)
    gap = saddle_gap(obstacle, made, outside_diameter_mm=asked.bender.outside_diameter_mm, standoff_mm=standoff)
    report.length("clearance wanted", found.clearance_mm)
    report.length("clearance left by this saddle", gap.gap_mm)
    report.length("rise by the plain rule (height + clearance)", found.apex_rise_mm)
    if found.apex_gap is None:
        report.words("the plain rule with three bends", "cannot be bent so low at this angle")
    elif found.apex_short_mm > 1e-6:
        gap_there, at = found.apex_gap.gap_mm, found.apex_gap.at_mm
        state = f"{report.shown(gap_there)} is left" if gap_there >= 0 else f"it hits by {report.shown(-gap_there)}"
        report.words(
            "the plain rule with three bends",
            f"does not clear: {state}, {report.shown(found.apex_short_mm)} short, {report.shown(at)} from the middle",
        )
    else:
        report.words("the plain rule with three bends", "clears along the whole underside")
    report.length("least rise that clears with three bends", found.three.rise_mm)
    report.words(
        "four bends instead",
        f"rise {report.shown(found.four.rise_mm)}, straight on top {report.shown(found.four.flat_mm)} or more",
    )
    if gap.gap_mm < found.clearance_mm - 1e-6:
        lack = f"{report.shown(found.clearance_mm - gap.gap_mm)} of the clearance is missing"
        report.findings.append(
            Finding(
                rule="shape.clearance",
                severity="problem",
                message=f"this saddle does not clear the obstacle: {lack}, {report.shown(gap.at_mm)} from its middle.",
                measured=gap.gap_mm,
                allowed=found.clearance_mm,
                unit="mm",
            )
        )


SHAPES = (ThreeBendSaddle, FourBendSaddle)
