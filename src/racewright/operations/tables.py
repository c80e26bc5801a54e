"""Operations on tables and single lengths: the catalogue, one length read, offsets and saddles by angle, the schema."""

from __future__ import annotations

from math import degrees

from racewright import __version__
from racewright.bends.choices import Choice, four_bend_choices, offset_choices, three_bend_choices
from racewright.catalogue.fittings import all_fittings
from racewright.catalogue.raceways import all_raceways
from racewright.errors import InputError, UnknownName
from racewright.operations import messages as m
from racewright.operations.common import Length
from racewright.operations.operations import OwnBenders
from racewright.operations.which_tool import RACEWAY_FIELDS, bender_for, renamed
from racewright.survey.from_data import survey_json_schema
from racewright.tools.benders import default_benders
from racewright.tools.model import BenderProfile
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length, read_tape, style_of

UNITS = (
    m.UnitChoice(unit="in", denominators=(1, 2, 4, 8, 16, 32), usual=16),
    m.UnitChoice(unit="mm", denominators=(1, 2), usual=1),
)


def length_of(value_mm: float, style: TapeStyle) -> Length:
    """A length with its reading."""
    return Length(mm=value_mm, tape=read_tape(value_mm, style).text)


def catalogue(_: m.CatalogueRequest, own: OwnBenders) -> m.Catalogue:
    """What a form offers; the server's own benders first."""
    from racewright.operations.practice import KINDS

    shoes = {(b.raceway_type, b.trade_size): b.name for b in default_benders()}
    raceways = tuple(
        m.RacewayData(
            name=r.name,
            type=r.type,
            trade_size=r.trade_size,
            outside_diameter_mm=r.outside_diameter_mm,
            inside_diameter_mm=r.inside_diameter_mm,
            least_radius_mm=r.least_radius_mm,
            stock_length_mm=r.stock_length_mm,
            bender=shoes.get((r.type, r.trade_size), ""),
            source=r.source,
            standing=r.standing,
        )
        for r in all_raceways()
    )
    benders = [_shoe(b, own=True) for b in own.values()] + [_shoe(b, own=False) for b in default_benders()]
    kinds = dict.fromkeys(f.kind for f in all_fittings())
    return m.Catalogue(
        version=__version__,
        raceways=raceways,
        benders=tuple(benders),
        units=UNITS,
        end_fittings=("none", *(k for k in kinds if k != "none")),
        kinds_of_problem=tuple(KINDS),
    )


def _shoe(bender: BenderProfile, *, own: bool) -> m.ShoeData:
    return m.ShoeData(
        name=bender.name,
        raceway=f"{bender.raceway_type} {bender.trade_size}",
        own=own,
        radius_mm=bender.radius_mm,
        take_up_mm=bender.take_up_mm,
        gain_mm=bender.gain_mm,
        arrow_lead_mm=bender.arrow_lead_mm,
        centre_mm=bender.centre_mm,
        star_mm=bender.star_mm,
        hook_reach_mm=bender.hook_reach_mm,
        springback_known=bender.springback_b1 is not None,
        source=bender.source,
        standing=bender.standing,
    )


def length(request: m.LengthRequest, _: OwnBenders) -> m.LengthAnswer:
    """One length as a person writes it. Raises InputError naming the request's `field`."""
    exact = parse_length(
        request.text,
        request.unit,
        field=request.field,
        allow_negative=request.allow_negative,
        allow_zero=request.allow_zero,
    )
    reading = read_tape(exact, TapeStyle(request.unit, request.fraction))
    inches = request.fraction if request.unit == "in" else 16
    return m.LengthAnswer(
        mm=float(exact),
        tape=reading.text,
        off_mm=reading.off_mm,
        inches=format_length(exact, TapeStyle("in", inches)),
        millimetres=format_length(exact, TapeStyle("mm", 1)),
    )


def choices(request: m.ChoicesRequest, own: OwnBenders) -> m.ChoicesAnswer:
    """The table of angles. Raises InputError for lengths, UnknownName for a raceway."""
    kind, _, size = request.raceway.strip().partition(" ")
    try:
        bender = bender_for(kind, size, request.bender, request.bender_name, own)
    except UnknownName as err:
        raise renamed(err, "raceway" if err.field in RACEWAY_FIELDS else err.field) from None
    style = style_of(request.units, request.fraction)
    rise = float(parse_length(request.rise, request.units, field="rise", allow_zero=False))
    room = float(parse_length(request.room, request.units, field="room", allow_zero=False)) if request.room else None
    least = max(0.0, bender.arrow_lead_mm + bender.hook_reach_mm)
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
        rows = four_bend_choices(rise, flat, bender.radius_mm, least, room_mm=room)
    else:
        make = offset_choices if request.shape == "offset" else three_bend_choices
        rows = make(rise, bender.radius_mm, least, room_mm=room)
    return m.ChoicesAnswer(
        rows=tuple(_row(row, style) for row in rows),
        radius=length_of(bender.radius_mm, style),
        least_straight=length_of(least, style),
        bender=bender.name,
    )


def _row(row: Choice, style: TapeStyle) -> m.ChoiceRow:
    def maybe(value_mm: float | None) -> Length | None:
        return None if value_mm is None else length_of(value_mm, style)

    return m.ChoiceRow(
        angle_deg=round(degrees(row.angle_rad), 9),
        possible=row.possible,
        reason=row.reason,
        total_deg=round(degrees(row.total_rad), 9),
        straight=maybe(row.straight_mm if row.plan_mm is not None else None),
        spacing=maybe(row.spacing_mm),
        shrink=maybe(row.shrink_mm),
        room=maybe(row.plan_mm),
        developed=maybe(row.developed_mm),
    )


def schema(_: m.SchemaRequest, __: OwnBenders) -> m.SchemaAnswer:
    """The JSON Schema of a survey file."""
    return m.SchemaAnswer(survey=survey_json_schema())
