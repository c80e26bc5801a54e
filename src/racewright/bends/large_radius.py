"""Bends larger than the shoe: n equal shots about a wanted radius, and concentric 90s of a rack.

Notation (see bends/shape.py)
    Rw  wanted centreline radius        R  the shoe's radius        n  shots, each of a = A / n
    rho radius of the circle that the straights between the shots touch
    circumscribed: the straights touch the wanted circle from outside, rho = Rw
    inscribed: the middles of the arcs touch it from inside, rho = R + (Rw - R) cos(a/2)
    straight between shots = 2 (rho - R) tan(a/2); the axis stays between rho and R + (rho - R) / cos(a/2) of the centre
    Taught beside it: shots spread evenly over the developed length Rw A, one every Rw A / n.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, sin, tan
from typing import Literal

import msgspec

from racewright.bends import roles
from racewright.bends.shape import RIGHT_ANGLE_RAD, Shape, check_angle, check_length
from racewright.errors import InputError, LimitError
from racewright.geometry.chain import Turn
from racewright.units.angle import format_angle
from racewright.units.said import said, said_least

MOST_SHOTS = 90

Fit = Literal["inscribed", "circumscribed"]


class SegmentedBend(Shape, frozen=True, kw_only=True):
    """A bend of n shots. `spacing_mm`: arc start to arc start; `straight_mm`: between the arcs;
    `corner_to_first_mm`: from the corner point of the whole bend back to the first arc's start;
    `least_radial_mm`, `most_radial_mm`: how near and how far the axis comes to the wanted circle's centre;
    `taught_spacing_mm`: developed length of the wanted arc over the number of shots."""

    fit: Fit
    angle_rad: float
    shots: int
    shot_rad: float
    straight_mm: float
    spacing_mm: float
    corner_to_first_mm: float
    least_radial_mm: float
    most_radial_mm: float
    taught_spacing_mm: float


class ConcentricBend(msgspec.Struct, frozen=True, kw_only=True):
    """One conduit of a rack of concentric 90s: its wanted radius and the bend that makes it (one shot where the
    radius is the shoe's own)."""

    number: int
    radius_mm: float
    bend: SegmentedBend


def segmented_bend(
    wanted_radius_mm: float,
    shoe_radius_mm: float,
    shots: int,
    *,
    angle_rad: float = RIGHT_ANGLE_RAD,
    fit: Fit = "circumscribed",
) -> SegmentedBend:
    """A large bend of `shots` equal shots of the shoe.

    Raises InputError for a number of shots outside 1 to 90, LimitError where the wanted radius is less than the shoe's.
    """
    check_length(wanted_radius_mm, "wanted radius")
    check_length(shoe_radius_mm, "shoe radius")
    check_angle(angle_rad)
    if not 1 <= shots <= MOST_SHOTS:
        raise InputError(
            f"{shots} shots cannot be used.", hint=f"give 1 to {MOST_SHOTS} shots.", field="shots", expected="1 to 90"
        )
    if wanted_radius_mm < shoe_radius_mm - 1e-9:
        raise LimitError(
            f"a radius of {said(wanted_radius_mm)} is less than the shoe's own {said_least(shoe_radius_mm)}.",
            hint=f"take a smaller shoe, or a radius of {said_least(shoe_radius_mm)} or more.",
            quantity="radius",
            asked=wanted_radius_mm,
            limit=shoe_radius_mm,
        )
    shot = angle_rad / shots
    excess = max(0.0, wanted_radius_mm - shoe_radius_mm)
    touching = shoe_radius_mm + (excess if fit == "circumscribed" else excess * cos(shot / 2.0))
    half = (touching - shoe_radius_mm) * tan(shot / 2.0)
    arc = shoe_radius_mm * shot
    spacing = arc + 2.0 * half
    plan = shoe_radius_mm * sin(angle_rad) + 2.0 * half * sum(cos(i * shot) for i in range(1, shots))
    return SegmentedBend(
        radius_mm=shoe_radius_mm,
        turns=tuple(Turn(i * spacing, shot, 0.0, shoe_radius_mm) for i in range(shots)),
        roles=(roles.SHOT,) * shots,
        plan_mm=plan,
        fit=fit,
        angle_rad=angle_rad,
        shots=shots,
        shot_rad=shot,
        straight_mm=2.0 * half,
        spacing_mm=spacing,
        corner_to_first_mm=touching * tan(angle_rad / 2.0) - half,
        least_radial_mm=touching,
        most_radial_mm=shoe_radius_mm + (touching - shoe_radius_mm) / cos(shot / 2.0),
        taught_spacing_mm=wanted_radius_mm * angle_rad / shots,
    )


def concentric_90s(
    first_radius_mm: float,
    spacings_mm: Sequence[float],
    shoe_radii_mm: Sequence[float],
    *,
    most_shot_rad: float,
    fit: Fit = "circumscribed",
) -> tuple[ConcentricBend, ...]:
    """90s about one centre: the radius grows by the spacing. `shoe_radii_mm`: one for each conduit, from the inside.

    A radius equal to its shoe's is one shot; a larger one is made of shots of at most `most_shot_rad`.
    Raises LimitError where a wanted radius is less than its shoe's.
    """
    if len(spacings_mm) != len(shoe_radii_mm) - 1:
        raise InputError(
            f"{len(shoe_radii_mm)} conduits need {len(shoe_radii_mm) - 1} spacings; {len(spacings_mm)} were given.",
            hint="give the distance between each neighboring pair, center to center.",
            field="spacings",
        )
    check_angle(most_shot_rad, "largest shot")
    out = []
    radius = first_radius_mm
    for index, shoe in enumerate(shoe_radii_mm):
        if index:
            check_length(spacings_mm[index - 1], "spacing")
            radius += spacings_mm[index - 1]
        shots = 1 if radius <= shoe + 1e-9 else max(2, ceil(RIGHT_ANGLE_RAD / most_shot_rad - 1e-9))
        out.append(
            ConcentricBend(number=index + 1, radius_mm=radius, bend=segmented_bend(radius, shoe, shots, fit=fit))
        )
    return tuple(out)


def describe_fit(bend: SegmentedBend) -> str:
    """How the shots lie about the wanted circle, in words."""
    if bend.shots == 1 or bend.straight_mm < 1e-9:
        return "one shot of the shoe's own radius" if bend.shots == 1 else "the shoe's own radius throughout"
    where = "straights touch the wanted circle" if bend.fit == "circumscribed" else "arcs touch the wanted circle"
    side = "the axis lies on it or outside" if bend.fit == "circumscribed" else "the axis lies on it or inside"
    return f"{bend.fit}: the {where}, {side}; {bend.shots} shots of {format_angle(bend.shot_rad)}"
