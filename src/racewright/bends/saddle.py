"""Saddles: over an obstacle and back to the same line, with three bends or with four.

Notation (see bends/shape.py)
    H  rise of the axis at the top       A  outer angle; the centre bend of three is 2 A
    F  straight on top of a four-bend saddle
    three bends: L = (H - 2 R (1 - cos A)) / sin A: the apex of the ARC reaches the rise, not the corner point,
    which stands R (1/cos A - 1) above it
    half in plan = 2 R sin A + L cos A;  half along the conduit = 2 R A + L
    four bends: two offsets of the rise H and the straight F between them
"""

from __future__ import annotations

from math import cos, pi, sin

from racewright.bends import roles
from racewright.bends.offset import least_offset_rise_mm, offset_straight_mm, steepest_offset_rad
from racewright.bends.shape import (
    Shape,
    check_angle,
    check_length,
    said_angle,
    with_straight,
)
from racewright.errors import LimitError
from racewright.geometry.chain import Turn
from racewright.units.angle import format_angle
from racewright.units.said import said, said_least


class Saddle(Shape, frozen=True, kw_only=True):
    """A saddle of three or four bends. `half_plan_mm` runs from the first arc's start to the middle,
    `half_shrink_mm` is what the conduit there is longer. `straight_mm` lies between an outer arc and the next;
    `flat_mm` is the straight on top (0 with three bends)."""

    rise_mm: float
    angle_rad: float
    straight_mm: float
    flat_mm: float
    half_plan_mm: float
    half_shrink_mm: float
    least_rise_mm: float

    def start_for_centre_mm(self, centre_mm: float) -> float:
        """Where the first arc starts, from end A, so that the middle stands at plan distance `centre_mm`.

        Raises LimitError where the first arc would start before end A: names the least distance.
        """
        start = centre_mm - self.half_plan_mm
        if start < -1e-9:
            raise LimitError(
                f"the saddle needs {said_least(self.half_plan_mm)} from its first bend to its middle, "
                f"and the middle is {said(centre_mm)} from the end.",
                hint="begin the conduit farther away, so that the middle is "
                f"{said_least(self.half_plan_mm)} or more from its end, or take steeper bends.",
                quantity="distance to the middle",
                asked=centre_mm,
                limit=self.half_plan_mm,
            )
        return max(0.0, start)


def three_bend_saddle(rise_mm: float, angle_rad: float, radius_mm: float, *, least_straight_mm: float = 0.0) -> Saddle:
    """A saddle of an outer angle and twice that in the middle, whose axis reaches the rise at the apex of the arc.

    Raises LimitError where the straight between the arcs would be less than `least_straight_mm`.
    """
    straight = _checked_straight(rise_mm, angle_rad, radius_mm, least_straight_mm, "three-bend saddle")
    arc = radius_mm * angle_rad
    second = arc + straight
    third = second + 2.0 * arc + straight
    return _saddle(
        turns=(
            Turn(0.0, angle_rad, 0.0, radius_mm),
            Turn(second, 2.0 * angle_rad, pi, radius_mm),
            Turn(third, angle_rad, 0.0, radius_mm),
        ),
        names=(roles.SADDLE_OUTER, roles.SADDLE_CENTER, roles.SADDLE_OUTER),
        rise_mm=rise_mm,
        straight_mm=straight,
        flat_mm=0.0,
        least_straight_mm=least_straight_mm,
    )


def four_bend_saddle(
    rise_mm: float, angle_rad: float, flat_mm: float, radius_mm: float, *, least_straight_mm: float = 0.0
) -> Saddle:
    """Two offsets with `flat_mm` of straight on top.

    Raises LimitError where a straight between two arcs would be less than `least_straight_mm`.
    """
    check_length(flat_mm, "flat top", allow_zero=True)
    straight = _checked_straight(rise_mm, angle_rad, radius_mm, least_straight_mm, "four-bend saddle")
    if flat_mm < least_straight_mm - 1e-9:
        raise LimitError(
            f"a flat top of {said(flat_mm)} is shorter than the straight that the bender needs, "
            f"{said(least_straight_mm)}.",
            hint=f"make the flat top {said(least_straight_mm)} or more.",
            quantity="flat top",
            asked=flat_mm,
            limit=least_straight_mm,
        )
    arc = radius_mm * angle_rad
    second = arc + straight
    third = second + arc + flat_mm
    return _saddle(
        turns=(
            Turn(0.0, angle_rad, 0.0, radius_mm),
            Turn(second, angle_rad, pi, radius_mm),
            Turn(third, angle_rad, pi, radius_mm),
            Turn(third + second, angle_rad, 0.0, radius_mm),
        ),
        names=(roles.SADDLE_FOUR,) * 4,
        rise_mm=rise_mm,
        straight_mm=straight,
        flat_mm=flat_mm,
        least_straight_mm=least_straight_mm,
    )


def _saddle(
    *,
    turns: tuple[Turn, ...],
    names: tuple[str, ...],
    rise_mm: float,
    straight_mm: float,
    flat_mm: float,
    least_straight_mm: float,
) -> Saddle:
    """What three bends and four share: half in plan, half along the conduit, what that shrinks."""
    _, angle, _, radius = turns[0]
    half = 2.0 * radius * angle + straight_mm + flat_mm / 2.0
    half_plan = 2.0 * radius * sin(angle) + straight_mm * cos(angle) + flat_mm / 2.0
    return Saddle(
        radius_mm=radius,
        turns=turns,
        roles=names,
        plan_mm=2.0 * half_plan,
        rise_mm=rise_mm,
        angle_rad=angle,
        straight_mm=straight_mm,
        flat_mm=flat_mm,
        half_plan_mm=half_plan,
        half_shrink_mm=half - half_plan,
        least_rise_mm=least_offset_rise_mm(angle, radius, least_straight_mm),
    )


def _checked_straight(rise_mm: float, angle_rad: float, radius_mm: float, least_straight_mm: float, what: str) -> float:
    check_length(rise_mm, "rise")
    check_angle(angle_rad, "outer angle")
    check_length(radius_mm, "radius")
    check_length(least_straight_mm, "least straight", allow_zero=True)
    # H = 2 R (1 - cos A) + L sin A holds for half a three-bend saddle as for an offset: half the centre bend is A.
    straight = offset_straight_mm(rise_mm, angle_rad, radius_mm)
    if straight < least_straight_mm - 1e-7:
        least = least_offset_rise_mm(angle_rad, radius_mm, least_straight_mm)
        steepest = steepest_offset_rad(rise_mm, radius_mm, least_straight_mm)
        raise LimitError(
            f"a {what} of {said(rise_mm)} cannot be made with outer bends of {format_angle(angle_rad)} on a radius of "
            f"{said(radius_mm)}{with_straight(least_straight_mm)}: the least rise is {said_least(least)}.",
            hint=f"take outer bends of {said_angle(steepest)} or less, or raise the saddle to {said_least(least)}.",
            quantity="rise",
            asked=rise_mm,
            limit=least,
        )
    return max(0.0, straight)
