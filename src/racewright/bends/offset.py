"""Offsets: two equal and opposite bends that carry the run to a parallel line.

Notation (see bends/shape.py for R, A, L)
    H  rise, between the two axes        S  spacing, arc start to arc start along the conduit
    P  plan length, from the first arc's start to the second arc's end, along the run
    H = 2 R (1 - cos A) + L sin A        P = 2 R sin A + L cos A        S = R A + L
    shrink = 2 R A + L - P = H tan(A/2) - 2 R (2 tan(A/2) - A)
Geometry of two tangent arcs with a straight between; checked against the chain of rigid motions in the tests.
"""

from __future__ import annotations

from math import acos, atan2, cos, hypot, pi, sin, tan

import msgspec

from racewright.bends import roles
from racewright.bends.shape import (
    RIGHT_ANGLE_RAD,
    Shape,
    bisect,
    check_angle,
    check_length,
    said_angle,
    tangent_to_point,
)
from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn
from racewright.units.angle import format_angle
from racewright.units.said import said, said_least


class Offset(Shape, frozen=True, kw_only=True):
    """An offset. `spacing_mm` is arc start to arc start (mark to mark with the same reference and hook);
    `straight_mm` lies between the arcs; `least_rise_mm` is the least that this angle can make."""

    rise_mm: float
    angle_rad: float
    spacing_mm: float
    straight_mm: float
    least_rise_mm: float

    def start_for_full_rise_mm(self, at_mm: float) -> float:
        """Where the first arc starts, from end A, so that the whole rise is reached at plan distance `at_mm`.

        Raises LimitError where the offset does not fit into that distance.
        """
        start = at_mm - self.plan_mm
        if start < -1e-9:
            raise LimitError(
                f"the offset needs {said_least(self.plan_mm)} of run before the full rise and there are {said(at_mm)}.",
                hint=f"allow {said_least(self.plan_mm)} or more before the full rise, or take a steeper angle.",
                quantity="distance to the full rise",
                asked=at_mm,
                limit=self.plan_mm,
            )
        return max(0.0, start)


class RollingOffset(Offset, frozen=True, kw_only=True):
    """An offset in a tilted plane: `rise_mm` is the true offset,
    `roll_angle_rad` tilts its plane from the rise toward the right hand, seen from A to B."""

    roll_angle_rad: float


def offset_straight_mm(rise_mm: float, angle_rad: float, radius_mm: float) -> float:
    """L = H / sin A - 2 R tan(A/2); negative where the angle is too steep for the rise."""
    return rise_mm / sin(angle_rad) - 2.0 * radius_mm * tan(angle_rad / 2.0)


def least_offset_rise_mm(angle_rad: float, radius_mm: float, least_straight_mm: float = 0.0) -> float:
    """The least rise that an angle can make: 2 R (1 - cos A) + L sin A."""
    return 2.0 * radius_mm * (1.0 - cos(angle_rad)) + least_straight_mm * sin(angle_rad)


def steepest_offset_rad(rise_mm: float, radius_mm: float, least_straight_mm: float = 0.0) -> float:
    """The steepest angle whose offset of this rise leaves the least straight, at most 90 degrees.

    From H = 2 R (1 - cos A) + L sin A:  cos(A + atan2(L, 2 R)) = (2 R - H) / hypot(2 R, L).
    """
    two_r = 2.0 * radius_mm
    ratio = (two_r - rise_mm) / hypot(two_r, least_straight_mm)
    if ratio <= -1.0:
        return RIGHT_ANGLE_RAD
    return min(RIGHT_ANGLE_RAD, acos(min(1.0, ratio)) - atan2(least_straight_mm, two_r))


def offset(rise_mm: float, angle_rad: float, radius_mm: float, *, least_straight_mm: float = 0.0) -> Offset:
    """The offset of a rise at an angle.

    Raises InputError for numbers that mean nothing, LimitError where the straight between the arcs would be less
    than `least_straight_mm`: names the least rise at this angle and the steepest angle for this rise.
    """
    check_length(rise_mm, "rise")
    check_angle(angle_rad)
    check_length(radius_mm, "radius")
    check_length(least_straight_mm, "least straight", allow_zero=True)
    straight = offset_straight_mm(rise_mm, angle_rad, radius_mm)
    least_rise = least_offset_rise_mm(angle_rad, radius_mm, least_straight_mm)
    if straight < least_straight_mm - 1e-7:
        steepest = steepest_offset_rad(rise_mm, radius_mm, least_straight_mm)
        room = "the two arcs meet" if least_straight_mm == 0.0 else f"{said(least_straight_mm)} of straight is wanted"
        raise LimitError(
            f"an offset of {said(rise_mm)} cannot be made with {format_angle(angle_rad)} bends on a radius of "
            f"{said(radius_mm)}: {room}; the least rise at this angle is {said_least(least_rise)}.",
            hint=f"bend at {said_angle(steepest)} or less, or raise the offset to {said_least(least_rise)}.",
            quantity="rise",
            asked=rise_mm,
            limit=least_rise,
        )
    return _offset(rise_mm, angle_rad, radius_mm, max(0.0, straight), least_rise)


