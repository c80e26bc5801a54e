"""What a form offers: raceways, benders, units, end fittings."""

from __future__ import annotations

from racewright import __version__
from racewright.catalogue.fittings import all_fittings
from racewright.catalogue.raceways import all_raceways
from racewright.operations.common import (
    Answer,
    Part,
    Request,
    TapeUnit,
)
from racewright.operations.known import Known
from racewright.tools.benders import default_benders
from racewright.tools.model import BenderProfile
from racewright.units.tape import read_tape, style_of


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


class ShoeData(Part, frozen=True, kw_only=True):
    """A bender that can be named; `own` says that it is the user's, from the server's file. `hook_reach_in` as a tape
    in inches shows it."""

    name: str
    raceway: str
    own: bool
    radius_mm: float
    take_up_mm: float
    gain_mm: float
    arrow_lead_mm: float
    centre_mm: float
    star_mm: float
    hook_reach_mm: float
    hook_reach_in: str
    springback_known: bool
    source: str
    standing: str


class UnitChoice(Part, frozen=True, kw_only=True):
    """A unit of length with the denominators its tape can have."""

    unit: TapeUnit
    denominators: tuple[int, ...]
    usual: int


class Catalogue(Answer, frozen=True, kw_only=True):
    """Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `kinds_of_problem` those of
    the practice sheets."""

    version: str
    raceways: tuple[RacewayData, ...]
    benders: tuple[ShoeData, ...]
    units: tuple[UnitChoice, ...]
    end_fittings: tuple[str, ...]
    kinds_of_problem: tuple[str, ...]


UNITS = (
    UnitChoice(unit="in", denominators=(1, 2, 4, 8, 16, 32), usual=16),
    UnitChoice(unit="mm", denominators=(1, 2), usual=1),
)


def catalogue(_: CatalogueRequest, known: Known) -> Catalogue:
    """What a form offers; the server's own benders first."""
    from racewright.operations.practice import KINDS

    shoes = {(b.raceway_type, b.trade_size): b.name for b in default_benders()}
    raceways = tuple(
        RacewayData(
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
    benders = [_shoe(b, own=True) for b in known.benders.values()] + [_shoe(b, own=False) for b in default_benders()]
    kinds = dict.fromkeys(f.kind for f in all_fittings())
    return Catalogue(
        version=__version__,
        raceways=raceways,
        benders=tuple(benders),
        units=UNITS,
        end_fittings=("none", *(k for k in kinds if k != "none")),
        kinds_of_problem=tuple(KINDS),
    )


def _shoe(bender: BenderProfile, *, own: bool) -> ShoeData:
    return ShoeData(
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
        hook_reach_in=read_tape(bender.hook_reach_mm, style_of("in")).text,
        springback_known=bender.springback_b1 is not None,
        source=bender.source,
        standing=bender.standing,
    )
