"""The kick: one bend that lifts the rest of the conduit by a rise over a travel, alone or beside a 90.

Notation (see bends/shape.py)
    H  rise of the far point of the axis over the incoming axis
    T  travel: along the conduit from the start of the arc
    H = R (1 - cos A) + (T - R A) sin A
    P = R sin A + (T - R A) cos A                 (the travel in plan)
    With no radius sin A = H / T, the trade's form.
Beside a 90 the far point is the 90's corner point, so the stub's axis stands H off the run.
"""

from __future__ import annotations

from math import asin, cos, sin

from racewright.bends import roles
from racewright.bends.shape import (
    RIGHT_ANGLE_RAD,
    Shape,
    bisect,
    check_angle,
    check_length,
)
from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.units.angle import format_angle
from racewright.units.said import said, said_least, said_most


class Kick(Shape, frozen=True, kw_only=True):
    """A kick. `travel_mm` along the conduit from the start of the arc to the far point, `straight_mm` the part of
    it behind the arc, `reach_mm` the same in plan. `plain_angle_rad` is asin(rise / travel), the form without radius
    (None where rise exceeds travel). `developed_mm` and `plan_mm` run from the arc's start to the last arc's end."""

    rise_mm: float
    angle_rad: float
    travel_mm: float
    reach_mm: float
    straight_mm: float
    plain_angle_rad: float | None

    @property
    def middle_to_far_mm(self) -> float:
        """Along the conduit from the middle of the kick's arc to the far point (beside a 90: to its corner)."""
        return self.travel_mm - self.radius_mm * self.angle_rad / 2.0


def kick_travel_mm(rise_mm: float, angle_rad: float, radius_mm: float) -> float:
    """Travel along the conduit, from the start of the arc, that lifts the far point by the rise at an angle."""
    return radius_mm * angle_rad + (rise_mm - radius_mm * (1.0 - cos(angle_rad))) / sin(angle_rad)


def kick_at_angle(rise_mm: float, angle_rad: float, radius_mm: float) -> Kick:
    """The kick of a rise at an angle. Raises LimitError where the arc alone already rises more."""
    check_length(rise_mm, "rise")
    check_angle(angle_rad)
    check_length(radius_mm, "radius")
    least = radius_mm * (1.0 - cos(angle_rad))
    if rise_mm < least - 1e-9:
        raise LimitError(
            f"a kick of {said(rise_mm)} is less than an arc of {format_angle(angle_rad)} rises by itself, "
            f"{said_least(least)}.",
            hint=f"take a smaller angle, or a rise of {said_least(least)} or more.",
            quantity="rise",
            asked=rise_mm,
            limit=least,
        )
    return _kick(rise_mm, angle_rad, radius_mm, kick_travel_mm(rise_mm, angle_rad, radius_mm))


def kick(rise_mm: float, travel_mm: float, radius_mm: float) -> Kick:
    """The kick of a rise over a travel, measured along the conduit from the start of the arc.

    Raises LimitError where the travel is too short for the rise: names the largest rise.
    """
    check_length(rise_mm, "rise")
    check_length(travel_mm, "travel")
    check_length(radius_mm, "radius")
    steepest = min(RIGHT_ANGLE_RAD, travel_mm / radius_mm)

    def over(angle: float) -> float:
        return radius_mm * (1.0 - cos(angle)) + (travel_mm - radius_mm * angle) * sin(angle) - rise_mm

    if over(steepest) < 0.0:
        most = over(steepest) + rise_mm
        raise LimitError(
            f"a travel of {said(travel_mm)} lifts at most {said_most(most)} on a radius of {said(radius_mm)}, "
            f"and {said(rise_mm)} was asked.",
            hint="bend further back from the end, or take a smaller rise.",
            quantity="rise",
            asked=rise_mm,
            limit=most,
        )
    return _kick(rise_mm, bisect(over, 0.0, steepest), radius_mm, travel_mm)


def kick_beside_90(
    rise_mm: float,
    travel_mm: float,
    radius_mm: float,
) -> Kick:
    """A kick, then a 90 whose corner point lies `travel_mm` along the conduit from the kick's arc start and
    `rise_mm` off the run. It stands across the kick's plane.

    Raises LimitError where the arcs would meet.
    """
    plain = kick(rise_mm, travel_mm, radius_mm)
    straight = plain.straight_mm - radius_mm
    if straight < -1e-9:
        least = travel_mm - straight
        raise LimitError(
            f"the kick's arc would run {said(-straight)} into that of the 90.",
            hint=f"start the kick about {said_least(least)} from the 90's corner.",
            quantity="travel",
            asked=travel_mm,
            limit=least,
        )
    ninety_start = radius_mm * plain.angle_rad + straight
    turns = (plain.turns[0], Turn(ninety_start, RIGHT_ANGLE_RAD, RIGHT_ANGLE_RAD, radius_mm))
    return Kick(
        radius_mm=radius_mm,
        turns=turns,
        roles=(roles.KICK, roles.STUB),
        plan_mm=plain.reach_mm,
        rise_mm=rise_mm,
        angle_rad=plain.angle_rad,
        travel_mm=travel_mm,
        reach_mm=plain.reach_mm,
        straight_mm=straight,
        plain_angle_rad=plain.plain_angle_rad,
    )


def _kick(rise_mm: float, angle_rad: float, radius_mm: float, travel_mm: float) -> Kick:
    straight = max(0.0, travel_mm - radius_mm * angle_rad)
    plan = radius_mm * sin(angle_rad)
    return Kick(
        radius_mm=radius_mm,
        turns=(Turn(0.0, angle_rad, 0.0, radius_mm),),
        roles=(roles.KICK,),
        plan_mm=plan,
        rise_mm=rise_mm,
        angle_rad=angle_rad,
        travel_mm=travel_mm,
        reach_mm=plan + straight * cos(angle_rad),
        straight_mm=straight,
        plain_angle_rad=asin(rise_mm / travel_mm) if rise_mm <= travel_mm else None,
    )