def angle_for_spacing_rad(rise_mm: float, spacing_mm: float, radius_mm: float) -> float:
    """The angle whose arcs start `spacing_mm` apart along the conduit.

    Root of H = 2 R (1 - cos A) + (S - R A) sin A, which grows with A as long as S - R A >= 0.
    Raises LimitError where the spacing is too short: names the least spacing.
    """
    steepest = steepest_offset_rad(rise_mm, radius_mm)
    least = radius_mm * steepest + max(0.0, offset_straight_mm(rise_mm, steepest, radius_mm))
    if spacing_mm < least - 1e-9:
        raise LimitError(
            f"marks {said(spacing_mm)} apart cannot make a rise of {said(rise_mm)} on a radius of {said(radius_mm)}: "
            f"the least spacing is {said_least(least)}.",
            hint=f"set the marks {said_least(least)} apart or more.",
            quantity="mark spacing",
            asked=spacing_mm,
            limit=least,
        )

    def over(angle: float) -> float:
        made = 2.0 * radius_mm * (1.0 - cos(angle)) + (spacing_mm - radius_mm * angle) * sin(angle)
        return made - rise_mm

    return bisect(over, 0.0, steepest)


def angle_for_plan_rad(rise_mm: float, plan_mm: float, radius_mm: float) -> float:
    """The angle of the offset that takes exactly `plan_mm` of run: half of it is one arc and one straight.

    Raises LimitError where the room is too short: names the least room.
    """
    found = tangent_to_point(plan_mm / 2.0, rise_mm / 2.0, radius_mm)
    if found is None or found[0] > RIGHT_ANGLE_RAD:
        steepest = steepest_offset_rad(rise_mm, radius_mm)
        straight = max(0.0, offset_straight_mm(rise_mm, steepest, radius_mm))
        least = 2.0 * radius_mm * sin(steepest) + straight * cos(steepest)
        raise LimitError(
            f"a rise of {said(rise_mm)} does not fit into {said(plan_mm)} of run on a radius of {said(radius_mm)}: "
            f"the least room is {said_least(least)}.",
            hint=f"leave {said_least(least)} of run or more.",
            quantity="room along the run",
            asked=plan_mm,
            limit=least,
        )
    return found[0]


def box_offset(
    rise_mm: float,
    radius_mm: float,
    *,
    spacing_mm: float | None = None,
    plan_mm: float | None = None,
    least_straight_mm: float = 0.0,
) -> Offset:
    """The small offset into a box: the angle is found, not asked.

    Give `spacing_mm` (marks that far apart) or `plan_mm` (that much room along the run), or neither for the shortest
    offset that leaves `least_straight_mm` between the arcs. Raises LimitError where no angle will do, InputError
    where both are given.
    """
    check_length(rise_mm, "rise")
    check_length(radius_mm, "radius")
    if spacing_mm is not None and plan_mm is not None:
        raise InputError(
            "a box offset takes a mark spacing or a room along the run, not both.",
            hint="give one of them; the other follows.",
            field="spacing",
        )
    if spacing_mm is not None:
        check_length(spacing_mm, "spacing")
        angle = angle_for_spacing_rad(rise_mm, spacing_mm, radius_mm)
    elif plan_mm is not None:
        check_length(plan_mm, "room")
        angle = angle_for_plan_rad(rise_mm, plan_mm, radius_mm)
    else:
        angle = steepest_offset_rad(rise_mm, radius_mm, least_straight_mm)
    return offset(rise_mm, angle, radius_mm, least_straight_mm=least_straight_mm)


def rolling_offset(up_mm: float, aside_mm: float, angle_rad: float, radius_mm: float) -> RollingOffset:
    """An offset that moves up and aside at once: true offset hypot(up, aside), its plane rolled by atan2(aside, up).

    `aside_mm` positive is to the right, seen from A to B with the rise upward. Raises as `offset`.
    """
    true = hypot(up_mm, aside_mm)
    plain = offset(true, angle_rad, radius_mm)
    roll = atan2(aside_mm, up_mm)
    turns = tuple(turn._replace(roll_rad=turn.roll_rad + roll) for turn in plain.turns)
    fields = msgspec.structs.asdict(plain) | {"turns": turns}
    return RollingOffset(**fields, roll_angle_rad=roll)


def _offset(rise_mm: float, angle_rad: float, radius_mm: float, straight_mm: float, least_rise_mm: float) -> Offset:
    arc = radius_mm * angle_rad
    return Offset(
        radius_mm=radius_mm,
        turns=(Turn(0.0, angle_rad, 0.0, radius_mm), Turn(arc + straight_mm, angle_rad, pi, radius_mm)),
        roles=(roles.OFFSET_FIRST, roles.OFFSET_SECOND),
        plan_mm=2.0 * radius_mm * sin(angle_rad) + straight_mm * cos(angle_rad),
        rise_mm=rise_mm,
        angle_rad=angle_rad,
        spacing_mm=arc + straight_mm,
        straight_mm=straight_mm,
        least_rise_mm=least_rise_mm,
    )
