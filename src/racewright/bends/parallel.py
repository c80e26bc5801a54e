"""Racks: parallel conduits that turn together and keep their distance.

Notation (see bends/shape.py)
    p  distance between two conduits' centres       A  angle of the bend
    stagger = p tan(A/2): each next conduit's corner lies that much further along the run
    without stagger the distance on the slope would be p cos A
Conduit 1 is the one on the side that the rack turns toward; each next one lies behind it, on the outside of the bend.
At the second bend of an offset the corner shifts by the same vector, so the whole offset is moved, not changed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import tan

import msgspec

from racewright.bends.kick import Kick
from racewright.bends.offset import Offset
from racewright.bends.shape import check_angle, check_length
from racewright.errors import InputError


class RackConduit(msgspec.Struct, frozen=True, kw_only=True):
    """One conduit of a rack. `across_mm`: centre to centre from conduit 1. `stagger_mm`: how far its corner lies
    beyond conduit 1's. `start_shift_mm`: the same for the start of its first arc (differs where radii differ)."""

    number: int
    across_mm: float
    stagger_mm: float
    start_shift_mm: float
    shape: Offset | Kick


def stagger_mm(spacing_mm: float, angle_rad: float) -> float:
    """p tan(A/2)."""
    return spacing_mm * tan(angle_rad / 2.0)


def spacings_for_gap_mm(outside_diameters_mm: Sequence[float], clear_gap_mm: float) -> tuple[float, ...]:
    """Centre to centre of each neighboring pair, with the same clear gap between them all."""
    check_length(clear_gap_mm, "clear gap", allow_zero=True)
    return tuple((a + b) / 2.0 + clear_gap_mm for a, b in pairwise(outside_diameters_mm))


def parallel(
    make: Callable[[float], Offset | Kick], angle_rad: float, radii_mm: Sequence[float], spacings_mm: Sequence[float]
) -> tuple[RackConduit, ...]:
    """The same offset or kick of this angle through a whole rack. `make` makes it of a radius; `radii_mm`: one for each
    conduit, from conduit 1 outward; `spacings_mm`: centre to centre, one fewer. Raises as `make` for the conduit that
    cannot make it."""
    _check_rack(angle_rad, radii_mm, spacings_mm)
    out = []
    across = 0.0
    for index, radius in enumerate(radii_mm):
        if index:
            across += spacings_mm[index - 1]
        out.append(
            RackConduit(
                number=index + 1,
                across_mm=across,
                stagger_mm=stagger_mm(across, angle_rad),
                start_shift_mm=stagger_mm(across - (radius - radii_mm[0]), angle_rad),
                shape=make(radius),
            )
        )
    return tuple(out)


def _check_rack(angle_rad: float, radii_mm: Sequence[float], spacings_mm: Sequence[float]) -> None:
    check_angle(angle_rad)
    if not radii_mm or len(spacings_mm) != len(radii_mm) - 1:
        raise InputError(
            f"{len(radii_mm)} conduits need {max(0, len(radii_mm) - 1)} spacings; {len(spacings_mm)} were given.",
            hint="give a radius for each conduit and the distance between each neighboring pair.",
            field="spacings",
        )
    for spacing in spacings_mm:
        check_length(spacing, "spacing")
