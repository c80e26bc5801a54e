"""Kicks and offsets: flat, small and into a box, rolling."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import sin
from typing import Annotated

import msgspec

from racewright.bends import landing
from racewright.bends.choices import choices
from racewright.bends.kick import Kick, kick, kick_at_angle, kick_beside_90
from racewright.bends.model import Bend
from racewright.bends.offset import Offset, box_offset, offset, rolling_offset
from racewright.errors import InputError
from racewright.marks import thumb
from racewright.operations.common import AngleText, LengthText
from racewright.operations.shapes.asked import Angle, Asked, At, Rise, Room, Shape, check_room
from racewright.operations.shapes.report import Report
from racewright.tools.benders import HookEnd
from racewright.units.angle import format_angle


class KickAsked(Shape, frozen=True, kw_only=True, tag="kick"):
    """one bend that lifts the end of the conduit"""

    rise: Rise
    travel: Annotated[
        LengthText,
        msgspec.Meta(
            title="Travel",
            description="along the conduit, from the lifted end to the far end of the bend"
            " (beside a 90: to its corner)",
        ),
    ] = ""
    angle: Annotated[
        AngleText,
        msgspec.Meta(
            title="Angle, instead of the travel", description="instead of the travel: gives how far back the kick is"
        ),
    ] = ""
    beside_90: Annotated[
        bool, msgspec.Meta(title="Beside a 90", description="a 90 follows the kick; the travel runs to its corner")
    ] = False

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        bender, rise = asked.bender, asked.length("rise")
        travel = asked.maybe("travel")
        if (travel is None) == (not self.angle):
            raise InputError(
                "a kick needs a travel or an angle, one of them.",
                hint="give a travel of 20, or an angle of 30",
                field="shape.travel",
            )
        if travel is not None:
            made = kick(rise, travel, bender.radius_mm)
        else:
            made = kick_at_angle(rise, asked.angle(), bender.radius_mm)
        if self.beside_90:
            return _beside_90(asked, kick_beside_90(rise, made.travel_mm, bender.radius_mm))
        report = asked.report(f"Kick: end A lifted {asked.said('rise')}")
        report.length("travel, end A to the far end of the arc", made.travel_mm)
        _kick_facts(report, made, with_plain=travel is not None)
        # The lifted end is end A, so the kick is used the other way round: its arc ends one travel from end A.
        bends = report.bends = made.bends(made.straight_mm, "kick")

        def words(rule_bends: Sequence[Bend], length: float) -> str:
            flipped = [msgspec.structs.replace(b, arc_start_mm=length - b.arc_end_mm) for b in rule_bends]
            return f"end A is lifted {report.shown(landing.land(flipped, length).end_rise_mm)}"

        report.beside(lambda: thumb.kick_rule(rise, made.angle_rad), bends, None, words)
        return report


class OffsetAsked(Shape, frozen=True, kw_only=True, tag="offset"):
    """over to a parallel line"""

    rise: Rise
    at: At = ""
    room: Room = ""
    angle: Angle = "30"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        rise, bender = asked.length("rise"), asked.bender
        made = offset(rise, asked.angle(), bender.radius_mm)
        report = asked.report(f"Offset: {asked.said('rise')} at {format_angle(made.angle_rad)}")
        _offset_report(report, asked, made, lambda at, hook: thumb.offset_rule(rise, made.angle_rad, at, hook=hook))
        return report


class BoxOffset(Shape, frozen=True, kw_only=True, tag="box-offset"):
    """the small offset into a box: finds its angle"""

    rise: Rise
    spacing: Annotated[LengthText, msgspec.Meta(title="Between the marks", description="between the marks")] = ""
    room: Room = ""
    at: At = ""

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        made = box_offset(
            asked.length("rise"),
            asked.bender.radius_mm,
            spacing_mm=asked.maybe("spacing"),
            plan_mm=asked.maybe("room"),
            least_straight_mm=0.0 if self.spacing or self.room else asked.hook_room_mm,
        )
        report = asked.report(f"Box offset: {asked.said('rise')}")
        report.angle("angle of both bends", made.angle_rad)
        _offset_report(report, asked, made, None)
        return report


class RollingOffset(Shape, frozen=True, kw_only=True, tag="rolling-offset"):
    """up and aside at once"""

    rise: Rise
    shift: Annotated[
        LengthText,
        msgspec.Meta(
            title="To the right",
            description="how far to the right, seen from A (negative: left)",
            extra={"signed": True},
        ),
    ]
    at: At = ""
    room: Room = ""
    angle: Angle = "30"

    def work_out(self, asked: Asked) -> Report:
        """See Shape.work_out."""
        up, aside, bender = asked.length("rise", signed=True), asked.length("shift", signed=True), asked.bender
        made = rolling_offset(up, aside, asked.angle(), bender.radius_mm)
        report = asked.report(
            f"Rolling offset: {asked.said('rise')} up, {asked.said('shift')} to the right, "
            f"at {format_angle(made.angle_rad)}"
        )
        report.length("true offset", made.rise_mm)
        report.angle("roll of its plane from the rise, clockwise seen from A", made.roll_angle_rad)
        roll = made.roll_angle_rad
        _offset_report(
            report,
            asked,
            made,
            lambda at, hook: thumb.rolling_offset_rule(up, aside, made.angle_rad, at, hook=hook, roll_rad=roll),
        )
        return report


def _beside_90(asked: Asked, made: Kick) -> Report:
    bender, half = asked.bender, asked.bender.outside_diameter_mm / 2.0
    report = asked.report(f"Kick beside a 90: {asked.said('rise')} off the run")
    back = made.middle_to_far_mm + half
    report.length("from the back of the 90 to the middle of the kick", back)
    report.length("from the kick's start to the 90's corner, along the conduit", made.travel_mm)
    _kick_facts(report, made, with_plain=False)
    report.bends = made.bends(bender.arrow_lead_mm, "kick")
    report.counted_from = "the kick's arrow mark; the 90 stands across the kick's plane, toward end B"
    rows = [
        (
            f"{how} ({source})",
            report.shown(by_rule),
            report.shown(back),
            report.shown(made.rise_mm + (by_rule - back) * sin(made.angle_rad)),
        )
        for how, by_rule, source in thumb.kick_beside_90_rules(made.rise_mm, made.angle_rad)
    ]
    report.table(
        title="Rule of thumb, from the back of the 90 to the middle of the kick",
        head=("rule", "by the rule", "exact", "rise by the rule"),
        rows=tuple(rows),
    )
    check_room(report, made.straight_mm, asked)
    return report


def _kick_facts(report: Report, made: Kick, *, with_plain: bool) -> None:
    report.rise_mm = made.rise_mm
    report.angle("angle", made.angle_rad)
    if made.plain_angle_rad is not None and with_plain:
        report.angle("angle without the radius (rise over travel)", made.plain_angle_rad)
    report.length("straight between" if len(made.turns) > 1 else "straight from end A to the arc", made.straight_mm)
    report.length("reach in plan", made.reach_mm)


def _offset_report(
    report: Report, asked: Asked, made: Offset, rule: Callable[[float, HookEnd], thumb.Rule] | None
) -> None:
    at = asked.maybe("at")
    report.rise_mm = made.rise_mm
    report.length("spacing, mark to mark", made.spacing_mm)
    report.length("straight between the arcs", made.straight_mm)
    report.length("shrink", made.shrink_mm)
    report.length("room along the run", made.plan_mm)
    report.length("least rise at this angle", made.least_rise_mm)
    start = asked.bender.arrow_lead_mm
    report.counted_from = "the first arrow mark (give 'at' to count from end A)"
    if at is not None:
        start = made.start_for_full_rise_mm(at)
        report.counted_from = "end A"
        report.length("whole rise reached, from end A", at)
    bends = report.bends = made.bends(start, "offset", 0.0)

    def words(rule_bends: Sequence[Bend], length: float) -> str:
        got = landing.land(rule_bends, length)
        rise = (got.leg_rise_mm**2 + got.leg_aside_mm**2) ** 0.5
        text = f"rises {report.shown(rise)}"
        return f"{text}, whole rise reached {report.shown(got.leg_plan_mm)} from end A" if at is not None else text

    if rule is not None and at is None:
        # The rule's first mark goes on the exact first mark, so that only the spacing is compared.
        spot = 1e6 - rule(1e6, "A").marks[0].mark_mm
        report.beside(lambda: rule(spot, "A"), bends, None, words)
    elif rule is not None and at is not None:
        distance = at
        hooks: tuple[HookEnd, ...] = ("A", "B")
        for hook in hooks:
            report.beside(partial(rule, distance, hook), bends, None, words)
    check_room(report, made.straight_mm, asked)
    rows = choices("offset", made.rise_mm, made.radius_mm, asked.hook_room_mm, room_mm=asked.maybe("room"))
    report.choices("Other angles for this rise", rows)


SHAPES = (KickAsked, OffsetAsked, BoxOffset, RollingOffset)
