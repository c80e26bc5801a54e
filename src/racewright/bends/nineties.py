"""90s: the stub-up, whose short leg stands a wanted height, and two 90s a given distance apart.

Notation (see bends/shape.py)
    T_back = R + D/2: from the start of the arc to the back of the finished bend, along the stub
    Stub height H to the back, the centre or the inside of the run: arc start = H - R - (D/2, 0 or -D/2)
    Cut length for two legs to the backs: stub + leg - gain, gain = D + R (2 - pi/2)
    B  distance between two backs; between the centres it is B - D, between the insides B - 2 D
    straight between the arcs = B - D - 2 R; arc start to arc start = B - D - 2 R + R pi/2
    Cut length for stub, back-to-back and stub: A + B + C - 2 gain
"""

from __future__ import annotations

from typing import Literal

from racewright.bends import roles
from racewright.bends.shape import RIGHT_ANGLE_RAD, Shape, back_gain_mm, check_length
from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn
from racewright.units.said import said, said_least

MeasuredTo = Literal["back", "centre", "inside"]


class StubUp(Shape, frozen=True, kw_only=True):
    """A 90 at end A. `arc_start_mm`: straight from end A to the arc. `height_mm`: stub to the back of the bend;
    `least_height_mm`: the least that this radius can make. `back_gain_mm`: both legs measured to the backs."""

    height_mm: float
    arc_start_mm: float
    least_height_mm: float
    back_gain_mm: float

    def cut_length_mm(self, leg_to_back_mm: float) -> float:
        """Cut length for a leg whose far end is `leg_to_back_mm` from the stub's back."""
        return self.height_mm + leg_to_back_mm - self.back_gain_mm


def to_back_mm(measured_to: MeasuredTo, outside_diameter_mm: float) -> float:
    """What to add to a measure taken to the back, the centre or the inside of the leg, to reach its back."""
    shares: dict[str, float] = {"back": 0.0, "centre": 0.5, "inside": 1.0}
    if measured_to not in shares:
        raise InputError.at(
            "measured to",
            f"{measured_to!r} is not known.",
            hint="say back, center or inside.",
            expected="back, center or inside",
        )
    return shares[measured_to] * outside_diameter_mm


def stub_up(
    height_mm: float,
    radius_mm: float,
    outside_diameter_mm: float,
    *,
    measured_to: MeasuredTo = "back",
) -> StubUp:
    """A stub of a height, measured to the back, the centre or the inside of the run.

    Raises LimitError where the arc would begin before end A: names the least height.
    """
    check_length(height_mm, "stub height")
    check_length(radius_mm, "radius")
    check_length(outside_diameter_mm, "outside diameter")
    extra = to_back_mm(measured_to, outside_diameter_mm)
    back = height_mm + extra
    least = radius_mm + outside_diameter_mm / 2.0
    if back < least - 1e-9:
        raise LimitError(
            f"a stub of {said(height_mm)} to the {measured_to} is too short for a radius of {said(radius_mm)}: "
            f"the least is {said_least(least - extra)}.",
            hint=f"make the stub {said_least(least - extra)} or more and cut it after bending.",
            quantity="stub height",
            asked=height_mm,
            limit=least - extra,
        )
    return StubUp(
        radius_mm=radius_mm,
        turns=(Turn(0.0, RIGHT_ANGLE_RAD, 0.0, radius_mm),),
        roles=(roles.STUB,),
        plan_mm=radius_mm,
        height_mm=back,
        arc_start_mm=max(0.0, back - radius_mm - outside_diameter_mm / 2.0),
        least_height_mm=least,
        back_gain_mm=back_gain_mm(radius_mm, outside_diameter_mm),
    )


class BackToBack(Shape, frozen=True, kw_only=True):
    """Two 90s. `between_backs_mm`, `spacing_mm` (arc start to arc start), `straight_mm` between the arcs,
    `least_between_backs_mm`, and `back_gain_mm` of each bend."""

    between_backs_mm: float
    spacing_mm: float
    straight_mm: float
    least_between_backs_mm: float
    back_gain_mm: float

    def cut_length_mm(self, first_leg_mm: float, second_leg_mm: float) -> float:
        """Cut length for two legs measured to the backs."""
        return first_leg_mm + self.between_backs_mm + second_leg_mm - 2.0 * self.back_gain_mm


def back_to_back(
    distance_mm: float,
    radius_mm: float,
    outside_diameter_mm: float,
    *,
    measured_to: MeasuredTo = "back",
) -> BackToBack:
    """Two 90s `distance_mm` apart, a U.

    Raises LimitError where the arcs would meet: names the least distance.
    """
    check_length(distance_mm, "distance")
    check_length(radius_mm, "radius")
    check_length(outside_diameter_mm, "outside diameter")
    extra = 2.0 * to_back_mm(measured_to, outside_diameter_mm)
    backs = distance_mm + extra
    straight = backs - outside_diameter_mm - 2.0 * radius_mm
    least = outside_diameter_mm + 2.0 * radius_mm
    if straight < -1e-9:
        raise LimitError(
            f"two 90s {said(distance_mm)} apart ({measured_to} to {measured_to}) do not fit on a radius of "
            f"{said(radius_mm)}: "
            f"the least is {said_least(least - extra)}.",
            hint=f"set them {said_least(least - extra)} or more apart, or join two pieces with a coupling.",
            quantity="distance between the bends",
            asked=distance_mm,
            limit=least - extra,
        )
    straight = max(0.0, straight)
    arc = radius_mm * RIGHT_ANGLE_RAD
    return BackToBack(
        radius_mm=radius_mm,
        turns=(
            Turn(0.0, RIGHT_ANGLE_RAD, 0.0, radius_mm),
            Turn(arc + straight, RIGHT_ANGLE_RAD, 0.0, radius_mm),
        ),
        roles=(roles.STUB, roles.BACK_TO_BACK),
        plan_mm=straight + 2.0 * radius_mm,
        between_backs_mm=backs,
        spacing_mm=arc + straight,
        straight_mm=straight,
        least_between_backs_mm=least,
        back_gain_mm=back_gain_mm(radius_mm, outside_diameter_mm),
    )
