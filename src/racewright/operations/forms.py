"""What a form needs: what there is to choose from, a length read as written, the JSON Schema of a survey file."""

from __future__ import annotations

from typing import Any

from racewright import __version__
from racewright.catalogue.fittings import all_fittings
from racewright.catalogue.raceways import all_raceways
from racewright.operations.bender import ShoeData, shoes
from racewright.operations.common import Answer, Fraction, Known, LengthText, Name, Part, Request, TapeUnit
from racewright.survey.from_data import survey_json_schema
from racewright.tools.benders import default_benders
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length, read_tape


class CatalogueRequest(Request, frozen=True, kw_only=True):
    """What there is to choose from."""


class RacewayData(Part, frozen=True, kw_only=True):
    """A raceway in a trade size; `name` ('EMT 1/2') is what a survey's `raceway` takes. `bender` is the name of the
    trade's shoe for it or ''."""

    name: str
    type: str
    trade_size: str
    outside_diameter_mm: float
    inside_diameter_mm: float
    least_radius_mm: float | None
    stock_length_mm: float
    bender: str
    source: str
    standing: str


class UnitChoice(Part, frozen=True, kw_only=True):
    """A unit of length with the denominators its tape can have."""

    unit: TapeUnit
    denominators: tuple[int, ...]
    usual: int


class Lesson(Part, frozen=True, kw_only=True):
    """A kind of practice problem (a name for `kinds`), its title, and what to know before it."""

    kind: str
    title: str
    before: str


class Catalogue(Answer, frozen=True, kw_only=True):
    """Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `lessons` are the kinds
    of problem of the practice sheets, in the order in which they are learned."""

    version: str
    raceways: tuple[RacewayData, ...]
    benders: tuple[ShoeData, ...]
    units: tuple[UnitChoice, ...]
    end_fittings: tuple[str, ...]
    lessons: tuple[Lesson, ...]


UNITS = (
    UnitChoice(unit="in", denominators=(1, 2, 4, 8, 16, 32), usual=16),
    UnitChoice(unit="mm", denominators=(1, 2), usual=1),
)


def catalogue(_: CatalogueRequest, known: Known) -> Catalogue:
    """What a form offers; the server's own benders first."""
    from racewright.operations.practice_kinds import PROBLEM_KINDS

    usual = {(b.raceway_type, b.trade_size): b.name for b in default_benders()}
    raceways = tuple(
        RacewayData(
            bender=usual.get((r.type, r.trade_size), ""),
            **{name: getattr(r, name) for name in RacewayData.__struct_fields__ if name != "bender"},
        )
        for r in all_raceways()
    )
    kinds = dict.fromkeys(f.kind for f in all_fittings())
    return Catalogue(
        version=__version__,
        raceways=raceways,
        benders=(*shoes(known.benders.values(), own=True), *shoes(default_benders())),
        units=UNITS,
        end_fittings=("none", *(k for k in kinds if k != "none")),
        lessons=tuple(Lesson(kind=name, title=kind.title, before=kind.before) for name, kind in PROBLEM_KINDS.items()),
    )


class LengthRequest(Request, frozen=True, kw_only=True):
    """Read a length as a person writes it: '31 5/16', '2 ft 3', '795 mm'. A number without a unit is in `unit`."""

    text: LengthText
    unit: TapeUnit = "in"
    fraction: Fraction = 16
    field: Name = ""
    allow_negative: bool = False
    allow_zero: bool = True


class LengthAnswer(Answer, frozen=True, kw_only=True):
    """`mm` exact; `tape` as shown on the tape, `off_mm` = shown - exact; `inches` and `millimetres` in words."""

    mm: float
    tape: str
    off_mm: float
    inches: str
    millimetres: str


def length(request: LengthRequest, _: Known) -> LengthAnswer:
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
    return LengthAnswer(
        mm=float(exact),
        tape=reading.text,
        off_mm=reading.off_mm,
        inches=format_length(exact, TapeStyle("in", inches)),
        millimetres=format_length(exact, TapeStyle("mm", 1)),
    )


class SchemaRequest(Request, frozen=True, kw_only=True):
    """The JSON Schema of a survey file."""


class SchemaAnswer(Answer, frozen=True, kw_only=True):
    """JSON Schema, draft 2020-12."""

    survey: dict[str, Any]


def schema(_: SchemaRequest, __: Known) -> SchemaAnswer:
    """The JSON Schema of a survey file."""
    return SchemaAnswer(survey=survey_json_schema())
