"""The same offset or saddle at several angles, side by side, so that a person can choose.

Notation: see bends/shape.py. The angles are those that hand benders carry marks for (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import radians
from typing import Literal

import msgspec

from racewright.bends.offset import Offset, least_offset_rise_mm, offset, offset_straight_mm
from racewright.bends.saddle import Saddle, four_bend_saddle, three_bend_saddle
from racewright.units.said import said, said_least

ChoiceShape = Literal["offset", "saddle 3", "saddle 4"]
USUAL_ANGLES_DEG = (10.0, 15.0, 22.5, 30.0, 45.0, 60.0)


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """One row. `plan_mm` is the room needed along the run. Where the arcs would meet the lengths are None and
    `straight_mm` is negative. `reason` says why a row is not possible; `limit` names what binds ('rise', 'straight',
    'room') and `limit_mm` how much of it there should be (for 'room': there is)."""

    angle_rad: float
    possible: bool
    reason: str
    straight_mm: float
    total_rad: float
    limit: Literal["", "rise", "straight", "room"] = ""
    limit_mm: float = 0.0
    plan_mm: float | None = None
    shrink_mm: float | None = None
    developed_mm: float | None = None
    spacing_mm: float | None = None


def choices(
    shape: ChoiceShape,
    rise_mm: float,
    radius_mm: float,
    least_straight_mm: float,
    *,
    flat_mm: float = 0.0,
    room_mm: float | None = None,
    angles_deg: Sequence[float] = USUAL_ANGLES_DEG,
) -> tuple[Choice, ...]:
    """A shape of a rise at these angles (a saddle's outer ones; `flat_mm`: the top of one of four bends). What needs
    more than `room_mm` along the run is not possible.

    Half a saddle is an offset as far as the straight goes, so one test serves all three shapes."""
    out = []
    for angle in (radians(value) for value in angles_deg):
        straight = offset_straight_mm(rise_mm, angle, radius_mm)
        made = _made(shape, rise_mm, angle, radius_mm, flat_mm) if straight >= -1e-7 else None
        reason, limit_mm = "", 0.0
        limit: Literal["", "rise", "straight", "room"] = ""
        if made is None:
            limit, limit_mm = "rise", least_offset_rise_mm(angle, radius_mm)
            reason = f"the arcs meet: least rise {said_least(limit_mm)}"
        elif straight < least_straight_mm - 1e-7:
            limit, limit_mm = "straight", least_straight_mm
            reason = f"only {said(max(0.0, straight))} between the bends, {said(least_straight_mm)} wanted"
        elif room_mm is not None and made.plan_mm > room_mm + 1e-9:
            limit, limit_mm = "room", room_mm
            reason = f"needs {said(made.plan_mm)} of run, {said(room_mm)} there"
        out.append(
            Choice(
                angle_rad=angle,
                possible=not reason,
                reason=reason,
                straight_mm=max(0.0, straight) if made else straight,
                total_rad=made.total_rad if made else (2 if shape == "offset" else 4) * angle,
                plan_mm=made.plan_mm if made else None,
                shrink_mm=made.shrink_mm if made else None,
                developed_mm=made.developed_mm if made else None,
                spacing_mm=made.turns[1].arc_start_mm if made else None,
                limit=limit,
                limit_mm=limit_mm,
            )
        )
    return tuple(out)


def _made(shape: ChoiceShape, rise_mm: float, angle_rad: float, radius_mm: float, flat_mm: float) -> Offset | Saddle:
    if shape == "offset":
        return offset(rise_mm, angle_rad, radius_mm)
    if shape == "saddle 3":
        return three_bend_saddle(rise_mm, angle_rad, radius_mm)
    return four_bend_saddle(rise_mm, angle_rad, flat_mm, radius_mm)
