"""Where a piece lands: what given bends make, whoever made them and by whatever rule.

Notation: the piece lies in a frame whose axis is the leg at end A and whose normal is the side that the first bend
turns toward (roll 0). "Rise" is measured along that normal from the leg's axis, "plan" along the axis from end A.
On an arc the height is greatest where its tangent is level: t.n cos(w) + d.n sin(w) = 0, with t the tangent at the
arc's start and d the direction it turns toward.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2

import msgspec

from racewright.bends.model import Bend
from racewright.errors import InputError
from racewright.geometry.vector import Frame, Vec, cross, dot, norm
from racewright.units.said import said, said_least

#: Points of the axis whose heights differ by less than this (mm) are one level top.
LEVEL_MM = 1e-6


class Landing(msgspec.Struct, frozen=True, kw_only=True):
    """Where the piece lands.

    `apex_mm` and `apex_plan_mm`: the highest point of the axis over the leg at end A, and where (the middle of a flat
    top). `leg_rise_mm`, `leg_plan_mm`: where the last leg starts. `end_rise_mm`, `end_aside_mm`, `end_plan_mm`: end B.
    """

    apex_mm: float
    apex_plan_mm: float
    leg_rise_mm: float
    leg_aside_mm: float
    leg_plan_mm: float
    end_rise_mm: float
    end_aside_mm: float
    end_plan_mm: float

    @property
    def end_off_line_mm(self) -> float:
        """How far end B lies off the line of the leg at end A."""
        return norm((self.end_rise_mm, self.end_aside_mm, 0.0))


def land(bends: Sequence[Bend], length_mm: float) -> Landing:
    """Where a piece of `length_mm` with these bends lands. Raises InputError where bends overlap or leave the piece."""
    _check(bends, length_mm)
    frame = Frame()
    up, aside = frame.normal, frame.binormal
    at = 0.0
    tops: list[Vec] = [frame.origin]
    for bend in bends:
        frame = frame.advanced(bend.arc_start_mm - at)
        tops += (frame.origin, _top_of_arc(frame, bend))
        frame = frame.bent(bend.radius_mm, bend.angle_rad, bend.roll_rad)
        tops.append(frame.origin)
        at = bend.arc_end_mm
    end = frame.advanced(length_mm - at)
    tops.append(end.origin)
    axis = Frame().axis
    high = max(dot(p, up) for p in tops)
    level = [dot(p, axis) for p in tops if dot(p, up) > high - LEVEL_MM]
    return Landing(
        apex_mm=high,
        apex_plan_mm=(min(level) + max(level)) / 2.0,
        leg_rise_mm=dot(frame.origin, up),
        leg_aside_mm=dot(frame.origin, aside),
        leg_plan_mm=dot(frame.origin, axis),
        end_rise_mm=dot(end.origin, up),
        end_aside_mm=dot(end.origin, aside),
        end_plan_mm=dot(end.origin, axis),
    )


def land_stub(bends: Sequence[Bend], length_mm: float, outside_diameter_mm: float) -> float:
    """The real height of a stub at end A whose first bend is the stub's: from the back of the leg beyond it to end A,
    along the stub. Raises InputError as `land`."""
    _check(bends, length_mm)
    first = bends[0]
    frame = Frame().advanced(first.arc_start_mm).bent(first.radius_mm, first.angle_rad, first.roll_rad)
    # The leg's axis passes frame.origin along frame.axis: the stub's end stands off it by the part across.
    back = (-frame.origin[0], -frame.origin[1], -frame.origin[2])
    return norm(cross(back, frame.axis)) + outside_diameter_mm / 2.0


def between_backs_mm(bends: Sequence[Bend], outside_diameter_mm: float) -> float:
    """The distance between the backs of two 90s that face each other: the legs' axes apart, plus D.

    Raises InputError where there are not two bends, or they overlap.
    """
    if len(bends) != 2:
        raise InputError("two bends are needed to measure back to back.", hint="give both 90s.", field="bends")
    _check(bends, bends[1].arc_end_mm)
    straight = bends[1].arc_start_mm - bends[0].arc_end_mm
    frame = Frame().bent(bends[0].radius_mm, bends[0].angle_rad, bends[0].roll_rad).advanced(straight)
    end = frame.bent(bends[1].radius_mm, bends[1].angle_rad, bends[1].roll_rad)
    return norm(cross(end.origin, Frame().axis)) + outside_diameter_mm


def _top_of_arc(frame: Frame, bend: Bend) -> Vec:
    """The highest point strictly inside an arc, or its start."""
    turn = frame.toward(bend.roll_rad)
    angle = atan2(frame.axis[2], -turn[2])
    if 0.0 < angle < bend.angle_rad:
        return frame.bent(bend.radius_mm, angle, bend.roll_rad).origin
    return frame.origin


def _check(bends: Sequence[Bend], length_mm: float) -> None:
    if not bends:
        raise InputError("there are no bends to land.", hint="give at least one bend.", field="bends")
    at = 0.0
    for bend in bends:
        if bend.arc_start_mm < at - 1e-6:
            raise InputError(
                f"the bend at {said(bend.arc_start_mm)} starts {said(at - bend.arc_start_mm)} before the piece allows.",
                hint="set the marks further apart, or take a smaller angle.",
                field="bends",
            )
        at = bend.arc_end_mm
    if at > length_mm + 1e-6:
        raise InputError(
            f"the last bend ends {said(at - length_mm)} beyond the end of the piece.",
            hint=f"make the piece {said_least(at)} long or more.",
            field="length",
        )
