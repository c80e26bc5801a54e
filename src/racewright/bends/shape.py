"""What every shape gives back, and the few numbers that all of them share.

Notation
    R  centreline radius, mm            A  angle of one bend, rad
    D  outside diameter, mm             L  straight between two arcs, mm
    setback   R tan(A/2): from the corner point to either end of the arc
    shrink    developed length less the length in plan
All follow from the geometry of tangent arcs; no source is needed.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, isfinite, pi, sqrt

import msgspec

from racewright.bends.model import Bend
from racewright.errors import InputError
from racewright.geometry.chain import Turn
from racewright.units.angle import format_angle
from racewright.units.said import said

RIGHT_ANGLE_RAD = pi / 2.0


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """A shape in its own coordinates: the first arc starts at 0, the conduit comes in along the axis.

    `turns`: the bends, rolls counted from the shape's own plane. `roles`: one of `bends.roles` for each.
    `plan_mm`: from the start of the first arc to the end of the last, measured along the incoming axis.
    """

    radius_mm: float
    turns: tuple[Turn, ...]
    roles: tuple[str, ...]
    plan_mm: float

    @property
    def developed_mm(self) -> float:
        """Conduit from the start of the first arc to the end of the last."""
        last = self.turns[-1]
        return last.arc_start_mm + last.radius_mm * last.angle_rad

    @property
    def shrink_mm(self) -> float:
        """Conduit used up: developed length less the length in plan."""
        return self.developed_mm - self.plan_mm

    @property
    def total_rad(self) -> float:
        """All bend angles added up (what counts against the limit between pull points)."""
        return sum(turn.angle_rad for turn in self.turns)

    def bends(self, start_mm: float, shape: str = "", roll_rad: float = 0.0) -> tuple[Bend, ...]:
        """The bends on a piece whose first arc of this shape starts at `start_mm`, the shape rolled by `roll_rad`."""
        return tuple(
            Bend(
                arc_start_mm=start_mm + turn.arc_start_mm,
                angle_rad=turn.angle_rad,
                roll_rad=turn.roll_rad + roll_rad,
                radius_mm=turn.radius_mm,
                shape=shape,
                role=role,
            )
            for turn, role in zip(self.turns, self.roles, strict=True)
        )


def back_gain_mm(radius_mm: float, outside_diameter_mm: float) -> float:
    """Gain of a 90, both legs measured to the back: D + R (2 - pi/2)."""
    return outside_diameter_mm + radius_mm * (2.0 - pi / 2.0)


def with_straight(least_straight_mm: float) -> str:
    """' with 1 1/2" of straight', or nothing where none is wanted."""
    return f" with {said(least_straight_mm)} of straight" if least_straight_mm > 0.0 else ""


def said_angle(angle_rad: float) -> str:
    """An angle for a message, rounded down to the tenth of a degree so that what it recommends still fits."""
    tenths = int(angle_rad * 1800.0 / pi + 1e-9)
    return format_angle(tenths * pi / 1800.0)


def check_angle(angle_rad: float, field: str = "angle", most_rad: float = RIGHT_ANGLE_RAD) -> None:
    """Raise InputError unless 0 < angle <= most."""
    if not (isfinite(angle_rad) and 0.0 < angle_rad <= most_rad + 1e-12):
        raise InputError.at(
            field,
            f"{format_angle(angle_rad) if isfinite(angle_rad) else angle_rad} cannot be used here.",
            hint=f"give an angle above 0 and up to {format_angle(most_rad)}.",
            expected=f"above 0 and up to {format_angle(most_rad)}",
        )


def check_length(value_mm: float, field: str, *, allow_zero: bool = False) -> None:
    """Raise InputError unless the length is finite and positive (or zero, where allowed)."""
    if not isfinite(value_mm) or value_mm < 0.0 or (value_mm == 0.0 and not allow_zero):
        raise InputError.at(
            field,
            f"{said(value_mm) if isfinite(value_mm) else value_mm} cannot be used here.",
            hint=f"give a length {'of 0 or more' if allow_zero else 'above 0'}.",
            expected="0 or more" if allow_zero else "above 0",
        )


def bisect(rises: Callable[[float], float], low: float, high: float) -> float:
    """The least x of [low, high], to the last bits, at which the never-falling function `rises` is 0 or more.

    The caller makes sure that rises(high) >= 0; the answer is on the side where the function is not negative.
    """
    if rises(low) >= 0.0:
        return low
    for _ in range(200):
        middle = 0.5 * (low + high)
        if not low < middle < high:
            break
        if rises(middle) >= 0.0:
            high = middle
        else:
            low = middle
    return high


def tangent_to_point(along_mm: float, aside_mm: float, radius_mm: float) -> tuple[float, float] | None:
    """One arc from the origin along x, then a straight, ending at (along, aside): its angle (rad) and straight (mm).

    None where the point lies inside the arc's circle. Rotating (L, -R) by A gives (along, aside - R):
    L = sqrt(along^2 + aside^2 - 2 aside R).
    """
    square = along_mm * along_mm + aside_mm * aside_mm - 2.0 * aside_mm * radius_mm
    if square < 0.0:
        return None
    straight = sqrt(square)
    angle = atan2(aside_mm - radius_mm, along_mm) - atan2(-radius_mm, straight)
    return angle, straight
