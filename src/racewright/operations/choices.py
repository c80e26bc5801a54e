"""An offset or a saddle at several angles."""

from __future__ import annotations

from math import degrees
from typing import Literal

from racewright.bends.choices import Choice, four_bend_choices, offset_choices, three_bend_choices
from racewright.errors import InputError
from racewright.operations.common import (
    Answer,
    BenderRecord,
    Fraction,
    Known,
    Length,
    LengthText,
    Name,
    Part,
    Request,
    TapeUnit,
    length_of,
)
from racewright.operations.which_tool import bender_for
from racewright.tools.benders import BenderProfile
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, style_of

ShapeName = Literal["offset", "saddle 3", "saddle 4"]


class ChoicesRequest(Request, frozen=True, kw_only=True):
    """An offset or saddle of a rise at the usual angles. `flat` for a saddle of four bends; `room` is the length of
    run there is. `raceway` as in a survey ('EMT 1/2')."""

    shape: ShapeName
    rise: LengthText
    raceway: Name
    flat: LengthText = ""
    room: LengthText = ""
    units: TapeUnit = "in"
    fraction: Fraction | None = None
    bender: BenderRecord | None = None
    bender_name: Name = ""


class ChoiceRow(Part, frozen=True, kw_only=True):
    """One angle. Where `possible` is false `reason` says why, `limit` what binds and `limit_at` how much of it there
    should be (of room: there is); lengths are null where the arcs would meet.
    `spacing` is from mark to mark, `shrink` how much shorter the run gets, `room` what it takes along the run,
    `straight` what is left straight between the bends."""

    angle_deg: float
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


class ChoicesAnswer(Answer, frozen=True, kw_only=True):
    """The rows, for this radius, wanting at least this straight between bends."""

    rows: tuple[ChoiceRow, ...]
    radius: Length
    least_straight: Length
    bender: str


def choices(request: ChoicesRequest, known: Known) -> ChoicesAnswer:
    """The table of angles. Raises InputError for lengths, UnknownName for a raceway."""
    bender = bender_for(request.raceway, request.bender, request.bender_name, known)
    style = style_of(request.units, request.fraction)
    rise = float(parse_length(request.rise, request.units, field="rise", allow_zero=False))
    room = float(parse_length(request.room, request.units, field="room", allow_zero=False)) if request.room else None
    flat = 0.0
    if request.shape == "saddle 4":
        if not request.flat:
            raise InputError(
                "flat: a saddle of four bends needs the length of its flat top.",
                hint="give the width of the thing plus the clearance on both sides, for example 6 in",
                field="flat",
                expected="a length",
                example="6 in",
            )
        flat = float(parse_length(request.flat, request.units, field="flat", allow_zero=False))
    rows = angle_rows(request.shape, rise, flat, bender, room)
    return ChoicesAnswer(
        rows=tuple(choice_row(row, style) for row in rows),
        radius=length_of(bender.radius_mm, style),
        least_straight=length_of(bender.least_straight_mm, style),
        bender=bender.name,
    )


def angle_rows(
    shape: ShapeName, rise_mm: float, flat_mm: float, bender: BenderProfile, room_mm: float | None
) -> tuple[Choice, ...]:
    """A shape at the usual angles on this bender. `room_mm`: what there is of run, None for any."""
    least = bender.least_straight_mm
    if shape == "saddle 4":
        return four_bend_choices(rise_mm, flat_mm, bender.radius_mm, least, room_mm=room_mm)
    make = offset_choices if shape == "offset" else three_bend_choices
    return make(rise_mm, bender.radius_mm, least, room_mm=room_mm)


def choice_row(row: Choice, style: TapeStyle) -> ChoiceRow:
    """One angle with its readings."""

    def maybe(value_mm: float | None) -> Length | None:
        return None if value_mm is None else length_of(value_mm, style)

    return ChoiceRow(
        angle_deg=round(degrees(row.angle_rad), 9),
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
