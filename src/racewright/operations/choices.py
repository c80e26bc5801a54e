"""One angle of an offset or a saddle, with its readings."""

from __future__ import annotations

from math import degrees
from typing import Literal

from racewright.bends.choices import Choice
from racewright.operations.common import Length, Part, length_of
from racewright.units.angle import format_angle
from racewright.units.tape import TapeStyle


class ChoiceRow(Part, frozen=True, kw_only=True):
    """One angle; `angle` is how a card tells it. Where `possible` is false `reason` says why, `limit` what binds and
    `limit_at` how much of it there should be (of room: there is); lengths are null where the arcs would meet.
    `spacing` is from mark to mark, `shrink` how much shorter the run gets, `room` what it takes along the run,
    `straight` what is left straight between the bends."""

    angle_deg: float
    angle: str
    possible: bool
    reason: str
    limit: Literal["", "rise", "straight", "room"]
    limit_at: Length | None
    total_deg: float
    straight: Length | None
    spacing: Length | None
    shrink: Length | None
    room: Length | None
    developed: Length | None


def choice_row(row: Choice, style: TapeStyle) -> ChoiceRow:
    """One angle with its readings."""

    def maybe(value_mm: float | None) -> Length | None:
        return None if value_mm is None else length_of(value_mm, style)

    return ChoiceRow(
        angle_deg=round(degrees(row.angle_rad), 9),
        angle=format_angle(row.angle_rad),
        possible=row.possible,
        reason=row.reason,
        limit=row.limit,
        limit_at=length_of(row.limit_mm, style) if row.limit else None,
        total_deg=round(degrees(row.total_rad), 9),
        straight=maybe(row.straight_mm if row.plan_mm is not None else None),
        spacing=maybe(row.spacing_mm),
        shrink=maybe(row.shrink_mm),
        room=maybe(row.plan_mm),
        developed=maybe(row.developed_mm),
    )
